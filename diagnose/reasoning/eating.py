"""Whether it may be eaten: from all causes that are still possible, the most careful first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import get_args

from diagnose.kb.model import Cause, Eat

POSSIBLE = 0.01  # chance above which a cause is still thought of
TOLD = 3  # causes that are told of
CAREFUL: tuple[Eat, ...] = get_args(Eat)  # the most careful word first
VERDICTS: dict[Eat, str] = {
    "never": "Do not eat it before this is settled.",
    "some": "Some of it may be eaten, or only with care.",
    "normal": "Nothing that I still think of forbids it.",
}


@dataclass(frozen=True, slots=True)
class Eating:
    """The answer: the most careful word of any cause, and what the causes say, by id."""

    eat: Eat
    causes: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """The word as a sentence."""
        return VERDICTS[self.eat]


def answer(causes: Mapping[str, Cause], standing: Iterable[tuple[str, float]]) -> Eating | None:
    """What may be eaten, after the causes with their chances, likeliest first.

    The first cause told is the most careful one, then come the likeliest. None where no cause is
    likely enough to speak of.
    """
    possible = [cause for cause, chance in standing if cause in causes and chance >= POSSIBLE]
    if not possible:
        return None
    first = min(possible, key=lambda cause: CAREFUL.index(causes[cause].eat))
    told = dict.fromkeys((first, *possible[: TOLD - 1]))
    return Eating(causes[first].eat, tuple(told))


def text(causes: Mapping[str, Cause], found: Eating) -> str:
    """The answer as a person reads it."""
    said = (f"If it is {causes[c].name.lower()}: {causes[c].harvest}" for c in found.causes)
    return " ".join((found.verdict, *said))
