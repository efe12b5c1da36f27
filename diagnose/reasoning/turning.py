"""What would put another cause first: the smallest sets of answers that nobody has given yet."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import Floats, Tables

MOST = 3  # answers in a set
RIVALS = 12  # causes that are tried as the one to come first


def sets(
    tables: Tables, chances: Floats, lead: int, symptoms: Collection[str]
) -> Iterator[list[Observation]]:
    """Sets of answers to open symptoms that overtake the leading row, the smallest first.

    For each rival the answers that gain most on the leader are taken, one of each group that
    restates one another; among sets of one size, the likeliest rival comes first.
    """
    places, steps = _answers(tables, symptoms)
    known = chances[:-1]
    rivals = [
        row for row in np.argsort(-known, kind="stable")[: RIVALS + 1].tolist() if row != lead
    ]
    found = []
    for rank, row in enumerate(rivals):
        if known[row] <= 0:
            continue
        gap = float(np.log(known[lead]) - np.log(known[row]))
        chosen = _overtaking(places, steps[:, row] - steps[:, lead], gap)
        if chosen is not None:
            found.append((len(chosen), rank, chosen))
    for _, _, chosen in sorted(found, key=lambda f: f[:2]):
        yield chosen


def _overtaking(
    places: list[tuple[str, Observation]], gains: Floats, gap: float
) -> list[Observation] | None:
    """The fewest answers whose gains exceed a gap, or None where more than MOST are needed."""
    chosen: list[Observation] = []
    groups: set[str] = set()
    total = 0.0
    for i in np.argsort(-gains, kind="stable").tolist():
        group, answer = places[i]
        if gains[i] <= 0 or len(chosen) == MOST:
            return None
        if group in groups:
            continue
        groups.add(group)
        chosen.append(answer)
        total += float(gains[i])
        if total > gap:
            return chosen
    return None


def _answers(
    tables: Tables, symptoms: Collection[str]
) -> tuple[list[tuple[str, Observation]], Floats]:
    """Every answer to every open symptom, with its group, and log P(answer | cause) by row."""
    places: list[tuple[str, Observation]] = []
    columns = []
    for symptom_id in symptoms:
        symptom = tables.knowledge.symptoms[symptom_id]
        group = symptom.overlaps or f"alone {symptom_id}"
        for state in symptom.states:
            answer = Observation(symptom_id, state)
            if not tables.counts(answer):
                continue
            places.append((group, answer))
            columns.append(tables.column(answer))
    return places, np.array(columns) if columns else np.empty((0, len(tables.causes) + 1))
