"""What the names of crops stand for, and which crop a text is about."""

from __future__ import annotations

import pytest

from diagnose.consultation import Reasoner
from diagnose.inputs import clean
from diagnose.reading import read
from diagnose.reading.apart import cut_up


def seen(reasoner: Reasoner, text: str) -> dict[str, str]:
    return {o.symptom: o.value for o in read(reasoner.lexicon, clean(text)).observations}


@pytest.mark.parametrize(
    "text",
    [
        "spots on the leaves of my tomato",
        "spots on the leaves of my pepper",
        "Tomatoes: brown blotches on the leaves",
        "tomato leaves have spots",
    ],
)
def test_the_owner_of_a_part_is_not_the_part(reasoner: Reasoner, text: str) -> None:
    found = seen(reasoner, text)
    assert "leaf-spots" in found
    assert not {symptom for symptom in found if symptom.startswith("fruit")}


def test_a_name_stands_for_the_part_that_is_eaten(reasoner: Reasoner) -> None:
    assert "holes-in-leaves" in seen(reasoner, "there are holes in my lettuce")
    assert "fruit-holes" in seen(reasoner, "there are holes in my tomatoes")
    assert "root-tunnels" in seen(reasoner, "there are holes in my spuds")


def test_carrot_tops_are_leaves(reasoner: Reasoner) -> None:
    assert "green-shoulders-root" not in seen(reasoner, "carrots look fine, green tops")


@pytest.mark.parametrize(
    ("text", "crop"),
    [
        ("hardneck has yellow tips", "garlic"),
        ("my spuds are rotting", "potato"),
        ("dots the color of beetroot on the stalks", None),
        ("berries no bigger than pea size", None),
        ("squash bugs came last, the cucumbers wilt", "cucumber"),
        ("next to the tomatoes my basil wilts", "basil"),
        ("beans, peas and kale did well, but the carrots are forked", "carrot"),
        ("the leaves snap when bent", None),
    ],
)
def test_the_crop_that_a_text_is_about(reasoner: Reasoner, text: str, crop: str | None) -> None:
    assert read(reasoner.lexicon, clean(text)).crop == crop


def test_every_crop_named_is_kept(reasoner: Reasoner) -> None:
    found = read(reasoner.lexicon, clean("my spinach and lettuce are shooting up"))
    assert found.named == ("spinach", "lettuce")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("holes in the lettuce, and in the spinach too", "present"),
        ("The beans and the cucumbers wilt", "present"),
        ("The beans wilt, the peppers beside them are fine", "absent"),
        ("The beans wilt. I sowed them after last year's peppers", None),
    ],
)
def test_what_is_said_of_other_crops(reasoner: Reasoner, text: str, value: str | None) -> None:
    assert seen(reasoner, text).get("many-species") == value


def test_the_words_of_a_longer_name_are_no_words_of_their_own(reasoner: Reasoner) -> None:
    [sentence] = cut_up(reasoner.lexicon, clean("sweet potatoes")).sentences
    sweet, potatoes = sentence.tokens
    assert not reasoner.lexicon.keys("sweet") & sweet.keys
    assert potatoes.crop == "sweet-potato"
