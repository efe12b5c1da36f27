"""Stored cases: reading a file of them, working them, and where the expected cause came."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.inputs import clean, day_of
from diagnose.kb.model import ABSENT, AND, DENIED, PRESENT, UNSURE, Case, Cause, Knowledge
from diagnose.kb.reader import Reader, unknown
from diagnose.kb.retired import name_now, translated
from diagnose.reading import stem
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import SOMETHING_ELSE
from diagnose.reasoning.screens import Tick, TickScreen


@dataclass(frozen=True, slots=True)
class Worked:
    """A case worked through: the consultation at its end, and where the answer came.

    `place` is 1 where the expected cause came first, 0 where it did not come at all or where
    nothing is expected; `first` is the likeliest cause's id.
    """

    case: Case
    consultation: Consultation
    place: int
    first: str


def read_cases(path: Path) -> list[Case]:
    """The cases of a YAML file: a list of them, or one alone.

    Raises UsageError with a line for every problem.
    """
    reader = Reader(path.parent)
    doc = reader.document(path)
    cases = []
    if doc is not None:
        items = doc.data if isinstance(doc.data, list) else [doc.data]
        for number, data in enumerate(items):
            at = (str(number),) if isinstance(doc.data, list) else ()
            case = reader.convert(path.name, doc, at, data, Case)
            if case is not None:
                cases.append(case)
    if reader.findings:
        raise UsageError("\n".join(str(f) for f in reader.findings))
    return cases


@lru_cache(maxsize=10_000)
def same_name(text: str) -> tuple[str, ...]:
    """A name without the accidents of spelling: stems of its words, in order."""
    return tuple(stem(word) for word in re.findall(r"[^\W_]+", text.lower()))


def accepted(case: Case, cause_id: str, cause: Cause) -> bool:
    """Whether a cause is a right answer to a case: by id, any of its names, or its EPPO code."""
    names = {same_name(name) for name in (cause_id, cause.name, *cause.also)}
    return any(same_name(name) in names for name in case.names) or cause.code in case.eppo


def expected_place(case: Case, consultation: Consultation) -> int:
    """At which place of the ranking the first right cause came; 0 if nowhere."""
    if not (case.names or case.eppo):
        return 0
    causes = consultation.reasoner.knowledge.causes
    place = 0
    for cause, _ in consultation.standing:
        if cause == SOMETHING_ELSE:
            continue
        place += 1
        if accepted(case, cause, causes[cause]):
            return place
    return 0


def checked_observations(case: Case, knowledge: Knowledge) -> list[Observation]:
    """The observations that a case states, with today's names.

    Raises UsageError on an unknown symptom or value.
    """
    found = []
    stated = translated(knowledge.retired, knowledge.symptoms, case.observations.items())
    for symptom_id, value in stated.items():
        symptom = knowledge.symptoms.get(symptom_id)
        if symptom is None:
            raise UsageError(unknown("symptom", symptom_id, list(knowledge.symptoms)))
        if value != UNSURE and not symptom.allows(value):
            allowed = [*symptom.states, PRESENT, UNSURE]
            raise UsageError(unknown(f"value of {symptom_id}", value, allowed))
        if value != UNSURE:
            found.append(Observation(symptom_id, value, "case"))
    return found


def retired_names(case: Case, knowledge: Knowledge) -> list[str]:
    """What of a case goes by an old name, as 'overnight, now how-fast: overnight'."""
    return [
        f"{symptom_id}, now {now}"
        for symptom_id, value in case.observations.items()
        if (now := name_now(knowledge.retired, symptom_id, value))
    ]


def start(case: Case, blank: Consultation) -> Consultation:
    """The consultation that a case's text and observations make, on top of a blank one.

    Raises UsageError on a crop, symptom or value that is not known, or an impossible date.
    """
    knowledge = blank.reasoner.knowledge
    crop = blank.crop
    if case.crop:
        crop = knowledge.crop_named(case.crop)
        if crop is None:
            raise UsageError(unknown("crop", case.crop, list(knowledge.crops)))
    day = day_of(case.date) if case.date else blank.day
    begun = replace(blank, crop=crop, day=day)
    if case.text:
        begun = begun.told(clean(case.text))
    return begun.observe(checked_observations(case, knowledge))


def ask_on(consultation: Consultation, answers: Iterable[Observation]) -> Consultation:
    """Put the guided questions and answer them from `answers`, unsure where they say nothing."""
    known = {o.symptom: o.value for o in answers}
    while not (consultation.stop and (consultation.asked or consultation.observations)):
        if screen := consultation.screen:
            there = [line for line in screen.lines if _shows(known.get(line.symptom), line.value)]
            there += _formless(consultation, screen, known)
            left = [line for line in screen.lines if known.get(line.symptom) == ABSENT]
            said = {line.symptom for line in (*there, *left)}
            unknown = [line for line in screen.lines if line.symptom not in said]
            consultation = consultation.tick(there, left, unknown)
            continue
        symptom = consultation.next_symptom
        if symptom is None:
            break
        value = known.get(symptom, UNSURE)
        if value == PRESENT and consultation.reasoner.knowledge.symptoms[symptom].values:
            value = UNSURE  # present, but the form is not told
        consultation = consultation.answer(symptom, value, "case")
    return consultation


def _formless(
    consultation: Consultation, screen: TickScreen, known: Mapping[str, str]
) -> list[Tick]:
    """Of what a case states without its form, and a screen shows by its forms: that it is there."""
    open_ = {line.symptom for line in screen.lines if line.value != PRESENT}
    told = {o.symptom for o in consultation.observations}
    symptoms = consultation.reasoner.knowledge.symptoms
    return [
        Tick(name, PRESENT)
        for name in sorted(open_ - told)
        if known.get(name) == PRESENT and symptoms[name].kind in ("symptom", "sign")
    ]


def _shows(stated: str | None, value: str) -> bool:
    """Whether what a case states of a symptom is what a line to tick names."""
    if stated is None or stated == ABSENT or stated.startswith(DENIED):
        return False
    return value == PRESENT or value in stated.split(AND)


def guided(whole: Consultation) -> Consultation:
    """The consultation that starts from the words alone and is led on by questions.

    `whole` is as `start` makes it. What the case states is kept back as the answers; where it is
    about something read from the words, it confirms that or puts it right, as a gardener does who
    is asked whether the words were understood.
    """
    stated = {o.symptom: o for o in whole.observations if o.source == "case"}
    begun: list[Observation] = []
    for seen in whole.reading.observations if whole.reading else ():
        known = stated.get(seen.symptom, seen)
        begun.append(seen if known.value == seen.value else known)
    return ask_on(whole.but(observations=tuple(begun)).confirmed(), stated.values())


def work(case: Case, blank: Consultation, ask: bool = False) -> Worked:
    """Work one case, with or without the guided questions. Raises UsageError as `start` does.

    With `ask`, the observations that the case states are kept back as the answers, and the
    consultation starts from its text alone (or, without a text, from nothing).
    """
    whole = start(case, blank)
    consultation = guided(whole) if ask else whole
    first = next(
        (cause for cause, _ in consultation.standing if cause != SOMETHING_ELSE), SOMETHING_ELSE
    )
    return Worked(case, consultation, expected_place(case, consultation), first)
