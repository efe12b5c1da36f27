"""Evidence lines, and whether a cause can be reached and told from others by them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

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
MOST_TWINS = 3  # of one cause that are named
AT_ONCE = 512  # causes compared with all at a time


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
    """How well the best question parts some causes, `rows`, from every other.

    `most` (rows by causes) goes from 0, not at all, to 1; `by` is the number of the symptom;
    `meet` says which share a host and a season at all.
    """

    rows: range
    most: Floats
    by: npt.NDArray[np.intp]
    meet: Booleans


def parting(subject: Subject) -> Iterator[Parting]:
    """The best question between any two causes, of those that can be asked on a crop they share.

    So many causes at a time that the tables stay small.
    """
    count = len(subject.knowledge.causes)
    for first in range(0, count, AT_ONCE):
        yield _parting(subject, range(first, min(first + AT_ONCE, count)))


def _parting(subject: Subject, rows: range) -> Parting:
    tables, shared = subject.reasoner.tables, _Shared(subject, rows)
    shape = (len(rows), len(tables.causes))
    most, by = np.zeros(shape), np.zeros(shape, dtype=np.intp)
    for number, (symptom_id, symptom) in enumerate(subject.knowledge.symptoms.items()):
        told = tables.rows[symptom_id]
        told = told[told < shape[1]]  # the last row is that of something else
        parts = frozenset[str]() if symptom.derived else frozenset(symptom.parts)
        allowed = shared.with_parts(parts)
        shares = tables.shares(symptom_id)
        own = np.isin(np.arange(rows.start, rows.stop), told)
        usual, lines = shares[-1], shares[rows.start : rows.stop][own]
        for where, apart in (  # without a line of its own a cause has the background
            (np.ix_(~own, told), np.abs(shares[told] - usual).sum(axis=1)),
            ((own,), np.abs(lines[:, None, :] - shares[:-1]).sum(axis=2)),
        ):
            apart = np.where(allowed[where], apart / 2, 0)
            by[where] = np.where(apart > most[where], number, by[where])
            most[where] = np.maximum(apart, most[where])
    season = _meeting(subject.in_season, rows)
    return Parting(rows, most, by, shared.with_parts(frozenset()) & season)


class _Shared:
    """Which causes share a host that has certain parts."""

    def __init__(self, subject: Subject, rows: range) -> None:
        self.subject, self.rows = subject, rows
        self.crop_parts = [set(crop.parts) for crop in subject.knowledge.crops.values()]
        self.known: dict[frozenset[str], Booleans] = {}

    def with_parts(self, parts: frozenset[str]) -> Booleans:
        """By rows and causes; any host will do where no part is given."""
        if parts not in self.known:
            having = [not parts or bool(parts & found) for found in self.crop_parts]
            self.known[parts] = _meeting(self.subject.on_crop[:, having], self.rows)
        return self.known[parts]


def _meeting(marks: Booleans, rows: range) -> Booleans:
    """Which of some rows have a mark in common with which of all."""
    packed = np.packbits(marks, axis=1)
    found = np.zeros((len(rows), len(marks)), dtype=bool)
    for column in packed.T:
        found |= (column[rows.start : rows.stop, None] & column[None, :]) > 0
    return found


def twins(subject: Subject) -> Iterator[Finding]:
    """twins, look-alike-not-told: causes on one host that no question tells apart."""
    for found in parting(subject):
        yield from _too_close(subject, found)


def _too_close(subject: Subject, found: Parting) -> Iterator[Finding]:
    causes, symptoms = list(subject.knowledge.causes), list(subject.knowledge.symptoms)
    row = {cause_id: i for i, cause_id in enumerate(causes)}
    close = found.meet & (found.most < TWINS)

    def nearest(one: int, other: int) -> str:
        apart = found.most[one, other]
        if apart == 0:
            return "no question parts them at all"
        symptom_id = symptoms[found.by[one, other]]
        return (
            f"{symptom_id} comes nearest ({subject.knowledge.symptoms[symptom_id].ask}), and "
            f"would be right {50 + 50 * apart:.0f} times in 100"
        )

    for one, number in enumerate(found.rows):
        others = [int(other) for other in np.flatnonzero(close[one]) if other > number]
        for other in others[:MOST_TWINS]:
            yield subject.finding(
                ("causes", causes[number], "evidence"), "twins",
                f"no symptom tells it from {causes[other]}; {nearest(one, other)}",
            )  # fmt: skip
        if len(others) > MOST_TWINS:
            yield subject.finding(
                ("causes", causes[number], "evidence"), "twins",
                f"nor from {len(others) - MOST_TWINS} more",
            )  # fmt: skip
        for other_id in subject.knowledge.causes[causes[number]].looks_like:
            other = row[other_id]
            near = found.meet[one, other] and found.most[one, other] < TOLD
            if near and not close[one, other]:
                yield subject.finding(
                    ("causes", causes[number], "looks-like", other_id), "look-alike-not-told",
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
