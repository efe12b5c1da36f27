"""What would change the answer: a smallest set, found by sums and held against trying them all."""

from __future__ import annotations

import random
from datetime import date
from itertools import combinations
from pathlib import Path

import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.described import own
from diagnose.ready import open_reasoner
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.turning import MOST

JUNE = date(2026, 6, 15)


def at(reasoner: Reasoner, crop: str, *seen: tuple[str, str]) -> Consultation:
    blank = Consultation(reasoner, JUNE, reasoner.home()).about(crop)
    return blank.observe([Observation(symptom, value) for symptom, value in seen])


def answers(state: Consultation) -> list[Observation]:
    """Every answer to what has not been looked at."""
    symptoms = state.reasoner.knowledge.symptoms
    return [Observation(s, value) for s in state.open_symptoms for value in symptoms[s].states]


def turned(state: Consultation, told: list[Observation]) -> bool:
    assert state.leading is not None
    return state.observe(told).standing[0][0] != state.leading.cause


def one_each(told: tuple[Observation, ...]) -> bool:
    return len({seen.symptom for seen in told}) == len(told)


@pytest.mark.parametrize(
    ("crop", "seen"),
    [
        ("kale", [("holes", "ragged")]),
        ("kale", [("holes", "tiny")]),
        ("kale", [("droppings", "present")]),
        ("kale", [("droppings", "absent"), ("holes", "tiny")]),
        ("potato", [("green-tuber", "present")]),
        ("potato", [("holes", "ragged")]),
    ],
)
def test_no_smaller_set_turns_the_answer(
    tiny: Path, crop: str, seen: list[tuple[str, str]]
) -> None:
    state = at(open_reasoner(tiny), crop, *seen)
    found = state.would_change
    if found:
        assert len(found) <= MOST
        assert turned(state, found)
    smaller = range(1, len(found)) if found else range(1, MOST + 1)
    for size in smaller:
        for told in filter(one_each, combinations(answers(state), size)):
            assert not turned(state, list(told)), told


def test_no_single_answer_does_what_two_are_named_for(reasoner: Reasoner) -> None:
    cases = [case for case, _ in own(reasoner.knowledge) if case.crop and case.observations]
    several = 0
    for case in random.Random(2026).sample(cases, 40):
        assert case.crop
        state = at(reasoner, case.crop, *case.observations.items())
        if state.leading is None or not state.would_change:
            continue
        assert turned(state, state.would_change)
        if len(state.would_change) > 1 and several < 2:
            several += 1
            assert not any(turned(state, [answer]) for answer in answers(state))
    assert several == 2
