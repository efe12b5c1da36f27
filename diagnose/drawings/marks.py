"""What is on a leaf, a fruit, a root or an animal: each mark of a description, drawn on a body."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
import shapely.affinity
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.drawings import outlines
from diagnose.drawings.body import Body
from diagnose.drawings.picture import FINE, LINE
from diagnose.kb import shapes

HAIR = 0.8  # units: just heavier than a vein, so that it stays whole at a coarse scale


def draw(body: Body, mark: shapes.AnyMark) -> None:
    """Draw a mark on a body."""
    DRAWN[type(mark)](body, mark)


def holes(body: Body, mark: shapes.Holes) -> None:
    """Holes through it."""
    for at in body.scattered(mark.count, mark.size * 1.25, body.inside(mark.size, mark.where)):
        if mark.edge == "smooth":
            hole: BaseGeometry = outlines.oval(at, mark.size, mark.size * 0.92)
        elif mark.edge == "torn":
            hole = _wedge(body, at, mark.size)
        else:
            size = mark.size * body.rng.uniform(0.7, 1.25)
            hole = outlines.blob(body.rng, at, size, 0.6)
        body.gone.append(hole)
        if mark.rim:
            body.on.tint(hole.buffer(2.4), "dark")


def _wedge(body: Body, at: tuple[float, float], size: float) -> BaseGeometry:
    """A three-cornered tear."""
    turn = body.rng.uniform(0, 2 * math.pi)
    return Polygon([
        (at[0] + size * reach * math.cos(turn + a), at[1] + size * reach * math.sin(turn + a))
        for a, reach in ((0, 0.8), (2.5, 0.6), (3.8, 0.55))
    ])  # fmt: skip


def bites(body: Body, mark: shapes.Bites) -> None:
    """Pieces out of its edge."""
    edge = body.edge
    shares = [(i + 0.5) / mark.count for i in range(mark.count)]
    if mark.edge != "notched":
        shares = [s + body.rng.uniform(-0.25, 0.25) / mark.count for s in shares]
    for share in shares:
        at = edge.interpolate((0.04 + 0.92 * share) % 1, normalized=True)
        here = (at.x, at.y)
        if mark.edge == "ragged":
            size = mark.size * body.rng.uniform(0.8, 1.3)
            body.gone.append(outlines.blob(body.rng, here, size, 0.55))
        elif mark.edge == "torn":
            body.gone.append(_tear(body, here, mark.size))
        else:
            body.gone.append(outlines.oval(here, mark.size, mark.size))


def _tear(body: Body, at: tuple[float, float], size: float) -> BaseGeometry:
    """A wedge from the edge inward."""
    middle = body.region.centroid
    dx, dy = (middle.x - at[0]) * 0.4 + body.rng.uniform(-12, 4), middle.y - at[1]
    length = math.hypot(dx, dy) or 1.0
    ux, uy = dx / length, dy / length
    size = min(size, 0.85 * abs(at[1]) + 2)  # not past the middle
    half = 2 + size * 0.14
    return Polygon([
        (at[0] + ux * size, at[1] + uy * size),
        (at[0] - uy * half - ux * 4, at[1] + ux * half - uy * 4),
        (at[0] + uy * half - ux * 4, at[1] - ux * half - uy * 4),
    ])  # fmt: skip


def lace(body: Body, mark: shapes.Lace) -> None:
    """Its soft part is gone between the veins."""
    low, _, high, _ = body.region.bounds
    start = high - mark.share * (high - low)
    for cell in body.cells():
        if cell.centroid.x >= start:
            body.gone.append(cell.buffer(-1.0))


def windows(body: Body, mark: shapes.Windows) -> None:
    """Places where only a skin is left: framed, and lightly barred."""
    inside = body.inside(mark.size)
    for at in body.scattered(mark.count, mark.size * 1.2, inside):
        pane = outlines.blob(body.rng, at, mark.size * body.rng.uniform(0.85, 1.2), 0.2)
        body.on.line(pane.boundary, LINE)
        body.on.tint(pane.buffer(-1), "pale")
        body.hidden.append(pane)


def mine(body: Body, mark: shapes.Mine) -> None:
    """Trails or blotches between its skins, or dots in rows."""
    if mark.form == "dots":
        low, _, high, _ = body.region.bounds
        for row in range(mark.count):
            y = body.high * (0.5 * (row + 0.5) / mark.count - 0.25)
            start = low + (high - low) * (0.22 + 0.1 * (row % 3))
            row_points = [(start + 5 * i, y + 0.1 * i) for i in range(9)]
            body.on.dot(body.points(row_points), 2.4)
        return
    for number in range(mark.count):
        if mark.form == "trail":
            _trail(body, number, mark.count)
        else:
            low, _, high, _ = body.region.bounds
            at = (low + (high - low) * (0.36 + 0.3 * number), body.high * 0.1 * (-1) ** number)
            area = outlines.blob(body.rng, at, body.high * 0.52, 0.3)
            area = area.intersection(body.region.buffer(-2))
            body.on.line(area.boundary, LINE)
            body.on.tint(area.buffer(-1.5), "pale")
            body.hidden.append(area)
            crumbs = body.scattered(12, 2.5, outlines.oval(at, 15, 8))
            body.on.dot(body.points(crumbs), 2.0)


def _trail(body: Body, number: int, count: int) -> None:
    """A winding band that widens."""
    low, _, high, _ = body.region.bounds
    span = (high - low) / count
    start = low + span * (number + 0.14)
    points = []
    for step in range(15):
        share = step / 14
        x = start + 0.72 * span * share
        room = max(outlines.half_width(body.region, x) - 7, 1)
        points.append((x, 0.85 * room * math.sin(3.6 * math.pi * share + 0.5)))
    area = outlines.ribbon(points, 1.2, 8).intersection(body.region.buffer(-1.5))
    body.on.line(area.boundary, LINE)
    body.hidden.append(area)
    line = outlines.smooth(points)[16::3]
    body.on.dot(body.points([tuple(p) for p in line]), 1.5)


def spots(body: Body, mark: shapes.Spots) -> None:
    """Spots, each like the others."""
    if mark.angular:
        _angular(body, mark)
        return
    room = mark.size * (1.9 if mark.halo else 1.25)
    for at in _places(body, mark, room):
        size = mark.size * body.rng.uniform(0.85, 1.15)
        spot = outlines.blob(body.rng, at, size, mark.rough)
        body.hidden.append(spot.buffer(0.8))
        if mark.halo:
            halo = outlines.oval(at, size * 1.75, size * 1.75)
            body.on.tint(halo.difference(spot.buffer(0.8)), "pale")
            body.hidden.append(halo)
        inner = spot
        if mark.rings:
            for ring in range(mark.rings):
                scale = 1 - ring / mark.rings * 0.85
                body.on.line(shapely.affinity.scale(spot, scale, scale).boundary, LINE)
            body.on.tint(outlines.oval(at, size * 0.14, size * 0.14), "dark")
            continue
        if mark.eye:
            eye = outlines.oval(at, size * 0.42, size * 0.42)
            body.on.tint(eye, "dark")
            inner = spot.difference(eye.buffer(1))
        if mark.dotted:
            dots = body.scattered(9, size * 0.17, spot.buffer(-size * 0.15))
            body.on.dot(body.points(dots), 1.7)
            body.on.line(spot.boundary, LINE)
            continue
        body.on.tint(inner, mark.tone)
        if mark.rim or mark.tone != "dark":
            body.on.line(spot.boundary, 2.2 if mark.rim else LINE)


def _places(body: Body, mark: shapes.Spots, apart: float) -> list[tuple[float, float]]:
    """Where the spots stand; mirrored ones stand in pairs beside the middle line."""
    inside = body.inside(mark.size, mark.where, mark.share)
    if not mark.mirrored:
        return body.scattered(mark.count, apart, inside)
    half = inside.intersection(shapely.box(-500, mark.size * 0.55, 500, 500))
    found = body.scattered(mark.count // 2, apart, half)
    return [*found, *((x, -y) for x, y in found)]


def _angular(body: Body, mark: shapes.Spots) -> None:
    """Spots that fill the areas between veins."""
    room = [c for c in body.cells() if c.area > 20 and c.distance(body.region.boundary) < 90]
    body.rng.shuffle(room)
    for cell in room[: mark.count]:
        body.on.tint(cell.buffer(-0.6), mark.tone)
        body.on.line(cell.boundary, LINE)
        if mark.halo:
            body.on.tint(cell.buffer(4).difference(cell.buffer(1)), "pale")


def shade(body: Body, mark: shapes.Shade) -> None:
    """A tone over a part of it."""
    area = body.where(mark.where, mark.share)
    body.on.tint(area.buffer(-0.8), mark.tone)
    if mark.where == "veins":
        body.hidden.append(area)
    if mark.where in ("patches", "wedges", "veins"):
        body.on.line(area.boundary, FINE)


def dots(body: Body, mark: shapes.Dots) -> None:
    """Specks all over it, or in heaps."""
    region = body.inside(mark.size, mark.where, mark.share)
    if mark.heaps:
        wide = body.high * 0.3
        region = shapely.union_all([
            outlines.blob(body.rng, at, wide, 0.4)
            for at in body.scattered(mark.heaps, wide, body.where(mark.where, mark.share))
        ]).intersection(body.region)  # fmt: skip
    apart = max(mark.size * 1.15, 0.72 * math.sqrt(region.area / mark.count))
    found = body.scattered(mark.count, apart, region)
    if mark.hollow:
        for at in found:
            ring = outlines.oval(at, mark.size, mark.size)
            body.on.line(ring.boundary, FINE)
            body.hidden.append(ring)
    else:
        body.on.dot(body.points(found), mark.size)


def fuzz(body: Body, mark: shapes.Fuzz) -> None:
    """Patches of hairs."""
    for at in body.scattered(mark.count, mark.size * 0.7, body.where(mark.where, 0.5)):
        patch = outlines.blob(body.rng, at, mark.size, 0.3)
        body.hidden.append(patch)
        hairs = []
        for x, y in body.scattered(int(mark.size * 1.6), 2.4, patch):
            turn = math.atan2(y - at[1], x - at[0]) + body.rng.uniform(-0.5, 0.5)
            hairs.append(LineString([(x, y), (x + 4 * math.cos(turn), y + 4 * math.sin(turn))]))
        body.on.line(MultiLineString(hairs), HAIR)


def web(body: Body, mark: shapes.Web) -> None:
    """Threads from edge to edge."""
    region = body.where(mark.where, 0.5)
    if region.is_empty:
        return
    low, bottom, high, top = region.bounds
    threads = []
    for number in range(mark.count):
        x = low + (high - low) * (number + 0.5) / mark.count
        lean = (0.3 if number % 2 else -0.3) * (high - low)
        threads.append(LineString([(x - lean, bottom - 3), (x + lean, top + 3)]))
    body.on.line(MultiLineString(threads).intersection(region), 0.5)


def streaks(body: Body, mark: shapes.Streaks) -> None:
    """Marks along it."""
    low, _, high, _ = body.region.bounds
    for number in range(mark.count):
        y = body.high * 0.82 * ((number + 0.5) / mark.count - 0.5)
        free = max(high - low - mark.size - 8, 0)
        x = low + 4 + free * body.rng.random()
        if mark.wavy:
            steps = int(mark.size / 6) + 2
            points = [(x + mark.size * i / steps, y + (-1) ** i * mark.wide * 0.35)
                      for i in range(steps + 1)]  # fmt: skip
            area = outlines.curve(points).buffer(mark.wide / 2)
        elif mark.pointed:
            half = mark.wide / 2
            corners = [(x, y), (x + mark.size * 0.3, y - half), (x + mark.size * 0.7, y - half),
                       (x + mark.size, y), (x + mark.size * 0.7, y + half),
                       (x + mark.size * 0.3, y + half)]  # fmt: skip
            area = outlines.closed(corners)
        else:
            area = shapely.box(x, y - mark.wide / 2, x + mark.size, y + mark.wide / 2)
        body.on.tint(area, mark.tone)
        body.hidden.append(area)
        if mark.rim:
            body.on.line(area.boundary, FINE)


def lumps(body: Body, mark: shapes.Lumps) -> None:
    """Bumps, on it or over its edge."""
    if mark.where == "edge":
        line = body.edge
        found = [line.interpolate((i + 0.5) / mark.count, normalized=True)
                 for i in range(mark.count)]  # fmt: skip
        places = [(p.x, p.y) for p in found]
    else:
        places = body.scattered(mark.count, mark.size * 1.15, body.inside(mark.size, mark.where))
    for at in places:
        size = mark.size * body.rng.uniform(0.8, 1.2)
        bump = outlines.oval(at, size, size)
        here = body.over if mark.where == "edge" else body.on
        if mark.where == "edge":
            body.gone.append(bump)
            here.region = here.region.union(bump)
        here.tint(bump, mark.tone)
        here.line(bump.boundary, LINE)
        shadow = [(at[0] + size * 0.27 * math.cos(a), at[1] + size * 0.27 * math.sin(a))
                  for a in (0.1, 0.8, 1.5)]  # fmt: skip
        here.line(outlines.curve(shadow), FINE)
        body.hidden.append(bump)


def cracks(body: Body, mark: shapes.Cracks) -> None:
    """Cracks in its skin."""
    low, _, high, _ = body.region.bounds
    span = high - low
    match mark.form:
        case "rings":
            for number in range(1, mark.count + 1):
                ring = outlines.oval((low, 0), span * 0.26 * number, span * 0.36 * number)
                body.on.line(ring.boundary, 1.8)
        case "rays":
            for number in range(mark.count):
                angle = math.radians(-58 + 116 * (number + 0.5) / mark.count)
                body.on.tint(_crack(body, (low + 2, 0), angle, span * 0.62), "dark")
        case "split":
            open_ = _crack(body, (low + span * 0.12, 0), 0.12, span * 0.72, 0.13)
            body.on.line(open_.boundary, LINE)
            body.on.tint(open_, "brown")
        case "along":
            for number in range(mark.count):
                y = body.high * 0.6 * ((number + 0.5) / mark.count - 0.5)
                start = (low + span * (0.2 + 0.1 * (number % 2)), y)
                body.on.tint(_crack(body, start, 0, span * 0.5), "dark")
        case "net":
            lines = []
            for x, y in body.scattered(mark.count * 8, span * 0.06, body.region.buffer(-3)):
                turn = body.rng.choice((0.2, 1.2, 2.2))
                dx, dy = span * 0.06 * math.cos(turn), span * 0.06 * math.sin(turn)
                lines.append(LineString([(x - dx, y - dy), (x, y + 1), (x + dx, y + dy)]))
            body.on.line(MultiLineString(lines), FINE)


def _crack(
    body: Body, at: tuple[float, float], angle: float, length: float, wide: float = 0.05
) -> BaseGeometry:
    """A jagged gap that is widest in its middle."""
    there, back = [], []
    for step in range(8):
        share = step / 7
        half = length * wide * math.sin(math.pi * min(share + 0.06, 1))
        shake = length * 0.025 * body.rng.uniform(-1, 1)
        x = at[0] + length * share * math.cos(angle) - (shake - half) * math.sin(angle)
        y = at[1] + length * share * math.sin(angle) + (shake - half) * math.cos(angle)
        there.append((x, y))
        back.append((x + 2 * -half * math.sin(angle), y + 2 * half * math.cos(angle)))
    return outlines.sound(Polygon([*there, *back[::-1]]))


def bands(body: Body, mark: shapes.Bands) -> None:
    """Bands across it or lines along it."""
    low, _, high, _ = body.region.bounds
    start, end = low + mark.start * (high - low), low + mark.end * (high - low)
    for number in range(mark.count):
        share = (number + 0.5) / mark.count
        if mark.way == "across":
            x = start + (end - start) * share
            area: BaseGeometry = shapely.box(x - mark.wide / 2, -500, x + mark.wide / 2, 500)
        else:
            line = [
                (x, 2 * (share - 0.5) * outlines.half_width(body.region, x) * 0.9)
                for x in np.linspace(start + 0.1, end - 0.1, 12)
            ]
            area = LineString(line).buffer(mark.wide / 2, cap_style="flat")
        area = area.intersection(body.region)
        body.hidden.append(area)
        if mark.tone == "none":
            body.on.line(area.boundary, FINE)
        else:
            body.on.tint(area, mark.tone)


DRAWN: dict[type[shapes.Mark], Callable[[Body, Any], None]] = {
    shapes.Holes: holes, shapes.Bites: bites, shapes.Lace: lace, shapes.Windows: windows,
    shapes.Mine: mine, shapes.Spots: spots, shapes.Shade: shade, shapes.Dots: dots,
    shapes.Fuzz: fuzz, shapes.Web: web, shapes.Streaks: streaks, shapes.Lumps: lumps,
    shapes.Cracks: cracks, shapes.Bands: bands,
}  # fmt: skip
