"""Evidence lines, and whether a cause can be reached and told from others by them."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from diagnose.checking.subject import Booleans, Subject
from diagnose.kb.model import NONE, PRESENT, figure
from diagnose.kb.reader import Finding
from diagnose.reasoning.ranking import FULL, Floats
from diagnose.reasoning.wording import USUAL

FEWEST_LINES = 3
SLIGHTLY_OVER = 0.15  # words are coarse: usually and sometimes together are as good as always
# How far an answer must part two causes: half the sum of |P(answer | one) - P(answer | other)|.
# Asked of two that are equally likely, a right guess is then made in 50 + half of it in 100.
TWINS = 0.2
TOLD = 0.35
SAME = 1e-6
LOOKED_AT = frozenset({"symptom", "sign"})
MOST_TWINS = 3  # of one cause that are named

Numbers: TypeAlias = npt.NDArray[np.intp]
Bits: TypeAlias = npt.NDArray[np.uint8]


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
                    yield from subject.unknown_value((*at, value), symptom_id, value, allowed)


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


def idle(subject: Subject) -> Iterator[Finding]:
    """line-idle: a line that says what holds without it, and that no described case states.

    Of what is looked for on the plant a line tells also where the trouble stands, and often or more
    gives its words to the wording of the cause: only the others can change nothing.
    """
    knowledge, tables = subject.knowledge, subject.reasoner.tables
    shares = cache(tables.shares)
    frequency = knowledge.likelihood.frequency
    for cause_id, cause in knowledge.causes.items():
        stated = {symptom_id for case in cause.cases for symptom_id in case.observations}
        for symptom_id, line in cause.evidence.items():
            said = line.values() if isinstance(line, dict) else (line,)
            if symptom_id in stated or knowledge.symptoms[symptom_id].kind in LOOKED_AT:
                continue
            if max(figure(word, frequency) for word in said) >= USUAL:
                continue
            found = shares(symptom_id)
            if np.allclose(found[tables.row[cause_id]], found[-1], rtol=SAME):  # last: none of them
                yield subject.finding(
                    ("causes", cause_id, "evidence", symptom_id), "line-idle",
                    "it says what is so of every cause, and no case states it; "
                    "take it out, or describe a case",
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


class Telling:
    """How well questions tell causes apart, of those that can be asked on a crop they share.

    A cause is meant by its number in the knowledge.
    """

    def __init__(self, subject: Subject) -> None:
        self.knowledge, self.tables = subject.knowledge, subject.reasoner.tables
        self.causes = list(self.knowledge.causes)
        self.crop_parts = [frozenset(crop.parts) for crop in self.knowledge.crops.values()]
        self.on_crop = np.packbits(subject.on_crop, axis=1)
        self.in_season = np.packbits(subject.in_season, axis=1)
        self.shares = cache(self.tables.shares)
        self.having = cache(self._having)

    def _having(self, parts: frozenset[str]) -> Bits:
        """The crops that have one of these parts; all of them where none is given."""
        return np.packbits([not parts or not parts.isdisjoint(p) for p in self.crop_parts])

    def meeting(self, one: int) -> Booleans:
        """Which causes share a host and a season with this one."""
        return np.asarray(
            (self.on_crop & self.on_crop[one]).any(axis=1)
            & (self.in_season & self.in_season[one]).any(axis=1)
        )

    def asked(self, symptom_id: str, one: int, others: Numbers) -> Booleans:
        """Of which others this can be asked on a crop they share with this one."""
        symptom = self.knowledge.symptoms[symptom_id]
        crops = self.having(frozenset() if symptom.derived else frozenset(symptom.parts))
        return np.asarray((self.on_crop[others] & self.on_crop[one] & crops).any(axis=1))

    def apart(self, symptom_id: str, one: int, others: Numbers) -> Floats:
        """How far the answer parts this cause from others, 0 to 1; 0 where it cannot be asked."""
        shares = self.shares(symptom_id)
        found = np.abs(shares[others] - shares[one]).sum(axis=1) / 2
        return np.where(self.asked(symptom_id, one, others), found, 0.0)

    def partings(self, one: int, other: int) -> Iterator[tuple[float, str]]:
        """How far each symptom with evidence parts two causes."""
        lines = [self.knowledge.causes[self.causes[number]].evidence for number in (one, other)]
        pair = np.array([other])
        for symptom_id in dict.fromkeys(s for line in lines for s in line):
            yield float(self.apart(symptom_id, one, pair)[0]), symptom_id

    def told(self, one: int, other: int, enough: float) -> bool:
        """Whether some question parts two causes far enough."""
        return any(apart >= enough for apart, _ in self.partings(one, other))

    def alike(self, one: int) -> list[int]:
        """The causes after this one that no question parts from it."""
        left = np.flatnonzero(self.meeting(one))
        left = left[left > one]
        for symptom_id in self.knowledge.causes[self.causes[one]].evidence:
            left = left[self.apart(symptom_id, one, left) < TWINS]
        return [other for other in left.tolist() if not self.told(one, other, TWINS)]

    def nearest(self, one: int, other: int) -> str:
        """The best question between two causes, in words."""
        apart, symptom_id = max(self.partings(one, other), default=(0.0, ""))
        if apart == 0:
            return "no question parts them at all"
        return (
            f"{symptom_id} comes nearest ({self.knowledge.symptoms[symptom_id].ask}), and would "
            f"be right {50 + 50 * apart:.0f} times in 100"
        )


def twins(subject: Subject) -> Iterator[Finding]:
    """twins, look-alike-not-told: causes on one host that no question tells apart."""
    telling = Telling(subject)
    number = {cause_id: i for i, cause_id in enumerate(telling.causes)}
    for one, (cause_id, cause) in enumerate(subject.knowledge.causes.items()):
        if not subject.asked("causes", cause_id):
            continue
        others = telling.alike(one)
        at = ("causes", cause_id, "evidence")
        for other in others[:MOST_TWINS]:
            yield subject.finding(
                at, "twins",
                f"no symptom tells it from {telling.causes[other]}; {telling.nearest(one, other)}",
            )  # fmt: skip
        if len(others) > MOST_TWINS:
            yield subject.finding(at, "twins", f"nor from {len(others) - MOST_TWINS} more")
        for other_id in cause.looks_like:
            other = number[other_id]
            if other == one:
                yield subject.finding(
                    ("causes", cause_id, "looks-like", other_id), "look-alike-not-told",
                    "it cannot be taken for itself; take the line out",
                )  # fmt: skip
                continue
            if telling.told(one, other, TOLD) or not telling.meeting(one)[other]:
                continue
            if telling.told(one, other, TWINS):
                yield subject.finding(
                    ("causes", cause_id, "looks-like", other_id), "look-alike-not-told",
                    f"nothing in the evidence tells it from {other_id}; "
                    f"{telling.nearest(one, other)}",
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
