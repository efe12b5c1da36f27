"""Two troubles at once."""

from __future__ import annotations

import math
import re
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.kb.model import ABSENT
from diagnose.pages.answer import loose_ends
from diagnose.ready import open_knowledge
from diagnose.reasoning import pairs
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import WORDS

JUNE = date(2026, 6, 15)
GREEN = Observation("green-tuber", "present")
TINY_HOLES = Observation("holes", "tiny")


@pytest.fixture
def potato(tiny: Path) -> Consultation:
    path = tiny / "likelihood.yaml"
    even = re.sub(r"(?m)^second: .*$", "second: {odds: 1, words: 1}", path.read_text())
    path.write_text(even)
    reasoner = Reasoner(open_knowledge(tiny))
    return Consultation(reasoner, JUNE, reasoner.home(), "potato")


def test_a_second_cause_explains_what_the_first_leaves(potato: Consultation) -> None:
    both = potato.observe([GREEN, TINY_HOLES])
    assert both.leading and both.leading.cause == "greening"
    found = both.second
    prior = math.exp(both.prior[both.tables.row["flea-beetle"]])
    # by hand: noisy or, greening 0.97 and 0.07 / 2, flea beetle as anything else and 0.6
    green = 1 - (1 - 0.97) * (1 - 0.02) / (1 - 0.02)
    holes = 1 - (1 - 0.035) * (1 - 0.6) / (1 - 0.14)
    ratio = prior * green / 0.97 * holes / 0.035
    assert found is not None
    assert found.cause == "flea-beetle"
    assert found.chance == pytest.approx(ratio / (1 + ratio))
    assert found.why == (TINY_HOLES,)


def test_one_cause_that_explains_all_has_no_second(potato: Consultation) -> None:
    assert potato.observe([TINY_HOLES]).second is None
    assert potato.observe([GREEN, Observation("holes", ABSENT)]).second is None
    assert potato.second is None


def test_a_second_that_is_ruled_out_is_not_proposed(potato: Consultation) -> None:
    seen = potato.observe([TINY_HOLES, Observation("green-tuber", ABSENT)])
    assert seen.ruled_out
    assert seen.second is None or seen.second.cause != "greening"


TWO = (
    "The bottoms of my tomatoes are black, sunken and leathery. "
    "Big green caterpillars with a horn strip the leaves at night."
)


SHORT = "The bottoms of my tomatoes are black and leathery. Big green caterpillars with a horn."


@pytest.mark.parametrize("words", [TWO, SHORT])
def test_sentences_may_tell_of_two_troubles(reasoner: Reasoner, words: str) -> None:
    tomato = Consultation(reasoner, date(2026, 7, 20), reasoner.home(), "tomato")
    told = tomato.told(clean(words))
    assert told.leading and told.second
    assert {told.leading.cause, told.second.cause} == {"blossom-end-rot", "tomato-hornworm"}
    assert any(seen.symptom == WORDS and seen.words in words for seen in told.second.why)
    page = " ".join(block.text for block in loose_ends(told))
    assert reasoner.knowledge.causes[told.second.cause].name in page
    for sentence in words.split(". "):
        assert tomato.told(clean(sentence)).second is None


def test_a_cause_is_kept_in_mind_for_either_chance(potato: Consultation) -> None:
    """To be the answer, or to be at work beside it: the second is 1 where nothing else may be."""
    both = potato.observe([GREEN, TINY_HOLES])
    assert both.beside is not None
    odds = np.exp(both.beside.odds)
    assert both.beside.chances == pytest.approx(odds / (1 + odds.sum()))
    assert both.counts == pytest.approx(both.chances + both.beside.chances)
    assert both.three[:2] == ("greening", "flea-beetle")


def test_shares_of_nothing_are_no_evidence(potato: Consultation) -> None:
    assert pairs.beside(potato.tables, potato.prior, "greening", []) is None
    heard = np.zeros((1, len(potato.prior)))
    found = pairs.beside(potato.tables, potato.prior, "greening", [], ["x"], heard)
    assert found is not None
    assert pairs.second(potato.tables, found) is None
