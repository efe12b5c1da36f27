"""What differs between two states of the knowledge, and which cases moved."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.bench.difference import moves
from diagnose.checking.changes import Difference, Field, differences, key, keyed
from diagnose.checking.worked import Result, run_cases
from diagnose.kb.model import Case
from tests.bench.conftest import CATERPILLAR, FLEA_BEETLE, read, swap


def test_nothing_differs_from_itself(cased: Path) -> None:
    assert differences(read(cased), read(cased)) == []


def test_entries_added_gone_and_changed_with_their_fields(cased: Path) -> None:
    old = read(cased)
    swap(cased, CATERPILLAR, "ragged: usually, tiny: seldom", "ragged: often")
    swap(cased, CATERPILLAR, "remedies: [pick]", "remedies: [wait]\nalso: [grub, worm]")
    swap(cased, "remedies.yaml", "hill: {", "mound: {")
    swap(cased, "causes/physiological/greening.yaml", "[hill]", "[mound]")
    swap(cased, "rules/all.yaml", "no tuber is green", "no potato is green")
    swap(cased, "words.yaml", "fine: [fine]", "fine: [fine, well]")
    assert differences(old, read(cased)) == [
        Difference("causes", "caterpillar", "changed", (
            Field("evidence.holes.ragged", "usually", "often"),
            Field("evidence.holes.tiny", "seldom", None),
            Field("also", [], ["grub", "worm"]),
            Field("remedies", ["pick"], ["wait"]),
        ), can_hurt=True),
        Difference("causes", "greening", "changed", (Field("remedies", ["hill"], ["mound"]),),
                   can_hurt=True),
        Difference("remedies", "hill", "gone", can_hurt=True),
        Difference("remedies", "mound", "added", can_hurt=True),
        Difference("rules", "only-greening-if-green", "changed",
                   (Field("because", "no tuber is green", "no potato is green"),)),
        Difference("words", "words", "changed", (Field("fine", ["fine"], ["fine", "well"]),)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("field", "line"),
    [
        (Field("kind", "insect", "mite"), "kind: insect -> mite"),
        (Field("code", None, "ABC"), "code: + ABC"),
        (Field("code", "ABC", None), "code: - ABC"),
        (Field("also", ["a", "b"], ["b", "c d"]), 'also: + "c d"; - a'),
        (Field("also", ["a", "b"], ["b", "a"]), "also: in another order"),
        (Field("evidence.holes", "often", {"tiny": "seldom"}),
         "evidence.holes: often -> {tiny: seldom}"),
        (Field("cases", [], [{"text": "holes in it", "says": ""}]), 'cases: + "holes in it"'),
        (Field("harvest", "word " * 40 + "end", None), f'harvest: - "{"word " * 40}end"'),
        (Field("harvest", "a b c d e f g h i j k", "a b c d e f no g h i j k"),
         'harvest: "... c d e f g h i j ..." -> "... c d e f no g h i j ..."'),
        (Field("harvest", "Eat it.", "Do not eat it."), 'harvest: "Eat it." -> "Do not eat it."'),
    ],
)  # fmt: skip
def test_a_field_as_a_line(field: Field, line: str) -> None:
    assert str(field) == line


def test_what_is_only_told_cannot_move_cases() -> None:
    later, evidence = Field("look-again.for", "a", "b"), Field("evidence.holes", "often", "seldom")
    assert not Difference("causes", "x", "changed", (later,)).moves_cases
    assert Difference("causes", "x", "changed", (later, evidence)).moves_cases
    assert Difference("causes", "x", "gone").moves_cases
    assert Difference(
        "likelihood", "likelihood", "changed", (Field("stop.clear", 1, 2),)
    ).moves_cases


def test_cases_that_moved_know_from_where_to_where(cased: Path) -> None:
    old = read(cased)
    before = keyed(old, run_cases(old))
    swap(cased, FLEA_BEETLE, "holes: {tiny: usually}", "holes: {tiny: seldom, ragged: always}")
    new = read(cased)
    found = moves(before, keyed(new, run_cases(new)), new)
    assert [(m.after.cause, m.after.index, m.fell) for m in found] == [
        ("caterpillar", 1, True), ("flea-beetle", 0, True), ("flea-beetle", 1, False),
        ("flea-beetle", 2, False),
    ]  # fmt: skip
    assert str(found[0]) == 'caterpillar 2 "ragged holes": first -> second, behind flea-beetle'
    assert str(found[3]) == 'flea-beetle 3 "ragged holes": second -> first'


def test_a_case_is_the_same_wherever_it_stands(cased: Path) -> None:
    old = read(cased)
    before = keyed(old, run_cases(old))
    swap(cased, CATERPILLAR, "cases:\n", "cases:\n  - {text: new, crop: kale}\n")
    new = read(cased)
    after = keyed(new, run_cases(new))
    assert len(after) == len(before) + 1
    assert moves(before, after, new) == []


def test_questions_and_problems_are_moves_too(cased: Path) -> None:
    knowledge = read(cased)
    one = key("flea-beetle", knowledge.causes["flea-beetle"].cases[0])

    def moved(before: Result, after: Result) -> list[str]:
        return [str(m).partition(": ")[2] for m in moves({one: before}, {one: after}, knowledge)]

    plain = Result("flea-beetle", 0, place=1, questions=2, place_asked=1)
    more = Result("flea-beetle", 0, place=1, questions=4, place_asked=2)
    broken = Result("flea-beetle", 0, problem="unknown crop 'kal'")
    assert moved(plain, more) == ["questions 2 -> 4, after them first -> second"]
    assert moved(plain, broken)[0].endswith("unknown crop 'kal'")
    assert moved(broken, plain)[0].endswith("can be worked again")


def test_cases_of_one_text_on_two_crops_are_two() -> None:
    assert key("a", Case(text="x", crop="kale")) != key("a", Case(text="x", crop="beet"))
