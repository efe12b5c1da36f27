"""Two of the encoder's jobs: how far a reading is to be trusted, and what was said beside it.

Each unit looks at some pieces of a text (a softmax of one product) and takes them to tell how
likely it is said (the mean of another product). A small logistic curve, fitted on texts that the
encoder had not seen, makes a chance of it: of what phrases found too, and of what they did not.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from diagnose.kb.model import ABSENT, DENIED, PRESENT, Knowledge
from diagnose.listening.encoder import DATA, Encoder, Heard, Small
from diagnose.listening.pieces import Piece
from diagnose.listening.units import heirs, parted, unit
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import Floats

OFFERED = 5  # signs to tick at most
LEAST = 0.04  # chance below which a sign is not worth a line
QUOTED = 0.6  # of where a unit looks, how much the quoted words hold
FORM = 0.5  # chance from which a form is named
GAP = " ... "  # between quoted words that stand apart
UNHEARD = -12.0  # the logit of a unit that nothing speaks for


@dataclass(frozen=True, slots=True)
class Proposal:
    """A sign that phrases did not find, its chance of being said, and the words for it."""

    symptom: str
    value: str
    chance: float
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class Said:
    """A text with the logit of every unit, and what each piece tells the fitted ones."""

    heard: Heard
    logits: dict[str, float]
    best: dict[str, int]  # of today's units: the fitted unit that speaks loudest
    looks: Small
    tells: Small


class Ears:
    """The units, for one knowledge."""

    def __init__(self, knowledge: Knowledge, encoder: Encoder, folder: Path = DATA) -> None:
        self.knowledge = knowledge
        self.look = encoder.ears["look"].astype(np.float32)
        self.tell = encoder.ears["tell"].astype(np.float32)
        self.bias = encoder.ears["bias"]
        self.heirs = {n: rows for n, rows in heirs(knowledge, encoder.units).items() if rows}
        numbers = json.loads((folder / "numbers.json").read_text(encoding="utf-8"))
        self.curve: Floats = np.array(numbers["ears"])

    def hear(self, heard: Heard) -> Said:
        """What each unit makes of a text."""
        looks = heard.states @ self.look.T
        looks = np.exp(looks - looks.max(axis=0))
        looks /= looks.sum(axis=0)
        tells = heard.states @ self.tell.T
        logits = (looks * tells).sum(axis=0) + self.bias
        best = {name: max(rows, key=logits.__getitem__) for name, rows in self.heirs.items()}
        return Said(heard, {n: float(logits[row]) for n, row in best.items()}, best, looks, tells)

    def judge(self, said: Said, readings: Iterable[Observation]) -> list[float | None]:
        """The chance that each reading is what the text says; None where no unit speaks for it."""
        return [self._trust(said, seen) for seen in readings]

    def _trust(self, said: Said, seen: Observation) -> float | None:
        name = unit(seen.symptom, ABSENT if seen.value == ABSENT else PRESENT)
        if seen.value.startswith(DENIED) or name not in said.best:
            return None
        found = self._where(said, said.best[name], seen.words or "")
        return self._chance(said.logits[name], found)

    def _where(self, said: Said, row: int, words: str) -> tuple[float, float, float]:
        """How much a unit looks at some words, and the most and the mean that they tell it."""
        heard = said.heard
        at = [i + heard.shift for i in inside(heard.text, heard.pieces, words)]
        if not at:
            return 0.0, -3.0, -3.0
        tells = said.tells[at, row]
        return float(said.looks[at, row].sum()), float(tells.max()), float(tells.mean())

    def _chance(self, logit: float, found: tuple[float, float, float] | None = None) -> float:
        """The curve; `found` is how a unit looks at the words that a phrase found, if one did."""
        features = [1.0, logit, 0.0, 0.0, 0.0, 0.0, 0.0]
        if found is not None:
            share, most, mean = found
            features[2:] = [1.0, logit, float(np.log(max(share, 1e-3))), most, mean]
        return float(1 / (1 + np.exp(-(self.curve @ features))))

    def propose(self, said: Said, readings: Sequence[Observation]) -> list[Proposal]:
        """Signs that phrases did not find, likeliest first."""
        told = {seen.symptom for seen in readings}
        found: dict[str, Proposal] = {}
        for name, logit in said.logits.items():
            symptom, value = parted(name)
            if symptom in told or value not in (PRESENT, ABSENT):
                continue
            chance = self._chance(logit)
            if chance >= LEAST and (symptom not in found or chance > found[symptom].chance):
                shown = self.form(said, symptom) if value == PRESENT else value
                words = self.quoted(said, said.best[name])
                found[symptom] = Proposal(symptom, shown, chance, words)
        return sorted(found.values(), key=lambda p: (-p.chance, p.symptom))[:OFFERED]

    def form(self, said: Said, symptom: str) -> str:
        """The form in which a symptom is said to be there, or `present` where none is told."""
        forms = {v: said.logits.get(unit(symptom, v), UNHEARD)
                 for v in self.knowledge.symptoms[symptom].values}  # fmt: skip
        best = max(forms, key=forms.__getitem__, default=PRESENT)
        return best if best in forms and self._chance(forms[best]) >= FORM else PRESENT

    def quoted(self, said: Said, row: int) -> str:
        """The shortest stretch of the text that holds most of where a unit looks."""
        heard = said.heard
        looks = said.looks[heard.shift : heard.shift + len(heard.pieces), row]
        if not len(looks) or looks.sum() <= 0:
            return ""
        sums = np.concatenate(([0.0], np.cumsum(looks / looks.sum())))
        size, start = min(
            (int(np.searchsorted(sums, sums[i] + QUOTED - 1e-6)) - i, i)
            for i in range(len(looks))
            if sums[-1] - sums[i] >= QUOTED
        )
        last = min(start + size, len(heard.pieces)) - 1
        return heard.text[heard.pieces[start].start : heard.pieces[last].end]


def inside(text: str, pieces: Sequence[Piece], words: str) -> list[int]:
    """The numbers of the pieces that lie in quoted words; ' ... ' parts what stands apart."""
    found: list[int] = []
    for part in words.split(GAP):
        start = text.find(part) if part else -1
        if start >= 0:
            end = start + len(part)
            found += [i for i, p in enumerate(pieces) if p.start >= start and p.end <= end]
    return found
