"""A table of daily temperatures, as a weather station or a garden thermometer gives them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import timedelta
from pathlib import Path

from diagnose.errors import UsageError
from diagnose.inputs import day_of, plain_file
from diagnose.seasons.degree_days import Day

COLUMNS = ("date", "min_c", "max_c")


LARGEST = 20_000_000  # bytes of a table


def read_days(path: Path) -> list[Day]:
    """The days in a table of daily temperatures. Raises UsageError where it cannot be read."""
    try:
        text = plain_file(path, LARGEST).decode("utf-8-sig")
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror}") from None
    except UnicodeDecodeError as error:
        raise UsageError(
            f"{path} is no UTF-8 text (byte {error.start + 1}); save the table as CSV in UTF-8"
        ) from None
    try:
        return parse(io.StringIO(text, newline=""))
    except ValueError as error:
        raise UsageError(f"{path}, {error}") from None


def parse(lines: Iterable[str]) -> list[Day]:
    """Read a CSV table with the columns date, min_c and max_c, a line for every day.

    Raises ValueError, with the number of the line, where one cannot be read or a day is missing.
    """
    table = csv.DictReader(lines)
    missing = [name for name in COLUMNS if name not in (table.fieldnames or ())]
    if missing:
        raise ValueError(
            f"line 1: no column {missing[0]!r}; its first line must be date,min_c,max_c"
        )
    days: list[Day] = []
    for row in _rows(table):
        try:
            day = Day(day_of(row["date"]), float(row["min_c"]), float(row["max_c"]))
        except (TypeError, ValueError, UsageError):
            raise ValueError(
                f"line {table.line_num}: expected a day and two temperatures, "
                "as in 2026-06-05,9.5,21.0"
            ) from None
        if not -90 <= day.low <= day.high <= 60:
            raise ValueError(
                f"line {table.line_num}: found {day.low:g} to {day.high:g} C; "
                "the minimum goes first, both in degrees Celsius"
            )
        if days and day.date != days[-1].date + timedelta(1):
            raise ValueError(
                f"line {table.line_num}: {day.date} follows {days[-1].date}; "
                "a sum needs every day, in order"
            )
        days.append(day)
    if not days:
        raise ValueError("line 2: no day is in it")
    return days


def _rows(table: csv.DictReader[str]) -> Iterator[dict[str, str]]:
    try:
        yield from table
    except csv.Error as error:
        raise ValueError(f"line {table.line_num + 1}: {error}; is this a table?") from None
