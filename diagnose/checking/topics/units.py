"""Numbers with a unit: bands that nothing in a garden leaves, and the same figure in two units."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from diagnose.checking.subject import Subject
from diagnose.kb.model import Crop
from diagnose.kb.reader import Finding

# What a figure may be, least and most. Common practice, no source: wide enough for every bed, and
# narrow enough to tell Fahrenheit from Celsius, or centimeters from millimeters.
BANDS: dict[str, tuple[float, float]] = {
    "germination-c": (0, 42),
    "growth-c": (2, 42),
    "depth-cm": (0, 35),
    "depth-cm of seed": (0, 8),
    "apart-cm": (1, 200),
    "lower-c": (0, 20),
    "upper-c": (20, 45),
    "look-again": (0, 60),
    "look-again, where it matters": (0, 30),
    "C": (-40, 75),
    "F": (-40, 170),
}
ONES = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6,
        "eight": 8, "ten": 10, "half an": 0.5, "half a": 0.5}  # fmt: skip
PLANTED = frozenset({"tuber", "bulb", "crown"})  # parts of crops that need not be sown
WORDS = "|".join(sorted(ONES, key=len, reverse=True))
# A word after "to" or "under" is one end of a span only, and says nothing of the other.
ALONE = "".join(f"(?<!{word} )" for word in ("to", "or", "under", "over", "than", "half"))
FIGURE = rf"-?\d+(?:[.,]\d+)*(?:/\d+)?|{ALONE}\b(?i:{WORDS})\b"
SPAN = rf"({FIGURE})(?: ?(?:to|-|and|or) ({FIGURE}))?"
UNITS = "F|C|inch(?:es)?|feet|foot|yards?|miles?|cm|mm|m|km"
FIGURES = re.compile(rf"{SPAN} ({UNITS})\b(?: \((?:about )?{SPAN} ({UNITS})\))?")
METERS = {
    "inch": 0.0254, "foot": 0.3048, "yard": 0.9144, "mile": 1609.344,
    "mm": 0.001, "cm": 0.01, "m": 1.0, "km": 1000.0,
}  # fmt: skip
ONE = {"inches": "inch", "feet": "foot", "yards": "yard", "miles": "mile"}
DEGREES_OFF = 1.5  # Celsius: both are said in round figures
LENGTH_OFF = 0.25  # of the length, for the same reason


class Figure(NamedTuple):
    """A figure or a span of figures as a text has it: its lowest and highest, and the unit."""

    low: float
    high: float
    unit: str

    def __str__(self) -> str:
        """As it is said."""
        span = f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"
        return f"{span} {self.unit}"


def _number(text: str) -> float:
    if text.lower() in ONES:
        return ONES[text.lower()]
    whole, _, part = text.replace(",", "").partition("/")
    return float(whole) / float(part) if part and float(part) else float(whole)


def _figure(low: str, high: str | None, unit: str) -> Figure:
    return Figure(_number(low), _number(high or low), ONE.get(unit, unit))


def figures(text: str) -> Iterator[tuple[Figure, Figure | None]]:
    """Every figure of a text with a unit, and the one in brackets behind it that says it again."""
    for found in FIGURES.finditer(text):
        low, high, unit, low_again, high_again, unit_again = found.groups()
        again = _figure(low_again, high_again, unit_again) if low_again else None
        yield _figure(low, high, unit), again


def _celsius(value: float, unit: str) -> float:
    return (value - 32) / 1.8 if unit == "F" else value


def same(one: Figure, other: Figure) -> bool:
    """Whether two figures say the same, as far as round figures can."""
    both = list(zip(one[:2], other[:2], strict=True))
    if one.unit in BANDS and other.unit in BANDS:
        return all(
            abs(_celsius(a, one.unit) - _celsius(b, other.unit)) <= DEGREES_OFF for a, b in both
        )
    if one.unit in METERS and other.unit in METERS:
        lengths = [(a * METERS[one.unit], b * METERS[other.unit]) for a, b in both]
        return all(abs(a - b) <= LENGTH_OFF * max(a, b) for a, b in lengths)
    return False


def pairs(subject: Subject) -> Iterator[Finding]:
    """units-disagree: a figure that is said again in another unit, and is another there."""
    for path, text in subject.prose():
        for one, other in figures(text):
            if other and not same(one, other):
                yield subject.finding(
                    path, "units-disagree",
                    f"{one} is not {other}; reckon one of them again",
                )  # fmt: skip


def bands(subject: Subject) -> Iterator[Finding]:
    """number-astray: figures that nothing in a garden has, as Fahrenheit where Celsius belongs."""
    knowledge = subject.knowledge
    for crop_id, crop in knowledge.crops.items():
        for key, name, numbers in _of_crop(crop):
            yield from _astray(subject, ("crops", crop_id, key), name, numbers)
    for cause_id, cause in knowledge.causes.items():
        at = ("causes", cause_id)
        if cause.look_again:
            leave = cause.matters.decision == "leave"
            band = "look-again" if leave else "look-again, where it matters"
            yield from _astray(subject, (*at, "look-again"), band, [cause.look_again.days])
        if cause.degree_days:
            for name, number in (
                ("lower-c", cause.degree_days.lower_c), ("upper-c", cause.degree_days.upper_c)
            ):  # fmt: skip
                if number is not None:
                    yield from _astray(subject, (*at, "degree-days", name), name, [number])
    for path, text in subject.prose():
        for one in (figure for pair in figures(text) for figure in pair if figure):
            if one.unit in BANDS:
                yield from _astray(subject, path, one.unit, sorted(one[:2]))


def _of_crop(crop: Crop) -> Iterator[tuple[str, str, list[float]]]:
    """The numbers of a crop, from little to much: the key, the band, the numbers."""
    for key, found in (("germination-c", crop.germination_c), ("growth-c", crop.growth_c)):
        if found is not None:
            yield key, key, [n for n in (found.min, *found.best, found.max) if n is not None]
    if crop.sowing is not None:
        seed = PLANTED.isdisjoint(crop.parts)
        yield "sowing", "depth-cm of seed" if seed else "depth-cm", crop.sowing.depth_cm
        yield "sowing", "apart-cm", crop.sowing.apart_cm


def _astray(
    subject: Subject, path: Sequence[str], name: str, numbers: Sequence[float]
) -> Iterator[Finding]:
    low, high = BANDS[name]
    wrong = [f"{n:g}" for n in numbers if not low <= n <= high]
    if wrong:
        yield subject.finding(
            path, "number-astray",
            f"{name}: {' and '.join(wrong)}; nothing in a garden is outside {low:g} to {high:g}: "
            "look at the unit",
        )  # fmt: skip
    elif list(numbers) != sorted(numbers):
        yield subject.finding(
            path, "number-astray",
            f"{name}: {', '.join(f'{n:g}' for n in numbers)}; the lower must stand first",
        )  # fmt: skip
