"""The gardener's own words against the words of each cause."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest

from diagnose.consultation import Reasoner
from diagnose.kb.described import CaseId
from diagnose.ready import open_knowledge
from diagnose.reasoning.wording import Wording, sentences
from tests.conftest import write

SAID = "something munches lacework at dawn"
LETTER = f"""\
q-1:
  cause: caterpillar
  answer: [caterpillar]
  text: {SAID}
  source: made up for this test
"""


@pytest.fixture
def plain(tiny: Path) -> Reasoner:
    return Reasoner(open_knowledge(tiny))


@pytest.fixture
def written(tiny: Path) -> Reasoner:
    write(tiny, {"letters.yaml": LETTER})
    return Reasoner(open_knowledge(tiny))


def weight(reasoner: Reasoner, text: str, cause: str, without: CaseId | None = None) -> float:
    return float(reasoner.wording.weigh(text, without)[reasoner.tables.row[cause]])


def test_words_of_a_letter_count_for_its_cause(written: Reasoner) -> None:
    text = "the lacework is munched"
    others = [weight(written, text, c) for c in written.tables.causes if c != "caterpillar"]
    assert weight(written, text, "caterpillar") > max(others)


def test_a_letter_is_not_weighed_against_itself(plain: Reasoner, written: Reasoner) -> None:
    left_out = weight(written, SAID, "caterpillar", without=("caterpillar", 0))
    assert weight(written, SAID, "caterpillar") > left_out
    assert left_out <= 0


def test_something_else_has_no_wording(written: Reasoner) -> None:
    assert written.wording.weigh(SAID)[-1] == 0
    np.testing.assert_array_equal(written.wording.weigh("zzz qqq"), 0)


def test_words_come_in_company(written: Reasoner) -> None:
    """Of n words each counts n ** -company times."""
    replace = msgspec.structs.replace
    likelihood = written.knowledge.likelihood
    likelihood = replace(likelihood, wording=replace(likelihood.wording, company=0.5))
    knowledge = replace(written.knowledge, likelihood=likelihood)
    company = Wording(knowledge, written.wording.keys).weigh(SAID)
    words = len(set(written.wording.keys(SAID)))
    np.testing.assert_allclose(company, written.wording.weigh(SAID) / words**0.5)


def test_a_text_weighs_what_its_sentences_weigh(written: Reasoner) -> None:
    text = f"{SAID}. Holes in leaves; something else?"
    by_sentence = written.wording.by_sentence(text)
    assert len(by_sentence) == len(sentences(text)) == 3
    np.testing.assert_allclose(by_sentence.sum(axis=0), written.wording.weigh(text))
    assert not by_sentence[2].any()  # its words were counted before
