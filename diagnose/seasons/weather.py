"""Daily weather from the files that people have: CSV of a thermometer or station, GHCN-Daily.

How a file is read is said, and whether anything of it was guessed. What cannot be used is left out
and said with its line. GHCN-Daily: fixed width (.dly) and one line for an element and a day, in
tenths of a degree Celsius and of a millimeter, -9999 for nothing, any quality flag for a failed
check; as its readme is quoted in public code and at
https://dagshub.com/DagsHub-Datasets/noaa-ghcn-dataset (search excerpts were opened). Its CSV with a
column for each element holds tenths too where it has columns of attributes (from memory).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Literal, NamedTuple

from diagnose.errors import UsageError
from diagnose.inputs import FIRST_DAY, LAST_DAY, plain_file
from diagnose.seasons.degree_days import Day

LARGEST = 50_000_000  # bytes of a table
BRIDGED = 3  # days: a longer gap is not bridged
HOTTEST = 57.0  # C: no day on record was hotter (about 134 F), so more are not degrees Celsius
DOUBTFUL = 45.0  # a highest temperature that is about as odd in the one unit as in the other
WETTEST = 2000.0  # mm in a day
NOTHING = {"", "-", "na", "n/a", "nan", "null", "none", "m", "-9999", "-999", "-99.9", "9999"}
Degrees = Literal["C", "F"]
RainUnit = Literal["mm", "in"]


class Daily(NamedTuple):
    """A day: least and greatest temperature in degrees Celsius, rain in mm; None where unknown."""

    date: date
    low: float | None
    high: float | None
    rain: float | None = None


@dataclass(frozen=True)
class Table:
    """The days of a file in order; how it was read; what was left out; whether it needs a yes."""

    days: tuple[Daily, ...]
    taken: tuple[str, ...]
    left_out: tuple[str, ...]
    guessed: bool

    def gaps(self) -> list[tuple[date, date]]:
        """First and last day of each stretch without both temperatures."""
        there = [day.date for day in self.days if day.low is not None and day.high is not None]
        return [
            (one + timedelta(1), two - timedelta(1))
            for one, two in pairwise(there)
            if (two - one).days > 1
        ]


def read(path: Path, degrees: Degrees | None = None, rain: RainUnit | None = None) -> Table:
    """The daily weather in a file; `degrees` and `rain` put what the file does not say.

    Raises UsageError where it cannot be read, with the line and what to do.
    """
    try:
        raw = plain_file(path, LARGEST)
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror}") from None
    try:
        text = raw.decode("utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise UsageError(
            f"{path} is no UTF-8 text (byte {error.start + 1}); save the table as CSV in UTF-8"
        ) from None
    try:
        return parse(text, degrees, rain)
    except ValueError as error:
        raise UsageError(f"{path}, {error}") from None


def parse(text: str, degrees: Degrees | None = None, rain: RainUnit | None = None) -> Table:
    """Daily weather in the text of a file. Raises ValueError with the line."""
    lines = text.splitlines()
    first = next((line for line in lines if line.strip()), "")
    if _DLY.match(first):
        return _fixed_width(lines)
    rows = _rows(lines, first)
    if not rows:
        raise ValueError("line 1: nothing is in it")
    start = 1 if rows[0][1][0].strip().upper() == "ID" else 0
    if len(rows) > start and _by_element(rows[start][1]):
        return _elements(rows[start:])
    return _columns(rows, degrees, rain)


def _rows(lines: Sequence[str], first: str) -> list[tuple[int, list[str]]]:
    """The lines that are not empty, cut into cells, each with its number."""
    mark = max(";\t,|", key=first.count)
    table = csv.reader(io.StringIO("\n".join(lines)), delimiter=mark)
    found = []
    try:
        for cells in table:
            if any(cell.strip() for cell in cells):
                found.append((table.line_num, [cell.strip() for cell in cells]))
    except csv.Error as error:
        raise ValueError(f"line {table.line_num + 1}: {error}; is this a table?") from None
    return found


# GHCN-Daily

_DLY = re.compile(r"[A-Z]{2}.{9}\d{6}[A-Z]{4}[ \d-]{5}")
_STATION = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}")
ELEMENTS = {"TMIN": 0, "TMAX": 1, "PRCP": 2}


def _by_element(cells: Sequence[str]) -> bool:
    return len(cells) >= 4 and bool(_STATION.fullmatch(cells[0])) and cells[2].isalnum()


class _Station:
    """Gathers the values of one station, and what failed its quality checks."""

    def __init__(self) -> None:
        self.station = ""
        self.days: dict[date, list[float | None]] = {}
        self.failed = 0

    def add(self, line: int, station: str, day: date, element: str, value: int, flag: str) -> None:
        if self.station and station != self.station:
            raise ValueError(f"line {line}: a second station, {station}, after {self.station}; "
                             "keep the lines of one")  # fmt: skip
        self.station = station
        if value == -9999:
            return
        if flag.strip():
            self.failed += 1
            return
        self.days.setdefault(day, [None, None, None])[ELEMENTS[element]] = value / 10

    def table(self) -> Table:
        days, left = _sound((0, Daily(day, *values)) for day, values in sorted(self.days.items()))
        if not days:
            raise ValueError("line 1: no day with TMIN, TMAX or PRCP is in it")
        if self.failed:
            left.append(f"{self.failed} values that failed the station's quality checks")
        said = f"GHCN-Daily, station {self.station}: tenths of a degree Celsius and of a millimeter"
        return Table(days, (said,), tuple(left), guessed=False)


def _fixed_width(lines: Sequence[str]) -> Table:
    found = _Station()
    for number, line in enumerate(lines, 1):
        if not line.strip() or line[17:21] not in ELEMENTS:
            continue
        try:
            year, month = int(line[11:15]), int(line[15:17])
            for day in range(31):
                cell = line[21 + 8 * day : 29 + 8 * day]
                if len(cell) < 5 or int(cell[:5]) == -9999:
                    continue
                when = date(year, month, day + 1)
                found.add(number, line[:11], when, line[17:21], int(cell[:5]), cell[6:7])
        except ValueError as error:
            if str(error).startswith("line "):
                raise
            raise ValueError(f"line {number}: no line of GHCN-Daily ({error})") from None
    return found.table()


def _elements(rows: Iterable[tuple[int, list[str]]]) -> Table:
    found = _Station()
    for number, cells in rows:
        if len(cells) < 4 or cells[2] not in ELEMENTS:
            continue
        try:
            day = date.fromisoformat(cells[1])
            value = int(cells[3])
        except ValueError:
            raise ValueError(
                f"line {number}: expected a day and a value, as in 20260605,TMAX,215"
            ) from None
        flag = cells[5] if len(cells) > 5 else ""
        found.add(number, cells[0], day, cells[2], value, flag)
    return found.table()


# a table with a line for each day

LOW = ("min", "low")
HIGH = ("max", "high")
RAIN = ("rain", "prcp", "precip")
UNITS = {
    "c": "C", "celsius": "C", "degc": "C", "f": "F", "fahrenheit": "F", "degf": "F",
    "mm": "mm", "in": "in", "inch": "in", "inches": "in",
}  # fmt: skip


def _columns(
    rows: Sequence[tuple[int, list[str]]], degrees: Degrees | None, rain: RainUnit | None
) -> Table:
    line, head = rows[0]
    at = _heads(line, head)
    body = rows[1:]
    if not body:
        raise ValueError(f"line {line + 1}: no day is in it")
    comma = any(
        re.fullmatch(r"[+-]?\d+,\d+", cells[i])
        for _, cells in body
        for name, i in at.items()
        if name != "date" and i < len(cells)
    )
    dates, as_date, guessed = _dates(at["date"], body)
    values = {
        name: [_number(n, cells, i, comma, name) for n, cells in body]
        for name, i in at.items()
        if name != "date"
    }
    taken = [f"columns: {', '.join(f'{name} from {head[i]!r}' for name, i in at.items())}"]
    taken.append(f"dates: {as_date}" + ("; decimals with a comma" if comma else ""))
    lows, highs = values["low"], values["high"]
    both = [(a, b) for a, b in zip(lows, highs, strict=True) if a is not None and b is not None]
    if both and sum(a > b for a, b in both) * 2 > len(both):
        lows, highs = highs, lows
        guessed = True
        taken.append("minimum and maximum stand in each other's columns, so they are exchanged")
    said = _unit(head[at["high"]]) or _unit(head[at["low"]])
    tenths = any(name.upper().endswith("_ATTRIBUTES") for name in head)
    scale = _degrees(highs, said, degrees, tenths)
    guessed |= scale.guessed
    taken.append(f"temperatures: {scale.said}")
    mm: list[float | None] = [None] * len(body)
    if "rain" in values:
        wet = _rain(values["rain"], _unit(head[at["rain"]]), rain, scale, tenths)
        guessed |= wet.guessed
        taken.append(f"rain: {wet.said}")
        mm = [None if v is None else round(v * wet.factor, 2) for v in values["rain"]]
    given = [
        (number, Daily(when, scale.celsius(a), scale.celsius(b), c))
        for (number, _), when, a, b, c in zip(body, dates, lows, highs, mm, strict=True)
    ]
    days, left = _sound(sorted(given, key=lambda one: one[1].date))
    if not days:
        raise ValueError(f"line {line + 1}: no day in it can be used; {'; '.join(left[:2])}")
    return Table(days, tuple(taken), tuple(left), guessed)


def _heads(line: int, head: Sequence[str]) -> dict[str, int]:
    """Where the date, low, high and, if there, rain stand."""
    at: dict[str, int] = {}
    for i, name in enumerate(head):
        plain = name.lower()
        if plain.endswith("_attributes") or "mean" in plain or "avg" in plain:
            continue
        words = re.split(r"[^a-z]+", plain)
        if "date" in words or plain in ("day", "time", "timestamp"):
            at.setdefault("date", i)
        elif any(part in plain for part in LOW):
            at.setdefault("low", i)
        elif any(part in plain for part in HIGH):
            at.setdefault("high", i)
        elif any(part in plain for part in RAIN):
            at.setdefault("rain", i)
    wanted = {"date": "date", "low": "min_c", "high": "max_c"}
    for name, example in wanted.items():
        if name not in at:
            raise ValueError(
                f"line {line}: no column {example!r}; its first line must name the columns, as in "
                "date,min_c,max_c,rain_mm"
            )
    return {name: at[name] for name in ("date", "low", "high", "rain") if name in at}


def _unit(name: str) -> str | None:
    """The unit that a column's name says, or None."""
    words = re.split(r"[^a-z]+", name.lower().replace("°", " "))
    return next((UNITS[word] for word in reversed(words) if word in UNITS), None)


def _number(line: int, cells: Sequence[str], i: int, comma: bool, name: str) -> float | None:
    cell = cells[i] if i < len(cells) else ""
    if cell.lower() in NOTHING:
        return None
    if name == "rain" and cell.upper() == "T":  # a trace
        return 0.0
    try:
        value = float(cell.replace(",", ".") if comma else cell)
    except ValueError:
        value = float("nan")
    if not -1e6 < value < 1e6:
        raise ValueError(f"line {line}: expected a number for {name}, found {cell!r}")
    return None if value in (-9999, -999) else value


# dates

_THREE = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})")


def _dates(
    i: int, body: Sequence[tuple[int, list[str]]]
) -> tuple[list[date], str, bool]:  # fmt: skip
    """The dates, how they were read, and whether that was guessed."""
    texts = [cells[i].split("T")[0].split(" ")[0] if i < len(cells) else "" for _, cells in body]
    if not _THREE.fullmatch(texts[0]):
        found = []
        for (line, _), text in zip(body, texts, strict=True):
            try:
                found.append(_within(date.fromisoformat(text.replace("/", "-"))))
            except ValueError:
                raise ValueError(f"line {line}: {text!r} is no date; "
                                 "write it as 2026-06-05") from None  # fmt: skip
        return found, "year, month, day", False
    orders = {"day, month, year": (2, 1, 0), "month, day, year": (2, 0, 1)}
    able = {name: made for name, order in orders.items() if (made := _ordered(texts, order))}
    if not able:
        line = next(n for (n, _), t in zip(body, texts, strict=True) if not _either(t))
        raise ValueError(f"line {line}: no date that fits the others; write them as 2026-06-05")
    if len(able) == 1:
        [(name, made)] = able.items()
        return made, name, False
    steps = {name: sum((b - a).days == 1 for a, b in pairwise(made)) for name, made in able.items()}
    best = max(steps, key=lambda name: steps[name])
    if len(set(steps.values())) == 1:
        raise ValueError(f"line {body[0][0]}: {texts[0]} may be day or month first, and nothing "
                         "tells which; write the dates as 2026-06-05")  # fmt: skip
    return able[best], f"{best} (so that days follow one another)", True


def _within(day: date) -> date:
    if not FIRST_DAY <= day <= LAST_DAY:
        raise ValueError
    return day


def _ordered(texts: Sequence[str], order: tuple[int, int, int]) -> list[date] | None:
    found = []
    for text in texts:
        parts = _THREE.fullmatch(text)
        try:
            if parts is None:
                return None
            found.append(_within(date(*(int(parts.group(place + 1)) for place in order))))
        except ValueError:
            return None
    return found


def _either(text: str) -> bool:
    return any(_ordered([text], order) for order in ((2, 1, 0), (2, 0, 1)))


# units


class _Scale(NamedTuple):
    """How temperatures are read."""

    unit: Degrees
    tenths: bool
    said: str
    guessed: bool

    def celsius(self, value: float | None) -> float | None:
        """In degrees Celsius."""
        if value is None:
            return None
        value = value / 10 if self.tenths else value
        return round((value - 32) / 1.8 if self.unit == "F" else value, 2)


class _Wet(NamedTuple):
    """How rain is read."""

    factor: float
    said: str
    guessed: bool


NAMES = {"C": "degrees Celsius", "F": "degrees Fahrenheit"}
AMOUNTS = {"mm": "millimeters", "in": "inches"}


def _degrees(
    highs: Sequence[float | None], said: str | None, told: Degrees | None, tenths: bool
) -> _Scale:
    """The scale told, or said by the file, or else by how high the temperatures go."""
    top = max((high for high in highs if high is not None), default=0.0)
    if told is not None:
        return _Scale(told, False, f"{NAMES[told]}, as you told", False)
    if tenths or top > 140:
        return _Scale("C", True, "tenths of a degree Celsius", not tenths)
    if said in ("C", "F"):
        unit: Degrees = "C" if said == "C" else "F"
        if unit == "C" and top > HOTTEST:
            raise ValueError(
                f"line 1: a column says degrees Celsius, but {top:g} is in it; "
                "if they are degrees Fahrenheit, give --degrees F"
            )
        odd = top <= DOUBTFUL if unit == "F" else top > DOUBTFUL
        more = f", though the highest is {top:g}" if odd else ""
        return _Scale(unit, False, f"{NAMES[unit]}, as its column says{more}", odd)
    unit = "F" if top > DOUBTFUL else "C"
    return _Scale(unit, False, f"{NAMES[unit]}, since the highest is {top:g}", True)


def _rain(
    values: Sequence[float | None], said: str | None, told: RainUnit | None, scale: _Scale,
    tenths: bool,
) -> _Wet:  # fmt: skip
    """Likewise of rain; where nothing says, inches go with Fahrenheit."""
    top = max((value for value in values if value is not None), default=0.0)
    if told is not None:
        return _Wet(25.4 if told == "in" else 1.0, f"{AMOUNTS[told]}, as you told", False)
    if tenths:
        return _Wet(0.1, "tenths of a millimeter", False)
    if said in ("mm", "in"):
        return _Wet(25.4 if said == "in" else 1.0, f"{AMOUNTS[said]}, as its column says", False)
    if scale.unit == "F" and top < 20:
        return _Wet(25.4, f"inches, since the most in a day is {top:g}", True)
    return _Wet(1.0, f"millimeters, since the most in a day is {top:g}", True)


def _sound(given: Iterable[tuple[int, Daily]]) -> tuple[tuple[Daily, ...], list[str]]:
    """Each day once, without what cannot be; and what was left out."""
    found: dict[date, Daily] = {}
    left: list[str] = []
    for line, day in given:
        where = f"line {line}: {day.date}" if line else f"{day.date}"
        if day.low is not None and day.high is not None and day.low > day.high:
            left.append(
                f"{where}, the minimum {day.low:.1f} C is above the maximum {day.high:.1f} C"
            )
            day = day._replace(low=None, high=None)
        if any(t is not None and not -90 <= t <= HOTTEST + 3 for t in (day.low, day.high)):
            left.append(f"{where}, a temperature that no place has")
            day = day._replace(low=None, high=None)
        if day.rain is not None and not 0 <= day.rain <= WETTEST:
            left.append(f"{where}, {day.rain:g} mm of rain")
            day = day._replace(rain=None)
        if day[1:] == (None, None, None):
            continue
        if day.date in found and found[day.date] != day:
            left.append(f"{where}, which was there before with other values")
            continue
        found[day.date] = day
    return tuple(found[when] for when in sorted(found)), left


# what is reckoned from it


def runs(days: Iterable[Daily], most: int = BRIDGED) -> list[list[Day]]:
    """Stretches of days that follow one another; gaps of up to `most` days are bridged in a line.

    That is sound for sums of warmth, not for the least or greatest of a day.
    """
    found: list[list[Day]] = []
    known = ((d.date, d.low, d.high) for d in sorted(days, key=lambda d: d.date))
    for when, low, high in known:
        if low is None or high is None:
            continue
        gap = (when - found[-1][-1].date).days - 1 if found else most + 1
        if gap > most:
            found.append([])
        elif gap:
            last = found[-1][-1]
            for n in range(1, gap + 1):
                share = n / (gap + 1)
                found[-1].append(
                    Day(
                        last.date + timedelta(n),
                        last.low + share * (low - last.low),
                        last.high + share * (high - last.high),
                    )
                )
        found[-1].append(Day(when, low, high))
    return found


def days_of(table: Table, path: Path | str) -> list[Day]:
    """The days of a file, each with both temperatures, following one another.

    Raises UsageError, which names the file, where days are missing that cannot be bridged.
    """
    found = runs(table.days)
    if not found:
        raise UsageError(f"{path}: no day has both a minimum and a maximum")
    if len(found) > 1:
        one, two = found[-2][-1].date, found[-1][0].date
        raise UsageError(
            f"{path}: no temperatures between {one} and {two}; a sum of warmth needs every day, "
            f"and I bridge {BRIDGED} at most"
        )
    return found[0]


class Month(NamedTuple):
    """What is usual in a month (1 to 12): mean least and greatest temperature in C."""

    month: int
    low: float
    high: float


MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def read_normals(path: Path, degrees: Degrees | None = None) -> list[Month]:
    """Twelve months from a table with the columns month, min and max. Raises UsageError."""
    try:
        lines = plain_file(path, LARGEST).decode("utf-8-sig").splitlines()
        return _normals(_rows(lines, lines[0] if lines else ""), degrees)
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror}") from None
    except ValueError as error:
        raise UsageError(f"{path}, {error}") from None


def _normals(rows: Sequence[tuple[int, list[str]]], degrees: Degrees | None) -> list[Month]:
    if not rows or not rows[0][1][0].lower().startswith("month"):
        raise ValueError("line 1: the first column must be month, as in month,min_c,max_c")
    head = ["date", *rows[0][1][1:]]
    at = _heads(1, head)
    highs = [_number(n, cells, at["high"], False, "high") for n, cells in rows[1:]]
    scale = _degrees(highs, _unit(head[at["high"]]), degrees, False)
    found = {}
    for (line, cells), high in zip(rows[1:], highs, strict=True):
        name = cells[0].lower()
        month = int(name) if name.isdecimal() else _month(name)
        low = _number(line, cells, at["low"], False, "low")
        if not 1 <= month <= 12 or low is None or high is None or low > high:
            raise ValueError(f"line {line}: expected a month, its usual minimum and maximum")
        a, b = scale.celsius(low), scale.celsius(high)
        assert a is not None and b is not None
        found[month] = Month(month, a, b)
    if len(found) != 12:
        missing = next(m for m in range(1, 13) if m not in found)
        raise ValueError(f"line 1: month {missing} is missing; all twelve are needed")
    return [found[month] for month in range(1, 13)]


def _month(name: str) -> int:
    return MONTHS.index(name[:3]) + 1 if name[:3] in MONTHS else 0


def usual(normals: Sequence[Month], first: date, last: date) -> list[Day]:
    """A usual day for each date, on a line from the middle of one month to that of the next.

    Common practice, no source.
    """
    by_month: Mapping[int, Month] = {one.month: one for one in normals}
    found, day = [], first
    while day <= last:
        middle = day.replace(day=15)
        other = middle + timedelta(31 if day >= middle else -31)
        apart = abs((other.replace(day=15) - middle).days)
        share = abs((day - middle).days) / apart
        here, there = by_month[day.month], by_month[other.month]
        found.append(
            Day(
                day,
                here.low + share * (there.low - here.low),
                here.high + share * (there.high - here.high),
            )
        )
        day += timedelta(1)
    return found
