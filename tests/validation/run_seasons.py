"""Day length and degree-days against a library, print and a numeric integral.

`python -m tests.validation.run_seasons [--write]` prints the table. The figures, each with its
source, are those of tests/seasons, whose tests hold the tolerances.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product
from math import inf

from astral import Observer
from astral.sun import sunrise, sunset

from diagnose.seasons.daylight import day_length
from diagnose.seasons.degree_days import modified_average, simple_average, single_sine, total
from tests.seasons import test_daylight as light
from tests.seasons import test_degree_days as warmth
from tests.validation import tables

HEAD = ["check", "tried", "largest difference"]
STATION = [(6.1, inf), (3.9, 28.9), (10, 30)]  # thresholds, degrees Celsius


def minutes(clock: str) -> float:
    """Hours, minutes and perhaps seconds, as minutes."""
    parts = [int(part) for part in clock.split(":")]
    return sum(part * 60 ** (1 - place) for place, part in enumerate(parts))


def line(check: str, differences: Iterable[float], unit: str) -> list[object]:
    """A line of the table."""
    found = [abs(difference) for difference in differences]
    return [check, f"{len(found):,}", f"{max(found):.2g} {unit}"]


def daylight() -> list[list[object]]:
    """How far our day lengths lie from others', in minutes."""

    def by_astral(latitude: float, day: light.date) -> float:
        observer = Observer(latitude, longitude=0)
        return (sunset(observer, day) - sunrise(observer, day)).total_seconds() / 60

    pairs = list(product(light.LATITUDES, light.DATES))
    return [
        line(
            "day length against astral (a smaller refraction: its days are shorter)",
            (60 * day_length(day, lat) - by_astral(lat, day) for lat, day in pairs),
            "min",
        ),
        line(
            "day length against almanacs",
            (60 * day_length(day, lat) - minutes(said) for lat, day, said, _ in light.PUBLISHED),
            "min",
        ),
        line(
            "day length against a year reckoned with PyEphem",
            (
                60 * day_length(light.date(2025, *day), 42) - minutes(said)
                for day, said in light.YEAR_AT_42.items()
            ),
            "min",
        ),
    ]


def degree_days() -> list[list[object]]:
    """How far our degree-days lie from others', in degree-days of each example's own unit."""
    station = [(days, *bounds) for days in warmth.YEARS.values() for bounds in STATION]
    return [
        line(
            "simple average, published days",
            (simple_average(low, high, t) - said for high, low, t, said, _ in warmth.SIMPLE),
            "degree-days",
        ),
        line(
            "modified average, published days",
            (modified_average(low, high, 50, 86) - d for high, low, d, _ in warmth.MODIFIED),
            "degree-days",
        ),
        line(
            "single sine with two thresholds, published days",
            (single_sine(low, high, 12, 33) - said for low, high, said, _ in warmth.SINE),
            "degree-days",
        ),
        line(
            "single sine against a numeric integral (scipy), days of a station of 2012 to 2015",
            (
                single_sine(day.low, day.high, lower, upper)
                - warmth.integral(day.low, day.high, lower, upper)
                for days, lower, upper in station
                for day in days
            ),
            "degree-days",
        ),
        line(
            "its sum over a year of that station",
            (
                total(days, "single sine", lower, upper)
                - sum(warmth.integral(day.low, day.high, lower, upper) for day in days)
                for days, lower, upper in station
            ),
            "degree-days",
        ),
    ]


if __name__ == "__main__":
    given = tables.options(__doc__).parse_args()
    tables.show("seasons", tables.table(HEAD, [*daylight(), *degree_days()]), given.write)
