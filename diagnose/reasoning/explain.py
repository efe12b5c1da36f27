"""Why: the rules that fired, what was ruled out and by what, what stays unexplained."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.kb.model import Rule
from diagnose.reasoning import facts
from diagnose.reasoning.engine import Firing
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import SOMETHING_ELSE, Tables

RARE = 0.1  # a background chance below which something seen asks for an explanation


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that fired: from which facts, giving which, and because of what."""

    rule: str
    facts: tuple[str, ...]
    gives: tuple[str, ...]
    because: str


def reasons(rules: Mapping[str, Rule], firings: Iterable[Firing]) -> list[Reason]:
    """The firings with the knowledge's own words for them, each rule once per set of facts."""
    return [
        Reason(found, firing.facts, firing.gives, rules[found].because)
        for firing in firings
        for found in [facts.rule_id(firing.rule)]
    ]


def ruled_out(trace: Iterable[Reason], doubtful: Iterable[str] = ()) -> dict[str, str]:
    """Causes that a rule ruled out, each with the reason.

    `doubtful` are facts that nobody has confirmed: what rests on one of them, directly or through
    other rules, rules nothing out. The trace is in the order of derivation.
    """
    found: dict[str, str] = {}
    shaky = set(doubtful)
    for reason in trace:
        if shaky.intersection(reason.facts):
            shaky.update(reason.gives)
            continue
        for cause in facts.concluded(reason.gives, facts.RULE_OUT):
            found.setdefault(cause, reason.because)
    return found


def unexplained(
    tables: Tables, cause: str, observations: Sequence[Observation]
) -> list[Observation]:
    """Symptoms and signs seen that the cause makes no likelier than anything else would.

    What is seen on many plants anyway asks for no explanation.
    """
    found = []
    for seen in tables.counted(observations):
        symptom = tables.knowledge.symptoms[seen.symptom]
        if seen.denied or symptom.kind in ("condition", "pattern"):
            continue
        column = tables.column(seen)
        row = -1 if cause == SOMETHING_ELSE else tables.row[cause]
        if column[row] <= column[-1] and column[-1] < math.log(RARE):
            found.append(seen)
    return found
