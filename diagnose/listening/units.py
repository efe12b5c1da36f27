"""What the encoder can hear: for each symptom that it is there, that it is absent, and each form.

A unit was fitted under the name that its symptom had then; `heirs` says what it is called today.
"""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.kb.model import ABSENT, PRESENT, Knowledge
from diagnose.kb.retired import successor

BETWEEN = "/"


def unit(symptom: str, value: str = PRESENT) -> str:
    """The name of a unit: the symptom alone where it is there in any form."""
    return symptom if value == PRESENT else f"{symptom}{BETWEEN}{value}"


def parted(name: str) -> tuple[str, str]:
    """The symptom and the value of a unit."""
    symptom, _, value = name.partition(BETWEEN)
    return symptom, value or PRESENT


def all_units(knowledge: Knowledge) -> list[str]:
    """Every unit of the knowledge: of each symptom there, absent, and its forms."""
    return [
        unit(symptom_id, value)
        for symptom_id, symptom in knowledge.symptoms.items()
        for value in (PRESENT, ABSENT, *symptom.values)
    ]


def told_by(symptom: str, value: str) -> list[str]:
    """The units that a statement makes true: the symptom's, and the form's where one is told."""
    return [unit(symptom, v) for v in ([value] if value in (PRESENT, ABSENT) else [PRESENT, value])]


def heirs(knowledge: Knowledge, fitted: Iterable[str]) -> dict[str, list[int]]:
    """For each unit of today's knowledge the numbers of the fitted units that speak for it.

    Where several signs became one, each of them speaks for it; a new sign has none.
    """
    found: dict[str, list[int]] = {name: [] for name in all_units(knowledge)}
    for number, name in enumerate(fitted):
        symptom, value = parted(name)
        now = successor(knowledge.retired, symptom, value)
        for today in told_by(*now) if now else [name]:
            if today in found:
                found[today].append(number)
    return found
