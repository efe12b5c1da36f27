"""A lesson of 25 minutes on one described case: its parts, what to bring, what to look at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from diagnose.consultation import Consultation
from diagnose.journal import Answered, Journal
from diagnose.kb.model import Case, Effort, Part
from diagnose.reasoning.advice import Plan
from diagnose.teaching.demonstration import case_journal, moves, tells

Portion = Literal["story", "look", "steps", "alike", "do", "end"]
MINUTES: dict[Portion, int] = {
    "story": 3, "look": 5, "steps": 7, "alike": 4, "do": 4, "end": 2,
}  # fmt: skip
"""The parts of a lesson in order, with their minutes; common practice, no source."""
MOST_ALIKE, MOST_LOOKS = 3, 6

BRING_FOR: dict[Effort, str] = {
    "look": "a hand lens for each pair",
    "turn": "a sheet of white paper to lay under a leaf",
    "dig": "a trowel, and a bucket for the soil",
    "wait": "a label with today's date, to find the plant again",
}
BRING_OF: dict[Part, str] = {
    "leaf": "a healthy leaf of the same plant to compare",
    "fruit": "a sound fruit of the same plant to compare",
    "root": "a sound root of the same plant to compare",
    "tuber": "a sound tuber to compare",
    "bulb": "a sound bulb to compare",
    "pod": "a sound pod of the same plant to compare",
}


@dataclass(frozen=True)
class Lesson:
    """A lesson on a described case: its cause, its steps, what it is taken for.

    `alike` are causes with what tells them from this one.
    """

    case: Case
    cause: str
    journal: Journal
    alike: tuple[tuple[str, str], ...]

    @property
    def end(self) -> Consultation:
        """What is known after the last step."""
        return self.journal.now

    @property
    def plan(self) -> Plan:
        """What to do about the cause."""
        return self.end.plan(self.cause)

    @property
    def bring(self) -> Iterator[str]:
        """What to bring, by how the signs are looked for, and on which part of the crop."""
        knowledge = self.end.reasoner.knowledge
        symptoms = [knowledge.symptoms[step.symptom] for step in self.asked]
        efforts = {symptom.effort for symptom in symptoms}
        yield from (thing for effort, thing in BRING_FOR.items() if effort in efforts)
        crop = knowledge.crops.get(self.end.crop or "")
        parts = {part for symptom in symptoms for part in symptom.parts}
        parts &= {"leaf", *(crop.eaten if crop else ())}
        yield from (thing for part, thing in BRING_OF.items() if part in parts)

    @property
    def asked(self) -> list[Answered]:
        """What a class looks at, in order: the first steps that tell something."""
        telling = (m.step for m in moves(self.journal) if tells(m))
        return [step for step in telling if isinstance(step, Answered)][:MOST_LOOKS]


def lesson(case: Case, cause: str, blank: Consultation) -> Lesson:
    """The lesson on a described case. Raises UsageError as `case_journal` does."""
    journal = case_journal(case, blank)
    alike = tuple(blank.reasoner.knowledge.causes[cause].looks_like.items())[:MOST_ALIKE]
    return Lesson(case, cause, journal, alike)
