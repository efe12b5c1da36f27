"""A table of daily temperatures, as a weather station or a garden thermometer gives them."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from datetime import date, timedelta

from diagnose.seasons.degree_days import Day

COLUMNS = ("date", "min_c", "max_c")


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
    for row in table:
        try:
            day = Day(date.fromisoformat(row["date"]), float(row["min_c"]), float(row["max_c"]))
        except (TypeError, ValueError):
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
