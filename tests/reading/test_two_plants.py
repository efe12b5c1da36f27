"""What is said of one plant never counts for another."""

from __future__ import annotations

import pytest

from diagnose.consultation import Reasoner
from diagnose.inputs import clean
from diagnose.reading import Lexicon, read


@pytest.fixture
def lexicon(reasoner: Reasoner) -> Lexicon:
    return reasoner.lexicon


def signs(lexicon: Lexicon, text: str, crop: str | None = None) -> set[str]:
    return {seen.symptom for seen in read(lexicon, clean(text), crop).observations}


TWO = "tomato bottoms are black and kale has holes"


def test_each_plant_has_its_own_signs(lexicon: Lexicon) -> None:
    assert signs(lexicon, TWO) == {"fruit-end-rot"}
    assert signs(lexicon, TWO, "kale") == {"holes-in-leaves"}


@pytest.mark.parametrize(
    ("text", "none"),
    [
        ("Tomato leaves are yellow, the peppers have black ends", "fruit-end-rot"),
        ("There are aphids on the beans and white powder on the squash", "white-powder"),
        ("Carrots are forked and my lettuce bolted", "bolting"),
        ("The beets are fine so far. The kale is full of holes, even the heart.", "fine-hairs"),
    ],
)
def test_the_other_ones_sign_is_kept_for_it(lexicon: Lexicon, text: str, none: str) -> None:
    found = read(lexicon, clean(text))
    assert none not in {seen.symptom for seen in found.observations}
    assert all(words in text for words in found.of_others)


def test_what_is_kept_is_not_called_unused(lexicon: Lexicon) -> None:
    found = read(lexicon, clean("Tomato leaves are yellow, the peppers have black ends"))
    assert found.of_others == ("the peppers have black ends",)
    assert found.unread == []


@pytest.mark.parametrize(
    "text",
    [
        "my beans and peas have holes in the leaves",
        "The kale has holes in its leaves, and the chard beside it too",
        "something ate holes in the leaves of my beets and chard",
        "kale leaves have holes, with pea green droppings on them",
    ],
)
def test_names_that_go_together_share_what_is_said(lexicon: Lexicon, text: str) -> None:
    assert "holes-in-leaves" in signs(lexicon, text)


def test_two_plants_with_a_thing_told_of_each_are_kept_apart(reasoner: Reasoner) -> None:
    text = clean("black spot on the bottom of my tomatoes and holes in my kale with caterpillars")
    found = read(reasoner.lexicon, text)
    assert found.crop == "tomato"
    assert {"holes-in-leaves", "caterpillar"}.isdisjoint(o.symptom for o in found.observations)
    again = read(
        reasoner.lexicon, clean("my lettuce tastes bitter and the beets have tunnels in the leaves")
    )
    assert again.of_others == ("the beets have tunnels in the leaves",)
    alike = read(reasoner.lexicon, clean("spots on my tomatoes and peppers"))
    assert "fruit-spots" in {o.symptom for o in alike.observations}
