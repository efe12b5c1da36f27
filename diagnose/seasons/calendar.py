"""Where a date stands in the growing year of a place: frosts, moments, windows.

A growing year begins in midwinter, so that spring, summer and autumn follow one another inside it:
on 1 January north of the equator, on 1 July south of it. Moments are looked up in a growing year,
and windows run from one moment to another, so New Year needs no care in either hemisphere.
"""

from __future__ import annotations

import re
from calendar import isleap, monthrange
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

HALF_YEAR = 183  # days: no date lies further than this from what happens once a year
_MONTH_ENDS = {month: monthrange(2000, month)[1] for month in range(1, 13)}  # of a leap year
_MONTH_DAY = re.compile("[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(
    r"(?P<anchor>(?:last|first) frost|(?:longest|shortest) day)"
    r"(?: (?P<sign>[+-]) (?P<count>[0-9]+) (?P<unit>day|week)s?)?"
)


@dataclass(frozen=True, slots=True, order=True)
class MonthDay:
    """A day that comes round every year; 29 February is 28 February in other years."""

    month: int
    day: int

    def __post_init__(self) -> None:
        if not (1 <= self.month <= 12 and 1 <= self.day <= _MONTH_ENDS[self.month]):
            raise ValueError(f"found '{self}', allowed are the days of a year, 01-01 to 12-31")

    def __str__(self) -> str:
        return f"{self.month:02d}-{self.day:02d}"

    @classmethod
    def parse(cls, text: str) -> MonthDay:
        """Read "MM-DD"; raise ValueError for anything else."""
        if not _MONTH_DAY.fullmatch(text):
            raise ValueError(f"found '{text}', expected a month and a day, as in '05-10'")
        return cls(int(text[:2]), int(text[3:]))

    def in_year(self, year: int) -> date:
        """This day in a calendar year."""
        leap_day = (self.month, self.day) == (2, 29) and not isleap(year)
        return date(year, self.month, 28 if leap_day else self.day)

    def opposite(self) -> MonthDay:
        """The same point of the season in the other hemisphere: six months on."""
        month = (self.month + 5) % 12 + 1
        return MonthDay(month, min(self.day, _MONTH_ENDS[month]))


SOLSTICES = {"longest day": MonthDay(6, 21), "shortest day": MonthDay(12, 21)}  # within a day


@dataclass(frozen=True, slots=True)
class Place:
    """A latitude in degrees (south negative), and its average last and first frost."""

    latitude: float
    last_frost: MonthDay
    first_frost: MonthDay

    def __post_init__(self) -> None:
        if not -90 <= self.latitude <= 90:
            raise ValueError(f"found latitude {self.latitude}, allowed are -90 to 90 degrees")
        if self.local(self.last_frost) >= self.local(self.first_frost):
            raise ValueError(
                f"found last frost {self.last_frost}, first frost {self.first_frost}, allowed is"
                f" last before first in a year beginning on {self.local(MonthDay(1, 1))}"
                + ("; south of the equator give a negative latitude" if self.latitude >= 0 else "")
            )

    def local(self, day: MonthDay) -> MonthDay:
        """A northern month-day, moved by half a year south of the equator."""
        return day.opposite() if self.latitude < 0 else day

    def growing_year(self, day: date) -> int:
        """The growing year that a date lies in, which south of the equator begins in July."""
        return day.year - (self.latitude < 0 and day.month < 7)

    def year_begins(self, year: int) -> date:
        """The first day of a growing year."""
        return date(year, 7 if self.latitude < 0 else 1, 1)

    def find(self, anchor: str | MonthDay, year: int) -> date:
        """A frost, solstice or northern month-day in the growing year that begins in `year`."""
        match anchor:
            case "last frost":
                day = self.last_frost
            case "first frost":
                day = self.first_frost
            case MonthDay():
                day = self.local(anchor)
            case _:
                day = self.local(SOLSTICES[anchor])
        return day.in_year(year + 1 if self.latitude < 0 and day.month < 7 else year)


@dataclass(frozen=True, slots=True)
class Moment:
    """A point of the growing year: so many days after a frost, a solstice or a month-day."""

    anchor: str | MonthDay
    offset: int = 0

    def __post_init__(self) -> None:
        if abs(self.offset) > HALF_YEAR:
            raise ValueError(f"found '{self}', allowed are at most 26 weeks or {HALF_YEAR} days")

    def __str__(self) -> str:
        if not self.offset:
            return str(self.anchor)
        size = abs(self.offset)
        count, unit = (size, "day") if size % 7 else (size // 7, "week")
        return f"{self.anchor} {'-+'[self.offset > 0]} {count} {unit}{'s' * (count > 1)}"

    @classmethod
    def parse(cls, text: str) -> Moment:
        """Read "last frost - 3 weeks", "longest day", "06-15"; else raise ValueError."""
        if _MONTH_DAY.fullmatch(text):
            return cls(MonthDay.parse(text))
        found = _MOMENT.fullmatch(text)
        if not found:
            raise ValueError(
                f"found '{text}', expected last frost, first frost, longest day or shortest day,"
                " alone or as in 'last frost - 3 weeks', 'longest day + 10 days'; or a month and"
                " day as north of the equator, as in '06-15'"
            )
        days = int(found["count"] or 0) * (7 if found["unit"] == "week" else 1)
        return cls(found["anchor"], -days if found["sign"] == "-" else days)

    def find(self, year: int, place: Place) -> date:
        """Its date in the growing year that begins in `year`."""
        return place.find(self.anchor, year) + timedelta(self.offset)


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of the growing year, both ends included."""

    opens: Moment
    closes: Moment

    def __post_init__(self) -> None:
        if self.opens.anchor == self.closes.anchor and self.opens.offset > self.closes.offset:
            raise ValueError(f"found '{self}', which closes before it opens")

    def __str__(self) -> str:
        return "all year" if self == ALL_YEAR else f"{self.opens} to {self.closes}"

    @classmethod
    def parse(cls, text: str) -> Window:
        """Read "all year", or two moments as in "last frost - 3 weeks to first frost"."""
        if text == "all year":
            return ALL_YEAR
        opens, to, closes = text.partition(" to ")
        if not to:
            raise ValueError(f"found '{text}', expected 'all year' or as in 'last frost to 06-15'")
        return cls(Moment.parse(opens), Moment.parse(closes))

    def find(self, year: int, place: Place) -> tuple[date, date]:
        """First and last day in the growing year that begins in `year`; last first if shut."""
        opens, closes = self.opens.find(year, place), self.closes.find(year, place)
        if closes >= opens:
            return opens, closes
        # "first frost to last frost" closes in the next growing year. But where only the offsets
        # turn the ends round ("last frost + 8 weeks to first frost - 8 weeks"), it stays shut.
        over_winter = place.find(self.closes.anchor, year) < place.find(self.opens.anchor, year)
        return opens, self.closes.find(year + 1, place) if over_winter else closes

    def contains(self, day: date, place: Place) -> bool:
        """Whether the window is open on a date."""
        return self.days_outside(day, place) == 0

    def days_outside(self, day: date, place: Place) -> int:
        """Days to the nearest edge (the far edge if always shut), at most 183; 0 inside."""
        return days_outside(day, (self.find(day.year + shift, place) for shift in SHIFTS))

    def around(self, year: int, place: Place) -> tuple[tuple[date, date], ...]:
        """First and last days in all growing years that can hold a day of a calendar year."""
        return tuple(self.find(year + shift, place) for shift in SHIFTS)


# Offsets can carry a window a year ahead, and a southern winter two years on.
SHIFTS = (0, -1, 1, -2)  # years, likeliest first


def days_outside(day: date, stretches: Iterable[tuple[date, date]]) -> int:
    """Days from a date to the nearest of some stretches, at most 183; 0 inside of one."""
    nearest = HALF_YEAR
    for opens, closes in stretches:
        gap = max((opens - day).days, (day - closes).days)
        if gap <= 0:
            return 0
        nearest = min(nearest, gap)
    return nearest


ALL_YEAR = Window(Moment(MonthDay(1, 1)), Moment(MonthDay(12, 31)))
