"""When to stop asking, each reason by itself and against the others."""

from __future__ import annotations

import pytest

from diagnose.kb.model import Knowledge
from diagnose.reasoning.questions import Question, open_symptoms, why_stop

GOOD = [Question("holes", 0.5, 1.0)]
POOR = [Question("holes", 0.0001, 1.0)]
SPLIT = [("a", 0.5), ("b", 0.49), ("c", 0.01)]


@pytest.fixture
def stop(knowledge: Knowledge):
    """Why to stop, with the shipped numbers."""

    def why(ranked=SPLIT, plans=None, questions=GOOD, asked=0, unsure=0):
        return why_stop(knowledge, ranked, plans or {}, questions, asked, unsure)

    return why


def test_none_where_there_is_something_to_ask(stop) -> None:
    assert stop() is None
    assert stop(ranked=[]) is None


def test_clear_at_the_very_number(stop, knowledge: Knowledge) -> None:
    clear = knowledge.likelihood.stop.clear
    assert stop(ranked=[("a", clear), ("b", 1 - clear)]) == "clear"
    assert stop(ranked=[("a", clear - 0.001), ("b", 0.001)], plans={"a": 1, "b": 2}) != "clear"


def test_the_same_plan(stop) -> None:
    assert stop(plans={"a": "wait", "b": "wait"}) == "same plan"
    assert stop(plans={"a": "wait", "b": "act"}) is None
    assert stop(plans={"a": "wait"}) is None  # a cause without a plan has one of its own
    thin = [("a", 0.5), ("b", 0.3), ("c", 0.2)]
    assert stop(ranked=thin, plans={"a": "wait", "b": "wait", "c": "act"}) is None


def test_enough_asked(stop, knowledge: Knowledge) -> None:
    most = knowledge.likelihood.stop.most_questions
    assert stop(asked=most) == "enough asked"
    assert stop(asked=most - 1) is None


def test_cannot_tell(stop, knowledge: Knowledge) -> None:
    most = knowledge.likelihood.stop.most_unsure
    assert stop(unsure=most) == "cannot tell"
    assert stop(unsure=most - 1) is None


def test_nothing_left(stop, knowledge: Knowledge) -> None:
    least = knowledge.likelihood.stop.least_bits
    assert stop(questions=[]) == "nothing left"
    assert stop(questions=POOR) == "nothing left"
    assert stop(questions=[Question("holes", least * 3, 3.0)]) is None  # bits for the effort
    assert stop(questions=[Question("holes", least * 2.9, 3.0)]) == "nothing left"


def test_what_is_restated_or_skipped_is_not_asked(knowledge: Knowledge) -> None:
    group = next(s.overlaps for s in knowledge.symptoms.values() if s.overlaps)
    alike = {n: s.overlaps for n, s in knowledge.symptoms.items() if s.overlaps == group}
    one, other, *_ = alike
    assert open_symptoms(knowledge, alike, [one], []) == []
    assert open_symptoms(knowledge, alike, [], [one]) == [n for n in alike if n != one]
    assert other in open_symptoms(knowledge, alike, [], [])
