"""Measures and plans: the least-harm ladder, and measures that agree."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from diagnose.checking.subject import Subject
from diagnose.kb.reader import Finding
from diagnose.reasoning.advice import contradict

GENTLEST = frozenset({"leave", "growing"})
NEEDS_NO_MEASURE = frozenset({"leave", "watch"})  # a decision that is the gentlest rung itself


def ladder(subject: Subject) -> Iterator[Finding]:
    """skips-the-ladder, no-measure: plans that begin too high, or do nothing at all."""
    remedies = subject.knowledge.remedies
    for cause_id, cause in subject.knowledge.causes.items():
        if cause.matters.decision in NEEDS_NO_MEASURE:
            continue
        measures = [*cause.remedies, *cause.next_season]
        if not measures and cause.matters.decision == "act":
            yield subject.finding(
                ("causes", cause_id), "no-measure",
                "it is to be acted on, but no remedy says how; name some, or decide otherwise",
            )  # fmt: skip
            continue
        unhurried = [r for r in measures if remedies[r].season != "today"]
        if unhurried and all(remedies[r].rung not in GENTLEST for r in unhurried):
            rungs = sorted({remedies[r].rung for r in unhurried})
            yield subject.finding(
                ("causes", cause_id, "remedies"), "skips-the-ladder",
                f"only {' and '.join(rungs)}; put a growing practice or leaving alone first",
            )  # fmt: skip


def agreeing(subject: Subject) -> Iterator[Finding]:
    """measures-contradict, measure-twice: measures of one cause that cannot stand together."""
    knowledge = subject.knowledge
    for cause_id, cause in knowledge.causes.items():
        for one, other in combinations(cause.remedies, 2):
            if contradict(knowledge, one, other):
                yield subject.finding(
                    ("causes", cause_id, "remedies"), "measures-contradict",
                    f"{one} and {other} exclude one another, so only the first is ever said; "
                    "take one out",
                )  # fmt: skip
        for remedy in cause.remedies:
            if remedy in cause.next_season or knowledge.remedies[remedy].season == "next":
                yield subject.finding(
                    ("causes", cause_id, "remedies"), "measure-twice",
                    f"{remedy} stands under now and next season, or is for next season; "
                    "name it once, under the one where it helps",
                )  # fmt: skip
