"""Several things on one screen, to be ticked: which to show together so that the ticks tell most.

What is ticked is there, as answered. What is left unticked is weakly absent: of what is there, a
person ticks a share `noticed`, so P(ticked | cause) = noticed * P(present | cause).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.kb.model import PRESENT, ScreenNumbers
from diagnose.reasoning.facts import TICK
from diagnose.reasoning.ranking import Floats, Ints, Tables, plogp

TOGETHER = 256  # outcomes that are told apart; the unlikeliest beyond count as one
LEAST = 1e-4  # chance of a cause below which it has no say in what is shown


class Tick(NamedTuple):
    """A line to tick: a symptom, and the form that it names, or 'present'."""

    symptom: str
    value: str


class TickScreen(NamedTuple):
    """Lines to tick, and what the ticks tell of the cause together, in bits."""

    lines: tuple[Tick, ...]
    bits: float


class Choice(NamedTuple):
    """What a screen can hold of one symptom: whether it is there, or which of its forms it has.

    `ticked` is P(line is ticked | cause), causes down and lines across; the rest is that none is.
    """

    symptom: str
    values: tuple[str, ...]
    ticked: Floats
    effort: float

    @property
    def lines(self) -> list[Tick]:
        """Its lines on the screen."""
        return [Tick(self.symptom, value) for value in self.values]


def whether(tables: Tables, symptom: str, effort: float) -> Choice:
    """One line: that a symptom is there."""
    return Choice(symptom, (PRESENT,), 1 - tables.shares(symptom, TICK)[:, :1], effort)


def which(tables: Tables, symptom: str, effort: float, known: bool) -> Choice:
    """A line for each form of a symptom; it may be `known` that it is there."""
    shares = tables.shares(symptom, TICK)
    forms = shares[:, 1:]
    if known:
        forms = forms / (1 - shares[:, :1])
    return Choice(symptom, tuple(tables.knowledge.symptoms[symptom].values), forms, effort)


def best_choices(
    chances: Floats, choices: Iterable[Choice], numbers: ScreenNumbers, lines: int
) -> tuple[list[Choice], float]:
    """The choices that tell most together on a screen with so many lines left, and their bits.

    Each is added that raises most, for what it takes to read and to look, what the ticks tell
    together: H(ticks) less H(ticks | cause), in bits; ticks are independent given the cause. A
    line of its own takes 1 to read, each further form of one thing `form`.
    """
    live = np.flatnonzero(chances > LEAST)
    joint = chances[live, None]  # P(cause and ticks), the ticks so far across
    found = [_Weighed.of(choice, live, joint[:, 0], numbers.form) for choice in choices]
    bits, chosen = 0.0, list[Choice]()
    while len(chosen) < numbers.signs:
        found = [f for f in found if len(f.choice.values) <= lines]
        if not found:
            break
        gains = _gains(joint, found)
        best = int(np.argmax(gains / [f.cost for f in found]))
        if gains[best] <= 0:
            break
        bits += float(gains[best])
        taken = found[best]
        chosen.append(taken.choice)
        lines -= len(taken.choice.values)
        joint = _merged((joint[:, :, None] * taken.outcomes[:, None, :]).reshape(len(live), -1))
        found = [f for f in found if f.choice.symptom != taken.choice.symptom]
    return chosen, bits


class _Weighed(NamedTuple):
    """A choice with P(outcome | cause), none ticked first; its noise in bits, and its cost."""

    choice: Choice
    outcomes: Floats
    noise: float
    cost: float

    @classmethod
    def of(cls, choice: Choice, live: Ints, chances: Floats, form: float) -> _Weighed:
        ticked = choice.ticked[live]
        none = np.maximum(1 - ticked.sum(axis=1, keepdims=True), 0)
        outcomes = np.hstack([none, ticked])
        noise = -chances @ plogp(outcomes).sum(axis=1)
        read = 1 + form * (len(choice.values) - 1)
        return cls(choice, outcomes, float(noise), read * choice.effort)


def _gains(joint: Floats, found: Sequence[_Weighed]) -> Floats:
    """What each choice would add to what the ticks so far tell."""
    widths = [f.outcomes.shape[1] for f in found]
    starts = np.cumsum([0, *widths[:-1]])
    each = plogp(joint.T @ np.hstack([f.outcomes for f in found])).sum(axis=0)
    gains: Floats = plogp(joint.sum(axis=0)).sum() - np.add.reduceat(each, starts)
    return gains - [f.noise for f in found]


def _merged(joint: Floats) -> Floats:
    """The same with the unlikeliest outcomes taken as one, where there are too many."""
    if joint.shape[1] <= TOGETHER:
        return joint
    order = np.argsort(-joint.sum(axis=0), kind="stable")
    rest = joint[:, order[TOGETHER - 1 :]].sum(axis=1, keepdims=True)
    return np.hstack([joint[:, order[: TOGETHER - 1]], rest])


__all__ = ["Choice", "Tick", "TickScreen", "best_choices", "whether", "which"]
