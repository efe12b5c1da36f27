"""A slide: what is shown at one time, with bars that keep their places."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.pages.blocks import Block, Figure


@dataclass(frozen=True, slots=True)
class Bar:
    """A named chance from 0 to 1, the one before it or None, and the highest it ever has.

    Where room is short the bars with the lowest `peak` are left out.
    """

    name: str
    now: float
    before: float | None = None
    peak: float = 1.0


@dataclass(frozen=True, slots=True)
class Slide:
    """What is shown at one time: a title, blocks of text, and bars that keep their places.

    The `figures` are shown where there is room for them beside all that.
    """

    title: str
    page: tuple[Block, ...] = ()
    bars: tuple[Bar, ...] = ()
    figures: tuple[Figure, ...] = ()
