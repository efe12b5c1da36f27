"""A plant that is well can be told to be so."""

from __future__ import annotations

from dataclasses import replace

from diagnose.consultation import Consultation
from diagnose.inputs import clean
from diagnose.pages import answer


def words(page) -> str:
    return " ".join(block.text for block in page)


def test_nothing_wrong_ends_as_well(blank: Consultation) -> None:
    """Found: a healthy carrot was asked through, and got a plan for another trouble."""
    now = replace(blank, crop="carrot").told(clean("carrots look fine, green tops, nothing wrong"))
    assert now.well
    said = words(answer.one_shot(now))
    assert "it is well" in said
    assert "What it may be" not in said


def test_a_trouble_beside_it_is_a_trouble(blank: Consultation) -> None:
    now = replace(blank, crop="carrot").told(clean("the carrot tops look fine, but they wilt"))
    assert not now.well
