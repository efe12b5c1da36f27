"""The forms of verbs; spellings as in the Oxford Learner's Dictionaries (from memory)."""

from __future__ import annotations

import pytest

from diagnose.reading.verbs import told


@pytest.mark.parametrize(
    ("verb", "forms"),
    [
        ("lick", "licked licks licking"),
        ("taste", "tasted tastes tasting"),
        ("try", "tried tries trying"),
        ("stab", "stabbed stabs stabbing"),
        ("chew", "chewed chews chewing"),
        ("vomit", "vomited vomits vomiting"),
        ("munch", "munched munches munching"),
        ("die", "died dies dying"),
        ("eat", "ate eaten eats eating"),
        ("put", "put puts putting"),
    ],
)
def test_the_forms_that_tell(verb, forms) -> None:
    irregular = {"eat": ["ate", "eaten"], "put": ["put"]}
    assert told(verb, irregular) == forms.split()


def test_only_the_first_word_changes() -> None:
    assert told("bite into", {"bite": ["bit", "bitten"]}) == [
        "bit into", "bitten into", "bites into", "biting into",
    ]  # fmt: skip
