"""A picture as geometry: lines, tinted areas and specks; how layers cover one another.

All lengths are units of the sheet, 120 wide and 100 high, y down (`diagnose.kb.shapes`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import shapely
from shapely.geometry.base import BaseGeometry

from diagnose.kb.shapes import HEIGHT, WIDTH

Ink = Literal["pale", "brown", "dark"]
SHEET = shapely.box(0.0, 0.0, WIDTH, HEIGHT)
LINE = 1.2  # units: a usual line
FINE = 0.7  # units: a vein, a fold, a hair


class Stroke(NamedTuple):
    """Lines of one weight."""

    lines: BaseGeometry
    weight: float


class Tint(NamedTuple):
    """An area in one tone."""

    area: BaseGeometry
    ink: Ink


class Specks(NamedTuple):
    """Dots of one width."""

    points: BaseGeometry
    size: float


@dataclass
class Layer:
    """What is drawn of one thing; nothing below shows through `region`."""

    region: BaseGeometry = field(default_factory=shapely.Polygon)
    strokes: list[Stroke] = field(default_factory=list)
    tints: list[Tint] = field(default_factory=list)
    specks: list[Specks] = field(default_factory=list)

    def line(self, lines: BaseGeometry | None, weight: float = LINE) -> None:
        """Draw lines, if there are any."""
        if lines is not None and not lines.is_empty:
            self.strokes.append(Stroke(lines, weight))

    def tint(self, area: BaseGeometry, tone: str) -> None:
        """Fill an area with a tone, unless it is none."""
        if tone in ("pale", "brown", "dark"):
            self.tints.append(Tint(area, tone))  # type: ignore[arg-type]

    def dot(self, points: BaseGeometry, size: float) -> None:
        """Draw specks."""
        self.specks.append(Specks(points, size))

    def changed(self, change: Callable[[BaseGeometry], BaseGeometry]) -> Layer:
        """The layer with every geometry changed alike; what nothing is left of goes."""
        strokes = [Stroke(change(lines), weight) for lines, weight in self.strokes]
        tints = [Tint(change(area), ink) for area, ink in self.tints]
        specks = [Specks(change(points), size) for points, size in self.specks]
        return Layer(
            change(self.region),
            [s for s in strokes if not s.lines.is_empty],
            [t for t in tints if not t.area.is_empty],
            [s for s in specks if not s.points.is_empty],
        )


@dataclass(frozen=True)
class Picture:
    """What is to be seen on the sheet; nothing in it lies below anything else."""

    strokes: tuple[Stroke, ...]
    tints: tuple[Tint, ...]
    specks: tuple[Specks, ...]


def picture(layers: Iterable[Layer]) -> Picture:
    """The layers one over another, the first lowest, cut at the edge of the sheet."""
    above: BaseGeometry = shapely.Polygon()
    seen: list[Layer] = []
    for layer in reversed([*layers]):
        free = SHEET.difference(above)
        seen.insert(0, layer.changed(lambda found, free=free: _within(found, free)))  # type: ignore[misc]
        above = above.union(layer.region)
    return Picture(
        tuple(stroke for layer in seen for stroke in layer.strokes),
        tuple(tint for layer in seen for tint in layer.tints),
        tuple(specks for layer in seen for specks in layer.specks),
    )


def _within(found: BaseGeometry, free: BaseGeometry) -> BaseGeometry:
    """What of a geometry lies in a region, without the points at which an area only touches it."""
    if found.is_empty:
        return found
    cut = found.intersection(free)
    return (
        shapely.GeometryCollection(
            [p for p in shapely.get_parts(cut) if shapely.get_dimensions(p) == dimension]
        )
        if (dimension := _dimension(found)) != _dimension(cut)
        else cut
    )


def _dimension(found: BaseGeometry) -> int:
    """0 for points, 1 for lines, 2 for areas, -1 for nothing; of a mixture, the highest."""
    return int(shapely.get_dimensions(found))
