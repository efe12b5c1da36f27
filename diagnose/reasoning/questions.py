"""What to ask next, and when to stop."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, overload

import numpy as np

from diagnose.kb.model import Knowledge, ScreenNumbers
from diagnose.reasoning.ranking import Floats, Ints, Tables

StopReason = Literal["clear", "same plan", "nothing left", "enough asked", "cannot tell"]


class Question(NamedTuple):
    """A symptom to ask about: what the answer is worth on average, in bits, and its effort."""

    symptom: str
    bits: float
    effort: float

    @property
    def worth(self) -> float:
        """Bits per unit of effort."""
        return self.bits / self.effort


@dataclass(frozen=True, slots=True)
class Questions(Sequence[Question]):
    """Questions, best first; each is made when it is looked at, since most never are.

    `symptoms` in any order, their `bits` and `effort`, and `best`, the order to take them in.
    """

    symptoms: Sequence[str]
    bits: Floats
    effort: Floats
    best: Ints

    def __len__(self) -> int:
        return len(self.symptoms)

    @overload
    def __getitem__(self, at: int) -> Question: ...
    @overload
    def __getitem__(self, at: slice) -> list[Question]: ...
    def __getitem__(self, at: int | slice) -> Question | list[Question]:
        if isinstance(at, slice):
            return [self[i] for i in range(*at.indices(len(self)))]
        i = self.best[at]
        return Question(self.symptoms[i], self.bits[i].item(), self.effort[i].item())


def askable(knowledge: Knowledge, crop: str | None) -> dict[str, str | None]:
    """The symptoms to ask about, on parts that this crop has, with the group that restates each."""
    parts = set(knowledge.crops[crop].parts) if crop else None
    return {
        symptom_id: symptom.overlaps
        for symptom_id, symptom in sorted(knowledge.symptoms.items())
        if not symptom.derived and (parts is None or parts.intersection(symptom.parts))
    }


def open_symptoms(
    knowledge: Knowledge,
    asked_about: Mapping[str, str | None],
    answered: Collection[str],
    skipped: Collection[str],
) -> list[str]:
    """The symptoms still worth asking about: not answered, not skipped, not restated."""
    groups = {knowledge.symptoms[s].overlaps for s in answered} - {None}
    closed = {*answered, *skipped}
    return [s for s, group in asked_about.items() if s not in closed and group not in groups]


def rank_questions(
    tables: Tables,
    chances: Floats,
    symptoms: Collection[str],
    sooner: Collection[str] = (),
    forms_of: Collection[str] = (),
    first: str | None = None,
) -> Questions:
    """The questions by bits per unit of effort, best first; before them all the one asked `first`.

    The bits are the entropy of the causes now, less its mean after the answer. For what a rule
    asks for (`sooner`), the effort of `sooner` in likelihood.yaml is counted. Of the symptoms in
    `forms_of` it is known that they are there, and the form alone is asked.
    """
    names = sorted(symptoms)
    at = np.fromiter(map(tables.place.__getitem__, names), np.intp, len(names))
    bits, effort = np.maximum(tables.bits(chances)[at], 0), tables.effort[at]
    for name in forms_of:
        bits[names.index(name)] = tables.bits_of_form(chances, name)
    for name in set(sooner).intersection(names):
        effort[names.index(name)] = tables.knowledge.likelihood.sooner
    best = np.argsort(-bits / effort, kind="stable")  # of equal worth: in the order of their names
    if first in names:
        place = names.index(first)
        best = np.concatenate(([place], best[best != place]))
    return Questions(names, bits, effort, best)


def decisive(
    tables: Tables, chances: Floats, symptoms: Collection[str], numbers: ScreenNumbers
) -> str | None:
    """The sign that would best settle, for its effort, between the two likeliest causes.

    None where the two are not likelier than all the rest, where the second is no `rival`, or where
    nothing `settles` it: in bits of the one bit or less that is not known of the two.
    """
    two = np.argsort(-chances[:-1], kind="stable")[:2]
    names = sorted(symptoms)
    if not names or chances[two].sum() <= 0.5 or chances[two].min() < numbers.rival:
        return None
    between = np.zeros_like(chances)
    between[two] = chances[two] / chances[two].sum()
    at = np.array([tables.place[name] for name in names], dtype=np.intp)
    bits = tables.bits(between)[at]
    best = int(np.argmax(np.where(bits >= numbers.settles, bits / tables.effort[at], 0)))
    return names[best] if bits[best] >= numbers.settles else None


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
