"""A picture as SVG: lines in the color of the text around it, with a title, and nothing outside."""

from __future__ import annotations

from html import escape

import numpy as np
import shapely
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry

from diagnose.drawings.picture import SHEET, Picture
from diagnose.kb.shapes import HEIGHT, WIDTH

APART = 3.4  # units between the dots or lines of a tone
DOT = 1.5  # units: a dot of the pale tone
HATCH = 0.7  # units: a line of the brown tone


def svg(drawn: Picture, title: str, words: str, width: int | None = None) -> str:
    """A picture as an `<svg>` element, `width` pixels wide (None: as wide as its place)."""
    size = f' width="{width}" height="{round(width * HEIGHT / WIDTH)}"' if width else ""
    body = [
        _path(stroke.lines, f'stroke-width="{stroke.weight:g}"') for stroke in drawn.strokes
    ]  # fmt: skip
    for tint in drawn.tints:
        if tint.ink == "dark":
            body.append(_path(tint.area, 'fill="currentColor" fill-rule="evenodd" stroke="none"'))
        elif tint.ink == "brown":
            body.append(_path(_hatched(tint.area), f'stroke-width="{HATCH}"'))
        else:
            body.append(_dots(_dotted(tint.area), DOT))
    body += [_dots(shapely.get_coordinates(s.points), s.size) for s in drawn.specks]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}"{size} '
        f'role="img" fill="none" stroke="currentColor" stroke-linecap="round" '
        f'stroke-linejoin="round"><title>{escape(title)}</title><desc>{escape(words)}</desc>'
        f"{''.join(body)}</svg>"
    )


def _path(found: BaseGeometry, style: str) -> str:
    data = "".join(_steps(line) for line in _lines(found.simplify(0.12)))
    return f'<path {style} d="{data}"/>' if data else ""


def _lines(found: BaseGeometry) -> list[BaseGeometry]:
    """The lines of a geometry, and the rings of its areas."""
    lines = []
    for part in shapely.get_parts(found):
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
    steps = np.diff(points, axis=0)
    close = len(points) > 2 and (points[0] == points[-1]).all()
    walked = " ".join(f"{_tenth(x)} {_tenth(y)}" for x, y in (steps[:-1] if close else steps))
    return f"M{_tenth(points[0][0])} {_tenth(points[0][1])}l{walked}{'z' if close else ''}"


def _tenth(number: int) -> str:
    return f"{number / 10:g}"


def _dots(points: np.ndarray, size: float) -> str:
    """Round dots, each a line of no length with round ends."""
    data = "".join(f"M{x:.1f} {y:.1f}h0" for x, y in points)
    return f'<path stroke-width="{size:g}" d="{data}"/>' if data else ""


def _hatched(area: BaseGeometry) -> BaseGeometry:
    reach = WIDTH + HEIGHT
    lines = MultiLineString([
        [(x, 0.0), (x - HEIGHT, HEIGHT)] for x in np.arange(0, reach, APART * 1.25)
    ])  # fmt: skip
    return lines.intersection(area)


def _dotted(area: BaseGeometry) -> np.ndarray:
    left, top, right, bottom = area.intersection(SHEET).bounds
    rows = np.arange(np.floor(top / APART), np.ceil(bottom / APART) + 1).astype(int)
    columns = np.arange(np.floor(left / APART) - 1, np.ceil(right / APART) + 1)
    grid = np.array([(APART * (c + 0.5 * (r % 2)), APART * r) for r in rows for c in columns])
    inside: np.ndarray = grid[shapely.contains_xy(area, grid[:, 0], grid[:, 1])]
    return inside
