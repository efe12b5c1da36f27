"""What is asked presupposes nothing, and its answers do not overlap."""

from __future__ import annotations

import re

from diagnose.kb.model import Knowledge

PRESUMES = re.compile(r"\b(still(?!,)|again|any ?more|another time|as before|otherwise)\b")
NEGATED = re.compile(r"\b(isn't|aren't|doesn't|don't|not un\w+|without no)\b")


def test_no_question_presumes_what_nobody_said(knowledge: Knowledge) -> None:
    """Found: "is it still spreading?", "is the newest growth healthy again?", "otherwise"."""
    for symptom in knowledge.symptoms.values():
        names = [symptom.value_name(value) for value in symptom.values]
        for words in (symptom.ask, *names):
            assert not PRESUMES.search(words.lower()), words
            assert not NEGATED.search(words.lower()), words


def test_every_question_asks(knowledge: Knowledge) -> None:
    for name, symptom in knowledge.symptoms.items():
        assert symptom.ask.endswith("?"), name
        assert symptom.ask.count("?") == 1, name
        assert len(symptom.ask) <= 120, name


def test_no_two_answers_are_called_the_same(knowledge: Knowledge) -> None:
    for name, symptom in knowledge.symptoms.items():
        names = [symptom.value_name(value) for value in symptom.values]
        assert len({n.lower() for n in names}) == len(names), name
