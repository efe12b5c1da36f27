"""A picture in cells of text: braille dots, or ASCII where there is no Unicode."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from diagnose.drawings.picture import FINE, Picture
from diagnose.kb.shapes import HEIGHT, WIDTH

Dots: TypeAlias = npt.NDArray[np.bool_]

ACROSS, DOWN = 2, 4  # dots of a cell
# The bit of each dot of a braille cell (Unicode 16.0, block Braille Patterns, U+2800; from memory).
BITS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])
BLANK = 0x2800
COARSE = 1.3  # units to a dot: from there on fine lines are broken, and give way to tones
# Which dots of a cell each sign of ASCII covers, row by row.
SIGNS = {
    " ": "00 00 00 00", ".": "00 00 00 01", ",": "00 00 00 10", "_": "00 00 00 11",
    "-": "00 00 11 00", "~": "00 01 11 00", "=": "00 11 00 11", '"': "11 00 00 00",
    "'": "01 00 00 00", "`": "10 00 00 00", "^": "01 10 00 00", ":": "00 10 00 10",
    ";": "00 01 01 10", "|": "10 10 10 10", "!": "01 01 01 01", "/": "01 01 10 10",
    "\\": "10 10 01 01", "(": "01 10 10 01", ")": "10 01 01 10", "+": "10 11 11 10",
    "x": "00 11 11 00", "o": "00 11 11 11", "*": "11 11 11 00", "<": "01 10 01 00",
    ">": "10 01 10 00", "L": "10 10 10 11", "7": "11 01 01 01", "J": "01 01 01 11",
    "r": "11 10 10 10", "%": "10 01 10 01", "#": "11 11 11 11",
}  # fmt: skip


def rows_for(columns: int) -> int:
    """How many rows of text a picture takes in its true proportions; a cell is twice as high."""
    return max(1, round(columns * HEIGHT / WIDTH / 2))


def cells(drawn: Picture, columns: int, unicode: bool = True) -> list[str]:
    """A picture as lines of text, each `columns` wide."""
    grid = dots(drawn, columns * ACROSS, rows_for(columns) * DOWN)
    blocks = grid.reshape(-1, DOWN, columns, ACROSS).swapaxes(1, 2)
    if unicode:
        codes = (blocks * BITS).sum(axis=(2, 3))
        return ["".join(chr(BLANK + code) if code else " " for code in row) for row in codes]
    signs = np.array([[bit == "1" for bit in "".join(p.split())] for p in SIGNS.values()])
    flat = blocks.reshape(*blocks.shape[:2], -1)
    wrong = (flat[:, :, None, :] != signs).sum(axis=3)
    names = [*SIGNS]
    return ["".join(names[i] for i in row) for row in wrong.argmin(axis=2)]


def dots(drawn: Picture, wide: int, high: int) -> Dots:
    """A picture as dots: an array of shape (high, wide), true where there is ink."""
    unit = WIDTH / wide  # of the sheet, to a dot
    ys, xs = np.mgrid[0:high, 0:wide]
    middles = ((xs + 0.5) * unit, (ys + 0.5) * unit)
    grid = np.zeros((high, wide), dtype=bool)
    patterns = {
        "pale": _pale(xs, ys, unit),
        "brown": (xs + ys) % 3 == 0,
        "dark": np.ones_like(grid),
    }
    toned = np.zeros_like(grid)
    for tint in drawn.tints:
        covered = _covered(tint.area, middles)
        toned |= covered
        grid |= covered & patterns[tint.ink]
    for stroke in drawn.strokes:
        if stroke.weight >= 1.6 * unit:
            grid |= _covered(stroke.lines.buffer(stroke.weight / 2), middles)
        traced = _traced(grid.shape, stroke.lines, unit)
        if stroke.weight <= FINE and unit > COARSE:
            traced &= ((xs + ys) % 2 == 0) & ~toned
        grid |= traced
    for specks in drawn.specks:
        _set(grid, shapely.get_coordinates(specks.points), unit)
        if specks.size >= 1.6 * unit:
            grid |= _covered(specks.points.buffer(specks.size / 2), middles)
    return grid


def _pale(xs: npt.NDArray[np.int_], ys: npt.NDArray[np.int_], unit: float) -> Dots:
    """A light pattern of dots, closer where a dot is large."""
    close: Dots = (xs % 2 == 0) & (ys % 2 == 0)
    apart: Dots = (xs + 2 * (ys // 2 % 2)) % 4 + ys % 2 == 0
    return close if unit > COARSE else apart


def _covered(
    area: BaseGeometry, at: tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]
) -> Dots:
    shapely.prepare(area)
    found: Dots = shapely.contains_xy(area, at[0].ravel(), at[1].ravel()).reshape(at[0].shape)
    return found


def _traced(shape: tuple[int, ...], lines: BaseGeometry, unit: float) -> Dots:
    """The dots along lines."""
    grid = np.zeros(shape, dtype=bool)
    _set(grid, shapely.get_coordinates(shapely.segmentize(lines, unit * 0.45)), unit)
    return grid


def _set(grid: Dots, points: npt.NDArray[np.float64], unit: float) -> None:
    columns = (points[:, 0] / unit).astype(int)
    rows = (points[:, 1] / unit).astype(int)
    there = (columns >= 0) & (columns < grid.shape[1]) & (rows >= 0) & (rows < grid.shape[0])
    grid[rows[there], columns[there]] = True
