"""A part of a plant or an animal on which marks can be drawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPoint
from shapely.geometry.base import BaseGeometry

from diagnose.drawings import outlines
from diagnose.drawings.picture import FINE, LINE, Layer
from diagnose.kb.shapes import Where

TRIES = 60  # throws of all the spots that are to be placed
SCRAP = 0.1  # of the largest piece: what is smaller has fallen off


@dataclass
class Body:
    """An outline that lies along x, base first, around the point (0, 0), `length` units long.

    `ribs` are the veins or folds drawn on it; `gone` is what has been eaten out of it.
    """

    region: BaseGeometry
    length: float
    rng: Random
    ribs: list[LineString] = field(default_factory=list)
    rib_weight: float = FINE
    outlined: bool = True
    gone: list[BaseGeometry] = field(default_factory=list)
    hidden: list[BaseGeometry] = field(default_factory=list)  # where no rib is seen
    on: Layer = field(default_factory=Layer)  # what stands on it
    over: Layer = field(default_factory=Layer)  # what stands out over its edge

    @property
    def high(self) -> float:
        """Its width."""
        return float(self.region.bounds[3] - self.region.bounds[1])

    @property
    def edge(self) -> BaseGeometry:
        """The line around it, or around the largest piece of it."""
        return max(shapely.get_parts(self.region), key=lambda piece: piece.area).exterior

    def layer(self) -> Layer:
        """The body with all that is on it, still lying along x."""
        left = self.region.difference(shapely.union_all(self.gone)) if self.gone else self.region
        left = _without_scraps(left)
        made = self.on.changed(lambda found: found.intersection(left))
        made.region = left
        if self.outlined:
            made.line(shapely.boundary(left), LINE)
        if self.ribs:
            seen = MultiLineString(self.ribs).intersection(left)
            if self.hidden:
                seen = seen.difference(shapely.union_all(self.hidden))
            made.line(seen, self.rib_weight)
        made.strokes += self.over.strokes
        made.tints += self.over.tints
        made.specks += self.over.specks
        made.region = made.region.union(self.over.region)
        return made

    def veins(self, wide: float) -> BaseGeometry:
        """The veins as bands `wide` units wide."""
        return MultiLineString(self.ribs).buffer(wide / 2) if self.ribs else shapely.Polygon()

    def cells(self) -> list[BaseGeometry]:
        """The areas that the veins bound."""
        lines = shapely.union_all([self.region.boundary, *self.ribs])
        return list(shapely.polygonize([lines]).geoms)

    def where(self, place: Where, share: float) -> BaseGeometry:
        """A part of it; `share` says how much of it, or how far in from the edge."""
        low, _, high, _ = self.region.bounds
        reach = share * (high - low)
        match place:
            case "base":
                return self._slice(low, low + reach)
            case "tip":
                return self._slice(high - reach, high)
            case "middle":
                return self._slice((low + high - reach) / 2, (low + high + reach) / 2)
            case "edge":
                inner = self.region.buffer(-share * self.high / 2)
                return self.region.difference(inner)
            case "left":
                return self.region.intersection(shapely.box(low, -500, high, 0))
            case "right":
                return self.region.intersection(shapely.box(low, 0, high, 500))
            case "wedges":
                return self._wedges(share)
            case "patches":
                size = max(self.high * 0.42, 8)
                return shapely.union_all([
                    outlines.blob(self.rng, at, size, 0.25)
                    for at in self.scattered(round(6 * share) + 2, size * 1.02, self.region)
                ]).intersection(self.region)  # fmt: skip
            case "veins":
                return self.veins(0.055 * self.high).intersection(self.region)
            case "between-veins":
                return self.region.difference(self.veins(0.08 * self.high))
        return self.region

    def _slice(self, start: float, end: float) -> BaseGeometry:
        return self.region.intersection(shapely.box(start, -500, end, 500))

    def _wedges(self, share: float) -> BaseGeometry:
        """Triangles from the edge toward the middle line, one at the tip."""
        low, _, high, _ = self.region.bounds
        span, found = high - low, []
        wide = span * share * 0.42
        for at, side in ((0.42, -1), (0.62, 1)):
            x = low + at * span
            edge = side * self.high
            tip = (x - 0.16 * span, side * 0.06 * self.high)
            found.append(shapely.Polygon([tip, (x - wide / 2, edge), (x + wide, edge)]))
        start = (low + 0.66 * span, 0.0)
        found.append(shapely.Polygon([start, (high, -wide), (high + 9, 0), (high, wide)]))
        return shapely.union_all(found).intersection(self.region)

    def scattered(
        self, count: int, apart: float, within: BaseGeometry | None = None
    ) -> list[tuple[float, float]]:
        """At most `count` points in a region, no nearer to one another than `apart`."""
        region = within if within is not None and not within.is_empty else self.region
        if not count or region.is_empty:
            return []
        shapely.prepare(region)
        low, bottom, high, top = region.bounds
        found: list[tuple[float, float]] = []
        for _ in range(TRIES):
            thrown = np.array([
                (self.rng.uniform(low, high), self.rng.uniform(bottom, top)) for _ in range(count)
            ])  # fmt: skip
            for x, y in thrown[shapely.contains_xy(region, thrown[:, 0], thrown[:, 1])].tolist():
                if len(found) == count:
                    return found
                if all((x - a) ** 2 + (y - b) ** 2 >= apart**2 for a, b in found):
                    found.append((x, y))
        return found

    def inside(self, size: float, place: Where = "all", share: float = 0.4) -> BaseGeometry:
        """Where the middle of something `size` wide may stand."""
        region = self.where(place, share)
        for room in (0.55, 0.35, 0.15):
            if not (smaller := region.buffer(-size * room)).is_empty:
                return smaller
        return region

    def points(self, found: list[tuple[float, float]]) -> MultiPoint:
        """Points as one geometry."""
        return MultiPoint(found)


def _without_scraps(area: BaseGeometry) -> BaseGeometry:
    """What hangs together; pieces far smaller than the largest have fallen off."""
    pieces = [piece for piece in shapely.get_parts(area) if piece.geom_type == "Polygon"]
    largest = max((piece.area for piece in pieces), default=0)
    return shapely.union_all([piece for piece in pieces if piece.area >= SCRAP * largest])
