"""A picture as SVG: lines in the color of the text around it, with a title, and nothing outside."""

from __future__ import annotations

from functools import cache
from html import escape

import numpy as np
import numpy.typing as npt
import shapely
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry

from diagnose.drawings.picture import FINE, Picture, Specks
from diagnose.kb.shapes import HEIGHT, WIDTH

APART = 3.4  # units between the rows of dots of the pale tone
DOT = 1.5  # units: one of them
HATCHED = 4.2  # units between the lines of the brown tone
FINEST = 0.16  # units by which a drawn line may be off the true one


def svg(drawn: Picture, title: str, words: str, width: int | None = None) -> str:
    """A picture as an `<svg>` element, `width` pixels wide (None: as wide as its place)."""
    size = f' width="{width}" height="{round(width * HEIGHT / WIDTH)}"' if width else ""
    solid = [tint.area for tint in drawn.tints if tint.ink == "dark"]
    hatched = [tint.area for tint in drawn.tints if tint.ink == "brown"]
    dotted = [tint.area for tint in drawn.tints if tint.ink == "pale"]
    weights = dict.fromkeys(stroke.weight for stroke in drawn.strokes)
    body = [
        *(
            _path(
                [s.lines for s in drawn.strokes if s.weight == weight], f'stroke-width="{weight:g}"'
            )
            for weight in weights
        ),
        _path(solid, 'fill="currentColor" stroke="none"'),
        _path([area.intersection(_hatch()) for area in hatched], f'stroke-width="{FINE:g}"'),
        _path(
            [area.intersection(_rows()) for area in dotted],
            f'stroke-width="{DOT:g}" stroke-dasharray="0 {APART:g}"',
        ),
        *(_dots(specks) for specks in drawn.specks),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}"{size} '
        f'role="img" fill="none" stroke="currentColor" stroke-linecap="round" '
        f'stroke-linejoin="round"><title>{escape(title)}</title><desc>{escape(words)}</desc>'
        f"{''.join(body)}</svg>"
    )


@cache
def _hatch() -> BaseGeometry:
    """Slanting lines all over the sheet."""
    starts = np.arange(0, WIDTH + HEIGHT, HATCHED)
    return MultiLineString([[(x, 0.0), (x - HEIGHT, HEIGHT)] for x in starts])


@cache
def _rows() -> BaseGeometry:
    """Level lines all over the sheet."""
    return MultiLineString([[(0.0, y), (WIDTH, y)] for y in np.arange(APART / 2, HEIGHT, APART)])


def _path(found: list[BaseGeometry], style: str) -> str:
    whole = shapely.line_merge(MultiLineString([n for f in found for n in _lines(f)]))
    data = "".join(map(_steps, _lines(whole.simplify(FINEST))))
    return f'<path {style} d="{data}"/>' if data else ""


def _lines(found: BaseGeometry) -> list[BaseGeometry]:
    """The lines of a geometry, and the rings of its areas."""
    lines = []
    for part in shapely.get_parts(found):
        if part.is_empty:
            continue
        if part.geom_type == "Polygon":
            lines += [part.exterior, *part.interiors]
        elif part.geom_type in ("LineString", "LinearRing"):
            lines.append(part)
        elif part.geom_type in ("MultiLineString", "MultiPolygon", "GeometryCollection"):
            lines += _lines(part)
    return lines


def _steps(line: BaseGeometry) -> str:
    """A line as relative steps, in tenths of a unit at the finest."""
    points = np.rint(shapely.get_coordinates(line) * 10).astype(int)
    closed = len(points) > 2 and bool((points[0] == points[-1]).all())
    steps = np.diff(points, axis=0)
    return f"M{_pair(points[0])}l{_walk(steps[:-1] if closed else steps)}{'z' if closed else ''}"


def _dots(specks: Specks) -> str:
    """Round dots, each a line of no length with round ends."""
    points = np.rint(shapely.get_coordinates(specks.points) * 10).astype(int)
    if not len(points):
        return ""
    ordered = points[np.lexsort((points[:, 0], points[:, 1] // 40))]
    steps = np.diff(ordered, axis=0, prepend=[[0, 0]])
    data = "".join(f"m{_pair(step)}h0" for step in steps)
    return f'<path stroke-width="{specks.size:g}" d="{data}"/>'


def _pair(point: npt.NDArray[np.int_]) -> str:
    x, y = (_tenths(int(value)) for value in point)
    return f"{x}{y}" if y.startswith("-") else f"{x} {y}"


def _walk(steps: npt.NDArray[np.int_]) -> str:
    """Steps one after another, without the spaces that a minus sign makes needless."""
    walked = "".join(f" {_pair(step)}" for step in steps)
    return walked.replace(" -", "-").lstrip()


def _tenths(number: int) -> str:
    """A number of tenths as short as it can be written."""
    return f"{number / 10:g}".replace("0.", ".") if abs(number) < 10 else f"{number / 10:g}"
