"""Several things on one screen, to be ticked: which to show together so that the ticks tell most.

What is ticked is there, as answered. What is left unticked is weakly absent: of what is there, a
person ticks a share `noticed`, so P(ticked | cause) = noticed * P(present | cause).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.kb.model import ScreenNumbers
from diagnose.reasoning.facts import TICK
from diagnose.reasoning.ranking import Floats, Tables, plogp


class Tick(NamedTuple):
    """A line to tick: a symptom, and the form that it names, or 'present'."""

    symptom: str
    value: str


class TickScreen(NamedTuple):
    """Lines to tick, what the ticks tell of the cause together, in bits, and the effort of it."""

    lines: tuple[Tick, ...]
    bits: float
    effort: float

    @property
    def worth(self) -> float:
        """Bits per unit of effort."""
        return self.bits / self.effort


def best_symptoms(
    tables: Tables, chances: Floats, symptoms: Collection[str], numbers: ScreenNumbers
) -> tuple[list[str], float, float]:
    """The symptoms that tell most together for their effort, with their bits and effort.

    Each is added that raises most, for its effort, what the ticks tell together: H(ticks) less
    H(ticks | cause), in bits; ticks are independent given the cause. Effort in glances.
    """
    names = _candidates(tables, chances, sorted(symptoms), numbers.of)
    if not names:
        return [], 0.0, 0.0
    there = chances > 0  # what is impossible tells nothing
    chances = chances[there]
    ticked = np.array([1 - tables.shares(name, TICK)[there, 0] for name in names]).T
    effort = np.array([tables.effort[tables.place[name]] for name in names])
    noise = -chances @ (plogp(ticked) + plogp(1 - ticked))
    joint = chances[:, None]  # P(cause and ticks), the ticks so far across
    bits, chosen = 0.0, list[int]()
    while len(chosen) < min(numbers.lines, len(names)):
        both = joint.T @ ticked
        gone = joint.sum(axis=0)[:, None] - both
        told = plogp(joint.sum(axis=0)).sum() - (plogp(both) + plogp(gone)).sum(axis=0) - noise
        told[chosen] = -np.inf
        best = int(np.argmax(told / effort))
        bits += float(told[best])
        chosen.append(best)
        joint = np.hstack([joint * ticked[:, [best]], joint * (1 - ticked[:, [best]])])
    glances = numbers.effort * float(effort[chosen].mean())
    return [names[i] for i in chosen], bits, glances


def _candidates(tables: Tables, chances: Floats, symptoms: Sequence[str], most: int) -> list[str]:
    """The symptoms that tell most each by itself; one of those that restate one another."""
    bits = tables.bits(chances)
    found: list[str] = []
    groups: set[str] = set()
    for name in sorted(symptoms, key=lambda s: -bits[tables.place[s]]):
        group = tables.knowledge.symptoms[name].overlaps
        if group is None or group not in groups:
            found.append(name)
            groups |= {group} if group else set()
        if len(found) == most:
            break
    return found


__all__ = ["Tick", "TickScreen", "best_symptoms"]
