"""Shows pages: with colour and wrapping on a terminal, line by line elsewhere.

Nothing is said by colour or weight alone. The knowledge's and the gardener's own text is never
read as markup.
"""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from typing import IO, Protocol

from diagnose.pages.blocks import Block, Figure, Page, item

WIDEST = 96  # columns of running text; longer lines are hard to read
STYLES = {
    "title": "bold",
    "heading": "bold green",
    "text": "",
    "item": "",
    "entry": "bold",
    "note": "dim",
    "warning": "bold red",
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
        self.width = width or WIDEST

    def show(self, page: Page) -> None:
        """Show a page, a heading after an empty line."""
        for block in page:
            if block.aside:
                continue
            if block.kind in SPACED:
                print(file=self.stream)
            for line in lines(block, self.width):
                print(line, file=self.stream)
            if block.kind == "title":
                print("=" * min(len(block.text), self.width), file=self.stream)
        self.stream.flush()


class RichScreen:
    """On a terminal: the same lines, headings and cautions coloured (NO_COLOR is honoured)."""

    def __init__(self) -> None:
        from rich.console import Console

        self.console = Console(highlight=False, markup=False, emoji=False, soft_wrap=True)

    def show(self, page: Page) -> None:
        """Show a page in the terminal's present width."""
        from rich.text import Text

        columns, rows = shutil.get_terminal_size()
        width = min(columns, WIDEST)
        taken = sum(len(lines(b, width)) + (b.kind in SPACED) for b in page if b.kind != "figures")
        for block in page:
            if block.kind in SPACED:
                self.console.print()
            style = STYLES[block.kind]
            found = (
                self._pictures(block, columns, rows - taken - PROMPT)
                if block.kind == "figures"
                else lines(block, width)
            )
            for line in found:
                self.console.print(Text(line, style=style))

    def _pictures(self, block: Block, columns: int, rows: int) -> list[str]:
        """Figures as lines; those that stand aside only where there is room."""
        from diagnose.terminal import gallery

        unicode = (self.console.encoding or "").lower().startswith("utf")
        if block.aside:
            return gallery.beside(block.figures, columns, rows, unicode)
        return gallery.large(block.figures, columns, unicode)


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
