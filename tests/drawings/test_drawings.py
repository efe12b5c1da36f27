"""Pictures: the shipped ones, what they become, and what a wrong description is told."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path
from random import Random
from typing import Any, get_args
from xml.etree import ElementTree

import msgspec
import numpy as np
import pytest
import shapely

from diagnose.checking import check
from diagnose.drawings import as_cells, as_svg, shown
from diagnose.drawings.draw import draw
from diagnose.drawings.picture import SHEET
from diagnose.kb import load, shapes
from diagnose.kb.model import Knowledge
from diagnose.kb.reader import Finding
from tests.conftest import TINY, write

pytestmark = pytest.mark.quick

HOLES = """\
holes-ragged:
  shows: {holes: ragged}
  words: A leaf with large, uneven holes.
  draw:
    - shape: leaf
      outline: oval
      marks: [{mark: holes, count: 3, size: 16}]
"""
# A change of HOLES, the line of what is wrong, its code, and words of the message.
WRONG = {
    "unknown shape": ("shape: leaf", "shape: lef", 5, "wrong-value", "allowed: leaf, stem"),
    "unknown mark": ("mark: holes", "mark: hols", 7, "wrong-value", "allowed: holes, bites"),
    "unknown outline": ("oval", "ovl", 6, "wrong-value", "allowed: oval, heart"),
    "too large": ("size: 16", "size: 900", 7, "wrong-value", "at most 140"),
    "too many": ("count: 3", "count: 3000", 7, "wrong-value", "at most 400"),
    "no number": ("count: 3", "count: few", 7, "wrong-value", "a whole number"),
    "unknown key": ("outline: oval", "colour: red", 5, "wrong-value", "no such key as `colour`"),
    "no such form": (": ragged", ": raged", 2, "unknown-id", "did you mean 'ragged'?"),
    "no such symptom": ("{holes:", "{hole:", 2, "unknown-id", "did you mean 'holes'?"),
    "two forms": ("ragged}", "ragged, droppings: present}", 2, "wrong-value", "shows"),
}


def findings(root: Path, drawing: str) -> list[Finding]:
    write(root, {**TINY, "drawings/all.yaml": drawing})
    gathered = load.read(root)
    return [*gathered.findings, *check.errors(gathered.readable, gathered.broken)]


@pytest.mark.parametrize("fault", WRONG)
def test_what_is_wrong_is_told_with_file_and_line(fault: str, tmp_path: Path) -> None:
    old, new, line, code, words = WRONG[fault]
    assert findings(tmp_path, HOLES) == []
    [found] = findings(tmp_path, HOLES.replace(old, new, 1))
    assert (found.file, found.code) == ("drawings/all.yaml", code)
    assert abs(found.line - line) <= 1
    assert words in found.message


@pytest.fixture(scope="module")
def drawn(knowledge: Knowledge) -> dict[str, shapes.Drawing]:
    return knowledge.drawings


def test_there_are_ninety_and_more(drawn: dict[str, shapes.Drawing]) -> None:
    assert len(drawn) >= 90


def test_every_drawing_makes_a_small_sound_svg(knowledge: Knowledge) -> None:
    for drawing in knowledge.drawings.values():
        made = shown.svg(knowledge, drawing.symptom, drawing.form)
        assert made is not None
        root = ElementTree.fromstring(made)
        names = [element.tag.rpartition("}")[2] for element in root.iter()]
        assert names[:3] == ["svg", "title", "desc"]
        assert set(names[3:]) == {"path"}
        assert root[1].text == drawing.words
        assert not re.search(r"href|url\(|#[0-9a-f]{3}", made)  # nothing from outside, no color
        assert len(made) < 20_000, drawing


def test_nothing_lies_off_the_sheet(drawn: dict[str, shapes.Drawing]) -> None:
    room = SHEET.buffer(0.01)
    for drawing in drawn.values():
        picture = draw(drawing)
        for found in (*picture.strokes, *picture.tints, *picture.specks):
            assert room.covers(shapely.box(*found[0].bounds)), drawing


def test_a_picture_is_the_same_every_time(drawn: dict[str, shapes.Drawing]) -> None:
    for drawing in drawn.values():
        assert as_cells.cells(draw(drawing), 24) == as_cells.cells(draw(drawing), 24)


@pytest.mark.parametrize("columns", [16, 24, 40, 60, 120])
@pytest.mark.parametrize("unicode", [True, False])
def test_cells_keep_to_their_width(knowledge: Knowledge, columns: int, unicode: bool) -> None:
    lines = shown.cells(knowledge, "holes-in-leaves", "ragged", columns, unicode)
    assert lines is not None
    assert len(lines) == as_cells.rows_for(columns)
    assert {len(line) for line in lines} == {columns}
    assert any(line.strip() for line in lines)
    if not unicode:
        assert "".join(lines).isascii()


def test_braille_dots_stand_where_they_are_drawn() -> None:
    # One vertical line at the left edge is dots 1, 2, 3 and 7 of each cell (Unicode 16.0, chapter
    # 21.1; from memory): U+2847.
    line = shapes.Line(points=[(0.5, 0.0), (0.5, 100.0)], smooth=False)
    picture = draw(shapes.Drawing({"holes": "ragged"}, "A line down the left edge.", [line]))
    lines = as_cells.cells(picture, 24)
    assert {line[0] for line in lines} == {"\u2847"}
    assert {line[1:].strip() for line in lines} == {""}


def test_the_forms_of_one_question_look_different(knowledge: Knowledge) -> None:
    """No two have nearly the same dots; people must judge whether they are told apart."""
    for symptom in {d.symptom for d in knowledge.drawings.values()}:
        pictures = {
            form: as_cells.dots(draw(found), 96, 80)
            for form in shown.forms(knowledge, symptom)
            if (found := shown.drawing(knowledge, symptom, form))
        }
        for a, b in combinations(pictures, 2):
            both = np.logical_or(pictures[a], pictures[b]).sum()
            different = np.logical_xor(pictures[a], pictures[b]).sum()
            assert different / both > 0.1, (symptom, a, b)


def any_value(kind: msgspec.inspect.Type, dice: Random) -> Any:
    """A value that a field may hold, often one at the end of its bounds."""
    match kind:
        case msgspec.inspect.BoolType():
            return dice.random() < 0.5
        case msgspec.inspect.IntType(ge=low, le=high):
            return dice.choice([low, min(high, 60), dice.randint(low, min(high, 60))])
        case msgspec.inspect.FloatType(ge=low, le=high):
            return dice.choice([low, high, dice.uniform(low, high)])
        case msgspec.inspect.LiteralType(values=values):
            return dice.choice(values)
        case msgspec.inspect.TupleType(item_types=types):
            return tuple(any_value(inner, dice) for inner in types)
        case msgspec.inspect.ListType(item_type=inner, min_length=least):
            return [any_value(inner, dice) for _ in range(dice.randint(least or 0, 4))]
        case msgspec.inspect.UnionType(types=types):
            return any_value(dice.choice(types), dice)
        case msgspec.inspect.StructType(cls=cls, fields=fields):
            given = [field for field in fields if field.required or dice.random() < 0.6]
            return cls(**{field.name: any_value(field.type, dice) for field in given})
    return None


@pytest.mark.parametrize("kind", get_args(shapes.AnyShape))
@pytest.mark.filterwarnings("error")
def test_whatever_the_bounds_allow_is_drawn(kind: type[shapes.Shape]) -> None:
    known = msgspec.inspect.type_info(kind)
    for seed in range(12):
        shape = any_value(known, Random(seed))
        picture = draw(shapes.Drawing({"a": str(seed)}, "Whatever it may be.", [shape]))
        ElementTree.fromstring(as_svg.svg(picture, "a", "b"))
        assert len(as_cells.cells(picture, 7, unicode=False)) == as_cells.rows_for(7)


def test_what_is_not_drawn_is_none(knowledge: Knowledge) -> None:
    assert shown.svg(knowledge, "holes-in-leaves", "no-such") is None
    assert shown.cells(knowledge, "bitter-taste", "present") is None
    assert shown.forms(knowledge, "bitter-taste") == []
