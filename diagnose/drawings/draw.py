"""From a description to a picture; the same description gives the same picture every time."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from random import Random
from typing import Any

from diagnose.drawings import animals, plants
from diagnose.drawings.picture import Layer, Picture, picture
from diagnose.kb import shapes

DRAWN: dict[type[shapes.Shape], Callable[[Any, Random], list[Layer]]] = {
    shapes.Leaf: plants.leaf, shapes.Stem: plants.stem, shapes.Part: plants.part,
    shapes.Patch: plants.patch, shapes.Oval: plants.oval, shapes.Line: plants.line,
    shapes.Soil: plants.soil, shapes.Crumbs: plants.crumbs, shapes.Plant: plants.plant,
    shapes.Rosette: plants.rosette, shapes.Bed: plants.bed, shapes.Prints: plants.prints,
    shapes.Slime: plants.slime, shapes.Snail: plants.snail, shapes.Larva: animals.larva,
    shapes.Insect: animals.insect, shapes.Eggs: animals.eggs,
}  # fmt: skip


def draw(drawing: shapes.Drawing) -> Picture:
    """The picture of a description."""
    seed = zlib.crc32(f"{drawing.symptom}/{drawing.form}".encode())
    layers: list[Layer] = []
    for number, shape in enumerate(drawing.draw):
        layers += DRAWN[type(shape)](shape, Random(seed + number))
    return picture(layers)
