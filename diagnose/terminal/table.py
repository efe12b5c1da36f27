"""A table of figures: aligned text everywhere, shaded as a heat map on a terminal with colour.

Every figure is printed; the shade only repeats it. A table wider than the terminal is shown in
bands of columns, each with the names of the rows.
"""

from __future__ import annotations

import math
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from diagnose.terminal.screen import PlainScreen, RichScreen, Screen

NAME_WIDEST = 30  # columns of a row's name; the rest of a longer one is left out
SHADES = (
    "",
    "#000000 on #deebf7",
    "#000000 on #9ecae1",
    "#000000 on #6baed6",
    "#ffffff on #2171b5",
    "#ffffff on #08306b",
)


class Row(NamedTuple):
    """A name, a figure or a short word under each heading, and words to end the line."""

    name: str
    cells: tuple[int | str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under headings; `name` is the heading of the row names. `heat` shades the figures."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    heat: bool = False

    @property
    def most(self) -> int:
        """The largest figure."""
        return max((c for row in self.rows for c in row.cells if isinstance(c, int)), default=0)

    def shade(self, cell: int | str) -> int:
        """How dark a figure is shaded: 0 for none or nought, 5 for the largest."""
        if not self.heat or isinstance(cell, str) or cell <= 0:
            return 0
        return math.ceil((len(SHADES) - 1) * cell / self.most)


class Piece(NamedTuple):
    """A stretch of a line, and how dark it is shaded."""

    text: str
    shade: int = 0


def layout(table: Table, width: int | None) -> Iterator[list[Piece]]:
    """The lines of a table, no wider than `width` columns (None: as wide as it is)."""
    names = min(max(map(len, (table.name, *(row.name for row in table.rows)))), NAME_WIDEST)
    shown = [[_figure(cell, table.heat) for cell in row.cells] for row in table.rows]
    sizes = [max(map(len, column)) for column in zip(table.columns, *shown, strict=True)]
    for band in _bands(names, sizes, width):
        last = band.stop == len(sizes)
        heads = [Piece(" " + table.columns[i].rjust(sizes[i])) for i in band]
        yield [Piece(_cut(table.name, names)), *heads]
        for row, cells in zip(table.rows, shown, strict=True):
            line = [Piece(_cut(row.name, names))]
            for i in band:
                line += [Piece(" "), Piece(cells[i].rjust(sizes[i]), table.shade(row.cells[i]))]
            if row.note and last:
                line.append(Piece("  " + row.note))
            yield line
        if not last:
            yield []


def _figure(cell: int | str, heat: bool) -> str:
    return "." if heat and cell == 0 else str(cell)


def _cut(name: str, width: int) -> str:
    return (name if len(name) <= width else name[: width - 3] + "...").ljust(width)


def _bands(names: int, sizes: Sequence[int], width: int | None) -> Iterator[range]:
    """Ranges of columns that fit beside the names; one column at the least."""
    start, used = 0, names
    for i, size in enumerate(sizes):
        if width is not None and used + 1 + size > width and i > start:
            yield range(start, i)
            start, used = i, names
        used += 1 + size
    yield range(start, len(sizes))


def show(screen: Screen, table: Table) -> None:
    """Show a table: within the terminal's width on a terminal, a line per row elsewhere."""
    if isinstance(screen, RichScreen):
        from rich.text import Text

        for pieces in layout(table, shutil.get_terminal_size().columns):
            screen.console.print(Text.assemble(*((p.text, SHADES[p.shade]) for p in pieces)))
        return
    assert isinstance(screen, PlainScreen)
    width = shutil.get_terminal_size().columns if screen.stream.isatty() else None
    for pieces in layout(table, width):
        print("".join(piece.text for piece in pieces).rstrip(), file=screen.stream)
    screen.stream.flush()
