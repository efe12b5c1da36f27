"""Putting what was made around (0, 0) onto its place on the sheet."""

from __future__ import annotations

from collections.abc import Sequence

import shapely.affinity
from shapely.geometry.base import BaseGeometry

from diagnose.drawings import marks
from diagnose.drawings.body import Body
from diagnose.drawings.picture import Layer
from diagnose.kb import shapes


def placed(layer: Layer, at: tuple[float, float], turn: float) -> Layer:
    """A layer turned clockwise around (0, 0) by degrees, and moved to a point."""

    def move(found: BaseGeometry) -> BaseGeometry:
        turned = shapely.affinity.rotate(found, turn, origin=(0, 0)) if turn else found
        return shapely.affinity.translate(turned, *at)

    return layer.changed(move)


def marked(body: Body, wanted: Sequence[shapes.AnyMark]) -> Layer:
    """A body with its marks, as a layer."""
    for mark in wanted if body.region.area else ():
        marks.draw(body, mark)
    return body.layer()
