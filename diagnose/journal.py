"""A consultation as the steps that made it, so that it can be taken back, kept and shown again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import msgspec

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.inputs import clean
from diagnose.kb.model import PRESENT, UNSURE, Knowledge, Part
from diagnose.kb.retired import Retired, successor
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import ANSWER
from diagnose.reasoning.screens import Tick


class Told(msgspec.Struct, frozen=True, tag="told"):
    """Something was said in the gardener's own words."""

    text: str


class Plant(msgspec.Struct, frozen=True, tag="plant"):
    """The plant was named or put right; None where it is not known."""

    crop: str | None


class Meant(msgspec.Struct, frozen=True, tag="meant"):
    """What was read was confirmed."""


class Struck(msgspec.Struct, frozen=True, tag="struck"):
    """Something read was not what was meant."""

    symptoms: tuple[str, ...]


class Granted(msgspec.Struct, frozen=True, tag="granted"):
    """Of what was perhaps meant, these were."""

    symptoms: tuple[str, ...]


class Answered(msgspec.Struct, frozen=True, tag="answered"):
    """A question was answered, or what was read was put right (`asked` is False)."""

    symptom: str
    value: str
    asked: bool = True


class Where(msgspec.Struct, frozen=True, tag="where"):
    """The parts on which the trouble shows were told; none where that is not known."""

    parts: tuple[Part, ...]


class Ticked(msgspec.Struct, frozen=True, tag="ticked"):
    """Of things on one screen these were ticked, those left; or nobody knows of them.

    Each is a symptom, or one form of it, as in how-fast/weeks.
    """

    there: tuple[str, ...]
    left: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()


Step: TypeAlias = Told | Plant | Meant | Struck | Granted | Answered | Where | Ticked


def take(consultation: Consultation, step: Step) -> Consultation:
    """The consultation after one more step.

    A step that names symptoms as they once were is taken with today's names. Raises UsageError
    where the knowledge does not know what the step names, or its text is empty.
    """
    knowledge = consultation.reasoner.knowledge
    match _named_now(knowledge.retired, step):
        case Told(text):
            return consultation.told(clean(text))
        case Plant(crop):
            if crop is not None and crop not in knowledge.crops:
                raise UsageError(f"there is no crop {crop!r} any more")
            return consultation.about(crop)
        case Meant():
            return consultation.confirmed()
        case Struck(symptoms):
            for symptom in symptoms:
                consultation = consultation.strike(symptom)
            return consultation
        case Granted(symptoms):
            return consultation.grant(symptoms)
        case Answered(symptom, value, asked):
            found = knowledge.symptoms.get(symptom)
            if found is None or not (value == UNSURE or found.allows(value)):
                raise UsageError(f"there is no answer {value!r} to {symptom!r} any more")
            if asked:
                return consultation.answer(symptom, value)
            words = next((o.words for o in consultation.observations if o.symptom == symptom), "")
            return consultation.observe([Observation(symptom, value, ANSWER, words)])
        case Where(parts):
            return consultation.but(parts=parts, asked=consultation.asked + 1)
        case Ticked(there, left, unknown):
            named = (ticks(knowledge, names) for names in (there, left, unknown))
            return consultation.tick(*named)


def _named_now(retired: Retired, step: Step) -> Step:
    """A step with today's names of symptoms."""
    match step:
        case Answered(symptom, value, asked):
            return Answered(*(successor(retired, symptom, value) or (symptom, value)), asked)
        case Struck(symptoms):
            return Struck(_symptoms_now(retired, symptoms))
        case Ticked(there, left, unknown):
            return Ticked(*(_lines_now(retired, names) for names in (there, left, unknown)))
    return step


def line_name(line: Tick) -> str:
    """A line to tick as it is kept: a symptom, or symptom/form."""
    return line.symptom if line.value == PRESENT else f"{line.symptom}/{line.value}"


def ticks(knowledge: Knowledge, names: Iterable[str]) -> list[Tick]:
    """The lines of those names, without what the knowledge does not know."""
    parted = (name.partition("/") for name in names)
    return [
        Tick(symptom, form or PRESENT)
        for symptom, _, form in parted
        if symptom in knowledge.symptoms
        and (not form or form in knowledge.symptoms[symptom].values)
    ]


def _lines_now(retired: Retired, names: Iterable[str]) -> tuple[str, ...]:
    """Names of lines with today's names of symptoms and forms."""
    found = []
    for name in names:
        symptom, _, form = name.partition("/")
        now = successor(retired, symptom, form or PRESENT)
        found.append(name if now is None else line_name(Tick(now[0], now[1] or PRESENT)))
    return tuple(found)


def _symptoms_now(retired: Retired, symptoms: Iterable[str]) -> tuple[str, ...]:
    return tuple(now[0] if (now := successor(retired, s)) else s for s in symptoms)


@dataclass(frozen=True)
class Journal:
    """The steps of a consultation, and the consultation before the first and after each of them."""

    states: tuple[Consultation, ...]
    steps: tuple[Step, ...] = ()

    @classmethod
    def begin(cls, blank: Consultation) -> Journal:
        """Nothing has happened yet."""
        return cls((blank,))

    @property
    def now(self) -> Consultation:
        """The consultation after the last step."""
        return self.states[-1]

    def then(self, *steps: Step) -> Journal:
        """With more steps. Raises UsageError as `take` does."""
        journal = self
        for step in steps:
            after = take(journal.now, step)
            journal = Journal((*journal.states, after), (*journal.steps, step))
        return journal

    def back(self, steps: int = 1) -> Journal:
        """Without the last steps."""
        left = max(len(self.steps) - steps, 0)
        return Journal(self.states[: left + 1], self.steps[:left])


def replay(blank: Consultation, steps: Sequence[Step]) -> tuple[Journal, list[str]]:
    """The journal that some steps make, and a line for each that the knowledge no longer allows."""
    journal, lost = Journal.begin(blank), []
    for step in steps:
        try:
            journal = journal.then(step)
        except UsageError as error:
            lost.append(str(error))
    return journal, lost


def first_words(steps: Iterable[Step]) -> str:
    """What was said first, or nothing."""
    return next((step.text for step in steps if isinstance(step, Told)), "")
