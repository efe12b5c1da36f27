"""Forward chaining: rules, what they concluded and in which order; what an engine is."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

MOST_CONDITIONS = 15
"""Different conditions a rule may have at most; with 17 durable_rules fails, and only in use."""


class RuleError(ValueError):
    """A rule no engine can run; the message names it."""


class EngineError(RuntimeError):
    """An engine did not do what was asked of it."""


class EngineUnavailable(EngineError):
    """The library behind an engine does not load here."""


@dataclass(frozen=True, slots=True)
class EngineRule:
    """When all facts of `when` hold, conclude all of `gives`."""

    id: str
    when: tuple[str, ...]
    gives: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule that fired: its id, its conditions and its conclusions, as the rule states them."""

    rule: str
    facts: tuple[str, ...]
    gives: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Closure:
    """All facts that hold, given or concluded, and every firing in canonical order."""

    facts: frozenset[str]
    firings: tuple[Firing, ...]


class Engine(Protocol):
    """Closes sets of facts under the rules it was made with; not for two threads at once."""

    @property
    def name(self) -> str:
        """The library and its version."""
        ...

    def close(self, facts: Iterable[str]) -> Closure:
        """Run the rules on `facts` until nothing is new; each rule fires at most once."""
        ...


def check_rules(rules: Iterable[EngineRule]) -> None:
    """Raise RuleError on a repeated id, and on a rule with no or too many conditions."""
    seen: set[str] = set()
    for rule in rules:
        conditions = len(set(rule.when))
        if rule.id in seen:
            raise RuleError(f"two rules are called {rule.id!r}")
        if not conditions:
            raise RuleError(f"rule {rule.id!r} has no condition")
        if conditions > MOST_CONDITIONS:
            raise RuleError(
                f"rule {rule.id!r} has {conditions} conditions; at most {MOST_CONDITIONS} work"
            )
        seen.add(rule.id)


def number_facts(rules: Iterable[EngineRule]) -> dict[str, int]:
    """A number for each fact the rules mention, so that no engine has to parse its text."""
    facts = dict.fromkeys(fact for rule in rules for fact in (*rule.when, *rule.gives))
    return {fact: number for number, fact in enumerate(facts)}


def conclude(given: Iterable[str], fired: Iterable[EngineRule]) -> Closure:
    """The closure in canonical order: by depth of derivation, then by rule id.

    Given facts have depth 0; a rule is one deeper than its deepest condition.
    Raises EngineError when a condition of a fired rule does not hold.
    """
    facts = set(given)
    firings: list[Firing] = []
    waiting = sorted(fired, key=lambda rule: rule.id)
    while waiting:
        layer: list[EngineRule] = []
        deeper: list[EngineRule] = []
        for rule in waiting:
            (layer if facts.issuperset(rule.when) else deeper).append(rule)
        if not layer:
            raise EngineError(f"rule {waiting[0].id!r} fired although its conditions do not hold")
        for rule in layer:
            firings.append(Firing(rule.id, rule.when, rule.gives))
            facts.update(rule.gives)
        waiting = deeper
    return Closure(frozenset(facts), tuple(firings))
