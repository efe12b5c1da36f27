"""The reasons on the screen: their lines add up, and in the order shown."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from diagnose.consultation import Consultation
from diagnose.inputs import clean
from diagnose.pages import first, reasons
from diagnose.pages.blocks import Page
from diagnose.reasoning.alerts import Alert
from diagnose.reasoning.ranking import SOMETHING_ELSE

SOME = 40  # every so many of the described cases
ROUNDED = 0.5  # of a line, and what is lighter is not shown


def points(page: Page) -> list[int]:
    """The points of its lines, in order."""
    return [int(found[0]) for b in page if (found := re.match(r"[+-]\d+", b.mark or ""))]


def total(page: Page) -> int:
    """What it says they are in all."""
    [found] = [re.fullmatch(r"In all ([+-]\d+)\.", b.text) for b in page if "In all" in b.text]
    assert found is not None
    return int(found[1])


def test_reasons_add_up_in_the_order_shown(blank: Consultation) -> None:
    knowledge = blank.reasoner.knowledge
    cases = [case for cause in knowledge.causes.values() for case in cause.cases if case.text]
    for case in cases[::SOME]:
        now = replace(blank, crop=case.crop).told(clean(case.text))
        one, two, *_ = [c for c, _ in now.standing if c != SOMETHING_ELSE]
        shown = [reasons.why_cause(now, cause) for cause in (one, two)]
        totals = [total(page) for page in shown]
        assert totals[0] >= totals[1]
        lines = len(now.lines) + 2
        for page in shown:
            assert abs(sum(points(page)) - total(page)) <= ROUNDED * lines
        rather = reasons.rather(now, one, two)
        if points(rather):
            assert abs(sum(points(rather)) - total(rather)) <= ROUNDED * lines
            assert total(rather) == pytest.approx(totals[0] - totals[1], abs=1)


def test_the_reasons_tell_of_the_rivals_only_what_differs(blank: Consultation) -> None:
    kale = blank.about("kale").told(clean("ragged holes and green crumbs in the heart of my kale"))
    page = reasons.why_first(kale)
    assert sum("rather than" in block.text for block in page) == 2


def test_what_was_said_first_is_one_line_the_second_time() -> None:
    told = [
        Alert("one", "eating", "Do not eat it. And so on.", "you asked"),
        Alert("two", "spray", "Spray nothing. And so on.", "you asked"),
    ]
    [line] = first.reminder(told)
    assert line.text == f"As I said first: Do not eat it. {first.REMINDERS['spray']}"
    assert first.reminder([]) == []
