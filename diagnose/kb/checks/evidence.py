"""Evidence lines, and whether a cause can be reached and told from others by them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from diagnose.kb.checks.subject import Booleans, Subject
from diagnose.kb.load import Finding
from diagnose.kb.model import NONE, PRESENT, figure
from diagnose.reasoning.ranking import FULL, Floats

FEWEST_LINES = 3
SLIGHTLY_OVER = 0.15  # words are coarse: usually and sometimes together are as good as always
# How far an answer must part two causes: half the sum of |P(answer | one) - P(answer | other)|.
# Asked of two that are equally likely, a right guess is then made in 50 + half of it in 100.
TWINS = 0.2
TOLD = 0.35


def lines(subject: Subject) -> Iterator[Finding]:
    """unknown-id: evidence on symptoms or values that are not there."""
    symptoms = subject.knowledge.symptoms
    for cause_id, cause in subject.knowledge.causes.items():
        for symptom_id, line in cause.evidence.items():
            at = ("causes", cause_id, "evidence", symptom_id)
            symptom = symptoms.get(symptom_id)
            if symptom is None:
                yield from subject.unknown(at, "symptoms", "symptom", symptom_id, symptoms)
            elif isinstance(line, dict):
                allowed = [*(symptom.values or (PRESENT,)), NONE]
                for value in line:
                    yield from subject.unknown(
                        (*at, value), "", f"value of {symptom_id}", value, allowed
                    )


def words(subject: Subject) -> Iterator[Finding]:
    """evidence-over-full, none-alone, too-little-evidence: what evidence lines say in sum."""
    frequency = subject.knowledge.likelihood.frequency
    for cause_id, cause in subject.knowledge.causes.items():
        at = ("causes", cause_id, "evidence")
        if len(cause.evidence) < FEWEST_LINES:
            yield subject.finding(
                at, "too-little-evidence",
                f"{len(cause.evidence)} evidence lines; a cause needs {FEWEST_LINES} at least",
            )  # fmt: skip
        for symptom_id, line in cause.evidence.items():
            if not isinstance(line, dict):
                continue
            total = sum(figure(word, frequency) for word in line.values())
            if total > FULL + SLIGHTLY_OVER:
                yield subject.finding(
                    (*at, symptom_id), "evidence-over-full",
                    f"the values of one symptom exclude each other, but these add up to "
                    f"{total:.0%}; choose rarer words",
                )  # fmt: skip
            if list(line) == [NONE]:
                yield subject.finding(
                    (*at, symptom_id), "none-alone",
                    "say how often the symptom is there instead: seldom, hardly ever or never",
                )  # fmt: skip


def off_host(subject: Subject) -> Iterator[Finding]:
    """unreachable-cause, evidence-off-host: evidence that can be seen on no host."""
    knowledge = subject.knowledge
    for cause_id, crops in subject.hosts.items():
        at = ("causes", cause_id)
        if not crops:
            yield subject.finding(
                (*at, "hosts"), "unreachable-cause", "none of the crops known is a host of it"
            )
            continue
        parts = {part for crop_id in crops for part in knowledge.crops[crop_id].parts}
        asked = [
            symptom_id
            for symptom_id in knowledge.causes[cause_id].evidence
            if not knowledge.symptoms[symptom_id].derived
        ]
        off = [s for s in asked if parts.isdisjoint(knowledge.symptoms[s].parts)]
        if off and off == asked:
            yield subject.finding(
                (*at, "evidence"), "unreachable-cause",
                "all of its evidence is on parts that none of its hosts has",
            )  # fmt: skip
            continue
        for symptom_id in off:
            wanted = " or ".join(knowledge.symptoms[symptom_id].parts)
            yield subject.finding(
                (*at, "evidence", symptom_id), "evidence-off-host",
                f"{symptom_id} is looked for on the {wanted}, which no host of it has",
            )  # fmt: skip


@dataclass(frozen=True)
class Parting:
    """How well the best question parts any two causes; `most` 0 to 1, `by` the symptom's number.

    `meet` says which causes share a host and a season at all.
    """

    most: Floats
    by: np.ndarray[tuple[int, ...], np.dtype[np.intp]]
    meet: Booleans


def parting(subject: Subject) -> Parting:
    """The best question between any two causes, of those that can be asked on a crop they share."""
    knowledge, tables = subject.knowledge, subject.reasoner.tables
    on_crop, count = subject.on_crop, len(tables.causes)
    crop_parts = [set(crop.parts) for crop in knowledge.crops.values()]
    shared: dict[frozenset[str], Booleans] = {}

    def share(parts: frozenset[str]) -> Booleans:
        """Which causes share a host that has one of these parts; any host, where none is given."""
        if parts not in shared:
            having = [not parts or bool(parts & found) for found in crop_parts]
            shared[parts] = _meeting(on_crop[:, having])
        return shared[parts]

    most, by = np.zeros((count, count)), np.zeros((count, count), dtype=np.intp)
    for number, (symptom_id, symptom) in enumerate(knowledge.symptoms.items()):
        told = [r for r, c in enumerate(knowledge.causes.values()) if symptom_id in c.evidence]
        if not told:
            continue
        start = tables.starts[symptom_id]
        states = tables.chances[:-1, start : start + len(symptom.states)]
        apart = np.abs(states[told, None, :] - states[None, :, :]).sum(axis=2) / 2
        apart *= share(frozenset() if symptom.derived else frozenset(symptom.parts))[told]
        for row, found in zip(told, apart, strict=True):
            better = found > most[row]
            most[row, better] = most[better, row] = found[better]
            by[row, better] = by[better, row] = number
    return Parting(most, by, share(frozenset()) & _meeting(subject.in_season))


def _meeting(marks: Booleans) -> Booleans:
    """Which two rows have a mark in common."""
    packed = np.packbits(marks, axis=1)
    return np.asarray((packed[:, None, :] & packed[None, :, :]).any(axis=2))


def twins(subject: Subject) -> Iterator[Finding]:
    """twins, look-alike-not-told: causes on one host that no question tells apart."""
    knowledge = subject.knowledge
    found, causes = parting(subject), list(knowledge.causes)
    row = {cause_id: i for i, cause_id in enumerate(causes)}
    close = found.meet & (found.most < TWINS)
    symptoms = list(knowledge.symptoms)

    def nearest(one: int, other: int) -> str:
        apart = found.most[one, other]
        if apart == 0:
            return "no question parts them at all"
        symptom_id = symptoms[found.by[one, other]]
        return (
            f"{symptom_id} comes nearest ({knowledge.symptoms[symptom_id].ask}), and would be "
            f"right {50 + 50 * apart:.0f} times in 100"
        )

    for one, other in np.argwhere(np.triu(close, 1)):
        yield subject.finding(
            ("causes", causes[one], "evidence"), "twins",
            f"no symptom tells it from {causes[other]}; {nearest(one, other)}",
        )  # fmt: skip
    for cause_id, cause in knowledge.causes.items():
        for other_id in cause.looks_like:
            one, other = row[cause_id], row[other_id]
            if not close[one, other] and found.meet[one, other] and (
                found.most[one, other] < TOLD
            ):  # fmt: skip
                yield subject.finding(
                    ("causes", cause_id, "looks-like", other_id), "look-alike-not-told",
                    f"nothing in the evidence tells it from {other_id}; {nearest(one, other)}",
                )  # fmt: skip


def one_way(subject: Subject) -> Iterator[Finding]:
    """look-alike-one-way: a look-alike that does not name the cause in return."""
    causes = subject.knowledge.causes
    for cause_id, cause in causes.items():
        for other_id in cause.looks_like:
            if cause_id not in causes[other_id].looks_like:
                yield subject.finding(
                    ("causes", cause_id, "looks-like", other_id), "look-alike-one-way",
                    f"{other_id} does not name {cause_id} among its look-alikes",
                )  # fmt: skip
