"""What a bed's record says when it is looked at on a day: facts for the rules, and what is known.

Nothing that came on the day itself or later counts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import ABSENT, PRESENT
from diagnose.reasoning.facts import RECORDED, Observation, fact
from diagnose.rounds.model import (
    Bed,
    Done,
    Finding,
    Garden,
    Planting,
    Record,
    Result,
    State,
    Visit,
)
from diagnose.rounds.store import Store

LATELY = 60  # days


@dataclass(frozen=True)
class BedRecord:
    """All that is kept of one bed, each part by day."""

    bed: Bed
    garden: Garden
    plantings: tuple[Planting, ...]
    visits: tuple[Visit, ...]
    findings: tuple[Finding, ...]
    results: tuple[Result, ...]
    done: tuple[Done, ...]

    def growing(self, day: date) -> list[str]:
        """The crops that stand in it on a day, each once."""
        text = day.isoformat()
        held = (
            p for p in self.plantings if p.since <= text and (p.until is None or p.until >= text)
        )
        return list(dict.fromkeys(planting.crop for planting in held))

    def age(self, crop: str, day: date) -> int:
        """For how many days a crop has stood in it at least."""
        since = [p.since for p in self.plantings if p.crop == crop and p.since <= day.isoformat()]
        return (day - date.fromisoformat(max(since))).days if since else 0

    def day_of(self, row: Finding | Done) -> date:
        """The day of the visit that a row belongs to."""
        return self._days[row.visit]

    @property
    def _days(self) -> dict[str, date]:
        return {visit.id: date.fromisoformat(visit.day) for visit in self.visits}

    def latest(self, finding: Finding) -> Result | None:
        """How a finding stood last."""
        found = [result for result in self.results if result.finding == finding.id]
        return max(found, key=lambda result: result.day, default=None)


def records(store: Store, garden: Garden | None = None) -> list[BedRecord]:
    """The records of all beds, or of a garden's, by name."""
    gardens = {one.id: one for one in store.all(Garden)}
    beds = store.all(Bed, garden=garden.id) if garden else store.all(Bed)
    visits = _by("bed", store.under(Visit, "bed", (b.id for b in beds)))
    plantings = _by("bed", store.under(Planting, "bed", (b.id for b in beds)))
    ids = [visit.id for found in visits.values() for visit in found]
    findings = _by("visit", store.under(Finding, "visit", ids))
    done = _by("visit", store.under(Done, "visit", ids))
    results = _by(
        "finding",
        store.under(Result, "finding", (f.id for found in findings.values() for f in found)),
    )
    made = []
    for bed in beds:
        mine = sorted(visits.get(bed.id, []), key=lambda visit: visit.day)
        found = [f for visit in mine for f in findings.get(visit.id, [])]
        later = [r for f in found for r in results.get(f.id, [])]
        made.append(
            BedRecord(
                bed,
                gardens[bed.garden],
                tuple(sorted(plantings.get(bed.id, []), key=lambda one: one.since)),
                tuple(mine),
                tuple(found),
                tuple(sorted(later, key=lambda one: one.day)),
                tuple(d for visit in mine for d in done.get(visit.id, [])),
            )
        )
    return sorted(made, key=lambda one: (one.garden.name.casefold(), one.bed.name.casefold()))


def _by(name: str, rows: Iterable[Record]) -> dict[str, list]:  # type: ignore[type-arg]
    found: dict[str, list[Record]] = {}
    for row in rows:
        found.setdefault(getattr(row, name), []).append(row)
    return found


def record_of(store: Store, bed: Bed) -> BedRecord:
    """The record of one bed."""
    [garden] = store.all(Garden, id=bed.garden)
    return next(one for one in records(store, garden) if one.bed.id == bed.id)


def facts(reasoner: Reasoner, record: BedRecord, day: date) -> tuple[str, ...]:
    """The facts of a bed's record before a day, for the rules."""
    year = record.garden.place.growing_year(day)
    knowledge = reasoner.knowledge
    found: list[str] = []
    for finding in record.findings:
        on = record.day_of(finding)
        if on >= day or finding.cause not in knowledge.causes:
            continue
        ago = year - record.garden.place.growing_year(on)
        if ago in (0, 1):
            found.append(fact(("found-this-year", "found-last-year")[ago], finding.cause))
    families = _families(reasoner, record)
    found += [fact("family-last-year", family) for family in families.get(year - 1, ())]
    found += [fact("family-two-years", family) for family in families.get(year - 2, ())]
    found += [
        fact("done", one) for one in _done_this_year(record, day) if one in knowledge.remedies
    ]
    found += [fact(state, cause) for cause, state in _last_time(record, day).items()]
    return tuple(dict.fromkeys(found))


def _families(reasoner: Reasoner, record: BedRecord) -> dict[int, set[str]]:
    """The families that grew in a bed, by the growing year in which they were planted or stood."""
    crops, place = reasoner.knowledge.crops, record.garden.place
    found: dict[int, set[str]] = {}
    for planting in record.plantings:
        if planting.crop not in crops:
            continue
        first = place.growing_year(date.fromisoformat(planting.since))
        last = place.growing_year(date.fromisoformat(planting.until)) if planting.until else first
        for year in range(first, last + 1):
            found.setdefault(year, set()).add(crops[planting.crop].family)
    return found


def _done_this_year(record: BedRecord, day: date) -> list[str]:
    """The measures taken in a bed this growing year before a day, in the order of the visits."""
    place = record.garden.place
    year = place.growing_year(day)
    return [
        one.measure
        for one in record.done
        if record.day_of(one) < day and place.growing_year(record.day_of(one)) == year
    ]


def _last_time(record: BedRecord, day: date) -> dict[str, State]:
    """How each cause stood the last time that a finding of it was looked at again, of late."""
    first = (day - timedelta(LATELY)).isoformat()
    causes = {finding.id: finding.cause for finding in record.findings if finding.cause}
    return {
        causes[r.finding]: r.state
        for r in record.results
        if r.finding in causes and first <= r.day < day.isoformat()
    }


def observed(reasoner: Reasoner, record: BedRecord, day: date) -> list[Observation]:
    """What a bed's record shows by itself, and so need not be asked."""
    signs = reasoner.knowledge.rounds.bed
    found: dict[str, str] = {}
    crops = reasoner.knowledge.crops
    now = {crops[crop].family for crop in record.growing(day) if crop in crops}
    year = record.garden.place.growing_year(day)
    families = _families(reasoner, record)
    if signs.same_family and now and year - 1 in families:
        again = now <= families[year - 1], now & families[year - 1]
        if again[0] or not again[1]:  # where only some of them are, it depends on the plant
            found[signs.same_family] = PRESENT if again[0] else ABSENT
    since = [p.since for p in record.plantings if p.crop in record.growing(day)]
    if signs.set_out and since:
        days = {(day - date.fromisoformat(one)).days <= signs.set_out_days for one in since}
        if len(days) == 1:
            found[signs.set_out] = PRESENT if days.pop() else ABSENT
    done = _done_this_year(record, day)
    of_cover = [one for one in done if one in signs.covers or one in signs.uncovers]
    if signs.covered and of_cover and of_cover[-1] in signs.covers:
        found[signs.covered] = PRESENT
    if signs.fenced and set(done).intersection(signs.fences):
        found[signs.fenced] = PRESENT
    known = reasoner.knowledge.symptoms
    return [Observation(s, value, RECORDED) for s, value in found.items() if s in known]


def begin(
    reasoner: Reasoner, record: BedRecord, day: date, weather: Iterable[Observation] = ()
) -> Consultation:
    """A consultation for a bed, before anything is said: it knows its crop, place and record."""
    growing = [crop for crop in record.growing(day) if crop in reasoner.knowledge.crops]
    return Consultation(
        reasoner,
        day,
        record.garden.place,
        crop=growing[0] if len(growing) == 1 else None,
        observations=(*observed(reasoner, record, day), *weather),
        record=facts(reasoner, record, day),
    )
