"""How likely it is that a text says what was read in it: a logistic curve over what speaks for it.

Three things speak: the phrase; the encoder, where it can run and knows the sign; and what the rest
of the wording makes of the causes, which show some signs more often than others on this crop at
this date (`suggested`, a log ratio of chances). Beside them each sign has a number of its own, for
how often it is read rightly. `python -m diagnose.tuning.calibrate` fits the numbers
(docs/listening.md); this module and the fitting share the features.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from diagnose.kb.model import ABSENT, PRESENT, Knowledge
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import Floats

DATA = Path(__file__).parent / "data"
MOST_OF = 0.75  # of the signs of a knowledge that the numbers must have been fitted on
NOTHING = -3.0  # what the words tell a unit that does not look at them
LEAST = 1e-3  # of where a unit looks, what any words hold
GROUND = 0.05  # of where a sign looks, the least on words that tell something, to be offered
MOST = 1.5  # of what the causes suggest, either way: they alone make no sign
Flags: TypeAlias = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Clue:
    """What the encoder makes of a reading.

    `logit` is that of the sign, `form` that of the form it was read in (0 where none was); `share`
    is how much of where the sign looks lies in the words that were read, `most` and `mean` are what
    they tell it.
    """

    logit: float
    share: float = 0.0
    most: float = NOTHING
    mean: float = NOTHING
    form: float = 0.0


def of_reading(seen: Observation, suggested: float, clue: Clue) -> list[float]:
    """The features of a reading that the encoder judges."""
    away = float(seen.value == ABSENT)
    towards = 0.0 if away else _bounded(suggested)
    share = float(np.log(max(clue.share, LEAST)))
    return [1.0, clue.logit, 1.0, clue.logit, share, clue.most, clue.mean, clue.form,
            towards, 0.0, away, 0.0]  # fmt: skip


def of_proposals(away: Flags, suggested: Floats, logits: Floats) -> Floats:
    """The features of signs that no phrase found, a row each; `away`: it is said to be absent."""
    found = np.zeros((len(logits), 12))
    found[:, 0], found[:, 1], found[:, 11] = 1.0, logits, away
    found[:, 9] = np.where(away, 0.0, np.clip(suggested, -MOST, MOST))
    return found


def of_proposal(value: str, suggested: float, logit: float) -> list[float]:
    """The features of one sign that no phrase found."""
    one = np.array([value == ABSENT]), np.array([suggested]), np.array([logit])
    found: list[float] = of_proposals(*one)[0].tolist()
    return found


def of_phrase(seen: Observation, suggested: float) -> list[float]:
    """The features of a reading that only its phrase and the other words speak for."""
    away, denied = float(seen.value == ABSENT), float(seen.denied and seen.value != ABSENT)
    towards = 0.0 if away or denied else _bounded(suggested)
    form = float(not (away or denied or seen.value == PRESENT))
    words = float(np.log(1 + len((seen.words or "").split())))
    return [1.0, form, denied, away, words, towards]


def _bounded(suggested: float) -> float:
    return max(-MOST, min(MOST, suggested))


class Judge:
    """The curves, for one knowledge."""

    def __init__(self, numbers: Mapping[str, Any]) -> None:
        self.heard, self.alone = (np.array(numbers[name]) for name in ("heard", "alone"))
        self.signs: Mapping[str, list[float]] = numbers["signs"]

    @classmethod
    def of(cls, knowledge: Knowledge, folder: Path = DATA) -> Judge | None:
        """The curves, or None where they were fitted on other signs than most of those there."""
        numbers = json.loads((folder / "numbers.json").read_text(encoding="utf-8"))["trust"]
        known = sum(sign in numbers["signs"] for sign in knowledge.symptoms)
        return cls(numbers) if known >= MOST_OF * len(knowledge.symptoms) else None

    def reading(self, seen: Observation, suggested: float, clue: Clue | None) -> float:
        """The chance that a reading is what the text says; without a clue, by phrase and words."""
        heard, alone = self.signs.get(seen.symptom, (0.0, 0.0))
        if clue is None:
            return _chance(self.alone, of_phrase(seen, suggested), alone)
        return _chance(self.heard, of_reading(seen, suggested, clue), heard)

    def own(self, symptoms: Iterable[str]) -> Floats:
        """The number of each sign beside the curve of what is heard."""
        return np.array([self.signs.get(symptom, (0.0, 0.0))[0] for symptom in symptoms])

    def proposals(self, away: Flags, suggested: Floats, logits: Floats, own: Floats) -> Floats:
        """The chance of each of some signs, that no phrase found, that a text says it."""
        features = of_proposals(away, suggested, logits)
        found: Floats = 1 / (1 + np.exp(-(features @ self.heard) - own))
        return found


def _chance(curve: Floats, features: Sequence[float], own: float) -> float:
    return float(1 / (1 + np.exp(-float(curve @ features) - own)))
