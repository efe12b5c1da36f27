"""Observations to chances: prior odds times the likelihood of each observation.

P(c | observations) is in proportion to prior(c) * product of P(v | c). A cause's own evidence
gives P(v | c); a symptom's background gives it for every cause that says nothing, and for
"something else". See docs/reasoning.md for a worked example.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diagnose.kb.model import (
    ABSENT,
    NONE,
    PRESENT,
    Frequency,
    HowOften,
    Knowledge,
    Symptom,
    Trust,
    figure,
)
from diagnose.reasoning.facts import Observation

SOMETHING_ELSE = "something-else"
FULL = 0.98  # named values of one symptom never take up more than this; the rest keep a chance
ANSWER = "answer"  # the source whose trust holds where none is named
DECIBANS = 10 / math.log(10)

Floats = npt.NDArray[np.float64]


def background(symptom: Symptom, numbers: Mapping[Frequency, float]) -> dict[str, float]:
    """P(state) on a plant whose problem has nothing to do with the symptom; sums to 1."""
    if not isinstance(symptom.background, Mapping):
        named = symptom.states[1:]
        shares = dict.fromkeys(named, figure(symptom.background, numbers) / len(named))
    else:
        shares = {value: figure(word, numbers) for value, word in symptom.background.items()}
        rest = [value for value in symptom.states[1:] if value not in shares]
        shares |= dict.fromkeys(rest, numbers["never"])
        total = sum(shares.values())
        if total > FULL:
            shares = {value: share * FULL / total for value, share in shares.items()}
    ordered = {value: shares[value] for value in symptom.states[1:]}
    return {ABSENT: 1 - sum(shares.values()), **ordered}


def distribution(
    symptom: Symptom,
    evidence: HowOften | Mapping[str, HowOften],
    numbers: Mapping[Frequency, float],
) -> dict[str, float]:
    """P(state | cause) from one evidence line; sums to 1.

    A single word is the chance that the symptom is present at all. Named values take what their
    words say (scaled down where they add up to more than FULL); what is left is shared among the
    other states as the background has it. Where every state is named, the words are shares.
    """
    back = background(symptom, numbers)
    if not isinstance(evidence, Mapping):
        present = figure(evidence, numbers)
        seen = 1 - back[ABSENT]
        shares = {v: present * p / seen for v, p in back.items() if v != ABSENT}
        return {ABSENT: 1 - present, **shares}
    named = {ABSENT if v == NONE else v: figure(word, numbers) for v, word in evidence.items()}
    others = {value: p for value, p in back.items() if value not in named}
    most, total = FULL if others else 1.0, sum(named.values())
    if total > most or not others:
        named = {value: share * most / total for value, share in named.items()}
        total = most
    scale = (1 - total) / sum(others.values()) if others else 0.0
    return {value: named[value] if value in named else p * scale for value, p in back.items()}


@dataclass(frozen=True, slots=True)
class Weight:
    """How far one observation moves one cause against the background, in decibans."""

    symptom: str
    value: str
    decibans: float


@dataclass(frozen=True, slots=True)
class Ranked:
    """One cause with its chance (0 to 1) and the weights that made it."""

    cause: str
    chance: float
    weights: tuple[Weight, ...]


class Tables:
    """The knowledge as one array: log P(state | cause), causes down, every symptom's states across.

    The last row is "something else". Made once for a knowledge base.
    """

    def __init__(self, knowledge: Knowledge) -> None:
        numbers = knowledge.likelihood.frequency
        self.knowledge = knowledge
        self.causes: tuple[str, ...] = tuple(knowledge.causes)
        self.row = {cause: i for i, cause in enumerate(self.causes)}
        self.symptoms: tuple[str, ...] = tuple(knowledge.symptoms)
        self.starts: dict[str, int] = {}
        backgrounds: list[float] = []
        for symptom_id, symptom in knowledge.symptoms.items():
            self.starts[symptom_id] = len(backgrounds)
            backgrounds.extend(background(symptom, numbers).values())
        self.chances = np.tile(np.array(backgrounds), (len(self.causes) + 1, 1))
        for row, cause in enumerate(knowledge.causes.values()):
            for symptom_id, evidence in cause.evidence.items():
                shares = distribution(knowledge.symptoms[symptom_id], evidence, numbers)
                start = self.starts[symptom_id]
                self.chances[row, start : start + len(shares)] = list(shares.values())
        self.starts_at = np.array(list(self.starts.values()))
        exact, trust = self.chances, knowledge.likelihood.trust
        self.by_source: dict[str, Floats] = {
            source: np.log(self._as_told(exact, t)) for source, t in trust.items()
        }
        self.log: Floats = self.by_source[ANSWER]
        self.chances = np.exp(self.log)

    def _as_told(self, exact: Floats, trust: Trust) -> Floats:
        """P(told state | cause) where a source can be wrong.

        It is right that there is something with chance `seen`, and else tells what the background
        would; where it is there, it names the form rightly with chance `form`, and else any form,
        as the background has them.
        """
        widths = np.diff(np.append(self.starts_at, exact.shape[1]))
        absent = np.zeros(exact.shape[1], dtype=bool)
        absent[self.starts_at] = True
        present = np.repeat(1 - exact[:, self.starts_at], widths, axis=1)
        ordinary = exact[-1] / present[-1]  # P(form | there), in the background
        told = np.where(absent, exact, trust.form * exact + (1 - trust.form) * present * ordinary)
        result: Floats = trust.seen * told + (1 - trust.seen) * told[-1]
        return result

    def column(self, seen: Observation) -> Floats:
        """log P(observation | cause) for every cause and, last, for something else.

        'present' on a symptom with values means any one of them. Where it comes from decides how
        far it is trusted; whatever is not named in `trust` is trusted as an answer.
        """
        log = self.by_source.get(seen.source, self.log)
        start, states = self.starts[seen.symptom], self.knowledge.symptoms[seen.symptom].states
        if seen.value in states:
            found: Floats = log[:, start + states.index(seen.value)]
        else:
            assert seen.value == PRESENT, seen
            found = np.log1p(-np.exp(log[:, start]))
        return found

    def rarity(self, seen: Observation) -> float:
        """The background chance of an observation."""
        return float(math.exp(self.column(seen)[-1]))

    def prior(self, weights: Mapping[str, float]) -> Floats:
        """Log prior from odds per candidate; the rest are out; last, something else."""
        share = self.knowledge.likelihood.something_else
        odds = np.zeros(len(self.causes) + 1)
        for cause, weight in weights.items():
            odds[self.row[cause]] = weight
        total = odds.sum()
        if total > 0:
            odds *= (1 - share) / total
        odds[-1] = share if total > 0 else 1.0
        with np.errstate(divide="ignore"):
            return np.log(odds)

    def counted(self, observations: Iterable[Observation]) -> list[Observation]:
        """The observations that count: of those that restate one another, the rarest alone."""
        kept: dict[str, Observation] = {}
        for seen in sorted(observations, key=lambda o: (o.symptom, o.value)):
            group = self.knowledge.symptoms[seen.symptom].overlaps
            key = f"overlap {group}" if group else seen.symptom
            if key not in kept or self.rarity(seen) < self.rarity(kept[key]):
                kept[key] = seen
        return list(kept.values())

    def posterior(self, prior: Floats, observations: Iterable[Observation]) -> Floats:
        """Chances of every cause and, last, of something else; sums to 1."""
        total = prior.copy()
        for seen in self.counted(observations):
            total += self.column(seen)
        total = np.exp(total - total.max())
        chances: Floats = total / total.sum()
        return chances

    def weights(self, cause: str, observations: Iterable[Observation]) -> tuple[Weight, ...]:
        """The weight of each counted observation on one cause, heaviest first."""
        row = self.row[cause]
        found = []
        for seen in self.counted(observations):
            column = self.column(seen)
            found.append(
                Weight(seen.symptom, seen.value, float(DECIBANS * (column[row] - column[-1])))
            )
        return tuple(sorted(found, key=lambda w: (-abs(w.decibans), w.symptom)))


def prior_odds(
    knowledge: Knowledge, crop: str | None, days_outside: Mapping[str, int]
) -> dict[str, float]:
    """The odds of each candidate before anything is seen: how common here, and in season or not.

    `days_outside` says how far the date lies outside each cause's season; 0 is inside.
    Without a crop, each cause counts as on the host where it is commonest.
    """
    scale, near = knowledge.likelihood, 21
    odds = {}
    for cause_id, cause in knowledge.causes.items():
        if crop is None:
            commonness = max(figure(word, scale.commonness) for word in cause.hosts.values())
        else:
            word = cause.commonness(crop, knowledge.crops[crop].family)
            if word is None:
                continue
            commonness = figure(word, scale.commonness)
        days = days_outside.get(cause_id, 0)
        season = (
            scale.season.in_ if days == 0 else scale.season.near if days <= near
            else scale.season.out
        )  # fmt: skip
        odds[cause_id] = commonness * season
    return odds
