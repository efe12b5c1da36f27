"""What the knowledge covers, in figures, on a terminal and as a page."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path

from diagnose.bench import coverage
from diagnose.commands import main
from diagnose.kb.model import Span
from diagnose.seasons.calendar import MonthDay, Place
from tests.bench.conftest import read, swap

HERE = Place(42, MonthDay(5, 10), MonthDay(10, 5))


def rows(table) -> dict[str, tuple[int | str, ...]]:
    return {row.name: row.cells for row in table.rows}


def test_crops_and_symptoms_by_kind(tiny: Path) -> None:
    knowledge = read(tiny)
    table = coverage.crops_by_kind(knowledge)
    assert table.columns == ("all", "insec", "physi")
    assert rows(table) == {"kale": ("2", 2, 0), "potato": ("2", 1, 1)}
    assert rows(coverage.symptoms_by_kind(knowledge))["holes"] == ("3", 2, 1)


def test_months_count_days_in_season(tiny: Path) -> None:
    found = rows(coverage.months_by_cause(read(tiny)))
    assert found["caterpillar"] == (0, 0, 0, 0, 22, 30, 31, 31, 30, 5, 0, 0)
    assert sum(found["greening"]) == 365


def test_a_season_over_new_year_and_one_of_two_windows() -> None:
    winter = coverage.open_days(Span(from_="12-01", to="01-31"), HERE)
    assert len(winter) == 62
    both = [Span(from_="03-01", to="03-10"), Span(from_="03-05", to="03-12")]
    assert len(coverage.open_days(both, HERE)) == 12
    south = Place(-42, MonthDay(11, 10), MonthDay(4, 5))
    assert len(coverage.open_days(Span(from_="12-01", to="01-31"), south)) == 61  # June and July


def test_the_command_prints_figures_that_need_no_colour(capsys, tiny: Path) -> None:
    assert main(["coverage", "--knowledge", str(tiny)]) == 0
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert "kale     2     2     ." in out
    assert "insec insect" in " ".join(out.split())


def test_the_page_is_whole_and_needs_nothing_else(capsys, tiny: Path, tmp_path: Path) -> None:
    swap(tiny, "crops/kale.yaml", "name: Kale", "name: Kale <b>&")
    page = tmp_path / "coverage.html"
    assert main(["coverage", "--html", str(page), "--knowledge", str(tiny)]) == 0
    html = page.read_text(encoding="utf-8")
    open_: list[str] = []

    class Checker(HTMLParser):
        def handle_starttag(self, tag: str, attrs: object) -> None:
            if tag != "meta":
                open_.append(tag)

        def handle_endtag(self, tag: str) -> None:
            assert open_.pop() == tag

    Checker().feed(html)
    assert open_ == []
    assert "http" not in html
    assert html.count("<table>") == 3
    assert '<td class="s5">2</td>' in html


def test_a_page_that_cannot_be_written_is_one_line(capsys, tiny: Path, tmp_path: Path) -> None:
    assert main(["coverage", "--html", str(tmp_path), "--knowledge", str(tiny)]) == 2
    assert "cannot be written" in capsys.readouterr().err
