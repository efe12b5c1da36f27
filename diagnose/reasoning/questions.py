"""What to ask next, and when to stop."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diagnose.kb.model import Knowledge
from diagnose.reasoning.ranking import Floats, Tables

NEGLIGIBLE = 1e-6  # causes below this chance cannot change which question is best

StopReason = Literal["clear", "same plan", "nothing left", "enough asked", "cannot tell"]


@dataclass(frozen=True, slots=True)
class Question:
    """A symptom to ask about: what the answer is worth on average, in bits, and its effort."""

    symptom: str
    bits: float
    effort: float

    @property
    def worth(self) -> float:
        """Bits per unit of effort."""
        return self.bits / self.effort


def open_symptoms(
    knowledge: Knowledge, crop: str | None, answered: Collection[str], skipped: Collection[str]
) -> list[str]:
    """The symptoms worth asking about: on a part this crop has, not answered, not restated."""
    parts = set(knowledge.crops[crop].parts) if crop else None
    groups = {knowledge.symptoms[s].overlaps for s in answered} - {None}
    return [
        symptom_id
        for symptom_id, symptom in knowledge.symptoms.items()
        if not symptom.derived
        and symptom_id not in answered
        and symptom_id not in skipped
        and symptom.overlaps not in groups
        and (parts is None or parts.intersection(symptom.parts))
    ]


def plogp(chances: Floats) -> Floats:
    """p * log2(p), with 0 for p = 0."""
    found: Floats = chances * np.log2(np.where(chances > 0, chances, 1))
    return found


def rank_questions(tables: Tables, chances: Floats, symptoms: Sequence[str]) -> list[Question]:
    """The questions by bits per unit of effort, best first.

    The bits are the entropy of the causes now, less its mean after the answer:
    H(cause) - H(cause | answer) = H(cause) + H(answer) - H(cause, answer).
    """
    if not symptoms:
        return []
    knowledge = tables.knowledge
    live = np.flatnonzero(chances > NEGLIGIBLE)
    now = chances[live] / chances[live].sum()
    sizes = [len(knowledge.symptoms[s].states) for s in symptoms]
    columns = [tables.starts[s] + i for s, n in zip(symptoms, sizes, strict=True) for i in range(n)]
    joint = now[:, None] * tables.chances[live][:, columns]
    per_state = plogp(joint).sum(axis=0) - plogp(joint.sum(axis=0))
    firsts = np.concatenate(([0], np.cumsum(sizes)[:-1]))
    bits = np.add.reduceat(per_state, firsts) - plogp(now).sum()
    effort = knowledge.likelihood.effort
    found = [
        Question(s, max(float(b), 0.0), effort[knowledge.symptoms[s].effort])
        for s, b in zip(symptoms, bits, strict=True)
    ]
    return sorted(found, key=lambda q: (-q.worth, q.symptom))


def why_stop(
    knowledge: Knowledge,
    ranked: Sequence[tuple[str, float]],
    plans: Mapping[str, object],
    questions: Sequence[Question],
    asked: int,
    unsure_in_a_row: int,
) -> StopReason | None:
    """Why to stop asking now, or None to go on.

    `ranked` holds causes with chances, likeliest first; `plans` what each would have one do.
    """
    stop = knowledge.likelihood.stop
    if ranked and ranked[0][1] >= stop.clear:
        return "clear"
    total, seen = 0.0, set()
    for cause, chance in ranked:
        total += chance
        seen.add(plans.get(cause, cause))
        if total >= stop.same_plan:
            if len(seen) == 1:
                return "same plan"
            break
    if asked >= stop.most_questions:
        return "enough asked"
    if unsure_in_a_row >= stop.most_unsure:
        return "cannot tell"
    if not questions or questions[0].worth < stop.least_bits:
        return "nothing left"
    return None
