"""The rules under both engines and by definition; any order of answers; `back`.

Sources: durable_rules and CLIPS, each checked against the other. Random programs are in
tests/reasoning/test_engine.py. Here a share of the cases; run_rules.py takes them all.
"""

from __future__ import annotations

import random
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.consultation import Consultation
from diagnose.kb.model import Knowledge
from diagnose.reasoning.facts import Observation
from tests.validation import folders
from tests.validation.agreement import (
    back_and_again,
    engines,
    fixpoint,
    given_with_answer,
    in_order,
    orders,
    outcome,
    told,
)
from tests.validation.consultations import consultation_of, some

EVERY = 12  # of the cases, one in so many
on_linux = pytest.mark.skipif(sys.platform != "linux", reason="durable_rules is used on Linux only")


@pytest.fixture(scope="module")
def cases(knowledge: Knowledge) -> list[tuple[str, Consultation]]:
    return list(told(knowledge, EVERY))


@on_linux
def test_both_engines_and_the_definition_agree_on_the_cases(
    knowledge: Knowledge, cases: list[tuple[str, Consultation]]
) -> None:
    both = engines(knowledge)
    for cause, consultation in cases:
        for start in (consultation.given, given_with_answer(consultation, cause)):
            expected = fixpoint(knowledge, start)
            for engine in both:
                assert engine.close(start) == expected, (engine.name, cause)


def test_the_order_of_the_observations_changes_nothing(
    cases: list[tuple[str, Consultation]],
) -> None:
    chance = random.Random(5)
    for cause, consultation in cases[::4]:
        expected = outcome(consultation)
        for order in orders(consultation.observations, chance):
            assert outcome(in_order(consultation, order)) == expected, (cause, order)


def test_back_and_the_same_answer_change_nothing(cases: list[tuple[str, Consultation]]) -> None:
    chance = random.Random(6)
    for cause, consultation in cases[::8]:
        assert back_and_again(consultation, chance, 4), cause


@some
@given(st.data(), st.randoms(use_true_random=False))
def test_neither_does_on_random_knowledge(data: st.DataObject, chance: random.Random) -> None:
    files = data.draw(folders.folders())
    blank = consultation_of(files, "kale")
    seen = [Observation(*one) for one in data.draw(folders.seen(files))]
    whole = blank.observe(seen)
    for order in orders(whole.observations, chance):
        assert outcome(in_order(blank, order)) == outcome(whole)
    assert back_and_again(blank, chance, 4)
