"""Observations to chances: prior odds times the likelihood of each observation.

P(c | observations) is in proportion to prior(c) * product of P(v | c). A cause's own evidence
gives P(v | c); a symptom's background gives it for every cause that says nothing, and for
"something else". See docs/reasoning.md for a worked example.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, NamedTuple

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
    Part,
    Symptom,
    Trust,
    figure,
)
from diagnose.reasoning.facts import CONFIRMED, RULE, TEXT, TICK, Observation, fact

SOMETHING_ELSE = "something-else"
WORDS = "words"  # stands for a symptom where the weight is that of the gardener's wording
PARTS = "parts"  # where it is that of the parts on which the trouble was said to show
UNTICKED = "unticked"  # and where it is that of all that was left unticked
DOUBT = "doubt"  # and where it is what a description's being misleading takes from its weight
READ = (TEXT, CONFIRMED)  # sources of what was read in the gardener's words
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


def moved(line: Floats, usual: Floats, here: float) -> Floats:
    """P(state | cause) where the symptom is seen anyway with chance `here`, not as `usual` says.

    What a cause adds to what is there anyway, it adds here too (noisy or); what it makes rarer, it
    makes rarer in the same proportion. The forms keep their shares.
    """
    there, anyway = 1 - line[0], 1 - usual[0]
    more = there >= anyway
    now = 1 - (1 - there) * (1 - here) / (1 - anyway) if more else there * here / anyway
    return np.append(1 - now, line[1:] * now / there)


@dataclass(frozen=True, slots=True)
class Weight:
    """How far one observation moves one cause against the background, in decibans."""

    symptom: str
    value: str
    decibans: float


class Line(NamedTuple):
    """One thing that moves the causes: log P(it | cause) up to a constant, something else last."""

    symptom: str
    value: str
    moves: Floats


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


@dataclass(frozen=True, eq=False)
class Stated:
    """What the evidence states, symptom by symptom in their order: what can be kept ready-made.

    Each has a line for its background and one for each evidence line of a cause; their chances
    stand in `chances` end to end. Of each line the row of its cause stands in `rows`; of each
    symptom the number of its lines in `counts`.
    """

    chances: Floats
    rows: Ints
    counts: Ints

    @classmethod
    def of(cls, knowledge: Knowledge) -> Stated:
        """Worked out anew."""
        numbers = knowledge.likelihood.frequency
        lines = {s: [background(symptom, numbers)] for s, symptom in knowledge.symptoms.items()}
        rows = {s: [len(knowledge.causes)] for s in knowledge.symptoms}

        @cache  # many causes say the same word of a symptom
        def said(symptom_id: str, word: HowOften) -> dict[str, float]:
            return distribution(knowledge.symptoms[symptom_id], word, numbers)

        for row, cause in enumerate(knowledge.causes.values()):
            for symptom_id, evidence in cause.evidence.items():
                lines[symptom_id].append(
                    distribution(knowledge.symptoms[symptom_id], evidence, numbers)
                    if isinstance(evidence, dict)
                    else said(symptom_id, evidence)
                )
                rows[symptom_id].append(row)
        every = [line for found in lines.values() for line in found]
        return cls(
            np.array([chance for line in every for chance in line.values()], dtype=np.float64),
            np.array([row for found in rows.values() for row in found], dtype=np.intp),
            np.array([len(found) for found in rows.values()], dtype=np.intp),
        )

    def parts(self) -> dict[str, Any]:
        """To be kept in a ready-made copy."""
        return {"chances": self.chances, "chance rows": self.rows, "chance counts": self.counts}

    @classmethod
    def ready(cls, parts: Mapping[str, Any]) -> Stated:
        """From the parts of a ready-made copy."""
        return cls(parts["chances"], parts["chance rows"], parts["chance counts"])

    def by_symptom(self, symptoms: Mapping[str, Symptom]) -> Iterator[tuple[str, Ints, Floats]]:
        """Each symptom with the rows of its lines, and its lines: the states across."""
        row = chance = 0
        for (name, symptom), count in zip(symptoms.items(), self.counts.tolist(), strict=True):
            width = len(symptom.states)
            lines = self.chances[chance : chance + count * width].reshape(count, width)
            yield name, self.rows[row : row + count], lines
            row, chance = row + count, chance + count * width


class Tables:
    """The knowledge as arrays: P(state | cause), one line for each evidence line of a cause.

    A cause without a line on a symptom has its background there. The lines of a symptom lie
    together; the first is the background, as the line of "something else", whose row is the last.
    Made once for a knowledge base.
    """

    def __init__(self, knowledge: Knowledge, stated: Stated | None = None) -> None:
        self.knowledge = knowledge
        self.stated = stated or Stated.of(knowledge)
        self.causes: tuple[str, ...] = tuple(knowledge.causes)
        self.row = {cause: i for i, cause in enumerate(self.causes)}
        rows_by_name = sorted((*self.row.items(), (SOMETHING_ELSE, len(self.causes))))
        self.by_name = [c for c, _ in rows_by_name], np.array([row for _, row in rows_by_name])
        self.symptoms: tuple[str, ...] = tuple(knowledge.symptoms)
        self.place = {symptom: i for i, symptom in enumerate(self.symptoms)}
        self.signs = np.array([s.kind == "sign" for s in knowledge.symptoms.values()], dtype=bool)
        effort = knowledge.likelihood.effort
        self.effort = np.array([effort[s.effort] for s in knowledge.symptoms.values()])
        self.rows: dict[str, Ints] = {}
        self.exact: dict[str, Floats] = {}
        for symptom, rows, lines in self.stated.by_symptom(knowledge.symptoms):
            self.rows[symptom], self.exact[symptom] = rows, lines
        self.told: dict[str, dict[str, Floats]] = self._told(self.exact)
        weighed = [self._weighed(symptom) for symptom in self.symptoms]
        whole = [len(symptom.states) for symptom in knowledge.symptoms.values()]
        self._worth = _Worth(weighed, list(self.rows.values()), whole)
        self._elsewhere = [
            s for s, symptom in knowledge.symptoms.items() if symptom.background_where
        ]
        self._at: dict[tuple[float | None, ...], Tables] = {}
        self._under: dict[frozenset[str], Tables] = {}  # the same by the facts

    def at(self, setting: Collection[str]) -> Tables:
        """The tables where these facts of crop and season hold: backgrounds depend on them."""
        known = self._under.get(facts := frozenset(setting))
        if known is not None:
            return known
        numbers = self.knowledge.likelihood.frequency
        here = tuple(_here(self.knowledge.symptoms[s], setting, numbers) for s in self._elsewhere)
        if here not in self._at:
            self._at[here] = self._moved(dict(zip(self._elsewhere, here, strict=True)))
        self._under[facts] = self._at[here]
        return self._at[here]

    def _moved(self, here: Mapping[str, float | None]) -> Tables:
        """The tables where some symptoms are seen anyway with another chance."""
        made = copy(self)
        changed = {
            symptom: np.array([moved(line, lines[0], chance) for line in lines])
            for symptom, chance in here.items()
            if chance is not None
            for lines in [self.exact[symptom]]
        }
        made.exact = {**self.exact, **changed}
        told = made._told(changed)
        made.told = {source: {**self.told[source], **told[source]} for source in told}
        made._worth = self._worth.but({self.place[s]: made._weighed(s) for s in changed})
        return made

    def _told(self, exact: Mapping[str, Floats]) -> dict[str, dict[str, Floats]]:
        """The lines of symptoms as each source tells them."""
        numbers = self.knowledge.likelihood
        told: dict[str, dict[str, Floats]] = {
            source: {symptom: _as_told(found, trust) for symptom, found in exact.items()}
            for source, trust in numbers.trust.items()
        }
        noticed = numbers.screens.noticed
        told[TICK] = {symptom: _as_ticked(f, noticed) for symptom, f in told[ANSWER].items()}
        return told

    def _weighed(self, symptom: str) -> Floats:
        """The lines of a symptom as answered, of the answers that count."""
        lines = self.told[ANSWER][symptom]
        return lines[:, 1:] if self.knowledge.symptoms[symptom].kind == "pattern" else lines

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

    def _lines_of(self, seen: Observation) -> Floats:
        """P(told state | line), by the observation's own trust where it has one."""
        if seen.trust is None:
            return self._lines(seen.symptom, seen.source)
        form = self.knowledge.likelihood.trust["text"].form
        return _as_told(self.exact[seen.symptom], Trust(seen=seen.trust, form=form))

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
        found: Floats = np.log(self._chance(seen, self._lines_of(seen)))
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

    def present(self, chances: Floats) -> Floats:
        """The chance that each symptom would be told to be there, in their order."""
        return self._worth.present(chances)

    def absent(self, chances: Floats) -> Floats:
        """The chance of every symptom, in their order, that it would be answered as absent.

        Of a pattern it means nothing.
        """
        return self._worth.first_answer(chances)

    def stands_on(self, parts: Collection[Part], of: int) -> Floats:
        """log P(just these parts are told | cause), up to a constant, where there are `of` parts.

        With chance `part_right` a part is told in the measure in which what the cause shows stands
        there, each sign by its chance; else it is any.
        """
        right = self.knowledge.likelihood.screens.part_right
        share = np.full(len(self.causes) + 1, len(parts) / of)
        for cause, row in self.row.items():
            here = every = 0.0
            for symptom_id in self.knowledge.causes[cause].evidence:
                symptom = self.knowledge.symptoms[symptom_id]
                if symptom.kind not in ("symptom", "sign"):
                    continue
                lines, rows = self.exact[symptom_id], self.rows[symptom_id]
                there = 1 - lines[rows == row, 0].item()
                every += there
                here += there * sum(p in parts for p in symptom.parts) / len(symptom.parts)
            if every > 0:
                share[row] = right * here / every + (1 - right) * share[row]
        found: Floats = np.log(share)
        return found

    def bits_of_form(self, chances: Floats, symptom: str) -> float:
        """What the form of a symptom that is there would tell of the cause, in bits."""
        shares = self.shares(symptom)
        there = 1 - shares[:, 0]
        forms = shares[:, 1:] / there[:, None]
        now = chances * there / (chances @ there)
        return float(plogp(forms).sum(axis=1) @ now - plogp(now @ forms).sum())

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

    def counts(self, seen: Observation) -> bool:
        """Whether an observation is evidence.

        "None of these" to a pattern is not: it is said where the question does not fit (of a dug
        tuber: where in the bed), where nobody looked, and where all the forms offered are wrong.
        """
        return seen.value != ABSENT or self.knowledge.symptoms[seen.symptom].kind != "pattern"

    def counted(self, observations: Iterable[Observation]) -> list[Observation]:
        """The observations that count: of those that restate one another, the rarest alone."""
        kept: dict[str, Observation] = {}
        for seen in sorted(filter(self.counts, observations), key=lambda o: (o.symptom, o.value)):
            group = self.knowledge.symptoms[seen.symptom].overlaps
            key = f"overlap {group}" if group else seen.symptom
            if key not in kept or self.rarity(seen) < self.rarity(kept[key]):
                kept[key] = seen
        return list(kept.values())

    def speaks_for(self, cause: str, seen: Observation) -> bool:
        """Whether an observation makes a cause clearly likelier than something else."""
        column = self.column(seen)
        return bool(column[self.row[cause]] - column[-1] > SPEAKS)

    def lines(
        self,
        prior: Floats,
        observations: Iterable[Observation],
        heard: Floats | None = None,
        beside: float = 1.0,
    ) -> list[Line]:
        """All that moves the causes: what was read, the wording, a doubt of both, the answers.

        What is read is heard in the same words as the wording (`heard`), so it counts `read` times,
        and `beside` times of that where more was heard in them; and with chance `slip` a
        description says nothing of the cause at all.
        """
        counted = self.counted(observations)
        concluded = [self._line(seen) for seen in counted if seen.source == RULE]
        described = [self._line(seen, beside) for seen in counted if seen.source in READ]
        if heard is not None:
            described.append(Line(WORDS, PRESENT, heard))
        if described:
            told, slip = (
                after(np.zeros_like(prior), described),
                self.knowledge.likelihood.channel.slip,
            )
            described.append(Line(DOUBT, PRESENT, _doubt(after(prior, concluded), told, slip)))
        answered = [
            self._line(seen)
            for seen in counted
            if seen.source not in (RULE, *READ) and not seen.unticked
        ]
        unticked = [self.column(seen) for seen in counted if seen.unticked]
        if unticked:
            answered.append(Line(UNTICKED, ABSENT, np.sum(unticked, axis=0)))
        return [*concluded, *described, *answered]

    def _line(self, seen: Observation, beside: float = 1.0) -> Line:
        return Line(seen.symptom, seen.value, beside * self.read(seen) * self.column(seen))

    def read(self, seen: Observation) -> float:
        """How often an observation counts; what was read in someone's words, less than once."""
        return self.knowledge.likelihood.channel.read if seen.source in READ else 1.0

    def weigh(self, causes: Iterable[str], lines: Sequence[Line]) -> list[tuple[Weight, ...]]:
        """The weights of all that moves them on each of some causes, heaviest first."""
        decibans = [DECIBANS * (line.moves - line.moves[-1]) for line in lines]
        return [
            heaviest_first(
                Weight(line.symptom, line.value, float(weights[self.row[cause]]))
                for line, weights in zip(lines, decibans, strict=True)
            )
            for cause in causes
        ]


def posterior(prior: Floats, lines: Iterable[Line]) -> Floats:
    """Chances of every cause and, last, of something else; sums to 1."""
    return _share_out(after(prior, lines))


def after(start: Floats, lines: Iterable[Line]) -> Floats:
    """Where the causes stand after some lines have moved them."""
    found = start.copy()
    for line in lines:
        found += line.moves
    return found


def _share_out(standing: Floats) -> Floats:
    """Chances in proportion to the exponentials; sums to 1."""
    shares = np.exp(standing - standing.max())
    chances: Floats = shares / shares.sum()
    return chances


def _doubt(start: Floats, told: Floats, slip: float) -> Floats:
    """What is taken from a description's weight, since with chance `slip` it says nothing.

    Then it would be as likely under every cause as it is on average.
    """
    most = told[start > -np.inf].max()
    mean = math.log(_share_out(start) @ np.exp(told - most)) + most
    found: Floats = np.logaddexp(math.log1p(-slip) + told, np.log(slip) + mean) - told
    return found


def _as_told(lines: Floats, trust: Trust) -> Floats:
    """P(told state | cause) where a source can be wrong.

    It is right that there is something with chance `seen`, and else tells what the background
    would; where it is there, it names the form rightly with chance `form`, and else any form,
    as the background has them.
    """
    usual = lines[0]
    any_form = (1 - lines[:, :1]) * usual / (1 - usual[0])
    told = trust.form * lines + (1 - trust.form) * any_form
    told[:, 0] = lines[:, 0]
    found: Floats = trust.seen * told + (1 - trust.seen) * usual
    return found


def _as_ticked(answered: Floats, noticed: float) -> Floats:
    """P(ticked state | cause) where only a share of what is there is noticed."""
    ticked = noticed * answered
    ticked[:, 0] = 1 - ticked[:, 1:].sum(axis=1)
    return ticked


def _here(
    symptom: Symptom, setting: Collection[str], numbers: Mapping[Frequency, float]
) -> float | None:
    """The chance that a symptom is seen anyway in a setting, where that is not its background."""
    for where in symptom.background_where:
        if all(
            any(fact(name, value) in setting for value in values)
            for name, values in where.when.items()
        ):
            return figure(where.is_, numbers)
    return None


def heaviest_first(weights: Iterable[Weight]) -> tuple[Weight, ...]:
    """Weights in the order in which they are told."""
    return tuple(sorted(weights, key=lambda w: (-abs(w.decibans), w.symptom)))


class _Worth:
    """What answers would tell of the cause: all lines end to end, so that it is a few sums.

    It is H(answer) - H(answer | cause), which equals H(cause) - H(cause | answer); an answer that
    does not count takes no part.
    """

    def __init__(
        self, lines: Sequence[Floats], rows: Sequence[Ints], states: Sequence[int]
    ) -> None:
        self.widths = np.array([found.shape[1] for found in lines])
        self.has_absent = self.widths == states
        self.counts = np.array([len(found) for found in rows])
        self.starts = _starts(self.widths)
        self.more_rows = np.concatenate(
            [np.tile(found, width) for found, width in zip(rows, self.widths, strict=True)]
        )
        self.more_starts = _starts(np.repeat(self.counts, self.widths))
        self.noise_rows = np.concatenate(rows)
        self.noise_starts = _starts(self.counts)
        self.usual = np.empty(self.widths.sum())
        # a symptom's first state on each line, then its second, and so on
        self.more = np.empty(len(self.more_rows))
        self.usual_noise = np.empty(len(lines))
        self.more_noise = np.empty(len(self.noise_rows))
        for i, found in enumerate(lines):
            self._put(i, found)

    def _put(self, i: int, lines: Floats) -> None:
        """Put the lines of the symptom number i into their place."""
        noise = -plogp(lines).sum(axis=1)
        for whole, start, part in (
            (self.usual, self.starts[i], lines[0]),
            (self.more, self.more_starts[self.starts[i]], (lines - lines[0]).T.ravel()),
            (self.usual_noise, i, noise[:1]),
            (self.more_noise, self.noise_starts[i], noise - noise[0]),
        ):
            whole[start : start + len(part)] = part

    def but(self, changed: Mapping[int, Floats]) -> _Worth:
        """With other lines for some symptoms, by their number."""
        made = copy(self)
        for name in ("usual", "more", "usual_noise", "more_noise"):
            setattr(made, name, getattr(self, name).copy())
        for i, lines in changed.items():
            made._put(i, lines)
        return made

    def _answers(self, chances: Floats) -> Floats:
        """The chance of every answer that counts, to every symptom."""
        more = np.add.reduceat(chances.take(self.more_rows) * self.more, self.more_starts)
        found: Floats = self.usual + more
        return found

    def first_answer(self, chances: Floats) -> Floats:
        """The chance of the first answer to every symptom, in their order."""
        return self._answers(chances)[self.starts]

    def bits(self, chances: Floats) -> Floats:
        """For every symptom, in their order."""
        answers = np.add.reduceat(-plogp(self._answers(chances)), self.starts)
        noise = np.add.reduceat(chances.take(self.noise_rows) * self.more_noise, self.noise_starts)
        bits: Floats = answers - self.usual_noise - noise
        return bits

    def present(self, chances: Floats) -> Floats:
        """For every symptom, in their order: the chance of all answers but `absent`."""
        told = self._answers(chances)
        there: Floats = np.add.reduceat(told, self.starts)
        return there - np.where(self.has_absent, told[self.starts], 0.0)


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
