"""The gardener's own words against the words of each cause."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from diagnose.consultation import Reasoner
from diagnose.kb.store import open_knowledge
from tests.conftest import write

SAID = "something munches lacework at dawn"
ASKED = f"""\
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
def asked(tiny: Path) -> Reasoner:
    write(tiny, {"questions.yaml": ASKED})
    return Reasoner(open_knowledge(tiny))


def weight(reasoner: Reasoner, text: str, cause: str) -> float:
    return float(reasoner.wording.weigh(text)[reasoner.tables.row[cause]])


def test_words_of_a_published_question_count_for_its_cause(asked: Reasoner) -> None:
    text = "the lacework is munched"
    others = [weight(asked, text, c) for c in asked.tables.causes if c != "caterpillar"]
    assert weight(asked, text, "caterpillar") > max(others)


def test_a_published_question_is_not_weighed_against_itself(
    plain: Reasoner, asked: Reasoner
) -> None:
    text = f"{SAID} "  # the same words, but not known as the question
    assert weight(asked, text, "caterpillar") > weight(asked, SAID, "caterpillar")
    assert weight(asked, SAID, "caterpillar") <= 0


def test_something_else_has_no_wording(asked: Reasoner) -> None:
    assert asked.wording.weigh(SAID)[-1] == 0
    np.testing.assert_array_equal(asked.wording.weigh("zzz qqq"), 0)
