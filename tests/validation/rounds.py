"""The score of the looks in a round of practice by its definition, with an exact network engine."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.consultation import Consultation, Reasoner
from diagnose.teaching.practice import Round
from diagnose.teaching.score import LOOKS, score
from tests.teaching.rounds import played
from tests.validation.network import network_of


def some(reasoner: Reasoner, blank: Consultation, count: int) -> Iterator[Round]:
    """Rounds of all levels, described and drawn, with looks at random."""
    assert not reasoner.hears  # the network knows no encoder
    for seed in range(count):
        yield played(blank, seed, "Reds", "Blues", looks=3 + seed % 4)


def points_by_definition(found: Round) -> list[float]:
    """The points of each look: `LOOKS` times its gain over the sum of the best ones' gains."""
    pairs = []
    before = found.start
    for turn, after in found.looks:
        told = {one.symptom for one in before.counted}
        open_ = [q.symptom for q in before.all_questions if q.symptom in found.hidden.truth]
        gains = network_of(before, [s for s in open_ if s not in told]).gains(
            s for s in open_ if s not in told
        )
        pairs.append((gains[turn.symptom], max(gains.values())))
        before = after
    most = sum(best for _, best in pairs)
    return [LOOKS * gain / most for gain, _ in pairs]


def difference(found: Round) -> float:
    """The largest difference of a look's points from the definition."""
    exact = points_by_definition(found)
    made = [look.points for look in score(found).looks]
    return max(abs(a - b) for a, b in zip(exact, made, strict=True))
