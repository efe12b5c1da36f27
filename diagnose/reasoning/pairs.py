"""Two troubles at once: a second cause beside the first, where the two explain more than one does.

Of two causes at work together a sign is there unless neither brings it: with leak p0, its
background, P(s | a, b) = 1 - (1 - P(s | a)) (1 - P(s | b)) / (1 - p0) (noisy or). A
sentence is about the one trouble or the other: the better of the two explains it. See
docs/reasoning.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.kb.model import PRESENT, SecondNumbers
from diagnose.reasoning.facts import TEXT, Observation
from diagnose.reasoning.ranking import DECIBANS, WORDS, Floats, Tables

LEAST = 1e-9  # no statement is less likely than this under two causes
EXPLAINS = 3.0  # decibans: what is at least twice as likely under the second is why it is proposed


class Beside(NamedTuple):
    """What each cause explains that the first leaves.

    `odds` that each is at work beside the first, as logarithms; `gains`, what it explains better
    of each thing that was `told`, things down and causes across. Something else is last.
    """

    odds: Floats
    gains: Floats
    told: tuple[Observation, ...]

    @property
    def chances(self) -> Floats:
        """The chance of each cause to be the second, where there is one second at most."""
        least = max(0.0, float(self.odds.max()))  # no power may be too large
        odds = np.exp(self.odds - least)
        found: Floats = odds / (math.exp(-least) + odds.sum())
        return found


class Second(NamedTuple):
    """A second cause, the chance that it is at work beside the first, and what it explains.

    `else_` is the next likeliest second, where there is another.
    """

    cause: str
    chance: float
    why: tuple[Observation, ...]
    else_: str | None = None


def beside(
    tables: Tables,
    prior: Floats,
    first: str,
    observations: Iterable[Observation],
    sentences: Sequence[str] = (),
    heard: Floats | None = None,
) -> Beside | None:
    """How far each cause explains what the first leaves; None where nothing is told.

    `heard` is how far each sentence speaks for each cause, sentences down and causes across, as
    `spoken` makes it.
    """
    row = tables.row[first]
    counted = tables.counted(observations)
    told = [Observation(WORDS, PRESENT, TEXT, said) for said in sentences]
    signs = [
        tables.read(seen) * _beside(np.exp(tables.column(seen)), row, seen) for seen in counted
    ]
    if heard is not None:
        signs += list(np.maximum(heard - heard[:, [row]], 0))
    if not signs:
        return None
    gains = np.array(signs)
    odds = math.log(tables.knowledge.likelihood.second.odds) + prior + gains.sum(axis=0)
    odds[[row, -1]] = -np.inf
    return Beside(odds, gains, (*counted, *told))


def second(tables: Tables, found: Beside) -> Second | None:
    """The cause that explains best what the first leaves, where two are likelier than one."""
    best, other = np.argsort(-found.odds, kind="stable")[:2].tolist()
    if found.odds[best] <= 0:
        return None
    why = [
        seen
        for seen, gain in zip(found.told, found.gains[:, best], strict=True)
        if DECIBANS * gain >= EXPLAINS
    ]
    chance = 1 / (1 + math.exp(-found.odds[best]))
    else_ = tables.causes[other] if found.odds[other] > -np.inf else None
    return Second(tables.causes[best], chance, tuple(why), else_)


def spoken(numbers: SecondNumbers, wording: Floats, voices: Floats | None) -> Floats:
    """How far each sentence speaks for each cause: by its wording, and by the encoder's voice."""
    return numbers.words * wording + (0.0 if voices is None else numbers.voice * voices)


def _beside(shares: Floats, row: int, seen: Observation) -> Floats:
    """How much likelier a statement is with each cause beside that of a row, as a log ratio."""
    usual = shares[-1]
    if seen.denied:
        both = shares * shares[row] / usual
    else:
        both = 1 - (1 - shares) * (1 - shares[row]) / (1 - usual)
    found: Floats = np.log(np.maximum(both, LEAST) / shares[row])
    return found
