"""What is shown can be read: by contrast, in the width there is, in parts, and by ear."""

from __future__ import annotations

import ast
import io
import re
import time
from pathlib import Path

import pytest
from rich.color import Color
from rich.style import Style

import diagnose
from diagnose.pages.blocks import heading, item, text, title
from diagnose.terminal.screen import STYLES, PlainScreen, RichScreen
from diagnose.terminal.table import SHADES

pytestmark = pytest.mark.quick
LEAST = 4.5  # WCAG 2.1, success criterion 1.4.3 (W3C 2018; from memory), as its formulas below
NARROW = 40


def luminance(color: Color) -> float:
    parts = [part / 255 for part in color.get_truecolor()]
    red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Color, other: Color) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("words", sorted({*STYLES.values(), *SHADES}))
def test_every_style_stands_out_on_light_and_on_dark(words: str) -> None:
    """Found: headings in green had 2.2 to 1 on white; reasons for stopping were dimmed."""
    style = Style.parse(words)
    assert not style.dim
    if style.color is None:
        return  # the terminal's own, on its own
    grounds = [style.bgcolor] if style.bgcolor else [Color.parse("#000000"), Color.parse("#ffffff")]
    assert min(contrast(style.color, ground) for ground in grounds) >= LEAST


def test_the_formula_gives_what_is_known_of_black_and_white() -> None:
    assert contrast(Color.parse("#000000"), Color.parse("#ffffff")) == pytest.approx(21)


def test_hints_are_whole_in_a_narrow_terminal() -> None:
    folder = Path(diagnose.__file__).parent
    hints = [
        call.args[2].value
        for file in (folder / "terminal" / "dialogue.py", folder / "commands" / "consult.py")
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(call, ast.Call)
        and len(call.args) == 3
        and isinstance(call.args[2], ast.Constant)
        and getattr(call.func, "attr", "") in ("_line", "ask")
    ]
    assert len(hints) >= 6
    assert all(len(hint) <= NARROW for hint in hints)


def test_plain_lines_are_as_wide_as_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Found: they were 96 columns wide on any terminal, which broke inside words."""
    monkeypatch.setenv("COLUMNS", "40")
    stream = io.StringIO()
    monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    PlainScreen(stream).show([text("one two three four five six seven eight nine ten eleven")])
    assert max(map(len, stream.getvalue().splitlines())) <= 40


def test_no_row_of_signs_is_read_aloud() -> None:
    stream = io.StringIO()
    PlainScreen(stream).show([title("Beet"), heading("Limits"), item("cold")])
    assert not re.search(r"([=*_~-])\1", stream.getvalue())


def shown(page, monkeypatch: pytest.MonkeyPatch, *answers: str) -> tuple[str, list[str]]:
    monkeypatch.setenv("COLUMNS", "40")
    monkeypatch.setenv("LINES", "12")
    left = list(answers)
    screen = RichScreen(lambda: left.pop(0))
    screen.console.file = out = io.StringIO()
    screen.show(page)
    return out.getvalue(), [*screen.ahead(), *left]


def test_a_long_page_comes_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    page = [text(f"line {number}") for number in range(25)]
    said, left = shown(page, monkeypatch, "", "")
    assert "line 24" in said
    assert left == []
    said, left = shown(page, monkeypatch, "q", "not asked for")
    assert "line 9" in said
    assert "line 10" not in said
    assert left == ["not asked for"]


def test_what_is_typed_in_place_of_more_is_not_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    page = [text(f"line {number}") for number in range(25)]
    assert shown(page, monkeypatch, "reasons")[1] == ["reasons"]


def test_what_takes_no_time_is_not_announced() -> None:
    stream = io.StringIO()
    stream.isatty = lambda: True  # type: ignore[method-assign]
    with PlainScreen(stream).waiting("Reading ..."):
        pass
    assert stream.getvalue() == ""
    with PlainScreen(stream).waiting("Reading ..."):
        time.sleep(0.6)
    assert stream.getvalue() == "Reading ...\n"
