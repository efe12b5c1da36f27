"""Caterpillars, grubs, insects and eggs, as layers of a sheet."""

from __future__ import annotations

import math
from random import Random

import numpy as np
import shapely
import shapely.affinity
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from diagnose.drawings import outlines
from diagnose.drawings.body import Body
from diagnose.drawings.picture import FINE, LINE, Layer
from diagnose.drawings.placing import marked, placed
from diagnose.kb import shapes

# The line of the back, head first, in lengths.
SPINES: dict[str, outlines.Coordinates] = {
    "straight": ((-0.5, 0), (-0.25, 0), (0, 0), (0.25, 0), (0.5, 0)),
    "wave": ((-0.5, 0.05), (-0.25, -0.06), (0, 0.03), (0.25, -0.05), (0.5, 0.04)),
    "arched": ((-0.36, 0.1), (-0.22, 0.08), (-0.1, -0.12), (0, -0.26), (0.1, -0.12), (0.22, 0.08),
               (0.36, 0.1)),
    "curled": ((-0.08, 0.2), (-0.24, 0.16), (-0.3, -0.02), (-0.2, -0.2), (0.02, -0.25),
               (0.22, -0.16), (0.26, 0.03), (0.16, 0.17)),
    "hump": ((-0.5, 0.06), (-0.25, -0.02), (0, -0.05), (0.25, -0.02), (0.5, 0.06)),
}  # fmt: skip


def larva(shape: shapes.Larva, rng: Random) -> list[Layer]:
    """A caterpillar, maggot or grub from the side; marks lie along it when it is straight."""
    s = shape.size
    spine = [(x * s, y * s) for x, y in SPINES[shape.curve]]
    line = outlines.curve(spine)
    wide = s * shape.wide
    region = _tube(line, wide, shape)
    body = Body(region, s, rng)
    folds = _folds(line, wide, shape.rings)
    if shape.hairs == "none":
        body.ribs += folds
    under = Layer()
    _legs(under, line, wide, shape)
    _hairs(under, line, wide, shape)
    layer = marked(body, shape.marks)
    made = [under, layer]
    if shape.head != "no-head":
        at = line.interpolate(0.015, normalized=True)
        big = min(wide * 0.85, 0.15 * s + 2)
        head = Layer(outlines.oval((at.x, at.y), big, big))
        head.line(head.region.boundary)
        head.tint(head.region, shape.head)
        made.append(head)
    return [placed(found, shape.at, shape.turn) for found in made]


def _tube(line: LineString, wide: float, shape: shapes.Larva) -> BaseGeometry:
    """The body along its spine; a maggot's is pointed at the head."""
    pointed = shape.head == "no-head" and shape.legs == "none"
    found = []
    for share in np.linspace(0.0, 1.0, 42):
        at = line.interpolate(share, normalized=True)
        taper = min(1.0, (0.25 if pointed else 0.62) + 2.2 * share, 0.45 + 3.4 * (1 - share))
        bulge = 1 + 0.1 * math.sin(share * shape.rings * 2 * math.pi) if shape.rings else 1
        found.append(at.buffer(wide / 2 * taper * bulge))
    return shapely.union_all(found).simplify(0.15)


def _across(line: LineString, share: float) -> tuple[float, float, float, float]:
    """A point of a line, and the direction to its left, of unit length."""
    a = line.interpolate(max(share - 0.01, 0), normalized=True)
    b = line.interpolate(min(share + 0.01, 1), normalized=True)
    at = line.interpolate(share, normalized=True)
    length = math.hypot(b.x - a.x, b.y - a.y) or 1.0
    return at.x, at.y, (b.y - a.y) / length, -(b.x - a.x) / length


def _folds(line: LineString, wide: float, rings: int) -> list[LineString]:
    found = []
    for number in range(1, rings):
        x, y, dx, dy = _across(line, number / rings)
        half = wide * 0.5
        found.append(LineString([(x + dx * half, y + dy * half), (x - dx * half, y - dy * half)]))
    return found


def _legs(layer: Layer, line: LineString, wide: float, shape: shapes.Larva) -> None:
    """Legs below the body, as if seen from the side."""
    places = {
        "front": (0.08, 0.14, 0.2),
        "ends": (0.06, 0.11, 0.16, 0.86, 0.95),
        "all": (0.08, 0.14, 0.2, 0.45, 0.54, 0.63, 0.72, 0.95),
        "many": tuple(np.linspace(0.06, 0.96, 26)),
        "none": (),
    }[shape.legs]
    legs = []
    for share in places:
        x, y, dx, dy = _across(line, float(share))
        reach = 0.5 * wide + (0.32 * wide if shape.legs != "many" else 0.6 * wide)
        legs.append(LineString([(x, y), (x - dx * reach, y - dy * reach)]))
    if legs:
        layer.line(MultiLineString(legs), 0.8 if shape.legs == "many" else 2.0)


def _hairs(layer: Layer, line: LineString, wide: float, shape: shapes.Larva) -> None:
    """Hairs, spines or a horn above the body."""
    if shape.horn:
        x, y, dx, dy = _across(line, 0.95)
        tip = (x + dx * wide * 1.1 + 0.5 * wide, y + dy * wide * 1.1)
        layer.line(LineString([(x, y), tip]), 2.2)
    if shape.hairs == "none":
        return
    hairs = []
    step, reach = {"short": (0.03, 0.8), "spines": (0.09, 1.0), "long": (0.025, 1.15)}[shape.hairs]
    for share in np.arange(0.05, 0.98, step):
        x, y, dx, dy = _across(line, float(share))
        for side in (1, -1) if shape.hairs != "short" else (1,):
            end = (x + side * dx * wide * reach, y + side * dy * wide * reach)
            hairs.append(LineString([(x, y), end]))
            if shape.hairs == "spines":
                near = (x + side * dx * wide * 0.75, y + side * dy * wide * 0.75)
                hairs += [LineString([near, (near[0] + t, near[1] + side * dy * wide * 0.2)])
                          for t in (-wide * 0.2, wide * 0.2)]  # fmt: skip
    layer.line(MultiLineString(hairs), FINE)


def insect(shape: shapes.Insect, rng: Random) -> list[Layer]:
    """A grown insect from above, its legs and wings spread."""
    s = shape.size
    made: list[Layer] = []
    trunk = outlines.symmetric(outlines.PROFILES[f"body-{shape.body}"])
    trunk = shapely.affinity.translate(shapely.affinity.scale(trunk, s, s, origin=(0, 0)), -s / 2)
    wide = trunk.bounds[3]
    limbs = Layer()
    _limbs(limbs, shape, s, wide)
    made.append(limbs)
    if shape.wings in ("spread", "clear", "broad"):
        made += _spread_wings(shape, s)
    head_size = min(wide * 0.95, s * 0.24)
    head = Layer(outlines.oval((-s * 0.5 - head_size * 0.12, 0), head_size * 0.9, head_size))
    head.line(head.region.boundary)
    head.tint(head.region, shape.head)
    if shape.snout:
        x = -s * 0.5 - head_size * 0.4
        head.line(outlines.curve([(x, 0), (x - 0.12 * s, 0.01 * s), (x - 0.2 * s, 0.05 * s)]), 2.6)
    made.append(head)
    body = Body(trunk, s, rng)
    body.on.tint(trunk, shape.tone)
    if shape.wings in ("cases", "flat", "short"):
        end = {"cases": 0.5, "flat": 0.5, "short": -0.12}[shape.wings]
        body.ribs.append(LineString([(-s * 0.26, 0), (s * end, 0)]))
        body.rib_weight = LINE
        if shape.wings == "short":
            body.ribs += [LineString([(x * s, -wide), (x * s, wide)])
                          for x in (-0.12, 0.0, 0.12, 0.24, 0.36)]  # fmt: skip
        if shape.wings == "flat":
            body.ribs += [LineString([(-s * 0.26, side * wide * 0.55), (s * 0.22, 0)])
                          for side in (-1, 1)]  # fmt: skip
    neck = body.region.intersection(shapely.box(-s, -s, -s * 0.28, s))
    body.ribs.append(LineString([(-s * 0.28, -wide), (-s * 0.28, wide)]))
    layer = marked(body, shape.marks)
    layer.tint(neck, shape.neck)
    made.append(layer)
    if shape.pincers or shape.tail_tubes:
        made.append(_tail(shape, s))
    return [placed(found, shape.at, shape.turn) for found in made]


def _limbs(layer: Layer, shape: shapes.Insect, s: float, wide: float) -> None:
    """Legs and feelers."""
    pairs = shape.legs // 2
    lines = []
    for number in range(pairs):
        x = s * (-0.3 + 0.5 * number / max(pairs - 1, 1) * (0.9 if pairs > 3 else 0.8))
        lean = s * (-0.14 + 0.3 * number / max(pairs - 1, 1)) * max(shape.long_legs, 1)
        reach = (0.16 * s) * shape.long_legs
        last = shape.jumps and number == pairs - 1
        for side in (-1, 1):
            knee = (x + lean * 0.5, side * (wide + reach * 0.5))
            foot = (x + lean * (1.6 if last else 1.2), side * (wide + reach))
            if last:
                knee = (x + s * 0.06, side * (wide + 0.18 * s))
                foot = (x + s * 0.36, side * (wide + 0.1 * s))
                thigh = LineString([(x, side * wide * 0.6), knee])
                layer.line(thigh, 3.4)
            lines.append(LineString([(x, 0), knee, foot]))
    if shape.feelers:
        for side in (-1, 1):
            start = (-s * 0.52, side * 0.03 * s)
            reach = shape.feelers * s
            lines.append(outlines.curve([
                start, (start[0] - 0.5 * reach, side * (0.06 * s + 0.3 * reach)),
                (start[0] - 0.85 * reach, side * (0.06 * s + 0.62 * reach)),
            ]))  # fmt: skip
    if lines:
        layer.line(MultiLineString(lines), LINE)


def _spread_wings(shape: shapes.Insect, s: float) -> list[Layer]:
    made = []
    broad = shape.wings == "broad"
    for x, turn, long, high in (
        ((-0.02, 58, 0.75, 0.62), (-0.14, 102, 0.95, 0.72)) if broad
        else ((0.0, 50, 0.7, 0.3), (-0.12, 84, 0.85, 0.32))
    ):  # fmt: skip
        for side in (-1, 1):
            wing = outlines.oval((long * s / 2, 0), long * s, high * s * 0.9)
            if broad:
                wing = outlines.closed([
                    (0, 0), (0.4 * long * s, -0.3 * high * s), (0.95 * long * s, -0.42 * high * s),
                    (long * s, 0.1 * high * s), (0.7 * long * s, 0.45 * high * s),
                    (0.2 * long * s, 0.25 * high * s),
                ])  # fmt: skip
            layer = Layer(wing)
            layer.line(wing.boundary)
            if shape.wings == "clear":
                veins = [LineString([(0.1 * s, 0), (0.95 * long * s, y * high * s)])
                         for y in (-0.25, 0, 0.25)]  # fmt: skip
                layer.line(MultiLineString(veins).intersection(wing), 0.5)
            elif not broad:
                layer.tint(wing.buffer(-1), "none")
            flipped = layer.changed(
                lambda found, side=side: shapely.affinity.scale(found, 1, side, origin=(0, 0))  # type: ignore[misc]
            )
            made.append(placed(flipped, (x * s, 0), side * turn))
    return made


def _tail(shape: shapes.Insect, s: float) -> Layer:
    """Pincers, or the two tubes of an aphid."""
    layer = Layer()
    for side in (-1, 1):
        if shape.pincers:
            points = [(0.49 * s, side * 0.03 * s), (0.58 * s, side * 0.1 * s),
                      (0.68 * s, side * 0.08 * s), (0.73 * s, side * 0.01 * s)]  # fmt: skip
            layer.line(outlines.curve(points), 2)
        else:
            layer.line(LineString([(0.3 * s, side * 0.28 * s), (0.55 * s, side * 0.36 * s)]), 2)
    return layer


def eggs(shape: shapes.Eggs, rng: Random) -> list[Layer]:
    """Eggs about a point."""
    size = shape.size
    made = []
    for x, y in _order(shape):
        layer = Layer()
        match shape.form:
            case "stalked":
                layer.line(LineString([(x, y), (x, y + size * 2.4)]), FINE)
                egg = outlines.oval((x, y), size * 0.6, size)
            case "bullet":
                egg = outlines.closed([(x, y - size * 0.62), (x + size * 0.26, y - size * 0.1),
                                       (x + size * 0.24, y + size * 0.5),
                                       (x - size * 0.24, y + size * 0.5),
                                       (x - size * 0.26, y - size * 0.1)])  # fmt: skip
                top, foot = y - size * 0.3, y + size * 0.4
                ridges = [
                    LineString([(x + d, top), (x + d, foot)]) for d in (-0.1 * size, 0.1 * size)
                ]
                layer.line(MultiLineString(ridges), FINE)
            case "barrel":
                egg = shapely.box(x - size * 0.36, y - size * 0.5, x + size * 0.36, y + size * 0.5)
                egg = egg.buffer(size * 0.08)
                lid = y - size * 0.3
                layer.line(LineString([(x - size * 0.4, lid), (x + size * 0.4, lid)]))
                if shape.banded:
                    for at in (-0.12, 0.32):
                        band = shapely.box(x - size, y + at * size, x + size, y + (at + 0.2) * size)
                        layer.tint(band.intersection(egg), "dark")
            case "round":
                egg = outlines.oval((x, y), size, size)
            case _:
                egg = outlines.oval((x, y), size * 0.62, size)
        layer.region = egg
        layer.line(egg.boundary)
        layer.tint(egg, shape.tone)
        made.append(layer)
    centred = [placed(found, (0, 0), 0) for found in made]
    return [placed(found, shape.at, shape.turn) for found in centred]


def _order(shape: shapes.Eggs) -> list[tuple[float, float]]:
    """Where the eggs stand around (0, 0)."""
    n, size = shape.count, shape.size
    match shape.order:
        case "one":
            return [(0, 0)]
        case "line":
            step = size * {"stalked": 1.3, "barrel": 0.98}.get(shape.form, 0.8)
            return [((i - (n - 1) / 2) * step, 0) for i in range(n)]
        case "rows":
            per = max(n // 3, 1)
            return [((i % per - (per - 1) / 2) * size * 0.85, (i // per - 1) * size * 1.3)
                    for i in range(n)]  # fmt: skip
        case "group":  # two lines that meet, as a V
            half = n // 2
            return [((i - half) * size * 0.85, -abs(i - half) * size * 0.75 + half * size * 0.35)
                    for i in range(n)]  # fmt: skip
    found, ring = [(0.0, 0.0)], 1
    while len(found) < n:
        for i in range(6 * ring):
            turn = 2 * math.pi * i / (6 * ring)
            found.append((ring * size * 0.72 * math.cos(turn), ring * size * 0.92 * math.sin(turn)))
        ring += 1
    return found[:n]
