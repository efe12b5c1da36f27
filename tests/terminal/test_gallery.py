"""Pictures on a screen: as large and as many as there is room for, in words where there is none."""

from __future__ import annotations

import contextlib
import io
from datetime import date
from pathlib import Path

import pytest
from rich.console import Console

from diagnose.consultation import Consultation, Reasoner
from diagnose.drawings.as_cells import rows_for
from diagnose.journal import Journal
from diagnose.kb.model import Knowledge
from diagnose.pages import pictures
from diagnose.pages.blocks import Figure, figures, text
from diagnose.ready import open_knowledge
from diagnose.terminal import gallery
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.dialogue import Dialogue, Leave
from diagnose.terminal.screen import PlainScreen, RichScreen
from tests.conftest import write

pytestmark = pytest.mark.quick

DRAWN = """\
holes-ragged:
  shows: {holes: ragged}
  words: A leaf with large, uneven holes.
  draw: [{shape: leaf, marks: [{mark: holes, count: 4, size: 16}]}]
holes-tiny:
  shows: {holes: tiny}
  words: A leaf with many small, round holes.
  draw: [{shape: leaf, marks: [{mark: holes, edge: smooth, count: 50, size: 4}]}]
"""
BRAILLE = {chr(code) for code in range(0x2801, 0x2900)}


@pytest.fixture
def drawn(tiny: Path) -> Knowledge:
    write(tiny, {"drawings/all.yaml": DRAWN})
    return open_knowledge(tiny)


@pytest.fixture
def answers(drawn: Knowledge) -> list[Figure]:
    return pictures.of_answers(drawn, "holes", ("tiny", "ragged", "absent"))


def on_terminal(
    monkeypatch: pytest.MonkeyPatch, columns: int, rows: int, encoding: str = "utf-8"
) -> tuple[RichScreen, io.BytesIO]:
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("LINES", str(rows))
    screen, out = RichScreen(), io.BytesIO()
    stream = io.TextIOWrapper(out, encoding=encoding, errors="strict", write_through=True)
    screen.console = Console(
        file=stream, width=columns, highlight=False, markup=False, emoji=False, soft_wrap=True
    )
    return screen, out


def test_pictures_stand_under_the_numbers_of_their_answers(answers: list[Figure]) -> None:
    assert [(f.mark, f.name) for f in answers] == [
        ("2.", "large ragged holes"), ("1.", "many tiny holes")
    ]  # fmt: skip


@pytest.mark.parametrize("width", [30, 40, 60, 80, 120, 200])
@pytest.mark.parametrize("unicode", [True, False])
def test_large_ones_keep_to_the_width_and_are_named(
    answers: list[Figure], width: int, unicode: bool
) -> None:
    lines = gallery.large(answers, width, unicode)
    assert max(map(len, lines)) <= width
    assert "2. large ragged holes" in "\n".join(lines)
    assert unicode == bool(BRAILLE & {*"".join(lines)})
    wanted = 1 if width >= 2 * gallery.LARGE + gallery.BETWEEN else 2  # else one below another
    assert len(lines) <= wanted * (rows_for(min(width, gallery.LARGE)) + 1)
    assert ("1. many" in lines[-1] and "2. large" in lines[-1]) == (wanted == 1)


@pytest.mark.parametrize("width", [20, 40, 80, 120])
@pytest.mark.parametrize("height", [0, 8, 12, 30])
def test_those_beside_a_question_keep_to_the_room(
    answers: list[Figure], width: int, height: int
) -> None:
    lines = gallery.beside(answers, width, height, True)
    assert len(lines) <= height
    assert all(len(line) <= width for line in lines)
    if width >= 80 and height >= 11:
        assert "2." in lines[-1]


def test_a_screen_without_unicode_has_plain_signs(
    answers: list[Figure], monkeypatch: pytest.MonkeyPatch
) -> None:
    screen, out = on_terminal(monkeypatch, 80, 40, "ascii")
    screen.show([text("Holes?"), figures(answers)])
    assert len(out.getvalue().decode("ascii").splitlines()) > 10


def test_a_low_screen_leaves_them_out_until_they_are_asked_for(
    answers: list[Figure], monkeypatch: pytest.MonkeyPatch
) -> None:
    for rows, there in ((40, True), (10, False)):
        screen, out = on_terminal(monkeypatch, 80, rows)
        screen.show([text("Holes?"), figures(answers, aside=True)])
        assert bool(BRAILLE & {*out.getvalue().decode()}) == there


def test_line_by_line_they_are_told_in_words(answers: list[Figure]) -> None:
    out = io.StringIO()
    PlainScreen(out, 60).show([figures(answers, aside=True)])
    assert out.getvalue() == ""
    PlainScreen(out, 60).show([figures(answers)])
    assert "1. many tiny holes: A leaf with many small, round holes." in out.getvalue()


def test_a_question_shows_its_pictures_when_asked(drawn: Knowledge) -> None:
    reasoner = Reasoner(drawn)
    out = io.StringIO()
    asker = LineAsker(
        io.StringIO("\nkale\nunsure\npictures\nno\npictures\nhelp\nstop\nleave\n"), out
    )
    journal = Journal.begin(Consultation(reasoner, date(2026, 6, 15), reasoner.home()))
    with contextlib.suppress(Leave):
        Dialogue(PlainScreen(out, 88), asker, journal).run()
    said = out.getvalue()
    assert "large ragged holes: A leaf with large, uneven holes." in said
    assert "There are no pictures of these answers." in said
    assert "pictures: the answers as pictures" in said
