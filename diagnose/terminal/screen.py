"""Shows pages: with weight and in parts on a terminal, line by line elsewhere.

Nothing is said by color or weight alone. Text has the terminal's own colors, so that it is as easy
to read on light as on dark, and nothing is dimmed. The knowledge's and the gardener's own text is
never read as markup.
"""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from threading import Timer
from typing import IO, Protocol

from diagnose.pages.blocks import Block, Figure, Page, item, text

A_WHILE = 0.4  # seconds before one is told that something is being done
MORE = "Enter: more. q: enough. "
ENOUGH = ("q", "enough", "no")
WIDEST = 96  # columns of running text; longer lines are hard to read
STYLES = {
    "title": "bold",
    "heading": "bold",
    "text": "",
    "item": "",
    "entry": "bold",
    "note": "",
    "warning": "bold",
    "chart": "",
    "room": "",
    "figures": "",
}
SPACED = ("title", "heading")  # after an empty line
PROMPT = 3  # lines of the terminal that a prompt takes


class Screen(Protocol):
    """Anything that shows pages."""

    def show(self, page: Page) -> None:
        """Show a page, top to bottom."""
        ...

    def waiting(self, words: str) -> AbstractContextManager[None]:
        """Say these words while something is done, if one has to wait for it."""
        ...

    def ahead(self) -> list[str]:
        """Lines that were typed while a page was shown, and are not used yet."""
        ...


def lines(block: Block, width: int) -> list[str]:
    """A block as lines no wider than `width`, hanging under its mark."""
    if block.kind == "figures":
        return [line for figure in block.figures for line in lines(in_words(figure), width)]
    level, mark = (0, "") if block.kind == "room" else (block.level, block.mark)
    lead = "  " * level + (mark + " " if mark else "")
    body = " ".join(block.text.split())
    wrapped = textwrap.wrap(
        body,
        max(width, 20),
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_on_hyphens=False,
    )
    return wrapped or [lead.rstrip()]


def in_words(figure: Figure) -> Block:
    """A picture for those who cannot see it: its number, its name, and what it shows."""
    return item(f"{figure.name}: {figure.drawing.words}".removeprefix(": "), figure.mark or "-")


class PlainScreen:
    """Line by line: no colour, no boxes, no redrawing. For pipes, scripts and screen readers.

    Pictures are told in words, where they are asked for.
    """

    def __init__(self, stream: IO[str] | None = None, width: int | None = None) -> None:
        self.stream = stream or sys.stdout
        self.told_width = width

    @property
    def width(self) -> int:
        """Columns: as told, or as the terminal has now, or the widest where there is none."""
        if self.told_width is None and self.stream.isatty():
            return min(shutil.get_terminal_size().columns, WIDEST)
        return self.told_width or WIDEST

    def show(self, page: Page) -> None:
        """Show a page, a heading after an empty line."""
        for block in page:
            if block.aside:
                continue
            if block.kind in SPACED:
                print(file=self.stream)
            for line in lines(block, self.width):
                print(line, file=self.stream)
        self.stream.flush()

    def waiting(self, words: str) -> AbstractContextManager[None]:
        """Say the words where a person waits at a terminal."""
        return _after_a_while(lambda: self.show([text(words)]), self.stream.isatty())

    def ahead(self) -> list[str]:
        """None: it never waits."""
        return []


class RichScreen:
    """On a terminal: the same lines, headings and cautions bold, in parts that fit its height.

    `go_on` waits for the reader after each part, and gives what is typed: nothing to go on.
    """

    def __init__(self, go_on: Callable[[], str] | None = None) -> None:
        from rich.console import Console

        self.console = Console(highlight=False, markup=False, emoji=False, soft_wrap=True)
        self.go_on = go_on or _go_on
        self.typed: list[str] = []

    def show(self, page: Page) -> None:
        """Show a page in the terminal's present size."""
        from rich.text import Text

        size = shutil.get_terminal_size()
        height, shown = max(size.lines - 2, 5), 0
        for line, style in self._styled(page, size.columns, size.lines):
            if shown == height:
                if line_typed := self.go_on().strip():
                    self.typed += [] if line_typed.lower() in ENOUGH else [line_typed]
                    return
                shown = 0
            self.console.print(Text(line, style=style))
            shown += 1

    def waiting(self, words: str) -> AbstractContextManager[None]:
        """Say the words where one has to wait."""
        return _after_a_while(lambda: self.console.print(words), True)

    def ahead(self) -> list[str]:
        """What was typed in place of Enter: the page ends there, and it is the next line."""
        found, self.typed = self.typed, []
        return found

    def _styled(self, page: Page, columns: int, rows: int) -> Iterator[tuple[str, str]]:
        """The lines of a page with the style of each; a heading stands after an empty line."""
        width = min(columns, WIDEST)
        taken = sum(len(lines(b, width)) + (b.kind in SPACED) for b in page if b.kind != "figures")
        for block in page:
            if block.kind in SPACED:
                yield "", ""
            if block.kind == "figures":
                found = self._pictures(block, columns, rows - taken - PROMPT)
            else:
                found = lines(block, width)
            for line in found:
                yield line, STYLES[block.kind]

    def _pictures(self, block: Block, columns: int, rows: int) -> list[str]:
        """Figures as lines; those that stand aside only where there is room."""
        from diagnose.terminal import gallery

        unicode = (self.console.encoding or "").lower().startswith("utf")
        if block.aside:
            return gallery.beside(block.figures, columns, rows, unicode)
        return gallery.large(block.figures, columns, unicode)


def _go_on() -> str:
    """What is typed after a part of a page, where a person is there to type; Ctrl-C is enough."""
    if sys.stdin is None or not sys.stdin.isatty():
        return ""
    try:
        return input(MORE)
    except (EOFError, KeyboardInterrupt):
        print()
        return ENOUGH[0]


@contextmanager
def _after_a_while(say: Callable[[], None], there: bool) -> Iterator[None]:
    """Say something once a while has gone by, unless it is done by then or nobody is there."""
    timer = Timer(A_WHILE, say)
    if there:
        timer.start()
    try:
        yield
    finally:
        timer.cancel()


def is_terminal() -> bool:
    """Whether both ends are a terminal that can redraw."""
    return (
        sys.stdin is not None
        and sys.stdin.isatty()
        and sys.stdout.isatty()
        and os.environ.get("TERM", "") not in ("", "dumb")
    )


def choose(plain: bool) -> Screen:
    """The screen that suits where the output goes."""
    if plain or not sys.stdout.isatty() or os.environ.get("TERM", "") in ("", "dumb"):
        return PlainScreen()
    return RichScreen()
