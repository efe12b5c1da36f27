"""The shapes that a drawing is made of: what may be said of each, and within which bounds.

A sheet is 120 units wide and 100 high; x runs to the right and y down. A shape stands `at` a point,
is `size` units long, and is turned clockwise by `turn` degrees. Where a shape is a part of a plant
or of an animal, `marks` says what is on it. Tones stand for colors: pale (or yellow) is dotted,
brown (or dry) is hatched, dark is solid.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

import msgspec
from msgspec import Meta

WIDTH, HEIGHT = 120.0, 100.0

X: TypeAlias = Annotated[float, Meta(ge=-40, le=160)]
Y: TypeAlias = Annotated[float, Meta(ge=-40, le=140)]
Point: TypeAlias = tuple[X, Y]
Points: TypeAlias = Annotated[list[Point], Meta(min_length=2, max_length=60)]
Size: TypeAlias = Annotated[float, Meta(ge=1, le=140)]
Turn: TypeAlias = Annotated[float, Meta(ge=-360, le=360)]
Share: TypeAlias = Annotated[float, Meta(ge=0, le=1)]
Count: TypeAlias = Annotated[int, Meta(ge=1, le=400)]
Few: TypeAlias = Annotated[int, Meta(ge=0, le=40)]
Ratio: TypeAlias = Annotated[float, Meta(ge=0.02, le=3)]
Weight: TypeAlias = Annotated[float, Meta(ge=0.3, le=8)]
Tone: TypeAlias = Literal["none", "pale", "brown", "dark"]
Where: TypeAlias = Literal[
    "all", "base", "tip", "middle", "edge", "left", "right", "wedges", "patches", "veins",
    "between-veins",
]  # fmt: skip


class Described(msgspec.Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """A value read from a drawing: frozen, no unknown keys, dashes in key names."""


# What is on a part


class Mark(Described, frozen=True, tag_field="mark"):
    """Something on a part of a plant or an animal."""


class Holes(Mark, frozen=True, tag="holes"):
    """Holes, anywhere or `where`: `size` is their width in units."""

    edge: Literal["ragged", "smooth", "torn"] = "ragged"
    count: Count = 5
    size: Size = 12
    where: Where = "all"
    rim: bool = False  # a brown rim is left


class Bites(Mark, frozen=True, tag="bites"):
    """Pieces taken from the edge inward."""

    edge: Literal["ragged", "notched", "smooth", "torn"] = "ragged"
    count: Count = 4
    size: Size = 16


class Lace(Mark, frozen=True, tag="lace"):
    """The soft part between the veins is gone, of a share of the leaf from the tip on."""

    share: Share = 1.0


class Windows(Mark, frozen=True, tag="windows"):
    """Places where one skin is left."""

    count: Count = 5
    size: Size = 16


class Mine(Mark, frozen=True, tag="mine"):
    """A hollow between the skins: a trail that widens, a blotch, or rows of dots."""

    form: Literal["trail", "blotch", "dots"] = "trail"
    count: Count = 1


class Spots(Mark, frozen=True, tag="spots"):
    """Spots, `size` units wide, with all that tells them apart."""

    count: Count = 7
    size: Size = 10
    tone: Tone = "dark"
    rings: Few = 0  # rings inside, as of a target
    halo: bool = False  # a pale ring around
    rim: bool = False  # a line around
    angular: bool = False  # stopped by the veins
    dotted: bool = False  # tiny dots in the middle
    eye: bool = False  # a dark middle
    rough: Share = 0.15  # how uneven their outline is
    where: Where = "all"
    share: Share = 0.4
    mirrored: bool = False  # in pairs, beside the middle line


class Shade(Mark, frozen=True, tag="shade"):
    """A tone over a part of it."""

    tone: Tone = "pale"
    where: Where = "all"
    share: Share = 0.4


class Dots(Mark, frozen=True, tag="dots"):
    """Many small dots: specks, powder, dust, crumbs."""

    count: Count = 150
    size: Annotated[float, Meta(ge=0.5, le=8)] = 1.6
    hollow: bool = False
    where: Where = "all"
    share: Share = 0.4
    heaps: Few = 0  # gathered in so many heaps


class Fuzz(Mark, frozen=True, tag="fuzz"):
    """Patches of fine hairs."""

    count: Count = 4
    size: Size = 20
    where: Where = "all"


class Web(Mark, frozen=True, tag="web"):
    """Fine threads across it."""

    count: Count = 24
    where: Where = "all"


class Streaks(Mark, frozen=True, tag="streaks"):
    """Marks that run along it: `size` long and `wide` wide, in units."""

    count: Count = 5
    size: Size = 40
    wide: Annotated[float, Meta(ge=0.3, le=20)] = 3
    tone: Tone = "brown"
    pointed: bool = True
    wavy: bool = False
    rim: bool = True


class Lumps(Mark, frozen=True, tag="lumps"):
    """Raised bumps, on it or over its edge."""

    count: Count = 8
    size: Size = 8
    tone: Tone = "none"
    where: Where = "all"


class Cracks(Mark, frozen=True, tag="cracks"):
    """Cracks: rings around the stalk end, rays from it, one split, or a fine net."""

    form: Literal["rings", "rays", "split", "net", "along"] = "rays"
    count: Few = 4


class Bands(Mark, frozen=True, tag="bands"):
    """Bands across it, or lines along it."""

    way: Literal["across", "along"] = "across"
    count: Count = 4
    wide: Annotated[float, Meta(ge=0.3, le=60)] = 2
    tone: Tone = "dark"
    start: Share = 0.0
    end: Share = 1.0


AnyMark: TypeAlias = (
    Holes | Bites | Lace | Windows | Mine | Spots | Shade | Dots | Fuzz | Web | Streaks | Lumps
    | Cracks | Bands
)  # fmt: skip


# What is drawn


class Shape(Described, frozen=True, tag_field="shape"):
    """Something drawn."""


class Leaf(Shape, frozen=True, tag="leaf"):
    """A leaf, from its base to its tip; lying, with the tip to the right, unless turned."""

    outline: Literal[
        "oval", "heart", "narrow", "strap", "lobed", "toothed", "round", "compound", "fern"
    ] = "oval"
    veins: Literal["side", "net", "fan", "parallel", "none"] = "side"
    curl: Literal["none", "up", "down", "cupped", "twisted", "crinkled"] = "none"
    at: Point = (60.0, 50.0)
    size: Size = 112
    wide: Ratio = 1.0
    turn: Turn = 0
    based: bool = False  # `at` is where it begins, not its middle
    stalk: bool = True
    bold: bool = False  # veins in thick lines
    marks: list[AnyMark] = []


class Stem(Shape, frozen=True, tag="stem"):
    """A stem or stalk along points; it narrows from `wide` to `end` units."""

    points: Points
    wide: Annotated[float, Meta(ge=0.5, le=60)] = 8
    end: Annotated[float, Meta(ge=0.2, le=60)] | None = None
    marks: list[AnyMark] = []


class Part(Shape, frozen=True, tag="part"):
    """A fruit, root, bulb, head or ear; upright, the stalk or the leaves on top, unless turned."""

    form: Literal[
        "tomato", "pepper", "cucumber", "squash", "pod", "ear", "berry", "head", "curd", "carrot",
        "beet", "tuber", "bulb", "seed", "flower", "oval",
    ]  # fmt: skip
    at: Point = (60.0, 50.0)
    size: Size = 80
    wide: Ratio = 1.0
    turn: Turn = 0
    cut: bool = False  # cut open
    marks: list[AnyMark] = []


class Patch(Shape, frozen=True, tag="patch"):
    """An area of any outline, from its corners."""

    points: Annotated[list[Point], Meta(min_length=3, max_length=60)]
    smooth: bool = True
    tone: Tone = "none"
    rim: bool = True
    marks: list[AnyMark] = []


class Oval(Shape, frozen=True, tag="oval"):
    """An ellipse `size` long and `wide` times that high."""

    at: Point
    size: Size
    wide: Ratio = 1.0
    turn: Turn = 0
    tone: Tone = "none"
    rim: bool = True
    marks: list[AnyMark] = []


class Line(Shape, frozen=True, tag="line"):
    """A line through points."""

    points: Points
    smooth: bool = True
    weight: Weight = 1.2
    hairs: bool = False  # small hairs all along it


class Soil(Shape, frozen=True, tag="soil"):
    """The surface of the soil, at a height."""

    y: Y = 80
    left: X = 2
    right: X = 118
    cracked: bool = False
    wet: bool = False


class Crumbs(Shape, frozen=True, tag="crumbs"):
    """Loose small things about a point: droppings, crumbs, grains."""

    at: Point
    size: Size = 30
    count: Count = 20
    grain: Annotated[float, Meta(ge=0.5, le=20)] = 2
    long: Ratio = 1.0
    tone: Tone = "dark"
    high: Ratio = 0.4  # of the heap, as a share of its width


class Larva(Shape, frozen=True, tag="larva"):
    """A caterpillar, maggot or grub, head to the left unless turned."""

    at: Point = (60.0, 50.0)
    size: Size = 90
    wide: Ratio = 0.16
    turn: Turn = 0
    curve: Literal["straight", "arched", "curled", "wave", "hump"] = "straight"
    rings: Few = 10
    head: Tone | Literal["no-head"] = "brown"
    legs: Literal["all", "ends", "front", "many", "none"] = "all"
    hairs: Literal["none", "short", "spines", "long"] = "none"
    horn: bool = False
    marks: list[AnyMark] = []


class Insect(Shape, frozen=True, tag="insect"):
    """A grown insect from above, head to the left unless turned."""

    at: Point = (60.0, 50.0)
    size: Size = 70
    turn: Turn = 0
    body: Literal["round", "oval", "slim", "shield", "long", "pear", "waisted", "wedge"] = "oval"
    wings: Literal["none", "cases", "flat", "spread", "clear", "short", "broad"] = "none"
    tone: Tone = "none"
    head: Tone = "dark"
    neck: Tone = "none"  # the shield behind the head
    legs: Few = 6
    long_legs: Ratio = 1.0
    jumps: bool = False
    feelers: Share = 0.4  # as a share of its length; 0 for none
    snout: bool = False
    pincers: bool = False
    tail_tubes: bool = False
    marks: list[AnyMark] = []


class Eggs(Shape, frozen=True, tag="eggs"):
    """Eggs about a point."""

    at: Point = (60.0, 50.0)
    form: Literal["oval", "bullet", "barrel", "round", "stalked"] = "oval"
    order: Literal["rows", "heap", "one", "group", "line"] = "heap"
    count: Count = 9
    size: Size = 12  # of one
    tone: Tone = "none"
    turn: Turn = 0
    banded: bool = False


class Plant(Shape, frozen=True, tag="plant"):
    """A whole plant on a stem: leaves in pairs, the oldest below; it stands on the soil."""

    at: Point = (60.0, 84.0)  # where it comes out of the soil
    size: Size = 70
    pairs: Annotated[int, Meta(ge=1, le=12)] = 4
    leaf: Ratio = 0.42  # length of a leaf, of the plant's height
    droop: Share = 0.25  # of the leaves: 0 upright, 1 hanging
    wilted: Literal["none", "left", "all"] = "none"
    marked: Literal["none", "old", "new", "all", "upper", "left"] = "none"
    tone: Tone = "brown"
    where: Where = "all"  # of the leaves that are marked
    flower: Literal["none", "buds", "open", "seed"] = "none"


class Rosette(Shape, frozen=True, tag="rosette"):
    """A plant from above, its leaves in a ring around a heart."""

    at: Point = (60.0, 50.0)
    size: Size = 84
    leaves: Annotated[int, Meta(ge=3, le=24)] = 9
    heart: Few = 5
    marked: Literal["none", "old", "new", "all", "outer"] = "none"
    tone: Tone = "brown"
    where: Where = "all"


class Bed(Shape, frozen=True, tag="bed"):
    """A bed from above with its plants as dots; the sick ones are crossed out."""

    sick: Literal["one", "patches", "all", "edge", "wet-spot", "row"]


class Prints(Shape, frozen=True, tag="prints"):
    """Tracks of an animal."""

    of: Literal["paw", "hoof", "bird", "shoe"]
    count: Count = 4
    at: Point = (60.0, 50.0)  # the middle of the line


class Slime(Shape, frozen=True, tag="slime"):
    """A trail of slime through points."""

    points: Points
    wide: Annotated[float, Meta(ge=1, le=20)] = 5


class Snail(Shape, frozen=True, tag="snail"):
    """A slug, or with a shell a snail; head to the left."""

    at: Point = (60.0, 60.0)
    size: Size = 80
    shell: bool = False


AnyShape: TypeAlias = (
    Leaf | Stem | Part | Patch | Oval | Line | Soil | Crumbs | Larva | Insect | Eggs | Plant
    | Rosette | Bed | Prints | Slime | Snail
)  # fmt: skip


class Drawing(Described, frozen=True):
    """A picture of one form of a symptom, or of a symptom that has no forms ('present').

    `words` says it in one line for those who cannot see it.
    """

    shows: Annotated[dict[str, str], Meta(min_length=1, max_length=1)]
    words: Annotated[str, Meta(min_length=10, max_length=110)]
    draw: Annotated[list[AnyShape], Meta(min_length=1, max_length=40)]

    @property
    def symptom(self) -> str:
        """The symptom that it shows."""
        return next(iter(self.shows))

    @property
    def form(self) -> str:
        """The form of the symptom that it shows."""
        return self.shows[self.symptom]
