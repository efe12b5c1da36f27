"""Outlines: the shared forms of leaves, fruit, roots and bodies, each of unit length.

An outline lies along x from its base (or stalk end) at 0 to its tip at 1, and is as wide as y says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from random import Random
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

Coordinates: TypeAlias = Sequence[tuple[float, float]]
Profile: TypeAlias = Sequence[tuple[float, float]]

STEPS = 8  # points between two corners of a smooth line

# Half the width at shares of the length.
PROFILES: dict[str, Profile] = {
    # leaves
    "oval": ((0, 0), (0.06, 0.1), (0.25, 0.25), (0.5, 0.28), (0.75, 0.19), (0.92, 0.07), (1, 0)),
    "heart": ((0.06, 0), (0, 0.12), (0.02, 0.27), (0.2, 0.36), (0.45, 0.31), (0.75, 0.15), (1, 0)),
    "narrow": ((0, 0), (0.2, 0.07), (0.5, 0.1), (0.8, 0.06), (1, 0)),
    "strap": ((0, 0.07), (0.1, 0.1), (0.5, 0.115), (0.8, 0.08), (1, 0)),
    "round": ((0, 0), (0.02, 0.14), (0.2, 0.33), (0.5, 0.39), (0.8, 0.29), (0.97, 0.1), (1, 0)),
    # fruit, roots, heads
    "tomato": ((0.04, 0), (0, 0.17), (0.08, 0.36), (0.35, 0.54), (0.65, 0.52), (0.9, 0.32), (1, 0)),
    "pepper": ((0.03, 0), (0, 0.16), (0.06, 0.31), (0.25, 0.36), (0.6, 0.3), (0.9, 0.2), (1, 0.08),
               (0.97, 0)),
    "cucumber": ((0, 0), (0.02, 0.07), (0.12, 0.12), (0.5, 0.135), (0.88, 0.12), (0.98, 0.07),
                 (1, 0)),
    "squash": ((0, 0), (0.02, 0.06), (0.2, 0.1), (0.5, 0.15), (0.8, 0.2), (0.96, 0.12), (1, 0)),
    "pod": ((0, 0), (0.08, 0.05), (0.25, 0.11), (0.5, 0.12), (0.75, 0.11), (0.93, 0.05), (1, 0)),
    "ear": ((0, 0.1), (0.08, 0.17), (0.4, 0.19), (0.75, 0.15), (0.95, 0.07), (1, 0)),
    "berry": ((0, 0), (0.01, 0.2), (0.15, 0.38), (0.45, 0.36), (0.8, 0.18), (0.96, 0.07), (1, 0)),
    "head": ((0, 0), (0.02, 0.22), (0.2, 0.47), (0.5, 0.55), (0.8, 0.45), (0.98, 0.2), (1, 0)),
    "carrot": ((0, 0), (0.01, 0.1), (0.06, 0.15), (0.3, 0.125), (0.7, 0.065), (0.93, 0.02), (1, 0)),
    "beet": ((0, 0), (0.02, 0.12), (0.14, 0.31), (0.35, 0.37), (0.58, 0.26), (0.72, 0.08),
             (0.85, 0.025), (1, 0)),
    "tuber": ((0, 0), (0.02, 0.13), (0.15, 0.29), (0.45, 0.36), (0.75, 0.32), (0.95, 0.16), (1, 0)),
    "bulb": ((0, 0.05), (0.15, 0.06), (0.33, 0.13), (0.55, 0.34), (0.78, 0.36), (0.93, 0.2),
             (0.98, 0.08), (1, 0)),
    "seed": ((0, 0), (0.06, 0.17), (0.35, 0.33), (0.65, 0.33), (0.94, 0.17), (1, 0)),
    # bodies of insects, head end first
    "body-oval": ((0, 0), (0.05, 0.13), (0.35, 0.29), (0.65, 0.29), (0.92, 0.15), (1, 0)),
    "body-round": ((0, 0), (0.04, 0.2), (0.3, 0.44), (0.6, 0.45), (0.92, 0.22), (1, 0)),
    "body-slim": ((0, 0), (0.03, 0.08), (0.3, 0.14), (0.7, 0.15), (0.95, 0.08), (1, 0)),
    "body-long": ((0, 0), (0.02, 0.05), (0.3, 0.075), (0.7, 0.08), (0.95, 0.05), (1, 0)),
    "body-shield": ((0, 0.08), (0.08, 0.2), (0.22, 0.42), (0.3, 0.37), (0.6, 0.36), (0.9, 0.17),
                    (1, 0)),
    "body-pear": ((0, 0), (0.05, 0.12), (0.3, 0.25), (0.65, 0.37), (0.92, 0.25), (1, 0)),
    "body-waisted": ((0, 0), (0.05, 0.12), (0.25, 0.15), (0.38, 0.04), (0.44, 0.04), (0.65, 0.17),
                     (0.9, 0.1), (1, 0)),
    "body-wedge": ((0, 0.1), (0.03, 0.2), (0.15, 0.22), (0.6, 0.13), (1, 0)),
}  # fmt: skip


def smooth(points: Coordinates, closed: bool = False) -> npt.NDArray[np.float64]:
    """Points of a smooth line (Catmull-Rom) through the given ones: an array of shape (n, 2)."""
    given = np.asarray(points, dtype=float)
    if len(given) < 3:
        return given
    around = (
        np.vstack([given[-1], given, given[:2]])
        if closed
        else np.vstack([2 * given[0] - given[1], given, 2 * given[-1] - given[-2]])
    )
    t = np.linspace(0, 1, STEPS, endpoint=False)[:, None]
    pieces = []
    for a, b, c, d in zip(around, around[1:], around[2:], around[3:], strict=False):
        pieces.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2
                   + (3 * b - a - 3 * c + d) * t**3)
        )  # fmt: skip
    if not closed:
        pieces.append(given[-1:])
    return np.vstack(pieces)


def curve(points: Coordinates) -> LineString:
    """A smooth line."""
    return LineString(smooth(points))


def closed(points: Coordinates) -> BaseGeometry:
    """A smooth area."""
    return sound(Polygon(smooth(points, closed=True)))


def sound(area: BaseGeometry) -> BaseGeometry:
    """An area whose outline does not cross itself."""
    return area if area.is_valid else shapely.make_valid(area).buffer(0)


def symmetric(profile: Profile, wide: float = 1.0) -> BaseGeometry:
    """The area of a profile."""
    there = [(x, -wide * y) for x, y in profile]
    back = [(x, wide * y) for x, y in reversed(profile) if y > 0]
    return closed([*there, *back])


def half_width(area: BaseGeometry, x: float) -> float:
    """Half the width of an area that lies along x, at a place."""
    low, high = area.bounds[1] - 1, area.bounds[3] + 1
    cut = area.intersection(LineString([(x, low), (x, high)]))
    return 0.0 if cut.is_empty else float(cut.bounds[3] - cut.bounds[1]) / 2


def toothed(area: BaseGeometry, teeth: int, depth: float) -> BaseGeometry:
    """An area with teeth along its edge, of unit size."""
    edge = area.exterior
    parts = np.linspace(0, 1, teeth, endpoint=False)
    points = []
    for share in parts:
        for ahead, out in ((0.0, 0.0), (0.65 / teeth, depth)):
            here = edge.interpolate(share + ahead, normalized=True)
            points.append(_outward(area, here, out))
    return sound(Polygon(points))


def _outward(area: BaseGeometry, at: Point, by: float) -> tuple[float, float]:
    """A point of the edge moved away from the middle line."""
    middle = area.centroid
    dx, dy = (at.x - middle.x) * 0.5, at.y - middle.y
    length = math.hypot(dx, dy) or 1.0
    return at.x + dx / length * by, at.y + dy / length * by


def lobed() -> BaseGeometry:
    """A leaf of five lobes around the end of its stalk."""
    half = ((165, 0.24), (132, 0.4), (100, 0.35), (66, 0.5), (34, 0.42))
    spokes = [*half, (0, 0.7), *((-turn, reach) for turn, reach in reversed(half))]
    return closed([
        (0.28 + reach * math.cos(math.radians(turn)), reach * math.sin(math.radians(turn)))
        for turn, reach in spokes
    ])  # fmt: skip


def leaflets(pairs: int, length: float, wide: float) -> list[tuple[float, float, float]]:
    """Where the leaflets of a compound leaf stand: share of the stalk, turn, length."""
    spread = [0.3 + 0.45 * i / max(pairs - 1, 1) for i in range(pairs)]
    sides = [(x, side * (72 - 18 * x), length * wide) for x in spread for side in (-1, 1)]
    return [*sides, (0.72, 0, length)]


def blob(rng: Random, at: tuple[float, float], size: float, rough: float) -> BaseGeometry:
    """A spot `size` wide, its outline as uneven as `rough` says (0 to 1)."""
    corners = 16 if rough > 0.3 else 10
    points = []
    for i in range(corners):
        angle = 2 * math.pi * i / corners
        reach = size / 2 * (1 + rough * rng.uniform(-0.75, 0.6))
        points.append((at[0] + reach * math.cos(angle), at[1] + reach * math.sin(angle)))
    return closed(points)


def oval(at: tuple[float, float], long: float, high: float, turn: float = 0) -> BaseGeometry:
    """An ellipse."""
    circle = Point(0, 0).buffer(0.5, quad_segs=12)
    stretched = shapely.affinity.scale(circle, long, high, origin=(0, 0))
    turned = shapely.affinity.rotate(stretched, turn, origin=(0, 0))
    return shapely.affinity.translate(turned, *at)


def ribbon(points: Coordinates, start: float, end: float) -> BaseGeometry:
    """A smooth band along points, as wide at its ends as told."""
    line = smooth(points)
    along = np.gradient(line, axis=0)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-9)
    half = np.linspace(start, end, len(line))[:, None] / 2
    return sound(Polygon(np.vstack([line + across * half, (line - across * half)[::-1]])))
