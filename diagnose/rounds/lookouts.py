"""What to look for now in a bed: chance now, times harm, times how much a look would help.

A look helps by what it would tell for its effort, and by what could then be done.

A cause's chance is what the reasoning gives it before anything is said, with the season, the bed's
record and the weather; it compares troubles, and does not say that there is one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

from diagnose.consultation import Reasoner
from diagnose.kb.model import Knowledge, Part
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import ANSWER, SOMETHING_ELSE, Tables
from diagnose.rounds.history import BedRecord, begin
from diagnose.rounds.warmth import Expected, Outlook

LEAST = 0.003  # a chance below which a cause is left out
SOON = timedelta(10)  # to an event, for it to be near
AFTER = timedelta(14)  # and since it


@dataclass(frozen=True)
class Shown:
    """A cause that a look would show, on a crop; its chance, and the form in which it shows."""

    cause: str
    crop: str
    chance: float
    form: str | None
    stage: Expected | None = None


@dataclass(frozen=True)
class LookOut:
    """One thing to look for, where, and about how long it takes (minutes for a bed)."""

    symptom: str
    worth: float
    minutes: int
    where: tuple[Part, ...]
    shows: tuple[Shown, ...]  # the weightiest first


def look_outs(
    reasoner: Reasoner,
    record: BedRecord,
    day: date,
    weather: Iterable[Observation] = (),
    stages: Mapping[str, Outlook] | None = None,
    most: int = 6,
) -> list[LookOut]:
    """The look-outs of a bed on a day, most worth it first; none where nothing grows there."""
    knowledge = reasoner.knowledge
    numbers = knowledge.likelihood.look_out
    blank = begin(reasoner, record, day, weather)
    worth: dict[str, float] = {}
    shows: dict[str, list[tuple[float, Shown]]] = {}
    for crop in record.growing(day):
        if crop not in knowledge.crops:
            continue
        old = record.age(crop, day) > knowledge.rounds.bed.seedling_days
        now = blank if blank.crop == crop else replace(blank, crop=crop)
        for cause, chance in now.standing:
            if cause == SOMETHING_ELSE or chance < LEAST:
                continue
            factor, stage = _stage((stages or {}).get(cause), day, numbers.not_yet, numbers.soon)
            found = _best_look(now.tables, cause)
            if found is None or (old and knowledge.symptoms[found[0]].parts == ("seed",)):
                continue
            symptom, tells, form = found
            weight = chance * factor * numbers.harm[knowledge.causes[cause].matters.decision]
            weight *= _helps(knowledge, cause)
            worth[symptom] = worth.get(symptom, 0.0) + weight * tells
            one = Shown(cause, crop, chance, form, stage)
            shows.setdefault(symptom, []).append((weight, one))
    best = sorted(worth, key=lambda symptom: (-worth[symptom], symptom))[:most]
    return [
        LookOut(
            symptom,
            worth[symptom],
            numbers.minutes[knowledge.symptoms[symptom].effort],
            knowledge.symptoms[symptom].parts,
            tuple(one for _, one in sorted(shows[symptom], key=lambda w: -w[0])),
        )
        for symptom in best
    ]


def _helps(knowledge: Knowledge, cause: str) -> float:
    """How far it helps to find a cause: by the measure that does most, of those for now."""
    scale = knowledge.likelihood.look_out.helps
    measures = (knowledge.remedies[name] for name in knowledge.causes[cause].remedies)
    return max((scale[m.rung] for m in measures if m.season != "next"), default=scale["leave"])


def _stage(
    outlook: Outlook | None, day: date, not_yet: float, soon: float
) -> tuple[float, Expected | None]:
    """What a degree-day model makes of a cause on a day; the event that is next or just was."""
    if outlook is None or not outlook.events:
        return 1.0, None
    for event in outlook.events:
        if event.early is None:
            continue
        if event.early - SOON <= day and (event.late is None or day <= event.late + AFTER):
            return soon, event
        if day < event.early:
            first = event is outlook.events[0]
            return (not_yet if first else 1.0), event
    return 1.0, None


@lru_cache(maxsize=20_000)
def _best_look(tables: Tables, cause: str) -> tuple[str, float, str | None] | None:
    """The symptom by which a cause is best found for the effort: what it tells, and its form.

    It tells P(seen | cause) - P(seen | something else), per unit of effort.
    """
    knowledge = tables.knowledge
    row = tables.row[cause]
    best: tuple[str, float, str | None] | None = None
    for symptom in knowledge.causes[cause].evidence:
        found = knowledge.symptoms[symptom]
        if found.kind not in ("symptom", "sign") or found.derived:
            continue
        lines, rows = tables.told[ANSWER][symptom], tables.rows[symptom]
        [here] = lines[rows == row]
        tells = float(lines[0, 0] - here[0]) / knowledge.likelihood.effort[found.effort]
        if tells > 0 and (best is None or tells > best[1]):
            form = found.states[1 + int(here[1:].argmax())] if found.values else None
            best = (symptom, tells, form)
    return best


def minutes_of(found: Iterable[LookOut]) -> int:
    """The minutes that all these looks take together."""
    return sum(one.minutes for one in found)
