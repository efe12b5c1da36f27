"""Observations to chances: prior odds times the likelihood of each observation.

P(c | observations) is in proportion to prior(c) * product of P(v | c). A cause's own evidence
gives P(v | c); a symptom's background gives it for every cause that says nothing, and for
"something else". See docs/reasoning.md for a worked example.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

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
WORDS = "words"  # stands for a symptom where the weight is that of the gardener's wording
FULL = 0.98  # named values of one symptom never take up more than this; the rest keep a chance
TEXT: Literal["text"] = "text"  # the source of what is read from a sentence
ANSWER: Literal["answer"] = "answer"  # the source whose trust holds where none is named
DECIBANS = 10 / math.log(10)

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


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
    """The knowledge as arrays: P(state | cause), one line for each evidence line of a cause.

    A cause without a line on a symptom has its background there. The lines of a symptom lie
    together; the first is the background, as the line of "something else", whose row is the last.
    Made once for a knowledge base.
    """

    def __init__(self, knowledge: Knowledge) -> None:
        numbers = knowledge.likelihood.frequency
        self.knowledge = knowledge
        self.causes: tuple[str, ...] = tuple(knowledge.causes)
        self.row = {cause: i for i, cause in enumerate(self.causes)}
        self.symptoms: tuple[str, ...] = tuple(knowledge.symptoms)
        lines = {s: [background(symptom, numbers)] for s, symptom in knowledge.symptoms.items()}
        rows = {s: [len(self.causes)] for s in knowledge.symptoms}
        for row, cause in enumerate(knowledge.causes.values()):
            for symptom_id, evidence in cause.evidence.items():
                symptom = knowledge.symptoms[symptom_id]
                lines[symptom_id].append(distribution(symptom, evidence, numbers))
                rows[symptom_id].append(row)
        self.rows = {s: np.array(found) for s, found in rows.items()}
        exact = [np.array([list(line.values()) for line in found]) for found in lines.values()]
        self.told: dict[str, dict[str, Floats]] = {
            source: dict(zip(self.symptoms, self._as_told(exact, trust), strict=True))
            for source, trust in knowledge.likelihood.trust.items()
        }
        self._worth = _Worth(list(self.told[ANSWER].values()), list(self.rows.values()))

    @staticmethod
    def _as_told(exact: Sequence[Floats], trust: Trust) -> Iterator[Floats]:
        """P(told state | cause) where a source can be wrong.

        It is right that there is something with chance `seen`, and else tells what the background
        would; where it is there, it names the form rightly with chance `form`, and else any form,
        as the background has them.
        """
        for lines in exact:
            usual = lines[0]
            any_form = (1 - lines[:, :1]) * usual / (1 - usual[0])
            told = trust.form * lines + (1 - trust.form) * any_form
            told[:, 0] = lines[:, 0]
            yield trust.seen * told + (1 - trust.seen) * usual

    def shares(self, symptom: str, source: str = ANSWER) -> Floats:
        """P(told state | cause): causes down and, last, something else; the states across.

        Where it comes from decides how far it is trusted; whatever is not named in `trust` is
        trusted as an answer.
        """
        lines = self.told.get(source, self.told[ANSWER])[symptom]
        found = np.tile(lines[0], (len(self.causes) + 1, 1))
        found[self.rows[symptom]] = lines
        return found

    def column(self, seen: Observation) -> Floats:
        """log P(observation | cause) for every cause and, last, for something else.

        'present' on a symptom with values means any one of them.
        """
        shares, states = (
            self.shares(seen.symptom, seen.source),
            self.knowledge.symptoms[seen.symptom].states,
        )
        if seen.value in states:
            found: Floats = np.log(shares[:, states.index(seen.value)])
        else:
            assert seen.value == PRESENT, seen
            found = np.log1p(-shares[:, 0])
        return found

    def emphasis(self, seen: Observation) -> float:
        """What the weight of an observation is multiplied by, after where it comes from."""
        trust = self.knowledge.likelihood.trust
        return trust[TEXT if seen.source == TEXT else ANSWER].emphasis

    def rarity(self, seen: Observation) -> float:
        """The background chance of an observation."""
        usual = self.told[ANSWER][seen.symptom][0]
        states = self.knowledge.symptoms[seen.symptom].states
        return float(usual[states.index(seen.value)] if seen.value in states else 1 - usual[0])

    def bits(self, chances: Floats) -> Floats:
        """What the answer about each symptom would tell of the cause, in bits."""
        return self._worth.bits(chances)

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
            total += self.emphasis(seen) * self.column(seen)
        total = np.exp(total - total.max())
        chances: Floats = total / total.sum()
        return chances

    def weights(self, cause: str, observations: Iterable[Observation]) -> tuple[Weight, ...]:
        """The weight of each counted observation on one cause, heaviest first."""
        return self.weigh([cause], observations)[0]

    def weigh(
        self, causes: Iterable[str], observations: Iterable[Observation]
    ) -> list[tuple[Weight, ...]]:
        """The weights on each of some causes."""
        counted = self.counted(observations)
        columns = [self.column(seen) for seen in counted]
        decibans = [
            DECIBANS * self.emphasis(seen) * (column - column[-1])
            for seen, column in zip(counted, columns, strict=True)
        ]
        return [
            heaviest_first(
                Weight(seen.symptom, seen.value, float(weights[self.row[cause]]))
                for seen, weights in zip(counted, decibans, strict=True)
            )
            for cause in causes
        ]


def heaviest_first(weights: Iterable[Weight]) -> tuple[Weight, ...]:
    """Weights in the order in which they are told."""
    return tuple(sorted(weights, key=lambda w: (-abs(w.decibans), w.symptom)))


class _Worth:
    """What answers would tell of the cause: all lines end to end, so that it is a few sums.

    It is H(answer) - H(answer | cause), which equals H(cause) - H(cause | answer).
    """

    def __init__(self, lines: Sequence[Floats], rows: Sequence[Ints]) -> None:
        widths = np.array([found.shape[1] for found in lines])
        self.starts = np.concatenate(([0], np.cumsum(widths)[:-1]))
        self.usual = np.concatenate([found[0] for found in lines])
        self.rows = np.concatenate(rows)
        self.symptoms = np.repeat(np.arange(len(lines)), [len(found) for found in rows])
        self.states = np.concatenate(
            [np.tile(np.arange(s, s + w), len(r))
             for s, w, r in zip(self.starts, widths, rows, strict=True)]
        )  # fmt: skip
        self.state_rows = np.repeat(self.rows, widths[self.symptoms])
        self.more = np.concatenate([(found - found[0]).ravel() for found in lines])
        noise = [-plogp(found).sum(axis=1) for found in lines]
        self.usual_noise = np.array([found[0] for found in noise])
        self.more_noise = np.concatenate([found - found[0] for found in noise])

    def bits(self, chances: Floats) -> Floats:
        """For every symptom, in their order."""
        more = np.bincount(self.states, chances[self.state_rows] * self.more, len(self.usual))
        answers = np.add.reduceat(-plogp(self.usual + more), self.starts)
        noise = np.bincount(
            self.symptoms, chances[self.rows] * self.more_noise, len(self.usual_noise)
        )
        bits: Floats = answers - self.usual_noise - noise
        return bits


def plogp(chances: Floats) -> Floats:
    """p * log2(p), with 0 for p = 0."""
    found: Floats = chances * np.log2(np.where(chances > 0, chances, 1))
    return found


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
