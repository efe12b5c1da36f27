"""Observations to chances: prior odds times the likelihood of each observation.

P(c | observations) is in proportion to prior(c) * product of P(v | c). A cause's own evidence
gives P(v | c); a symptom's background gives it for every cause that says nothing, and for
"something else". See docs/reasoning.md for a worked example.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
import numpy.typing as npt

from diagnose.kb.model import (
    ABSENT,
    DENIED,
    NONE,
    PRESENT,
    Frequency,
    HowOften,
    Knowledge,
    Symptom,
    Trust,
    figure,
)
from diagnose.reasoning.facts import CONFIRMED, TEXT, Observation

SOMETHING_ELSE = "something-else"
WORDS = "words"  # stands for a symptom where the weight is that of the gardener's wording
FULL = 0.98  # named values of one symptom never take up more than this; the rest keep a chance
ANSWER: Literal["answer"] = "answer"  # the source whose trust holds where none is named
DECIBANS = 10 / math.log(10)
SPEAKS = math.log(1.25)  # one deciban: less is next to nothing
NEAR = 21  # days outside a season that still count as near it

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
    """One cause with its chance (0 to 1), and what made it: where it starts, and the weights.

    In decibans they add up to ten times the log of its chance over that of something else.
    """

    cause: str
    chance: float
    start: float
    weights: tuple[Weight, ...]

    @property
    def total(self) -> float:
        """All of it together, in decibans."""
        return self.start + sum(w.decibans for w in self.weights)


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
        rows_by_name = sorted((*self.row.items(), (SOMETHING_ELSE, len(self.causes))))
        self.by_name = [c for c, _ in rows_by_name], np.array([row for _, row in rows_by_name])
        self.symptoms: tuple[str, ...] = tuple(knowledge.symptoms)
        self.place = {symptom: i for i, symptom in enumerate(self.symptoms)}
        effort = knowledge.likelihood.effort
        self.effort = np.array([effort[s.effort] for s in knowledge.symptoms.values()])
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
        self.telling = cache(self._telling)

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

        Where it comes from decides how far it is trusted.
        """
        return self._spread(symptom, self._lines(symptom, source))

    def _lines(self, symptom: str, source: str) -> Floats:
        """P(told state | line); a source that is not named in `trust` is trusted as an answer.

        What was read is as sure after a "yes" as before: that confirms the reading, not the world.
        """
        return self.told.get(TEXT if source == CONFIRMED else source, self.told[ANSWER])[symptom]

    def _spread(self, symptom: str, lines: Floats) -> Floats:
        """From the lines of a symptom to all causes: those without a line have the first."""
        found = np.empty((len(self.causes) + 1, *lines.shape[1:]))
        found[:] = lines[0]
        found[self.rows[symptom]] = lines
        return found

    def column(self, seen: Observation) -> Floats:
        """log P(observation | cause) for every cause and, last, for something else.

        'present' on a symptom with values means any one of them.
        """
        found: Floats = np.log(self._chance(seen, self._lines(seen.symptom, seen.source)))
        return self._spread(seen.symptom, found)

    def _chance(self, seen: Observation, lines: Floats) -> Floats:
        """P(observation | line). Several forms are several looks at one that is there:
        P(a and b) = P(a) P(b) / P(present).
        """
        symptom = self.knowledge.symptoms[seen.symptom]
        states, there = symptom.states, 1 - lines[:, 0]
        if seen.value in states:
            return lines[:, states.index(seen.value)]
        if seen.value == PRESENT:
            return there
        if seen.denied:
            return 1 - lines[:, states.index(seen.value.removeprefix(DENIED))]
        found = there
        for form in symptom.forms(seen.value):
            found = found * lines[:, states.index(form)] / there
        return found

    def rarity(self, seen: Observation) -> float:
        """The background chance of an observation."""
        return float(self._chance(seen, self.told[ANSWER][seen.symptom][:1])[0])

    def bits(self, chances: Floats) -> Floats:
        """What the answer about each symptom would tell of the cause, in bits."""
        return self._worth.bits(chances)

    def _telling(self, cause: str) -> list[str]:
        """The symptoms by which a cause shows, the most telling first.

        A sign tells by P(present | cause) log(P(present | cause) / P(present | something else)).
        """
        row, found = self.row[cause], []
        for symptom in self.knowledge.causes[cause].evidence:
            lines, rows = self.told[ANSWER][symptom], self.rows[symptom]
            here, usual = 1 - lines[rows == row, 0].item(), 1 - lines[0, 0].item()
            if here > usual:
                found.append((-here * math.log(here / usual), symptom))
        return [symptom for _, symptom in sorted(found)]

    def by_row(self, odds: Mapping[str, float]) -> Floats:
        """Odds of causes as a row for each; the rest, and something else, at 0."""
        found = np.zeros(len(self.causes) + 1)
        for cause, weight in odds.items():
            found[self.row[cause]] = weight
        return found

    def prior(self, odds: Floats, ruled_out: Iterable[str]) -> Floats:
        """Log prior from the odds by row, without what is ruled out; last, something else."""
        share = self.knowledge.likelihood.something_else
        odds = odds.copy()
        odds[[self.row[cause] for cause in ruled_out if cause in self.row]] = 0
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

    def speaks_for(self, cause: str, seen: Observation) -> bool:
        """Whether an observation makes a cause clearly likelier than something else."""
        column = self.column(seen)
        return bool(column[self.row[cause]] - column[-1] > SPEAKS)

    def weights(self, cause: str, observations: Iterable[Observation]) -> tuple[Weight, ...]:
        """The weight of each counted observation on one cause, heaviest first."""
        return self.weigh([cause], observations)[0]

    def weigh(
        self, causes: Iterable[str], observations: Iterable[Observation]
    ) -> list[tuple[Weight, ...]]:
        """The weights on each of some causes."""
        counted = self.counted(observations)
        columns = [self.column(seen) for seen in counted]
        decibans = [DECIBANS * (column - column[-1]) for column in columns]
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
        counts = np.array([len(found) for found in rows])
        self.starts = _starts(widths)
        self.usual = np.concatenate([found[0] for found in lines])
        # a symptom's first state on each line, then its second, and so on
        self.more = np.concatenate([(found - found[0]).T.ravel() for found in lines])
        self.more_rows = np.concatenate(
            [np.tile(found, width) for found, width in zip(rows, widths, strict=True)]
        )
        self.more_starts = _starts(np.repeat(counts, widths))
        noise = [-plogp(found).sum(axis=1) for found in lines]
        self.usual_noise = np.array([found[0] for found in noise])
        self.more_noise = np.concatenate([found - found[0] for found in noise])
        self.noise_rows = np.concatenate(rows)
        self.noise_starts = _starts(counts)

    def bits(self, chances: Floats) -> Floats:
        """For every symptom, in their order."""
        more = np.add.reduceat(chances.take(self.more_rows) * self.more, self.more_starts)
        answers = np.add.reduceat(-plogp(self.usual + more), self.starts)
        noise = np.add.reduceat(chances.take(self.noise_rows) * self.more_noise, self.noise_starts)
        bits: Floats = answers - self.usual_noise - noise
        return bits


def _starts(lengths: Ints) -> Ints:
    """Where each of some stretches begins, laid end to end."""
    return np.concatenate(([0], np.cumsum(lengths)[:-1]))


def plogp(chances: Floats) -> Floats:
    """p * log2(p), with 0 for p = 0."""
    found: Floats = chances * np.log2(np.where(chances > 0, chances, 1))
    return found


def host_odds(knowledge: Knowledge, crop: str | None) -> dict[str, float]:
    """The odds of each cause that lives on a crop, by how common it is there.

    Without a crop, each cause counts as on the host where it is commonest.
    """
    scale = knowledge.likelihood.commonness
    odds = {}
    for cause_id, cause in knowledge.causes.items():
        if crop is None:
            odds[cause_id] = max(figure(word, scale) for word in cause.hosts.values())
        else:
            word = cause.commonness(crop, knowledge.crops[crop].family)
            if word is not None:
                odds[cause_id] = figure(word, scale)
    return odds


def season_odds(knowledge: Knowledge, days_outside: Mapping[str, int]) -> dict[str, float]:
    """What a date makes of the odds of each cause: how far it lies outside its season, in days."""
    season = knowledge.likelihood.season
    return {
        cause: season.in_ if days == 0 else season.near if days <= NEAR else season.out
        for cause, days in days_outside.items()
    }
