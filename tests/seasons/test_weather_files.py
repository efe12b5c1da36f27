"""Weather as people have it: other units, decimals, dates, gaps, GHCN-Daily, fifty years."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import UsageError
from diagnose.seasons.degree_days import total
from diagnose.seasons.weather import (
    Daily,
    Month,
    days_of,
    parse,
    read,
    read_normals,
    runs,
    usual,
)
from tests.seasons.test_degree_days import DAYS, YEARS

pytestmark = pytest.mark.quick

FIRST = date(2026, 6, 5)
SOME = [(9.5, 21.0, 0.0), (12.0, 28.5, 4.2), (8.0, 19.0, 12.0)]


def said(text: str, **told: str) -> tuple[tuple[Daily, ...], str, bool]:
    found = parse(text, **told)  # type: ignore[arg-type]
    return found.days, "; ".join(found.taken), found.guessed


def expected() -> tuple[Daily, ...]:
    return tuple(Daily(FIRST + timedelta(n), *row) for n, row in enumerate(SOME))


def test_fahrenheit_and_inches_as_the_columns_say() -> None:
    days, how, guessed = said(
        "Date,TMax (F),TMin (F),Rain (in)\n2026-06-05,69.8,49.1,0\n2026-06-06,83.3,53.6,0.1654\n"
    )
    assert days == expected()[:2]
    assert "degrees Fahrenheit, as its column says" in how
    assert not guessed


def test_units_that_nothing_says_are_guessed_and_said() -> None:
    days, how, guessed = said(
        "date,low,high,rain\n2026-06-05,49.1,69.8,0\n2026-06-06,53.6,83.3,0.1654\n"
    )
    assert days == expected()[:2]
    assert guessed
    assert "degrees Fahrenheit, since the highest is 83.3" in how
    assert "inches, since the most in a day is 0.1654" in how
    _, how, guessed = said("date,low,high\n2026-06-05,9.5,21\n")
    assert guessed
    assert "degrees Celsius, since the highest is 21" in how
    days, _, guessed = said("date,low,high\n2026-06-05,9.5,21\n", degrees="F")
    assert (days[0].high, guessed) == (-6.11, False)


def test_a_unit_that_the_column_says_is_doubted_where_it_is_odd() -> None:
    _, how, guessed = said("date,min_f,max_f\n2026-06-05,9.5,21\n2026-06-06,12,28.5\n")
    assert (guessed, "as its column says, though the highest is 28.5" in how) == (True, True)
    _, how, guessed = said("date,min_c,max_c\n2026-02-05,19,41\n2026-02-06,22,50\n")
    assert (guessed, "though the highest is 50" in how) == (True, True)


def test_celsius_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match=r"degrees Celsius, but 83\.3 is in it"):
        parse("date,min_c,max_c\n2026-06-05,49.1,69.8\n2026-06-06,53.6,83.3\n")


def test_decimals_with_a_comma_and_days_with_dots() -> None:
    days, how, guessed = said(
        "date;min_c;max_c;rain_mm\n5.06.2026;9,5;21,0;0\n6.06.2026;12,0;28,5;4,2\n"
        "17.06.2026;8,0;19;12\n"
    )
    assert days[:2] == expected()[:2]
    assert days[2].date == date(2026, 6, 17)
    assert "day, month, year; decimals with a comma" in how
    assert not guessed  # there is no month 17


def test_month_first_is_told_by_days_that_follow_one_another() -> None:
    days, how, guessed = said(
        "date,min_c,max_c\n6/5/2026,9.5,21\n6/6/2026,12,28.5\n6/7/2026,8,19\n"
    )
    assert [day.date for day in days] == [FIRST + timedelta(n) for n in range(3)]
    assert guessed
    assert "month, day, year (so that days follow one another)" in how


def test_a_date_that_may_be_either_is_refused() -> None:
    with pytest.raises(ValueError, match="may be day or month first"):
        parse("date,min_c,max_c\n6/5/2026,9.5,21\n")
    with pytest.raises(
        ValueError, match=r"line 3: .*no date that fits the others|no date that fits"
    ):
        parse("date,min_c,max_c\n6/5/2026,9,21\n31/31/2026,9,21\n")


@pytest.mark.parametrize("coding", ["utf-8-sig", "utf-16"])
def test_a_byte_order_mark(tmp_path: Path, coding: str) -> None:
    file = tmp_path / "days.csv"
    file.write_text("date,min_c,max_c\n2026-06-05,9.5,21\n", encoding=coding)
    assert read(file).days == (Daily(FIRST, 9.5, 21.0),)
    file.write_bytes(b"date,min_c,max_c\n2026-06-05,9\xe9,21\n")
    with pytest.raises(UsageError, match="no UTF-8 text"):
        read(file)


def test_columns_in_each_others_place_are_exchanged_and_said() -> None:
    days, how, guessed = said("date,max_c,min_c\n2026-06-05,9.5,21\n2026-06-06,12,28.5\n")
    assert days == tuple(day._replace(rain=None) for day in expected()[:2])
    assert guessed
    assert "exchanged" in how


def test_single_days_that_cannot_be_are_left_out_and_said() -> None:
    found = parse(
        "date,min_c,max_c,rain_mm\n2026-06-05,9.5,21,0\n2026-06-06,30,12,4\n2026-06-07,8,19,-5\n"
        "2026-06-07,7,19,1\n2026-06-05,9.5,21,0\n2026-06-08,,,\n2026-06-09,M,25,T\n"
    )
    assert found.left_out == (
        "line 3: 2026-06-06, the minimum 30.0 C is above the maximum 12.0 C",
        "line 4: 2026-06-07, -5 mm of rain",
        "line 5: 2026-06-07, which was there before with other values",
    )
    assert found.days[1] == Daily(date(2026, 6, 6), None, None, 4)
    assert found.days[-1] == Daily(date(2026, 6, 9), None, 25, 0)
    assert found.gaps() == [(date(2026, 6, 6), date(2026, 6, 6))]


def test_short_gaps_are_bridged_and_long_ones_not(tmp_path: Path) -> None:
    year = YEARS[2014]
    days = [Daily(*day) for day in year]
    short = days[:100] + days[103:]
    [run] = runs(short, 3)
    assert [day.date for day in run] == [day.date for day in year]
    near = total(run, "single sine", 10) - total(year, "single sine", 10)
    assert abs(near) < 15  # degree-days, of about 1,400
    assert [len(run) for run in runs(days[:100] + days[104:], 3)] == [100, 261]
    file = tmp_path / "x.csv"
    lines = [f"{d.date},{d.low},{d.high}" for d in days[:100] + days[110:]]
    file.write_text("\n".join(["date,min_c,max_c", *lines]), encoding="utf-8")
    with pytest.raises(UsageError, match="no temperatures between 2014-04-10 and 2014-04-21"):
        days_of(read(file), file)


def test_fifty_years() -> None:
    start = date(1976, 1, 1)
    days = [
        f"{start + timedelta(n)},{DAYS[n % 1461].low},{DAYS[n % 1461].high}" for n in range(18263)
    ]
    found = parse("\n".join(["date,min_c,max_c", *days]))
    assert len(found.days) == 18263
    assert found.gaps() == []


# GHCN-Daily; the formats are named in diagnose/seasons/weather.py


def dly(element: str, values: list[int], flag: str = " ") -> str:
    cells = "".join(f"{v:5d} {flag}S" for v in [*values, *[-9999] * (31 - len(values))])
    return f"USC00123456202606{element}{cells}"


def test_fixed_width() -> None:
    text = "\n".join([
        dly("TMAX", [210, 285]), dly("TMIN", [95, 120]), dly("PRCP", [0, 42]), dly("SNOW", [1]),
        dly("TMAX", [-9999, -9999, 900], flag="X"),
    ])  # fmt: skip
    found = parse(text)
    assert [day[1:] for day in found.days] == [(9.5, 21.0, 0.0), (12.0, 28.5, 4.2)]
    assert found.left_out == ("1 values that failed the station's quality checks",)
    assert "USC00123456" in found.taken[0]
    with pytest.raises(ValueError, match="line 2: a second station"):
        parse(dly("TMAX", [210]) + "\n" + dly("TMIN", [95]).replace("USC", "USW"))


@pytest.mark.parametrize("head", ["", "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"])
def test_a_line_for_each_element(head: str) -> None:
    found = parse(
        head + "USC00123456,20260605,TMAX,210,,,7,0700\nUSC00123456,20260605,TMIN,95,,,7,0700\n"
        "USC00123456,20260605,PRCP,42,,,7,\nUSC00123456,20260606,TMAX,999,,I,7,\n"
    )
    assert found.days == (Daily(FIRST, 9.5, 21.0, 4.2),)
    assert len(found.left_out) == 1


def test_a_column_for_each_element_is_in_tenths() -> None:
    found = parse(
        "STATION,DATE,NAME,PRCP,PRCP_ATTRIBUTES,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES\n"
        '"USC00123456","2026-06-05","HILL","   42",",,7","  210",",,7","   95",",,7"\n'
    )
    assert found.days == (Daily(FIRST, 9.5, 21.0, 4.2),)
    assert not found.guessed


# normals


def test_normals(tmp_path: Path) -> None:
    file = tmp_path / "normals.csv"
    rows = [f"{month},{month},{month + 10}" for month in range(1, 13)]
    file.write_text("month,min_c,max_c\n" + "\n".join(rows), encoding="utf-8")
    months = read_normals(file)
    assert months[6] == Month(7, 7, 17)
    days = usual(months, date(2026, 1, 1), date(2027, 12, 31))
    assert len(days) == 730
    assert next(day for day in days if day.date == date(2026, 7, 15))[1:] == (7, 17)
    steps = [abs(b.low - a.low) for a, b in pairwise(days)]
    assert max(steps) < 0.5
    file.write_text("month,min_c,max_c\n" + "\n".join(rows[:11]), encoding="utf-8")
    with pytest.raises(UsageError, match="month 12 is missing"):
        read_normals(file)


@given(st.text(max_size=200))
@settings(max_examples=200)
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    for begun in (text, "date,min_c,max_c\n" + text):
        try:
            parse(begun)
        except ValueError as error:
            assert str(error).startswith("line ")
