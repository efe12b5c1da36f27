"""How far each reading is to be trusted: what is understood, what is offered, what is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from diagnose.kb.model import ReadingNumbers
from diagnose.reading import Reading
from diagnose.reasoning.facts import Observation

DENIED_LEAST = 0.3  # trust from which it is worth asking whether something is not there


def sorted_by_trust(
    reading: Reading,
    trusts: Sequence[float],
    proposed: Sequence[Observation],
    numbers: ReadingNumbers,
) -> Reading:
    """A reading whose observations are those trusted enough; weaker ones and proposals are offered.

    `trusts` belong to the observations of the reading, in order. `proposed` carry their own trust;
    the surest are offered, at most `most` in all, and none below `offered`.
    """
    understood: list[Observation] = []
    weak: list[Observation] = []
    for seen, trust in zip(reading.observations, trusts, strict=True):
        sure = trust >= numbers.understood
        (understood if sure else weak).append(replace(seen, trust=trust))
    told = {seen.symptom for seen in understood}
    more = [p for p in proposed if p.symptom not in told]
    surest = [p for p in more if p.trust is not None and p.trust >= numbers.understood]
    told |= {p.symptom for p in surest}
    offered: dict[str, Observation] = {}
    for seen in sorted([*weak, *more], key=lambda o: -(o.trust or 0)):
        least = DENIED_LEAST if seen.denied else numbers.offered
        if seen.symptom not in told and (seen.trust or 0) >= least:
            offered.setdefault(seen.symptom, seen)
    return replace(
        reading,
        observations=[*understood, *surest],
        perhaps=tuple(offered.values())[: numbers.most],
    )
