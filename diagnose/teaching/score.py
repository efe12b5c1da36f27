"""The score of a round: the looks by what they could tell, the cause, the measure.

A look is worth bits: the entropy of the causes before it, less its mean after the answer, which is
what it could have told and not what it happened to show. At each point one look open would have
told most. All looks together make `LOOKS * (sum of their bits) / (sum of the best ones' bits)`
points. See docs/teaching.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.teaching import measures
from diagnose.teaching.measures import Judged
from diagnose.teaching.practice import Chosen, Looked, Named, Round

LOOKS = 50.0  # points for looks that each were the best
CAUSE = (30.0, 20.0, 10.0)  # for the cause named first, second, third
MEASURE = {"fits": 20.0, "later": 10.0, "needless": 0.0, "wrong": -10.0}


@dataclass(frozen=True, slots=True)
class Look:
    """A look: what it could tell in bits, the best one then and its bits, and its points."""

    turn: Looked
    bits: float
    best: str
    best_bits: float
    points: float

    @property
    def share(self) -> float:
        """How much of the best look's bits it had, 0 to 1."""
        return self.bits / self.best_bits if self.best_bits else 0.0


@dataclass(frozen=True, slots=True)
class Score:
    """A round's score: each look, each cause named and the measure, with its points."""

    looks: tuple[Look, ...]
    named: tuple[tuple[Named, float], ...]
    measure: tuple[Chosen, Judged, float] | None

    @property
    def points(self) -> list[tuple[str, float]]:
        """The points of every turn with the team whose it was: looks, causes, measure."""
        found = [(look.turn.team, look.points) for look in self.looks]
        found += [(turn.team, points) for turn, points in self.named]
        return found + ([(self.measure[0].team, self.measure[2])] if self.measure else [])

    @property
    def total(self) -> float:
        """The class's score, -10 to 100."""
        return sum(points for _, points in self.points)

    def of(self, team: str) -> float:
        """A team's part in it; those of all teams add up to the class's."""
        return sum(points for name, points in self.points if name == team)


def score(played: Round) -> Score:
    """The score of a round as far as it was played."""
    chosen = next((turn for turn in played.turns if isinstance(turn, Chosen)), None)
    measure = None
    if chosen is not None:
        judged = measures.judge(played.now, played.hidden.cause, chosen.remedy)
        measure = (chosen, judged, MEASURE[judged.verdict])
    return Score(_looks(played), _named(played), measure)


def _looks(played: Round) -> tuple[Look, ...]:
    found: list[tuple[Looked, float, str, float]] = []
    before = played.start
    for turn, after in played.looks:
        bits = {q.symptom: q.bits for q in before.all_questions if q.symptom in played.hidden.truth}
        best = max(bits, key=lambda s: bits[s])
        found.append((turn, bits[turn.symptom], best, bits[best]))
        before = after
    points = _points([(told, most) for _, told, _, most in found])
    return tuple(Look(*one, made) for one, made in zip(found, points, strict=True))


def _points(pairs: Sequence[tuple[float, float]]) -> list[float]:
    """The points of looks from their bits and the best ones' bits."""
    most = sum(best for _, best in pairs)
    return [LOOKS * told / most if most else 0.0 for told, _ in pairs]


def _named(played: Round) -> tuple[tuple[Named, float], ...]:
    return tuple(
        (turn, points if turn.cause is not None and played.right(turn.cause) else 0.0)
        for turn, points in zip(played.named, CAUSE, strict=False)
    )
