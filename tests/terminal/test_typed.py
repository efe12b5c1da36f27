"""What a typed line means."""

from __future__ import annotations

import msgspec
import pytest

from diagnose.kb.model import Symptom
from diagnose.terminal import typed

HOLES = Symptom(
    name="holes", part="leaf", ask="Are there holes?", background="sometimes",
    values={"ragged": "large ragged holes", "tiny": "many tiny holes", "orange": "red or orange",
            "rust": "orange dust"},
)  # fmt: skip
OFFERED = ("ragged", "tiny", "orange", "rust", "absent")


@pytest.mark.parametrize(
    ("line", "states"),
    [("1", ("ragged",)), ("RAGGED", ("ragged",)), ("many tiny holes", ("tiny",)),
     ("5", ("absent",)),
     ("none of these", ("absent",)), ("0", ("absent",)), ("no", ("absent",)), ("idk", ("unsure",)),
     ("orange", ("rust",)), ("or", ("rust",)), ("holes", ("ragged", "tiny")), ("6", ()),
     ("yes", ()),
     ("large raged holes", ("ragged",)), ("", ()), ("²", ())],
)  # fmt: skip
def test_answers(line: str, states: tuple[str, ...]) -> None:
    assert typed.answer(line, HOLES, OFFERED).states == states


@pytest.mark.parametrize(
    ("line", "state"),
    [("1 3", "ragged+orange"), ("3, 1", "ragged+orange"), ("not 2", "not-tiny"), ("1 5", None)],
)
def test_several_forms_or_one_denied(line: str, state: str | None) -> None:
    many = msgspec.structs.replace(HOLES, many=True)
    assert typed.answer(line, many, OFFERED).one == state
    told = typed.answer(line, HOLES, OFFERED).one
    assert told == (state if line.startswith("not") else None)


@pytest.mark.parametrize(
    ("line", "found"),
    [("1", [1]), ("1 3", [1, 3]), ("1, 3 are wrong", [1, 3]), ("not 1 3", [1, 3]),
     ("2 is wrong", [2]), ("1 and 2", [1, 2]), ("strike 3", [3]), ("4", None), ("0", None),
     ("it is 1", None), ("yes", None), ("3 weeks ago", None)],
)  # fmt: skip
def test_numbers_of_lines(line: str, found: list[int] | None) -> None:
    assert typed.numbers(line, 3) == found


@pytest.mark.parametrize(
    ("line", "ticked"),
    [("1", [0]), ("1 3", [0, 2]), ("3,1", [0, 2]), ("1 and 2", [0, 1]), ("none", []),
     ("no", []), ("unsure", []), ("dro", [1]), ("4", None), ("0", []), ("s", None), ("-1", None),
     ("1 1", [0])],
)  # fmt: skip
def test_numbers_or_a_name_tick_the_signs(line: str, ticked: list[int] | None) -> None:
    assert typed.ticked(line, ["holes", "droppings", "slime trails"]) == ticked


@pytest.mark.parametrize(
    ("line", "command"),
    [("quit", "leave"), ("Help.", "help"), ("?", "help"), ("SO FAR", "so far"), ("undo", "back"),
     ("slugs", None)],
)  # fmt: skip
def test_commands(line: str, command: str | None) -> None:
    assert typed.command(line) == command


def test_some_words_of_an_answer_are_enough(knowledge) -> None:
    """Found: "dark patches" was refused where the answer is "dark brown or black patches"."""
    spots = knowledge.symptoms["stem-spots"]
    assert typed.answer("the dark patches", spots, spots.states[1:]).one == "dark-patches"
    where = knowledge.symptoms["where-on-plant"]
    assert typed.answer("the older ones", where, where.states[1:]).one == "old"
    assert typed.answer("the leaves", where, where.states[1:]).one is None
    assert typed.answer("the leaves are sticky", where, where.states[1:]).states == ()
