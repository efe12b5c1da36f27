"""Plants and their parts, the soil and what is on it, as layers of a sheet."""

from __future__ import annotations

import math
from collections.abc import Callable
from random import Random

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity
from shapely import LineString, MultiLineString, MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.drawings import outlines
from diagnose.drawings.body import Body
from diagnose.drawings.picture import FINE, LINE, Layer
from diagnose.drawings.placing import marked, placed
from diagnose.kb import shapes

Array = npt.NDArray[np.float64]


def leaf(shape: shapes.Leaf, rng: Random) -> list[Layer]:
    """A leaf."""
    long = shape.size * (0.86 if shape.stalk else 1.0)
    shift = shape.size / 2 - long
    region = _leaf_region(shape)
    region = shapely.affinity.translate(shapely.affinity.scale(region, long, long, origin=(0, 0)),
                                        shift)  # fmt: skip
    ribs = _ribs(shape, region, shift, long)
    if shape.curl not in ("none", "crinkled"):
        bend = BENDS[shape.curl](long, shift)
        region = outlines.sound(shapely.transform(shapely.segmentize(region, 2), bend))
        ribs = [shapely.transform(shapely.segmentize(rib, 2), bend) for rib in ribs]
    body = Body(region, long, rng, ribs, rib_weight=1.8 if shape.bold else FINE)
    layer = marked(body, shape.marks)
    if shape.curl == "crinkled":
        _puckers(layer, body)
    if shape.curl == "up":
        _rolled(layer, body)
    if shape.stalk:
        end = shift if shape.outline != "heart" else shift + 0.06 * long
        start = end - (shape.size - long)
        layer.line(LineString([(start, 0), (end, 0)]), 2.2)
    if shape.based:
        layer = placed(layer, (shape.size / 2, 0), 0)
    return [placed(layer, shape.at, shape.turn)]


def _leaf_region(shape: shapes.Leaf) -> BaseGeometry:
    """The outline of a leaf of unit length along x."""
    wide = shape.wide
    if shape.outline == "lobed":
        found = shapely.affinity.scale(outlines.lobed(), 1, wide, origin=(0, 0))
    elif shape.outline == "toothed":
        oval = shapely.segmentize(outlines.symmetric(outlines.PROFILES["oval"], wide), 0.02)
        found = outlines.toothed(oval, 26, 0.035)
    elif shape.outline == "compound":
        found = _compound(3, 0.34, 0.62 * wide, "oval")
    elif shape.outline == "fern":
        found = _compound(6, 0.24, 0.5 * wide, "narrow")
    else:
        found = outlines.symmetric(outlines.PROFILES[shape.outline], wide)
    if shape.curl == "crinkled":
        found = outlines.toothed(shapely.segmentize(found, 0.02), 13, 0.04)
        found = outlines.closed(list(found.exterior.coords)[:-1])
    return outlines.sound(found)


def _compound(pairs: int, length: float, wide: float, form: str) -> BaseGeometry:
    """Leaflets on a common stalk."""
    leaflet = outlines.symmetric(outlines.PROFILES[form], wide * 1.4)
    made: list[BaseGeometry] = [LineString([(0, 0), (0.74, 0)]).buffer(0.008)]
    for along, turn, size in outlines.leaflets(pairs, length, 1.0):
        grown = shapely.affinity.scale(leaflet, size, size, origin=(0, 0))
        turned = shapely.affinity.rotate(grown, turn, origin=(0, 0))
        made.append(shapely.affinity.translate(turned, along - (0.22 if turn else 0), 0))
    return shapely.union_all(made)


def _ribs(shape: shapes.Leaf, region: BaseGeometry, low: float, length: float) -> list[LineString]:
    """The veins of a leaf."""
    if shape.veins == "none":
        return []
    middle = LineString([(low, 0), (low + 0.97 * length, 0)])
    if shape.veins == "parallel":
        lines = [middle]
        for share in (-0.66, -0.33, 0.33, 0.66):
            points = [(x, share * outlines.half_width(region, x))
                      for x in np.linspace(low + 0.5, low + 0.93 * length, 14)]  # fmt: skip
            lines.append(LineString(points))
        return lines
    if shape.veins == "fan":
        start = (low + 0.2 * length, 0)
        return [middle] + [
            LineString([start, (start[0] + 0.62 * length * math.cos(a),
                                0.62 * length * math.sin(a))])
            for a in map(math.radians, (-140, -70, 70, 140))
        ]  # fmt: skip
    if shape.outline in ("compound", "fern"):
        return [middle]
    lines, sides = [middle], 5
    for side in (-1, 1):
        before: LineString | None = None
        for number in range(sides):
            x = low + length * (0.1 + 0.155 * number + (0.03 if side > 0 else 0))
            reach = 0.19 * length
            half = outlines.half_width(region, x + reach)
            end = (x + 1.1 * reach, side * half * 1.12)
            bent = (x + 0.55 * reach, side * half * 0.42)
            rib = outlines.curve([(x, 0), bent, end])
            lines.append(rib)
            if shape.veins == "net" and before is not None:
                lines += [
                    LineString([before.interpolate(a, normalized=True),
                                rib.interpolate(b, normalized=True)])
                    for a, b in ((0.36, 0.3), (0.7, 0.62))
                ]  # fmt: skip
            before = rib
    return lines


def _curled_down(long: float, low: float) -> Callable[[Array], Array]:
    """The tip bends down and under."""

    def bend(points: Array) -> Array:
        share = np.clip((points[:, 0] - low) / long, 0, 1)
        angle = np.radians(250) * np.maximum(share - 0.25, 0) ** 1.15
        grid = np.linspace(0, 1, 400)
        turn = np.radians(250) * np.maximum(grid - 0.25, 0) ** 1.15
        xs = low + long * np.concatenate([[0], np.cumsum(np.cos(turn[:-1]))]) / 400
        ys = long * np.concatenate([[0], np.cumsum(np.sin(turn[:-1]))]) / 400
        y = points[:, 1] * (1 - 0.45 * share)
        return np.stack([
            np.interp(share, grid, xs) - y * np.sin(angle),
            np.interp(share, grid, ys) + y * np.cos(angle),
        ], axis=1)  # fmt: skip

    return bend


def _cupped(long: float, low: float) -> Callable[[Array], Array]:
    """Both ends and both edges bend up, as of a spoon seen from the side."""

    def bend(points: Array) -> Array:
        share = (points[:, 0] - low) / long - 0.5
        dip = 0.5 * long * (0.25 - share**2) * 1.5
        return np.stack([points[:, 0], 0.42 * points[:, 1] + dip], axis=1)

    return bend


def _twisted(long: float, low: float) -> Callable[[Array], Array]:
    """Turned about itself."""

    def bend(points: Array) -> Array:
        share = np.clip((points[:, 0] - low) / long, 0, 1)
        width = np.cos(share * 2.6 * np.pi) * 0.9
        return np.stack(
            [points[:, 0], points[:, 1] * width + 0.09 * long * np.sin(share * 2 * np.pi)], axis=1
        )

    return bend


def _rolled_up(long: float, low: float) -> Callable[[Array], Array]:
    """The edges roll up over the middle, so that the leaf is narrower."""
    return lambda points: np.stack([points[:, 0], points[:, 1] * 0.62], axis=1)


BENDS = {"down": _curled_down, "cupped": _cupped, "twisted": _twisted, "up": _rolled_up}


def _rolled(layer: Layer, body: Body) -> None:
    """The edges of a leaf turned up over its middle, with their underside to be seen."""
    low, _, high, _ = body.region.bounds
    for side in (-1, 1):
        inner, outer = [], []
        for share in np.linspace(0.06, 0.94, 16):
            x = low + share * (high - low)
            half = outlines.half_width(body.region, x)
            fold = math.sin(math.pi * share) ** 0.5
            inner.append((x, side * half * (1 - 0.72 * fold)))
            outer.append((x, side * half * (1 + 0.12 * fold)))
        flap = outlines.sound(Polygon([*inner, *outer[::-1]]))
        kept = layer.changed(lambda found, flap=flap: found.difference(flap))  # type: ignore[misc]
        layer.strokes, layer.tints, layer.specks = kept.strokes, kept.tints, kept.specks
        layer.line(flap.boundary, LINE)
        layer.tint(flap.buffer(-1), "brown")
        layer.region = layer.region.union(flap)


def _puckers(layer: Layer, body: Body) -> None:
    """Bulges between the veins."""
    arcs = []
    for x, y in body.scattered(22, body.high * 0.14, body.region.buffer(-4)):
        size = body.high * 0.07
        arcs.append(outlines.curve([(x - size, y + size / 2), (x, y - size / 2),
                                    (x + size, y + size / 2)]))  # fmt: skip
    layer.line(MultiLineString(arcs), LINE)


def stem(shape: shapes.Stem, rng: Random) -> list[Layer]:
    """A stem; its marks lie along it."""
    end = shape.wide if shape.end is None else shape.end
    if not shape.marks:
        region = outlines.ribbon(shape.points, shape.wide, end)
        layer = Layer(region)
        layer.line(region.boundary)
        return [layer]
    (x0, y0), (x1, y1) = shape.points[0], shape.points[-1]
    length, angle = math.hypot(x1 - x0, y1 - y0), math.degrees(math.atan2(y1 - y0, x1 - x0))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    back = [_turned((x - middle[0], y - middle[1]), -angle) for x, y in shape.points]
    body = Body(outlines.ribbon(back, shape.wide, end), length, rng)
    return [placed(marked(body, shape.marks), middle, angle)]


def _turned(point: tuple[float, float], degrees: float) -> tuple[float, float]:
    turn = math.radians(degrees)
    x, y = point
    return x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)


def part(shape: shapes.Part, rng: Random) -> list[Layer]:
    """A fruit, a root, a head: with its stalk end up."""
    size = shape.size
    made = Layer()
    ribs: list[LineString] = []
    match shape.form:
        case "curd":
            region = _curd(size, shape.wide)
        case "flower":
            region, ribs = _flower(size)
        case "oval":
            region = outlines.oval((0, 0), size, size * shape.wide)
        case form:
            region = outlines.symmetric(outlines.PROFILES[form], shape.wide)
            region = shapely.affinity.translate(
                shapely.affinity.scale(region, size, size, origin=(0, 0)), -size / 2
            )
    body = Body(region, size, rng, ribs)
    if not shape.cut:
        body.ribs += _surface(shape.form, body)
    layer = marked(body, shape.marks)
    if shape.cut:
        layer.line(region.buffer(-0.035 * size).boundary, FINE)
    made = _top(shape.form, size)
    return [placed(made, shape.at, shape.turn + 90), placed(layer, shape.at, shape.turn + 90)]


def _surface(form: str, body: Body) -> list[LineString]:
    """The lines that a sound one shows."""
    low, _, high, _ = body.region.bounds
    span = high - low

    def along(share: float, start: float, end: float) -> LineString:
        return LineString([
            (x, share * outlines.half_width(body.region, x))
            for x in np.linspace(low + start * span, low + end * span, 12)
        ])  # fmt: skip

    match form:
        case "ear":
            rows = [along(s, 0.03, 0.96) for s in (-0.6, -0.2, 0.2, 0.6)]
            cross = []
            for x in np.linspace(low + 0.05 * span, low + 0.93 * span, 14):
                half = outlines.half_width(body.region, x)
                cross.append(LineString([(x, -half), (x, half)]))
            return [*rows, *cross]
        case "pepper":
            return [along(-0.35, 0.04, 0.8), along(0.4, 0.04, 0.8)]
        case "pod":
            return [along(0.75, 0.08, 0.92)]
        case "head":
            return [
                outlines.curve([(low + 0.05 * span, 0), (low + 0.35 * span, s * 0.2 * span),
                                (low + 0.75 * span, s * 0.12 * span)])
                for s in (-1.0, 0.15, 1.2)
            ]  # fmt: skip
        case "bulb":
            return [along(s, 0.02, 0.96) for s in (-0.55, 0.0, 0.55)]
        case "carrot":
            return [
                LineString([(low + x * span, s * 0.02 * span), (low + x * span, s * 0.075 * span)])
                for x, s in ((0.15, -1), (0.27, 1), (0.4, -1), (0.55, 0.5))
            ]
    return []


def _top(form: str, size: float) -> Layer:
    """What the stalk end carries: stalk, leaves or husk; lying along x like the part."""
    layer, low = Layer(), -size / 2
    match form:
        case "tomato" | "berry" | "pepper" | "cucumber" | "squash" | "pod":
            layer.line(LineString([(low - 0.1 * size, 0), (low + 0.04 * size, 0)]), 2.4)
            if form in ("tomato", "berry"):
                sepals = [
                    LineString([(low + 0.02 * size, 0), (low - 0.05 * size, s * 0.16 * size)])
                    for s in (-1.0, -0.5, 0.5, 1.0)
                ]
                layer.line(MultiLineString(sepals), LINE)
        case "carrot" | "beet":
            fronds = [
                outlines.curve([(low, 0), (low - 0.12 * size, s * 0.05 * size),
                                (low - 0.3 * size, s * 0.16 * size)])
                for s in (-1.0, -0.35, 0.35, 1.0)
            ]  # fmt: skip
            layer.line(MultiLineString(fronds), LINE)
        case "bulb":
            roots = [
                LineString([(-low * 0.92, s * 0.06 * size), (-low * 1.18, s * 0.16 * size)])
                for s in (-1.0, -0.4, 0.4, 1.0)
            ]
            layer.line(MultiLineString(roots), FINE)
    return layer


def _curd(size: float, wide: float) -> BaseGeometry:
    """A head made of many small domes."""
    domes = [outlines.oval((0.08 * size, 0), 0.66 * size, 0.9 * size * wide)]
    for number in range(9):
        angle = math.radians(-115 + 230 * number / 8)
        domes.append(outlines.oval((-0.3 * size * math.cos(angle) + 0.05 * size,
                                    0.44 * size * wide * math.sin(angle)),
                                   0.3 * size, 0.3 * size))  # fmt: skip
    return shapely.union_all(domes)


def _flower(size: float) -> tuple[BaseGeometry, list[LineString]]:
    """A flower from above."""
    petals = []
    for number in range(8):
        petal = outlines.oval((size * 0.31, 0), size * 0.42, size * 0.2)
        petals.append(shapely.affinity.rotate(petal, 45 * number, origin=(0, 0)))
    ring = outlines.oval((0, 0), size * 0.26, size * 0.26)
    rays = [
        LineString([(size * 0.13 * math.cos(a), size * 0.13 * math.sin(a)),
                    (size * 0.34 * math.cos(a), size * 0.34 * math.sin(a))])
        for a in (math.radians(45 * n) for n in range(8))
    ]  # fmt: skip
    return shapely.union_all([*petals, ring]), [LineString(ring.exterior), *rays]


def patch(shape: shapes.Patch, rng: Random) -> list[Layer]:
    """An area of any outline."""
    area = outlines.closed(shape.points) if shape.smooth else outlines.sound(Polygon(shape.points))
    return [_area(area, shape.tone, shape.rim, shape.marks, rng)]


def oval(shape: shapes.Oval, rng: Random) -> list[Layer]:
    """An ellipse."""
    area = outlines.oval((0, 0), shape.size, shape.size * shape.wide)
    layer = _area(area, shape.tone, shape.rim, shape.marks, rng)
    return [placed(layer, shape.at, shape.turn)]


def _area(
    area: BaseGeometry, tone: str, rim: bool, wanted: list[shapes.AnyMark], rng: Random
) -> Layer:
    low, _, high, _ = area.bounds
    body = Body(area, high - low, rng, outlined=rim)
    body.on.tint(area, tone)
    return marked(body, wanted)


def line(shape: shapes.Line, rng: Random) -> list[Layer]:
    """A line."""
    found = outlines.curve(shape.points) if shape.smooth else LineString(shape.points)
    layer = Layer()
    layer.line(found, shape.weight)
    if shape.hairs:
        hairs = []
        for along in np.arange(1, found.length, 2.6):
            a, b = found.interpolate(along), found.interpolate(along + 0.5)
            dx, dy = b.x - a.x, b.y - a.y
            length = math.hypot(dx, dy) or 1
            side = 1 if rng.random() < 0.5 else -1
            reach = 4.5 * side / length
            hairs.append(LineString([(a.x, a.y), (a.x - dy * reach, a.y + dx * reach)]))
        layer.line(MultiLineString(hairs), FINE)
    return [layer]


def soil(shape: shapes.Soil, rng: Random) -> list[Layer]:
    """The surface of the soil, with crumbs below it."""
    layer = Layer()
    layer.line(LineString([(shape.left, shape.y), (shape.right, shape.y)]), LINE)
    span = shape.right - shape.left
    if shape.wet:
        for number, reach in ((1, 0.9), (2, 0.7), (3, 0.45)):
            y, half = shape.y + 5 * number, span * reach / 2
            middle = (shape.left + shape.right) / 2
            wave = [(middle - half + 2 * half * i / 12, y + (1.4 if i % 2 else -1.4))
                    for i in range(13)]  # fmt: skip
            layer.line(outlines.curve(wave), LINE)
    elif shape.cracked:
        for x in np.linspace(shape.left + 8, shape.right - 8, 6):
            gap = [(x - 2.4, shape.y), (x + rng.uniform(-2, 2), shape.y + 14), (x + 2.4, shape.y)]
            layer.tint(Polygon(gap), "dark")
    else:
        found = [
            (rng.uniform(shape.left + 2, shape.right - 2), shape.y + 3 + 7 * rng.random())
            for _ in range(int(span / 6))
        ]
        layer.dot(MultiPoint(found), 1.2)
    return [layer]


def crumbs(shape: shapes.Crumbs, rng: Random) -> list[Layer]:
    """Loose small things, the flatter the lower `high` is."""
    layer = Layer()
    heap = outlines.oval(shape.at, shape.size, shape.size * shape.high)
    body = Body(heap, shape.size, rng)
    apart = min(shape.grain * max(1.0, shape.long) * 0.95,
                0.8 * math.sqrt(heap.area / shape.count))  # fmt: skip
    for at in body.scattered(shape.count, apart):
        turn = rng.uniform(0, 180) if shape.long != 1 else 0
        grain = outlines.oval(at, shape.grain * shape.long, shape.grain, turn)
        layer.tint(grain, shape.tone)
        if shape.tone != "dark":
            layer.line(grain.boundary, FINE)
    return [layer]


def plant(shape: shapes.Plant, rng: Random) -> list[Layer]:
    """A plant from the side."""
    x, ground = shape.at
    high = shape.size
    made: list[Layer] = []
    bent = 0.22 * high if shape.wilted == "all" else 0.0
    top = (x + bent, ground - high * (0.86 if bent else 1))
    spine = outlines.curve([(x, ground), (x, ground - high * 0.5), top])
    trunk = spine.buffer(high * 0.018)
    layer = Layer(trunk)
    layer.line(trunk.boundary)
    made.append(layer)
    for number in range(shape.pairs):
        first = 0.94 if shape.pairs == 1 else 0.2 if shape.wilted == "none" else 0.5
        share = first + (0.94 - first) * number / max(shape.pairs - 1, 1)
        base = spine.interpolate(share, normalized=True)
        long = high * shape.leaf * (1 - 0.4 * share)
        for side in (-1, 1):
            hangs = shape.wilted == "all" or (shape.wilted == "left" and side < 0)
            droop = 0.93 if hangs else shape.droop
            angle = math.radians(-62 + 140 * droop)
            turn = math.degrees(angle) if side > 0 else 180 - math.degrees(angle)
            leaf_ = outlines.symmetric(outlines.PROFILES["oval"], 0.62 if hangs else 0.95)
            grown = shapely.affinity.scale(leaf_, long, long, origin=(0, 0))
            body = Body(grown, long, rng, [LineString([(0, 0), (long * 0.9, 0)])])
            tone = shape.tone if _has_it(shape.marked, share, side) else "none"
            body.on.tint(body.where(shape.where, 0.5).buffer(-0.5), tone)
            made.append(placed(body.layer(), (base.x, base.y), turn))
    made += _flowering(shape.flower, top, high)
    return made


def _has_it(which: str, share: float, side: int) -> bool:
    """Whether a leaf at a share of the height is one of those."""
    return {
        "old": share < 0.45, "new": share > 0.72, "upper": share > 0.5, "all": True,
        "left": side < 0,
    }.get(which, False)  # fmt: skip


def _flowering(kind: str, top: tuple[float, float], high: float) -> list[Layer]:
    x, y = top
    made = []
    for number in range(5):
        at = (x + high * 0.07 * (number - 2), y - high * (0.05 + 0.06 * (2 - abs(number - 2))))
        layer = Layer()
        if kind in ("buds", "open", "seed"):
            layer.line(LineString([(x, y), at]), FINE)
        if kind == "buds":
            bud = outlines.oval(at, high * 0.05, high * 0.065)
            layer.region = bud
            layer.tint(bud, "dark")
        elif kind == "open":
            area = shapely.affinity.translate(_flower(high * 0.16)[0], *at)
            layer.region = area
            layer.line(area.boundary, FINE)
        elif kind == "seed":
            pod = outlines.oval(at, high * 0.04, high * 0.17, 12 * (number - 2))
            layer.region = pod
            layer.line(pod.boundary, LINE)
        made.append(layer)
    return made


def rosette(shape: shapes.Rosette, rng: Random) -> list[Layer]:
    """A plant from above."""
    made = []
    outline = outlines.PROFILES["oval"]
    rings = ((shape.leaves, 0.5, 0.0, "outer"), (shape.heart, 0.28, 20.0, "heart"))
    for count, reach, offset, ring in rings:
        for number in range(count):
            long = shape.size * reach
            grown = shapely.affinity.scale(outlines.symmetric(outline, 1.1), long, long,
                                           origin=(0, 0))  # fmt: skip
            body = Body(grown, long, rng, [LineString([(0, 0), (long * 0.9, 0)])])
            marked_ = shape.marked == "all" or (ring == "heart") == (shape.marked == "new")
            if shape.marked != "none" and marked_:
                body.on.tint(body.where(shape.where, 0.5).buffer(-0.6), shape.tone)
            made.append(placed(body.layer(), shape.at, offset + 360 * number / count))
    return made


BED = (10.0, 14.0, 110.0, 86.0)  # its edges
ROWS, COLUMNS = 4, 7
SICK = {
    "one": {(1, 4)},
    "patches": {(1, 1), (1, 2), (2, 1), (2, 2), (2, 3), (1, 3)},
    "all": {(r, c) for r in range(ROWS) for c in range(COLUMNS)},
    "edge": {(3, c) for c in range(COLUMNS)},
    "wet-spot": {(3, 5), (3, 6), (2, 5), (2, 6)},
    "row": {(1, c) for c in range(COLUMNS)},
}


def bed(shape: shapes.Bed, rng: Random) -> list[Layer]:
    """A bed from above."""
    frame, plants, sick = Layer(), Layer(), SICK[shape.sick]
    left, top, right, bottom = BED
    frame.line(shapely.box(*BED).boundary, 2)
    if shape.sick == "wet-spot":
        water = outlines.oval((92, 70), 36, 40).intersection(shapely.box(*BED).buffer(-2))
        frame.tint(water, "pale")
        frame.line(water.boundary, FINE)
    if shape.sick == "edge":
        frame.line(LineString([(left, bottom + 6), (right, bottom + 6)]), 2)
        frame.line(LineString([(left, bottom + 10), (right, bottom + 10)]), 2)
    for r in range(ROWS):
        for c in range(COLUMNS):
            x = left + (right - left) * (c + 0.5) / COLUMNS
            y = top + (bottom - top) * (r + 0.5) / ROWS
            if (r, c) in sick:
                cross = [LineString([(x - 4, y - 4), (x + 4, y + 4)]),
                         LineString([(x - 4, y + 4), (x + 4, y - 4)])]  # fmt: skip
                plants.line(MultiLineString(cross), 2.2)
            else:
                plants.line(outlines.oval((x, y), 8, 8).boundary, LINE)
    return [frame, plants]


def prints(shape: shapes.Prints, rng: Random) -> list[Layer]:
    """Tracks across the sheet."""
    layer = Layer()
    for number in range(shape.count):
        x = shape.at[0] + 100 * ((number + 0.5) / shape.count - 0.5)
        y = shape.at[1] + (8 if number % 2 else -8)
        for dx, dy, long, high, turn in FEET[shape.of]:
            layer.tint(outlines.oval((x + dx, y + dy), long, high, turn), "dark")
    return [layer]


# Each foot as ovals: where, how long, how high, turned by.
FEET = {
    "paw": ((0, 0, 12, 11, 0), (9, -8, 5, 4, 0), (11, -2.6, 5, 4, 0), (11, 3.6, 5, 4, 0),
            (8, 9, 5, 4, 0)),
    "hoof": ((0, -4, 18, 6, 8), (0, 4, 18, 6, -8)),
    "bird": ((4, 0, 15, 2.2, 0), (2, -4, 13, 2.2, -35), (2, 4, 13, 2.2, 35), (-7, 0, 9, 2.2, 0)),
    "shoe": ((2, 0, 17, 9, 0), (-11, 0, 8, 8, 0)),
}  # fmt: skip


def slime(shape: shapes.Slime, rng: Random) -> list[Layer]:
    """A shining trail: two fine edges, and glints."""
    band = outlines.ribbon(shape.points, shape.wide, shape.wide)
    layer = Layer(band)
    layer.line(band.boundary, FINE)
    body = Body(band, 1, rng)
    glints = [
        LineString([(x - 1.6, y), (x + 1.6, y)])
        for x, y in body.scattered(int(band.area / 22), 4, band.buffer(-1))
    ]
    layer.line(MultiLineString(glints), LINE)
    return [layer]


def snail(shape: shapes.Snail, rng: Random) -> list[Layer]:
    """A slug or a snail from the side."""
    s = shape.size
    outline = [(-0.5, 0.0), (-0.47, -0.12), (-0.38, -0.15), (-0.2, -0.13), (0.0, -0.16),
               (0.2, -0.13), (0.4, -0.05), (0.55, 0.03), (0.3, 0.05), (-0.2, 0.05),
               (-0.44, 0.05)]  # fmt: skip
    body = outlines.closed([(x * s, y * s) for x, y in outline])
    layer = Layer(body)
    layer.line(body.boundary)
    for x, y in ((-0.53, -0.26), (-0.43, -0.29)):
        horn = LineString([(-0.43 * s, -0.13 * s), (x * s, y * s)])
        layer.line(horn)
        layer.tint(outlines.oval((x * s, y * s), 0.035 * s, 0.035 * s), "dark")
    made = [layer]
    if shape.shell:
        coil = Layer(outlines.oval((0.06 * s, -0.2 * s), 0.46 * s, 0.42 * s))
        coil.line(coil.region.boundary)
        spiral = [
            ((0.06 + r * math.cos(a)) * s, (-0.2 + 0.9 * r * math.sin(a)) * s)
            for a, r in ((1.2 * i, 0.02 + 0.018 * i) for i in range(11))
        ]
        coil.line(outlines.curve(spiral))
        made.append(coil)
    else:
        mantle = [(-0.3, -0.145), (-0.2, -0.05), (-0.05, -0.04), (0.04, -0.155)]
        layer.line(outlines.curve([(x * s, y * s) for x, y in mantle]), FINE)
        for i in range(4):
            x = (0.12 + 0.09 * i) * s
            layer.line(
                LineString(
                    [(x, -0.09 * s + 0.02 * i * s), (x + 0.05 * s, -0.06 * s + 0.02 * i * s)]
                ),
                FINE,
            )
    return [placed(found, shape.at, 0) for found in made]
