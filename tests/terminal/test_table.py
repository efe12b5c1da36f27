"""Tables: aligned, banded where they are wide, shaded only beside the figure."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from diagnose.terminal.screen import PlainScreen, RichScreen
from diagnose.terminal.table import Row, Table, layout, show

pytestmark = pytest.mark.quick

HEAT = Table(
    "crop", ("insect", "virus"), (Row("kale", (12, 0), "many"), Row("a" * 40, (3, 1))), heat=True
)


def plain(table: Table, width: int | None = None) -> list[str]:
    return ["".join(p.text for p in pieces).rstrip() for pieces in layout(table, width)]


def test_columns_line_up_and_nought_is_a_dot() -> None:
    assert plain(HEAT) == [
        "crop".ljust(30) + " insect virus",
        "kale".ljust(30) + "     12     .  many",
        "a" * 27 + "..." + "      3     1",
    ]


def test_a_wide_table_comes_in_bands_with_the_names_again() -> None:
    lines = plain(HEAT, 40)
    assert lines[0].split() == ["crop", "insect"]
    assert lines[4].split() == ["crop", "virus"]
    assert lines[5].endswith("many")
    assert len(plain(HEAT, 1)) == 7  # never narrower than a column


def test_shades_repeat_the_figures() -> None:
    assert [HEAT.shade(cell) for cell in (0, 1, 3, 12, "12")] == [0, 1, 2, 5, 0]
    assert Table("a", ("b",), (Row("c", (3,)),)).shade(3) == 0


def test_a_table_without_rows() -> None:
    assert plain(Table("crop", ("insect",), ())) == ["crop insect"]


@pytest.mark.parametrize("colour", [True, False])
def test_on_a_terminal(colour: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    screen, out = RichScreen(), io.StringIO()
    screen.console = Console(
        file=out, force_terminal=True, color_system="256", no_color=not colour, width=100
    )
    show(screen, HEAT)
    assert ("\x1b[" in out.getvalue()) == colour
    assert "12" in out.getvalue()


def test_piped_lines_are_not_cut() -> None:
    out = io.StringIO()
    show(PlainScreen(out, 20), HEAT)
    assert len(out.getvalue().splitlines()) == 3
