"""A page: plain blocks of text, with no word of how they look; views make, screens show them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.kb.shapes import Drawing

Kind = Literal[
    "title", "heading", "text", "item", "note", "warning", "entry", "figures", "chart", "room"
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture under its name; `mark` is the number of the answer that it shows, as '1.'."""

    name: str
    drawing: Drawing
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """One heading, paragraph or item. `level` indents it; `mark` stands before it, as '1.'.

    Figures that stand `aside` are shown only where there is room for them.
    Of a chart `text` are the words that say the same, and `svg` shows it where it can be shown;
    of room to write in, `level` is the number of lines, and the mark 'box' means one to draw in.
    """

    kind: Kind
    text: str
    mark: str = ""
    level: int = 0
    figures: tuple[Figure, ...] = ()
    aside: bool = False
    svg: str = ""


Page = list[Block]


def title(text: str) -> Block:
    """The name of a page."""
    return Block("title", text)


def heading(text: str) -> Block:
    """The heading of a part."""
    return Block("heading", text)


def text(words: str, level: int = 0) -> Block:
    """A paragraph."""
    return Block("text", words, level=level)


def item(words: str, mark: str = "-", level: int = 0) -> Block:
    """One line of a list."""
    return Block("item", words, mark, level)


def entry(words: str, mark: str) -> Block:
    """A line of a list that stands out, as a ranked cause."""
    return Block("entry", words, mark)


def note(words: str, level: int = 0) -> Block:
    """A remark of less weight."""
    return Block("note", words, level=level)


def chart(words: str, svg: str) -> Block:
    """A chart, and the words that say the same."""
    return Block("chart", words, svg=svg)


def figures(found: Sequence[Figure], aside: bool = False) -> Block:
    """Pictures."""
    return Block("figures", "", figures=tuple(found), aside=aside)


def room(words: str, lines: int) -> Block:
    """Room to write in by hand."""
    return Block("room", words, level=lines)


def box(words: str, lines: int) -> Block:
    """Room to draw in, as high as some lines."""
    return Block("room", words, "box", lines)


def warning(words: str) -> Block:
    """A caution."""
    return Block("warning", words, "Caution:")
