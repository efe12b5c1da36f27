"""Degree-days: the warmth above what an animal needs, summed over days.

A day is known by its least and greatest temperature. Three usual ways to reckon from them, each in
degrees Celsius: a published sum holds only with the way it was found with.
- simple average: the mean less the lower threshold, the maximum cut to the upper one;
- modified average: the minimum raised to the lower threshold as well (University of Wisconsin,
  https://wisconet.wisc.edu/gdd_explanation.html);
- single sine: the area between the thresholds under a sine through minimum and maximum, with a
  horizontal cutoff (Baskerville and Emin 1969, Ecology 50:514-517; Allen 1976, Environmental
  Entomology 5:388-396; neither was opened, the formula is tested against a numeric integral).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from math import asin, cos, inf, pi
from typing import Literal, NamedTuple

Method = Literal["simple average", "modified average", "single sine"]


class Day(NamedTuple):
    """A date with its least and greatest temperature in degrees Celsius."""

    date: date
    low: float
    high: float


def simple_average(low: float, high: float, lower: float, upper: float = inf) -> float:
    """Degree-days of one day by the simple average."""
    return max(0.0, (min(low, upper) + min(high, upper)) / 2 - lower)


def modified_average(low: float, high: float, lower: float, upper: float = inf) -> float:
    """Degree-days of one day by the modified average."""
    return simple_average(max(low, lower), max(high, lower), lower, upper)


def single_sine(low: float, high: float, lower: float, upper: float = inf) -> float:
    """Degree-days of one day by the single sine with a horizontal cutoff."""
    return _sine_above(low, high, lower) - _sine_above(low, high, upper)


def _sine_above(low: float, high: float, threshold: float) -> float:
    """The mean height of a sine between `low` and `high` above a threshold."""
    mean, half_range = (high + low) / 2, (high - low) / 2
    if threshold <= low:
        return mean - threshold
    if threshold >= high:
        return 0.0
    crossing = asin((threshold - mean) / half_range)
    return ((mean - threshold) * (pi / 2 - crossing) + half_range * cos(crossing)) / pi


METHODS: dict[Method, Callable[[float, float, float, float], float]] = {
    "simple average": simple_average,
    "modified average": modified_average,
    "single sine": single_sine,
}


def total(days: Iterable[Day], method: Method, lower: float, upper: float = inf) -> float:
    """The degree-days of all these days."""
    one_day = METHODS[method]
    return sum(one_day(day.low, day.high, lower, upper) for day in days)


def reached(
    days: Iterable[Day],
    sums: Mapping[str, float],
    method: Method,
    lower: float,
    upper: float = inf,
) -> dict[str, date]:
    """The day on which each sum is reached, counted from the first day on; without those not."""
    one_day, so_far, found = METHODS[method], 0.0, dict[str, date]()
    for day in days:
        so_far += one_day(day.low, day.high, lower, upper)
        for event, needed in sums.items():
            if so_far >= needed:
                found.setdefault(event, day.date)
    return found
