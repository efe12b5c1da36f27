"""Pictures in a terminal: as many beside one another as there is room for, with their names."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from diagnose.drawings import as_cells, shown
from diagnose.pages.blocks import Figure

BETWEEN = 2  # columns between two pictures
LARGE = 38  # columns of a picture that is asked for
SMALL = (24, 20)  # columns of one that stands beside a question, the largest that has room


def large(figures: Sequence[Figure], width: int, unicode: bool) -> list[str]:
    """The pictures with their numbers and names, in lines of at most `width` columns."""
    return [*_rows(figures, min(LARGE, width), width, unicode, named=True)]


def beside(figures: Sequence[Figure], width: int, height: int, unicode: bool) -> list[str]:
    """The pictures with their numbers alone, in at most `height` lines; none where they are more.

    The names stand in the list of the answers.
    """
    for columns in SMALL:
        per = max(1, (width + BETWEEN) // (columns + BETWEEN))
        down = -(-len(figures) // per)
        if columns <= width and down * (as_cells.rows_for(columns) + 1) <= height:
            return [*_rows(figures, columns, width, unicode, named=False)]
    return []


def _rows(
    figures: Sequence[Figure], columns: int, width: int, unicode: bool, named: bool
) -> Iterator[str]:
    per = max(1, (width + BETWEEN) // (columns + BETWEEN))
    for start in range(0, len(figures), per):
        here = figures[start : start + per]
        drawn = [as_cells.cells(shown.picture_of(f.drawing), columns, unicode) for f in here]
        names = [_caption(figure, columns, named) for figure in here]
        yield from _without_margins(_joined(drawn, columns))
        yield from _joined(names, columns)


def _joined(blocks: Sequence[Sequence[str]], columns: int) -> list[str]:
    """Blocks of lines beside one another."""
    return [
        (" " * BETWEEN).join(part.ljust(columns) for part in line).rstrip()
        for line in zip_longest(*blocks, fillvalue="")
    ]


def _without_margins(lines: list[str]) -> list[str]:
    """Lines without the empty ones before the first and after the last."""
    inked = [number for number, line in enumerate(lines) if line]
    return lines[inked[0] : inked[-1] + 1] if inked else []


def _caption(figure: Figure, columns: int, named: bool) -> list[str]:
    words = f"{figure.mark} {figure.name}".strip() if named else figure.mark
    return textwrap.wrap(words, columns) or [""]
