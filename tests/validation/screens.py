"""Cases drawn from the knowledge, put through the questions as a gardener meets them."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator

from diagnose.consultation import Consultation
from diagnose.kb.model import ABSENT, AND, PRESENT, Part
from diagnose.reasoning.ranking import SOMETHING_ELSE
from diagnose.reasoning.screens import Tick
from tests.validation.bound import Drawn


def played(case: Drawn, chance: random.Random, screens: int) -> Iterator[Consultation]:
    """The consultation after each screen or question, for so many of them; as it stops, it stays.

    What is there is ticked with the chance that the knowledge reckons with, and all else is
    answered as drawn; of what cannot be answered nothing is known. Where nothing was told, the part
    comes first.
    """
    noticed = case.blank.reasoner.knowledge.likelihood.screens.noticed
    found = case.start
    if not found.observations:
        found = found.but(parts=part(case, chance))
        yield found
        screens -= 1
    for _ in range(screens):
        if not found.stop:
            found = step(found, case, chance, noticed)
        yield found


def step(found: Consultation, case: Drawn, chance: random.Random, noticed: float) -> Consultation:
    """The consultation after the next screen or question."""
    if screen := found.screen:
        known = [line for line in screen.lines if line.symptom in case.answers]
        there = [
            line for line in known if shows(case.answers[line.symptom], line)
            and (settled(found, line) or chance.random() < noticed)
        ]  # fmt: skip
        unknown = [line for line in screen.lines if line.symptom not in case.answers]
        return found.tick(there, [line for line in known if line not in there], unknown)
    symptom = found.next_symptom
    if symptom is None:
        return found
    return found.answer(symptom, case.answers.get(symptom, "unsure"))


def settled(found: Consultation, line: Tick) -> bool:
    """Whether a form is asked of what is there anyway, so that it cannot be overlooked."""
    symptom = found.reasoner.knowledge.symptoms[line.symptom]
    return line.value != PRESENT and (symptom.kind == "pattern" or line.symptom in found._formless)


def shows(answer: str, line: Tick) -> bool:
    """Whether a line is so."""
    return answer != ABSENT and (line.value == PRESENT or line.value in answer.split(AND))


def part(case: Drawn, chance: random.Random) -> tuple[Part, ...]:
    """A part by how much of what is there and shows the cause stands on it, or any part."""
    knowledge = case.blank.reasoner.knowledge
    parts = knowledge.crops[case.blank.crop or ""].parts
    right = knowledge.likelihood.screens.part_right
    count: Counter[Part] = Counter()
    if case.cause != SOMETHING_ELSE and chance.random() < right:
        for name in knowledge.causes[case.cause].evidence:
            sign = knowledge.symptoms[name]
            if sign.kind in ("symptom", "sign") and case.answers.get(name, ABSENT) != ABSENT:
                count.update({p: 1 / len(sign.parts) for p in sign.parts if p in parts})
    return tuple(chance.choices(list(count) or parts, list(count.values()) or None))
