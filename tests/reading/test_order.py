"""Where in the bed, which leaves and how fast are told by the order of words."""

from __future__ import annotations

import pytest

from diagnose.consultation import Reasoner
from diagnose.inputs import clean
from diagnose.reading import Lexicon, read
from diagnose.reading.concerns import classes_named, parsed
from diagnose.reading.order import CROP, patterns


@pytest.fixture
def lexicon(reasoner: Reasoner) -> Lexicon:
    return reasoner.lexicon


@pytest.mark.parametrize(
    ("text", "symptom", "value"),
    [
        ("only the row by the fence has it", "where-in-bed", "edge"),
        ("the ones near the hose are yellow", "where-in-bed", "wet-spot"),
        ("just two of twelve tomatoes have black ends", "where-in-bed", "one"),
        ("every plant is wilting", "where-in-bed", "all"),
        ("four of thirty plants are yellow", "where-in-bed", "patches"),
        ("my lettuce went limp overnight", "how-fast", "overnight"),
        ("the spots covered the leaves within a week", "how-fast", "days"),
        ("it has crept on slowly", "how-fast", "weeks"),
        ("the yellow started at the bottom and moves up", "where-on-plant", "old"),
        ("only the new leaves are pale", "where-on-plant", "new"),
        ("the upper leaves are scorched", "where-on-plant", "upper"),
        ("more and more leaves have spots", "spreading", "present"),
        ("basil in a pot has flies", "container", "present"),
    ],
)
def test_the_order_of_words_tells_it(lexicon: Lexicon, text: str, symptom: str, value: str) -> None:
    found = {o.symptom: o.value for o in read(lexicon, clean(text)).observations}
    assert found.get(symptom) == value


@pytest.mark.parametrize(
    ("text", "symptom"),
    [
        ("something tears bits out of the leaves of my young peas", "where-on-plant"),
        ("the leaves have turned, the roots have big bottoms", "where-on-plant"),
        ("not one of the plants is ill", "where-in-bed"),
        ("each seed gives more than one plant", "where-in-bed"),
        ("after weeks of rain", "how-fast"),
        ("are they still all right for the pot", "container"),
    ],
)
def test_the_same_words_in_another_order_do_not(lexicon: Lexicon, text: str, symptom: str) -> None:
    assert symptom not in {o.symptom for o in read(lexicon, clean(text)).observations}


def test_it_is_told_beside_what_is_seen(lexicon: Lexicon) -> None:
    found = {o.symptom for o in read(lexicon, clean("my lettuce went limp overnight")).observations}
    assert {"wilting", "how-fast"} <= found


def test_every_slot_that_a_pattern_names_is_there(lexicon: Lexicon) -> None:
    known = {*lexicon.knowledge.words.slots, CROP}
    named = {
        slot
        for pattern in patterns(lexicon.knowledge.symptoms)
        for form in parsed(pattern.text)
        for slot in classes_named(form)
        if "|" in pattern.text or "{" in pattern.text
    }
    assert named and named <= known
    assert set(lexicon.knowledge.words.slots) <= named
