"""Tables of daily temperatures, and what `diagnose show --weather` makes of them."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from diagnose.checking import check
from diagnose.commands import main
from diagnose.consultation import Reasoner
from diagnose.errors import UsageError
from diagnose.kb import load
from diagnose.kb.store import shipped
from diagnose.pages import entries
from diagnose.ready import open_knowledge
from diagnose.seasons.calendar import MonthDay, Place
from diagnose.seasons.degree_days import Day
from diagnose.seasons.weather import Daily, parse, runs
from tests.conftest import write
from tests.seasons.test_degree_days import YEARS

NORTH = Place(42.0, MonthDay(5, 10), MonthDay(10, 5))
SOUTH = Place(-42.0, MonthDay(10, 10), MonthDay(4, 20))
CATERPILLAR = "causes/insect/caterpillar.yaml"
HEAD = "date,min_c,max_c\n"


def steady(start: date, count: int, low: float = 10, high: float = 20) -> list[Day]:
    return [Day(start + timedelta(n), low, high) for n in range(count)]


def table(days: list[Day]) -> str:
    return HEAD + "".join(f"{day.date},{day.low},{day.high}\n" for day in days)


def test_a_table_goes_round() -> None:
    assert runs(parse(table(YEARS[2014])).days) == [YEARS[2014]]


def test_other_columns_are_passed_over() -> None:
    found = parse("max_c,rain_mm,date,min_c,wind\n21.5,3,2026-06-05,9,2\n")
    assert found.days == (Daily(date(2026, 6, 5), 9, 21.5, 3),)
    assert not found.guessed


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "line 1: nothing is in it"),
        ("date,min_c\n2026-06-05,9\n", "line 1: no column 'max_c'"),
        (HEAD, "line 2: no day is in it"),
        (HEAD + "5 June,9,21\n", "line 2: '5' is no date"),
        (HEAD + "2026-06-05,9,warm\n", "line 2: expected a number for high, found 'warm'"),
        (HEAD + "2026-06-05,50,80\n", "degrees Celsius, but 80 is in it; .* --degrees F"),
        (HEAD + "2026-06-05,1e999,21\n", "line 2: expected a number for low"),
        ('date,min_c,max_c\n"2026-06-05,9,21\n' + "x" * 200_000, "is this a table"),
    ],
)
def test_what_cannot_be_used_is_said_with_its_line(text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        parse(text)


# --- the page


@pytest.fixture
def counted(tiny: Path) -> Path:
    """The tiny knowledge with a model of its caterpillar: 100 degree-days are ten mild days."""
    path = tiny / CATERPILLAR
    write(tiny, {CATERPILLAR: path.read_text(encoding="utf-8") + MODEL})
    return tiny


MODEL = """\
degree-days:
  lower-c: 5
  upper-c: 30
  method: simple average
  start: 04-01
  events: {first eggs: 100, second brood: 600}
  sources: [from-memory]
"""


def page(folder: Path, days: list[Day], place: Place) -> list[str]:
    return [
        block.text for block in entries.warmth(open_knowledge(folder), "caterpillar", days, place)
    ]


def test_each_event_has_its_day(counted: Path) -> None:
    assert page(counted, steady(date(2026, 3, 1), 60), NORTH) == [
        "By this weather, from 1 April 2026 to 29 April 2026",
        "290 degree-days so far.",
        "first eggs: 10 April 2026",
        "second brood: not yet",
    ]


def test_in_the_south_it_counts_from_the_southern_spring(counted: Path) -> None:
    found = page(counted, steady(date(2026, 9, 1), 130), SOUTH)
    assert found[0] == "By this weather, from 1 October 2026 to 8 January 2027"
    assert found[2:] == ["first eggs: 10 October 2026", "second brood: 29 November 2026"]


def test_before_the_first_day_last_year_is_counted(counted: Path) -> None:
    found = page(counted, steady(date(2025, 1, 1), 400), NORTH)
    assert found[0] == "By this weather, from 1 April 2025 to 4 February 2026"


def test_weather_that_begins_too_late_is_refused(counted: Path) -> None:
    with pytest.raises(UsageError, match="begins on 2026-04-02; it is needed from 2026-04-01 on"):
        page(counted, steady(date(2026, 4, 2), 30), NORTH)


def run(capsys, *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    return code, *capsys.readouterr()


def test_show_with_weather(capsys, counted: Path, tmp_path: Path) -> None:
    file = tmp_path / "days.csv"
    file.write_text(table(steady(date(2026, 3, 1), 60)), encoding="utf-8")
    words = ("--plain", "--knowledge", str(counted), "--weather", str(file))
    code, out, _ = run(capsys, "show", "caterpillar", *words)
    assert code == 0
    assert "Degree-days above 5 and up to 30 C (simple average; counted from 04-01):" in out
    assert "first eggs: 10 April 2026" in out
    assert run(capsys, "show", "kale", *words)[0] == 2
    file.write_text("when\n", encoding="utf-8")
    code, _, error = run(capsys, "show", "caterpillar", *words)
    assert (code, "days.csv, line 1: no column 'date'" in error) == (2, True)
    file.unlink()
    assert "cannot be read" in run(capsys, "show", "caterpillar", *words)[2]


# --- the models of the shipped knowledge


def test_every_complete_model_reckons_a_real_year() -> None:
    knowledge = open_knowledge(shipped())
    place = Reasoner(knowledge).home()
    complete = [
        cause_id
        for cause_id, cause in knowledge.causes.items()
        if cause.degree_days and cause.degree_days.method and cause.degree_days.start
    ]
    assert {"cabbage-root-maggot", "european-corn-borer", "seedcorn-maggot"} <= set(complete)
    for cause_id in complete:
        told = [block.text for block in entries.warmth(knowledge, cause_id, YEARS[2015], place)]
        assert "not yet" not in told[2], cause_id  # the first event comes at a mild station


def test_events_are_told_in_the_order_in_which_they_come() -> None:
    for cause_id, cause in open_knowledge(shipped()).causes.items():
        if cause.degree_days:
            sums = list(cause.degree_days.events.values())
            assert sums == sorted(sums), cause_id


def test_a_cause_without_a_model_names_those_with_one() -> None:
    with pytest.raises(
        UsageError, match=r"reckoned for squash-vine-borer; they can for .*seedcorn"
    ):
        entries.warmth(
            open_knowledge(shipped()), "squash-vine-borer", steady(date(2026, 1, 1), 9), NORTH
        )  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "code", "line"),
    [
        ("start: 04-01", "start: April", "bad-season", 16),
        ("upper-c: 30", "upper-c: 5", "bad-range", 14),
        ("sources: [from-memory]", "sources: [hearsay]", "unknown-id", 12),
        ("simple average", "double sine", "wrong-value", 15),
        ("first eggs: 100", "first eggs: 0", "wrong-value", 17),
    ],
)
def test_what_is_wrong_with_a_model_is_said(
    counted: Path, old: str, new: str, code: str, line: int
) -> None:
    path = counted / CATERPILLAR
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    gathered = load.read(counted)
    found = [*gathered.findings, *check.errors(gathered.readable, gathered.broken)]
    assert [(f.code, f.file, f.line) for f in found] == [(code, CATERPILLAR, line)]
