"""How far each reading is to be trusted: what is understood, what is offered, what is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from diagnose.kb.model import ReadingNumbers
from diagnose.reading import Reading
from diagnose.reasoning.facts import Observation


def sorted_by_trust(
    reading: Reading,
    trusts: Sequence[float | None],
    proposed: Sequence[Observation],
    numbers: ReadingNumbers,
) -> Reading:
    """A reading whose observations are those trusted enough; weaker ones and proposals are offered.

    `trusts` belong to the observations of the reading, in order; None where nobody can say, which
    leaves a reading as it is. `proposed` carry their own trust; the surest are offered, at most
    `most` in all, and none below `offered`.
    """
    understood: list[Observation] = []
    weak: list[Observation] = []
    for seen, trust in zip(reading.observations, trusts, strict=True):
        if trust is None or trust >= numbers.understood:
            understood.append(replace(seen, trust=trust))
        else:
            weak.append(replace(seen, trust=trust))
    told = {seen.symptom for seen in understood}
    more = [p for p in proposed if p.symptom not in told]
    sure = [p for p in more if p.trust is not None and p.trust >= numbers.understood]
    told |= {p.symptom for p in sure}
    offered: dict[str, Observation] = {}
    for seen in sorted([*weak, *more], key=lambda o: -(o.trust or 0)):
        if seen.symptom not in told and (seen.trust or 0) >= numbers.offered:
            offered.setdefault(seen.symptom, seen)
    return replace(
        reading,
        observations=[*understood, *sure],
        perhaps=tuple(offered.values())[: numbers.most],
    )
