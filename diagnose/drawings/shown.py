"""The picture of a form of a symptom, as SVG, as cells of text, or in words.

What draws is imported when the first picture is drawn: most commands draw none.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import msgspec

from diagnose.kb.model import PRESENT, Knowledge
from diagnose.kb.shapes import Drawing

if TYPE_CHECKING:
    from diagnose.drawings.picture import Picture

KEPT = 64  # pictures, so that one shown again is not drawn again


def drawing(knowledge: Knowledge, symptom: str, form: str) -> Drawing | None:
    """The description of a form of a symptom, 'present' for one without forms; None for none."""
    return next(
        (d for d in knowledge.drawings.values() if d.symptom == symptom and d.form == form), None
    )


def forms(knowledge: Knowledge, symptom: str) -> list[str]:
    """The forms of a symptom that are drawn, in the order of its answers."""
    there = {d.form for d in knowledge.drawings.values() if d.symptom == symptom}
    return [form for form in (*knowledge.symptoms[symptom].values, PRESENT) if form in there]


def words(knowledge: Knowledge, symptom: str, form: str) -> str | None:
    """What is to be seen, in one line; None where it is not drawn."""
    found = drawing(knowledge, symptom, form)
    return found.words if found else None


def svg(knowledge: Knowledge, symptom: str, form: str, width: int | None = None) -> str | None:
    """The picture as an `<svg>` element, `width` pixels wide; None where it is not drawn."""
    found = drawing(knowledge, symptom, form)
    return svg_of(found, caption(knowledge, symptom, form), width) if found else None


def cells(
    knowledge: Knowledge, symptom: str, form: str, columns: int = 24, unicode: bool = True
) -> list[str] | None:
    """The picture as lines of text `columns` wide, braille or ASCII; None where it is not drawn."""
    from diagnose.drawings import as_cells

    found = drawing(knowledge, symptom, form)
    return as_cells.cells(picture_of(found), columns, unicode) if found else None


def svg_of(found: Drawing, name: str, width: int | None = None) -> str:
    """The picture of a description under a name, as `svg` gives it."""
    from diagnose.drawings import as_svg

    return as_svg.svg(picture_of(found), name, found.words, width)


def caption(knowledge: Knowledge, symptom: str, form: str) -> str:
    """The name under a picture: the symptom's, and the form's where it has forms."""
    known = knowledge.symptoms[symptom]
    return known.name if form == PRESENT else f"{known.name}: {known.value_name(form)}"


@lru_cache(KEPT)
def _kept(described: bytes) -> Picture:
    from diagnose.drawings.draw import draw

    return draw(msgspec.msgpack.decode(described, type=Drawing))


def picture_of(found: Drawing) -> Picture:
    """The picture of a description."""
    return _kept(msgspec.msgpack.encode(found))
