"""Degree-day models of the knowledge against their published tables, and the days that follow.

Each table names its source beside it; all were opened as search excerpts. Sums as printed, in the
unit as printed. Four of them are also run on a station's four years by code of its own.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

import pytest

from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from diagnose.rounds.warmth import Climate, outlook
from diagnose.seasons.calendar import MonthDay, Place
from diagnose.seasons.weather import Daily, Month
from tests.seasons.test_degree_days import DAYS, YEARS

HOME = Place(47.4, MonthDay(3, 25), MonthDay(11, 10))  # the station: Seattle-Tacoma
UW = "https://pddc.dev.webhosting.cals.wisc.edu/2015/07/21/degree-days-for-common-fruit-and-vegetable-insect-pests/"
OMAFRA = "https://www.fruitandveggie.com/ontario-vegetable-crop-report-may-3/"


class Published(NamedTuple):
    cause: str
    unit: str
    lower: float
    upper: float | None
    start: str
    sums: list[float]
    source: str


TABLES = [
    Published(
        "cabbage-root-maggot", "F", 43, None, "04-01", [300, 1476, 2652],
        UW + "; start and way: https://www.vegedge.umn.edu/cmdd",
    ),
    Published(
        "european-corn-borer", "F", 50, 86, "01-01", [375, 450, 631, 1400, 1450, 1550, 1733],
        UW + "; start and way: https://www.vegedge.umn.edu/moth-data/mndd",
    ),
    Published(
        "seedcorn-maggot", "F", 39, 84, "01-01", [360, 1080, 1800],
        "https://extension.sdstate.edu/seedcorn-maggot-degree-day-activity-estimates-june-3-2021",
    ),
    Published(
        "stalk-borer", "F", 41, None, "01-01", [575, 750, 1400, 1700],
        "https://cropwatch.unl.edu/mid-may-degree-day-map-predict-stalk-borer-growth-stage",
    ),
    Published(
        "japanese-beetle", "F", 50, 86, "01-01", [1030, 2150],
        "https://crops.extension.iastate.edu/cropnews/2013/06/japanese-beetles-begin-emergence",
    ),
    Published("carrot-rust-fly", "C", 3, None, "04-01", [329, 395, 1399, 1711], OMAFRA),
    Published("carrot-weevil", "C", 7, None, "04-01", [138, 455], OMAFRA),
    Published(
        "onion-maggot", "F", 40, None, "04-01", [680, 1950, 3230],
        UW + "; first day: https://onvegetables.com/2013/07/09/root-bulb-leafy-and-brassica-vegetable-pest-report-8-july-2013/",
    ),
]  # fmt: skip


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.cause)
def test_a_model_is_as_published(table: Published) -> None:
    model = open_knowledge(shipped()).causes[table.cause].degree_days
    assert model is not None
    degrees = (lambda f: (f - 32) / 1.8) if table.unit == "F" else float
    scale = 1.8 if table.unit == "F" else 1.0
    assert model.lower_c == pytest.approx(degrees(table.lower), abs=0.06), table.source
    if table.upper is not None:
        assert model.upper_c == pytest.approx(degrees(table.upper), abs=0.06), table.source
    assert model.start == table.start
    assert model.method is not None
    assert list(model.events.values()) == pytest.approx([s / scale for s in table.sums], abs=0.6)


def test_there_are_eight_models_to_reckon_with() -> None:
    causes = open_knowledge(shipped()).causes
    whole = {c for c, cause in causes.items() if (m := cause.degree_days) and m.method and m.start}
    assert {table.cause for table in TABLES} == whole
    assert len(whole) >= 8


def by_hand(table: Published, year: int) -> list[date]:
    """The days on which the published sums are reached: the mean of the day less the base."""
    scale = 1.8 if table.unit == "F" else 1.0
    low = (table.lower - 32) / 1.8 if table.unit == "F" else table.lower
    high = (table.upper - 32) / 1.8 if table.upper is not None else 999.0
    begun = date(year, int(table.start[:2]), int(table.start[3:]))
    found, so_far, left = [], 0.0, [s / scale for s in table.sums]
    for day in YEARS[year]:
        if day.date < begun or not left:
            continue
        top = min(day.high, high)
        bottom = min(day.low, high)
        if table.cause in ("european-corn-borer", "japanese-beetle"):
            bottom, top = max(bottom, low), max(top, low)
        so_far += max((top + bottom) / 2 - low, 0)
        while left and so_far >= left[0]:
            found.append(day.date)
            left.pop(0)
    return found


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    "cause", ["cabbage-root-maggot", "seedcorn-maggot", "carrot-rust-fly", "european-corn-borer"]
)
def test_four_insects_on_a_station(cause: str, year: int) -> None:
    table = next(one for one in TABLES if one.cause == cause)
    model = open_knowledge(shipped()).causes[cause].degree_days
    assert model is not None
    known = Climate(
        {d.date: Daily(*d) for d in DAYS}, {d.date: d for d in DAYS}, ()
    )  # the whole record
    found = outlook(cause, model, known, HOME, date(year, 12, 31), 0.1)
    assert found is not None
    days = [event.day for event in found.events if event.day]
    wanted = by_hand(table, year)
    assert len(days) == len(wanted) > 0
    assert all(abs((a - b).days) <= 1 for a, b in zip(days, wanted, strict=True))
    for event in found.events:
        if event.day and event.early:
            assert event.early <= event.day
            assert event.late is None or event.day <= event.late


def test_from_normals_alone_a_forecast_has_the_same_form() -> None:
    """Monthly normals of the station's own four years tell its first flies to about two weeks."""
    months = []
    for month in range(1, 13):
        days = [d for d in DAYS if d.date.month == month]
        months.append(
            Month(
                month, sum(d.low for d in days) / len(days), sum(d.high for d in days) / len(days)
            )
        )
    known = Climate({}, {}, tuple(months))
    table = TABLES[0]
    model = open_knowledge(shipped()).causes[table.cause].degree_days
    assert model is not None
    for year in YEARS:
        found = outlook(table.cause, model, known, HOME, date(year, 4, 1), 0.1)
        assert found is not None
        assert found.taken_as_usual == 1
        [first, *_] = found.events
        assert first.day is not None
        assert abs(first.day - by_hand(table, year)[0]) < timedelta(15)
