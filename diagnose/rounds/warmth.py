"""What a garden's weather shows, and when insects come by its warmth.

Days that the record lacks are taken as usual, by monthly normals, or by the record's own other
years; how many is said. How far a published sum may be off is a share of it (likelihood.yaml), so
that each date is a range.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf

from diagnose.consultation import Reasoner
from diagnose.kb.model import ABSENT, PRESENT, DegreeDays, WeatherSign
from diagnose.reasoning.facts import RECORDED, Observation
from diagnose.rounds.model import Garden, Normal, Weather
from diagnose.rounds.store import Store
from diagnose.seasons.calendar import Moment, Place
from diagnose.seasons.degree_days import METHODS, Day
from diagnose.seasons.weather import Daily, Month, runs, usual

ENOUGH = 20  # days of a month, over all years, that make it known what is usual in it
YEAR = 365


@dataclass(frozen=True)
class Climate:
    """The weather of a garden: its days, the stretches to reckon warmth from, what is usual."""

    days: dict[date, Daily]
    warm: dict[date, Day]
    normals: tuple[Month, ...]

    @property
    def last(self) -> date | None:
        """The last day of the record."""
        return max(self.days, default=None)


@dataclass(frozen=True)
class Expected:
    """When an event comes by warmth; before `early` and after `late` it would be a surprise."""

    event: str
    early: date | None
    day: date | None
    late: date | None


@dataclass(frozen=True)
class Outlook:
    """The events of a cause's model this year, and on how many days they rest."""

    cause: str
    events: tuple[Expected, ...]
    so_far: float  # degree-days up to the day asked for
    recorded: int  # days from the record, up to the day asked for
    taken_as_usual: int  # days up to then that the record lacks


def climate(store: Store, garden: Garden, bridge: int) -> Climate:
    """The weather that is kept of a garden."""
    days = [
        Daily(date.fromisoformat(w.day), w.low, w.high, w.rain)
        for w in store.all(Weather, garden=garden.id)
    ]
    normals = tuple(Month(n.month, n.low, n.high) for n in store.all(Normal, garden=garden.id))
    warm = {day.date: day for run in runs(days, bridge) for day in run}
    return Climate({d.date: d for d in days}, warm, normals if len(normals) == 12 else ())


def _usual(known: Climate, before: date) -> tuple[Month, ...]:
    """The normals, or the means of the months of the record before a day; none where too few."""
    if known.normals:
        return known.normals
    found = []
    for month in range(1, 13):
        days = [d for d in known.warm.values() if d.date.month == month and d.date < before]
        if len(days) < ENOUGH:
            return ()
        low, high = (sum(t) / len(days) for t in zip(*((d.low, d.high) for d in days), strict=True))
        found.append(Month(month, low, high))
    return tuple(found)


def observed(signs: Sequence[WeatherSign], known: Climate, day: date) -> list[Observation]:
    """What the record of the weather shows before a day; what it does not tell is left open."""
    found = {}
    for sign in signs:
        so = _so(sign, [known.days.get(day - timedelta(n)) for n in range(1, sign.within + 1)])
        if so or (so is False and sign.denies):
            found[sign.shows] = PRESENT if so else ABSENT
    return [Observation(symptom, value, RECORDED) for symptom, value in found.items()]


def _so(sign: WeatherSign, days: Sequence[Daily | None]) -> bool | None:
    """Whether a sign holds; None where days that are missing could decide it."""
    parts = []
    if sign.days:
        kept = [_keeps(sign, day) for day in days]
        certain, open_ = kept.count(True), kept.count(None)
        enough = certain + open_ >= sign.days
        parts.append(True if certain >= sign.days else None if enough else False)
    if sign.rain_at_least is not None or sign.rain_at_most is not None:
        rain = [day.rain for day in days if day is not None and day.rain is not None]
        total, whole = sum(rain), len(rain) == len(days)
        if sign.rain_at_least is not None:  # what is missing can only be more
            parts.append(True if total >= sign.rain_at_least else False if whole else None)
        if sign.rain_at_most is not None:
            parts.append(False if total > sign.rain_at_most else True if whole else None)
    if sign.mean_at_least is not None or sign.mean_at_most is not None:
        means = [
            (d.low + d.high) / 2 for d in days if d and d.low is not None and d.high is not None
        ]
        if 2 * len(means) <= len(days):
            parts.append(None)
        else:
            mean = sum(means) / len(means)
            at_least = -inf if sign.mean_at_least is None else sign.mean_at_least
            at_most = inf if sign.mean_at_most is None else sign.mean_at_most
            parts.append(at_least <= mean <= at_most)
    if False in parts:
        return False
    return None if None in parts or not parts else True


def _keeps(sign: WeatherSign, day: Daily | None) -> bool | None:
    """Whether a day keeps to the bounds of a sign; None where it is not known."""
    if day is None:
        return None
    bounds = (
        (day.low, sign.low_at_least, 1), (day.low, sign.low_at_most, -1),
        (day.high, sign.high_at_least, 1),
    )  # fmt: skip
    for value, bound, side in bounds:
        if bound is None:
            continue
        if value is None:
            return None
        if side * (value - bound) < 0:
            return False
    return True


def begins(model: DegreeDays, place: Place, day: date) -> date | None:
    """The first day of the count that a day lies in; None where the model names none."""
    if model.start is None:
        return None
    moment = Moment.parse(model.start)
    year = day.year
    starts = [moment.find(y, place) for y in (year - 2, year - 1, year)]
    return max((start for start in starts if start <= day), default=None)


def outlook(
    cause: str, model: DegreeDays, known: Climate, place: Place, day: date, spread: float
) -> Outlook | None:
    """When the events of a model come, in the count that a day lies in.

    Days after `day` are not used, though the record may have them. None where the model cannot be
    reckoned, or days are missing and nothing says what is usual.
    """
    first = begins(model, place, day)
    if first is None or model.method is None:
        return None
    months = _usual(known, day)
    normal = (
        {one.date: one for one in usual(months, first, first + timedelta(YEAR))} if months else {}
    )
    upper, one_day = inf if model.upper_c is None else model.upper_c, METHODS[model.method]
    wanted = {
        (event, side): needed * factor
        for event, needed in model.events.items()
        for side, factor in (("early", 1 - spread), ("day", 1.0), ("late", 1 + spread))
    }
    reached: dict[tuple[str, str], date] = {}
    total = so_far = 0.0
    recorded = lacking = 0
    for n in range(YEAR):
        when = first + timedelta(n)
        found = known.warm.get(when) if when <= day else None
        warm = found or normal.get(when)
        if warm is None:
            if when <= day:
                return None
            break
        total += one_day(warm.low, warm.high, model.lower_c, upper)
        if when <= day:
            so_far = total
            recorded, lacking = recorded + (found is not None), lacking + (found is None)
        for key, needed in wanted.items():
            if total >= needed and key not in reached:
                reached[key] = when
    events = tuple(
        Expected(event, *(reached.get((event, side)) for side in ("early", "day", "late")))
        for event in model.events
    )
    return Outlook(cause, events, so_far, recorded, lacking)


def outlooks(reasoner: Reasoner, known: Climate, place: Place, day: date) -> dict[str, Outlook]:
    """The outlook of every cause whose model can be reckoned."""
    knowledge = reasoner.knowledge
    spread = knowledge.likelihood.look_out.spread
    found = {}
    if known.warm or known.normals:
        for cause_id, cause in knowledge.causes.items():
            if cause.degree_days:
                one = outlook(cause_id, cause.degree_days, known, place, day, spread)
                if one is not None:
                    found[cause_id] = one
    return found
