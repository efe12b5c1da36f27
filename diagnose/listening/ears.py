"""Two of the encoder's jobs: what it makes of a reading, and what was said beside it.

Each unit looks at some pieces of a text (a softmax of one product) and takes them to tell how
likely it is said (the mean of another product). `trust` makes a chance of it: of what phrases found
too, and of what they did not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

import numpy as np

from diagnose.kb.model import ABSENT, AND, PRESENT, Knowledge
from diagnose.listening.encoder import Encoder, Heard, Small
from diagnose.listening.pieces import Piece
from diagnose.listening.trust import GROUND, NOTHING, Clue, Flags, Judge
from diagnose.listening.units import heirs, parted, unit
from diagnose.reading import Ground
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import Floats, Ints

OFFERED = 5  # signs to tick at most
LEAST = 0.04  # chance below which a sign is not worth a line
QUOTED = 0.6  # of where a unit looks, how much the quoted words hold
FORM = 0.0  # logit from which a form is named
GAP = " ... "  # between quoted words that stand apart
UNHEARD = -12.0  # the logit of a unit that nothing speaks for
LOWEST = -6.0  # logit of a form below which all are alike


@dataclass(frozen=True, slots=True)
class Proposal:
    """A sign that phrases did not find, its chance of being said, the words for it, and where."""

    symptom: str
    value: str
    chance: float
    words: str
    start: int


@dataclass(frozen=True, slots=True, eq=False)
class Said:
    """A text with the logit of every unit, and what each piece tells the fitted ones."""

    heard: Heard
    logits: dict[str, float]
    best: dict[str, int]  # of today's units: the fitted unit that speaks loudest
    looks: Small
    tells: Small


@dataclass(frozen=True, slots=True, eq=False)
class _Signs:
    """Of all units those of a sign that is there, or not there: its name, its number among them.

    `away` is whether the unit is that of its absence; `own` is the number of each sign beside the
    curve.
    """

    names: list[str]
    numbers: Ints
    symptoms: list[str]
    away: Flags
    own: Floats

    @classmethod
    def of(cls, names: Iterable[str], judge: Judge) -> _Signs:
        """Those among the units of these names."""
        units = [(i, name, *parted(name)) for i, name in enumerate(names)]
        whole = [one for one in units if one[3] in (PRESENT, ABSENT)]
        symptoms = [symptom for _, _, symptom, _ in whole]
        return cls(
            [name for _, name, _, _ in whole],
            np.array([i for i, _, _, _ in whole], dtype=np.intp),
            symptoms,
            np.array([value == ABSENT for _, _, _, value in whole], dtype=bool),
            judge.own(symptoms),
        )

    def likely(
        self, logits: Mapping[str, float], suggested: Mapping[str, float], judge: Judge
    ) -> Iterator[tuple[int, float]]:
        """Those with a chance of at least LEAST: the place of each here, and the chance."""
        told = np.fromiter(logits.values(), np.float64, len(logits))[self.numbers]
        towards = np.array([suggested.get(symptom, 0.0) for symptom in self.symptoms])
        chances = judge.proposals(self.away, towards, told, self.own)
        for i in np.flatnonzero(chances >= LEAST).tolist():
            yield i, float(chances[i])


class Ears:
    """The units, for one knowledge."""

    def __init__(self, knowledge: Knowledge, encoder: Encoder, judge: Judge) -> None:
        self.knowledge, self.judge = knowledge, judge
        self.look = encoder.ears["look"].astype(np.float32)
        self.tell = encoder.ears["tell"].astype(np.float32)
        self.bias = encoder.ears["bias"]
        self.heirs = {n: rows for n, rows in heirs(knowledge, encoder.units).items() if rows}
        most = max(map(len, self.heirs.values()), default=1)
        self._rows = np.array([[*r, *r[:1] * (most - len(r))] for r in self.heirs.values()])
        self._signs = _Signs.of(self.heirs, judge)

    def hear(self, heard: Heard) -> Said:
        """What each unit makes of a text."""
        looks = heard.states @ self.look.T
        looks = np.exp(looks - looks.max(axis=0))
        looks /= looks.sum(axis=0)
        tells = heard.states @ self.tell.T
        return self.said(heard, (looks * tells).sum(axis=0) + self.bias, looks, tells)

    def said(self, heard: Heard, logits: Floats | Small, looks: Small, tells: Small) -> Said:
        """A text with what the fitted units make of it, whose logits these are."""
        loudest = logits[self._rows].argmax(axis=1)
        best = self._rows[np.arange(len(loudest)), loudest]
        told = dict(zip(self.heirs, logits[best].tolist(), strict=True))
        return Said(heard, told, dict(zip(self.heirs, best.tolist(), strict=True)), looks, tells)

    def clue(self, said: Said, seen: Observation) -> Clue | None:
        """What the encoder makes of a reading; None where no unit speaks for it."""
        name = unit(seen.symptom, ABSENT if seen.value == ABSENT else PRESENT)
        if (seen.value != ABSENT and seen.denied) or name not in said.best:
            return None
        told = [unit(seen.symptom, form) for form in seen.value.split(AND)]
        forms = [said.logits.get(form, UNHEARD) for form in told if form != name]
        where = self._where(said, said.best[name], seen.words or "")
        return Clue(said.logits[name], *where, max(max(forms, default=0.0), LOWEST))

    def _where(self, said: Said, row: int, words: str) -> tuple[float, float, float]:
        """How much a unit looks at some words, and the most and the mean that they tell it."""
        heard = said.heard
        at = [i + heard.shift for i in inside(heard.text, heard.pieces, words)]
        if not at:
            return 0.0, NOTHING, NOTHING
        tells = said.tells[at, row]
        return float(said.looks[at, row].sum()), float(tells.max()), float(tells.mean())

    def propose(
        self,
        said: Said,
        readings: Sequence[Observation],
        suggested: Mapping[str, float],
        ground: Ground,
    ) -> list[Proposal]:
        """Signs that phrases did not find, likeliest first.

        One that looks past the words that tell something, or more at what is said of another
        plant, has no ground in what was said.
        """
        held = _looks_at(said, ground.telling)
        grounded = (held >= GROUND) & (held >= _looks_at(said, ground.of_others))
        told = {seen.symptom for seen in readings}
        found: dict[str, Proposal] = {}
        for at, chance in self._signs.likely(said.logits, suggested, self.judge):
            name, symptom = self._signs.names[at], self._signs.symptoms[at]
            if not grounded[said.best[name]]:
                continue
            if symptom not in told and (symptom not in found or chance > found[symptom].chance):
                shown = ABSENT if self._signs.away[at] else self.form(said, symptom)
                start, words = self.quoted(said, said.best[name])
                found[symptom] = Proposal(symptom, shown, chance, words, start)
        return sorted(found.values(), key=lambda p: (-p.chance, p.symptom))[:OFFERED]

    def form(self, said: Said, symptom: str) -> str:
        """The form in which a symptom is said to be there, or `present` where none is told."""
        forms = {v: said.logits.get(unit(symptom, v), UNHEARD)
                 for v in self.knowledge.symptoms[symptom].values}  # fmt: skip
        best = max(forms, key=forms.__getitem__, default=PRESENT)
        return best if best in forms and forms[best] >= FORM else PRESENT

    def quoted(self, said: Said, row: int) -> tuple[int, str]:
        """The shortest stretch of the text that holds most of where a unit looks: start, words."""
        heard = said.heard
        looks = said.looks[heard.shift : heard.shift + len(heard.pieces), row]
        if not len(looks) or looks.sum() <= 0:
            return 0, ""
        sums = np.concatenate(([0.0], np.cumsum(looks / looks.sum())))
        size, start = min(
            (int(np.searchsorted(sums, sums[i] + QUOTED - 1e-6)) - i, i)
            for i in range(len(looks))
            if sums[-1] - sums[i] >= QUOTED
        )
        last = min(start + size, len(heard.pieces)) - 1
        at = heard.pieces[start].start
        return at, heard.text[at : heard.pieces[last].end]


def _looks_at(said: Said, starts: AbstractSet[int]) -> Small:
    """How much of where each fitted unit looks lies on the words that start at some places."""
    heard = said.heard
    at = [i + heard.shift for i, piece in enumerate(heard.pieces) if piece.start in starts]
    found: Small = said.looks[at].sum(axis=0)
    return found


def inside(text: str, pieces: Sequence[Piece], words: str) -> list[int]:
    """The numbers of the pieces that lie in quoted words; ' ... ' parts what stands apart."""
    found: list[int] = []
    for part in words.split(GAP):
        start = text.find(part) if part else -1
        if start >= 0:
            end = start + len(part)
            found += [i for i, p in enumerate(pieces) if p.start >= start and p.end <= end]
    return found
