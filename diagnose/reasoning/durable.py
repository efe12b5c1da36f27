"""durable_rules as an engine: used only in the ways that were measured to be right."""

import os
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import count
from typing import Any

import msgspec

from diagnose.reasoning.engine import (
    Closure,
    EngineError,
    EngineRule,
    EngineUnavailable,
    check_rules,
    conclude,
    number_facts,
)

# Well below the library's fixed tables of 511 and 256; beyond those it hangs or fails.
MOST_CONDITIONS_IN_A_SET = 400
MOST_RULES_ON_A_CONDITION = 200
KEPT = 4096  # what a set fires on some facts: a consultation needs some hundreds


@contextmanager
def _lazy_binding() -> Iterator[None]:
    """Load extensions without resolving every name: Python 3.13 lacks one that nothing calls."""
    if sys.version_info < (3, 13) or not hasattr(sys, "setdlopenflags"):
        yield
        return
    flags = sys.getdlopenflags()
    sys.setdlopenflags(os.RTLD_LAZY)
    try:
        yield
    finally:
        sys.setdlopenflags(flags)


try:
    with _lazy_binding():
        import durable.engine
except ImportError as error:
    raise EngineUnavailable(f"durable_rules does not load here: {error}") from error

# Only used to see whether an action took over 10 s, where a clock that is put right would count;
# the original also calls utcfromtimestamp, which is deprecated.
durable.engine._unix_now = time.monotonic


class _Json:
    """JSON for the library: its own way makes a new encoder for every fact."""

    loads = staticmethod(msgspec.json.decode)

    @staticmethod
    def dumps(value: object, ensure_ascii: bool = False) -> str:
        return msgspec.json.encode(value).decode()


durable.engine.json = _Json


class _Host(durable.engine.Host):  # type: ignore[misc]
    """A host without its two polling threads."""

    def _run(self) -> None:
        pass


_host = _Host()
_names = count()
_sessions = count()


@dataclass(frozen=True, slots=True, eq=False)
class _RuleSet:
    """A set of rules in the library, and every fact that is a condition of one of them."""

    name: str
    uses: frozenset[str]


class DurableEngine:
    """Rules in many small sets; facts are carried between the sets.

    Every rule of a set has the set's key among its conditions: the condition that fewest rules
    have. A set gets a session only when its key holds, since before that none of its rules can
    fire; a session costs in proportion to all the rules of its set. The library gets to know a set
    when its key holds for the first time: most never do in a consultation.

    What a set fires follows from the facts it is told alone, so that is kept: from one answer to
    the next only the sets that use a new fact are told anything.
    """

    def __init__(self, rules: Sequence[EngineRule]) -> None:
        check_rules(rules)
        self._fired: list[EngineRule] = []
        self._errors: list[BaseException] = []
        self._numbers = number_facts(rules)
        self._rules = by_rarest_condition(rules)
        self._sets = cache(self._register)
        self._fired_by = lru_cache(maxsize=KEPT)(self._run)

    @property
    def name(self) -> str:
        """The library and its version."""
        from importlib.metadata import version

        return f"durable_rules {version('durable_rules')}"

    def _register(self, key: str) -> list[_RuleSet]:
        """The sets of the rules with a key, made known to the library."""
        return [self._made_known(part) for part in split(self._rules.get(key, ()))]

    def _made_known(self, rules: Sequence[EngineRule]) -> _RuleSet:
        name = f"rules-{next(_names)}"
        definition = {f"r{index}": self._define(rule) for index, rule in enumerate(rules)}
        _host.register_rulesets({name: definition})
        self._warm_up(name, rules[0])
        return _RuleSet(name, frozenset(fact for rule in rules for fact in rule.when))

    def close(self, facts: Iterable[str]) -> Closure:
        """Run the rules on `facts` until nothing is new; raises what went wrong in an action."""
        given = tuple(dict.fromkeys(facts))
        new, known = self._numbers.keys() & given, set[str]()
        fired, opened = dict[str, EngineRule](), list[_RuleSet]()
        while new:
            known |= new
            told = [rules for rules in opened if not rules.uses.isdisjoint(new)]
            now = [rules for fact in new for rules in self._sets(fact)]
            opened += now
            for rules in (*told, *now):
                fired |= {rule.id: rule for rule in self._fired_by(rules, rules.uses & known)}
            new = {gain for rule in fired.values() for gain in rule.gives} - known
        return conclude(given, fired.values())

    def _run(self, rules: _RuleSet, facts: Iterable[str]) -> tuple[EngineRule, ...]:
        """The rules of a set that some facts fire."""
        session = f"s{next(_sessions)}"
        try:
            told = sorted(facts, key=self._numbers.__getitem__)
            return tuple(rule for fact in told for rule in self._assert(rules.name, session, fact))
        finally:
            _host.delete_state(rules.name, session)

    def _warm_up(self, name: str, rule: EngineRule) -> None:
        """Fire one rule: only that sets a pointer which deleting a session frees, set or not."""
        # Enough for all later sessions: with one open at a time, they all get the same memory.
        self._run(_RuleSet(name, frozenset()), set(rule.when))

    def _assert(self, name: str, session: str, fact: str) -> list[EngineRule]:
        """Tell one set one fact, once; returns the rules it fired."""
        self._fired.clear()
        self._errors.clear()
        state = _host.assert_fact(name, {"fact": self._token(fact), "sid": session})
        if self._errors:
            raise self._errors[0]
        if state == 0:
            raise EngineError("durable_rules gave up on a rule that took too long")
        if state is not None and "exception" in state:
            raise EngineError(f"durable_rules: {state['exception']}")
        return self._fired.copy()

    def _define(self, rule: EngineRule) -> dict[str, Any]:
        """The rule as durable_rules takes it."""
        facts = dict.fromkeys(rule.when)
        conditions = [{f"m{i}": {"fact": self._token(fact)}} for i, fact in enumerate(facts)]
        return {"all": conditions, "run": self._action(rule)}

    def _action(self, rule: EngineRule) -> Callable[[object], None]:
        """Only notes the rule; keeps an exception, which the library would swallow."""

        def note(_context: object) -> None:
            try:
                self._fired.append(rule)
            except BaseException as error:
                self._errors.append(error)

        return note

    def _token(self, fact: str) -> str:
        return f"f{self._numbers[fact]}"


def by_rarest_condition(rules: Iterable[EngineRule]) -> dict[str, list[EngineRule]]:
    """The rules by the one of their conditions that fewest rules have."""
    rules = list(rules)
    uses = Counter(fact for rule in rules for fact in set(rule.when))
    found: dict[str, list[EngineRule]] = defaultdict(list)
    for rule in rules:
        found[min(rule.when, key=uses.__getitem__)].append(rule)
    return found


def split(rules: Iterable[EngineRule]) -> list[list[EngineRule]]:
    """The rules in their order, cut wherever a set would come near a limit of the library."""
    parts: list[list[EngineRule]] = []
    uses: Counter[str] = Counter()
    for rule in rules:
        conditions = set(rule.when)
        crowded = any(uses[fact] == MOST_RULES_ON_A_CONDITION for fact in conditions)
        if not parts or crowded or len(uses.keys() | conditions) > MOST_CONDITIONS_IN_A_SET:
            parts.append([])
            uses = Counter()
        parts[-1].append(rule)
        uses.update(conditions)
    return parts
