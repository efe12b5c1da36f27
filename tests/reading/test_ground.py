"""What is asked is not told, and no line is offered that no word of the gardener speaks for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.pages.answer import short, understood
from diagnose.reasoning.facts import Observation


@pytest.fixture(scope="module")
def blank(reasoner: Reasoner) -> Consultation:
    return Bench.of(reasoner.knowledge, reasoner).blank


def signs(consultation: Consultation) -> set[str]:
    assert consultation.reading is not None
    return {seen.symptom for seen in consultation.reading.observations}


@pytest.mark.parametrize(
    "text",
    [
        "my peas look bad",
        "what is wrong with my tomato?",
        "should I water more?",
        "is it too much water",
        "do I have to water the lettuce every day",
        "help my plants are sick, any advice",
        "my cucumbers aren't happy",
        "plus de feuilles jaunes sur mes tomates",
    ],
)
def test_where_nothing_is_told_nothing_is_understood_or_offered(
    blank: Consultation, text: str
) -> None:
    told = blank.told(clean(text))
    assert told.reading is not None
    assert told.reading.observations == [] and told.reading.perhaps == ()


def test_what_is_asked_about_is_told_where_it_is_taken_as_known(blank: Consultation) -> None:
    assert "yellow-leaves" in signs(
        blank.told(clean("Should I cut off the yellow leaves of kale?"))
    )
    assert "fruit-end-rot" in signs(blank.told(clean("Can we eat the tomatoes with black ends?")))
    assert "butterflies" not in signs(blank.told(clean("A caterpillar. Will it be a butterfly?")))


def test_not_to_be_sure_is_not_to_have_understood_nothing(blank: Consultation) -> None:
    empty = blank.told(clean("my peas look bad"))
    assert empty.reading is not None
    faint = Observation("wilting", "present", "text", "bad", 0.2)
    offered = empty.but(reading=replace(empty.reading, perhaps=(faint,)))

    def said(now: Consultation) -> str:
        return " ".join(block.text for block in [*understood(now), *short(now)])

    assert "sure of none" in said(offered) and "understood nothing" not in said(offered)
    assert "sure of none" not in said(empty) and "understood nothing" in said(empty)
