"""Figures of the cases, confusions, and how they are shown."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from diagnose.bench import confusion
from diagnose.checking.worked import Result, run_cases
from diagnose.commands import main
from diagnose.terminal.screen import PlainScreen
from tests.bench.conftest import read


@pytest.fixture
def results(cased: Path) -> list[Result]:
    return run_cases(read(cased))


def test_score_counts_places_and_questions(results) -> None:
    got = confusion.score(results)
    assert (got.cases, got.first, got.three, got.unread, got.broken) == (5, 4, 5, 0, 0)
    assert (got.asked, got.asked_first) == (1, 1)
    assert got.questions >= 1


def test_confusions_name_what_was_taken(results) -> None:
    assert confusion.confusions(results) == [("flea-beetle", "caterpillar", 1)]


def test_a_case_that_cannot_be_worked_is_counted_and_confuses_nothing() -> None:
    results = [Result("a", 0, problem="unknown crop"), Result("a", 1, place=2, first="b", read=1)]
    got = confusion.score(results)
    assert (got.broken, got.unread, got.first, got.three) == (1, 0, 0, 1)
    assert confusion.confusions(results) == [("a", "b", 1)]


def test_the_score_of_nothing() -> None:
    out = io.StringIO()
    confusion.show_summary(PlainScreen(out), [])
    assert out.getvalue().splitlines()[-1].split() == ["nothing", "read", "in", "them", "0"]


def test_summary_ends_with_the_worst_confusions(results) -> None:
    out = io.StringIO()
    confusion.show_summary(PlainScreen(out), results)
    lines = out.getvalue().splitlines()
    assert "right first                       4  80.0%" in lines
    assert lines[-1] == "- flea-beetle taken for caterpillar: once"


def test_the_whole_table_has_a_line_for_each_cause_with_cases(results) -> None:
    rows = confusion.whole_table(results).rows
    assert [(r.name, r.cells[:3], r.note) for r in rows] == [
        ("flea-beetle", (3, 2, 3), "caterpillar 1"),
        ("caterpillar", (2, 2, 2), ""),
    ]


@pytest.mark.parametrize(
    ("place", "words"), [(0, "not at all"), (1, "first"), (3, "third"), (21, "place 21")]
)
def test_places_in_words(place: int, words: str) -> None:
    assert confusion.place_words(place) == words


def test_the_command(capsys, cased: Path) -> None:
    small = ("--knowledge", str(cased))
    assert main(["confusion", *small]) == 0
    assert "Which cause is taken for which" in capsys.readouterr().out
    assert main(["confusion", "flea-beetle", *small]) == 0
    assert '3. "ragged holes": second; first Caterpillar' in capsys.readouterr().out
    assert main(["confusion", "caterpillar", *small]) == 0
    assert '3. Flea beetle: "ragged holes"' in " ".join(capsys.readouterr().out.split())
    assert main(["confusion", "--json", *small]) == 0
    assert json.loads(capsys.readouterr().out)["confusions"] == [
        {"cause": "flea-beetle", "first": "caterpillar", "count": 1}
    ]
    assert main(["confusion", "fleabeetle", *small]) == 2
    assert "did you mean 'flea-beetle'?" in capsys.readouterr().err
