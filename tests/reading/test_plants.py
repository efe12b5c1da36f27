"""Of two plants with a trouble each, the words of each."""

from __future__ import annotations

import pytest

from diagnose.consultation import Reasoner
from diagnose.inputs import clean
from diagnose.reading.plants import troubled


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "black spot on the bottom of my tomatoes and holes in my kale with green caterpillars",
            {
                "tomato": "black spot on the bottom of my tomatoes",
                "kale": "holes in my kale with green caterpillars",
            },
        ),
        ("my tomatoes have brown spots, the peppers next to them are fine", {"tomato"}),
        ("Holes in the kale leaves. I grow it beside the onions.", {"kale"}),
        ("ragged holes in my kale", set()),
    ],
)
def test_each_plant_has_its_own_words(reasoner: Reasoner, text: str, told) -> None:
    found = troubled(reasoner.lexicon, clean(text))
    assert (dict(found) if isinstance(told, dict) else set(found)) == told
