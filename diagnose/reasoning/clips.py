"""CLIPS as an engine, through clipspy: the one used where durable_rules does not load."""

from collections.abc import Iterable, Sequence

from diagnose.reasoning.engine import (
    Closure,
    EngineRule,
    EngineUnavailable,
    check_rules,
    conclude,
    number_facts,
)

try:
    import clips
except ImportError as error:
    raise EngineUnavailable(f"clipspy does not load here: {error}") from error


class ClipsEngine:
    """One CLIPS environment, in which facts and rules go by number, so no text is ever parsed."""

    def __init__(self, rules: Sequence[EngineRule]) -> None:
        check_rules(rules)
        self._rules = tuple(rules)
        self._numbers = number_facts(rules)
        self._environment = clips.Environment()
        self._environment.build("(deftemplate fact (slot number))")
        self._environment.build("(deftemplate fired (slot number))")
        for index, rule in enumerate(rules):
            self._environment.build(self._define(index, rule))
        self._fact = self._environment.find_template("fact")
        self._fired = self._environment.find_template("fired")

    @property
    def name(self) -> str:
        """The library and its version."""
        from importlib.metadata import version

        return f"CLIPS via clipspy {version('clipspy')}"

    def close(self, facts: Iterable[str]) -> Closure:
        """Run the rules on `facts` until nothing is new."""
        given = frozenset(facts)
        self._environment.reset()
        for fact in given & self._numbers.keys():
            self._fact.assert_fact(number=self._numbers[fact])
        self._environment.run()
        return conclude(given, [self._rules[fact["number"]] for fact in self._fired.facts()])

    def _define(self, index: int, rule: EngineRule) -> str:
        """The rule in the language of CLIPS; besides its conclusions it leaves its own number."""
        when = " ".join(self._pattern(fact) for fact in dict.fromkeys(rule.when))
        gives = " ".join(self._pattern(fact) for fact in rule.gives)
        return f"(defrule r{index} {when} => (assert {gives} (fired (number {index}))))"

    def _pattern(self, fact: str) -> str:
        return f"(fact (number {self._numbers[fact]}))"
