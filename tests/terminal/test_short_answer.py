"""The short answer: about ten lines, on a narrow screen too."""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path

import pytest

from diagnose.cases import work
from diagnose.consultation import Consultation, Reasoner
from diagnose.kb import load
from diagnose.kb.described import own
from diagnose.kb.model import Knowledge
from diagnose.pages import answer
from diagnose.pages.blocks import Page
from diagnose.terminal.screen import lines
from tests.conftest import TINY, write

NAMED = frozenset({"clear", "likely"})
DRAWN = 60
MOST = {40: 12, 100: 10}  # lines by columns


@pytest.fixture(scope="module")
def pages(reasoner: Reasoner) -> dict[str, Page]:
    """Short answers by cause: a described case of each of some drawn causes, where it is named."""
    blank = Consultation(reasoner, date(2026, 6, 15), reasoner.home())
    cases = {case_id[0]: case for case, case_id in own(reasoner.knowledge)}
    drawn = random.Random(1).sample(sorted(cases), DRAWN)
    worked = {cause: work(cases[cause], blank).consultation for cause in drawn}
    return {c: answer.short(w) for c, w in worked.items() if w.verdict in NAMED}


@pytest.mark.parametrize("width", MOST)
def test_it_fits_the_screen(pages: dict[str, Page], width: int) -> None:
    assert len(pages) > DRAWN / 2
    heights = {c: sum(len(lines(b, width)) for b in page) for c, page in pages.items()}
    assert {c: tall for c, tall in heights.items() if tall > MOST[width]} == {}


def test_every_measure_can_be_called_out(knowledge: Knowledge) -> None:
    missing = [r for r, remedy in knowledge.remedies.items() if remedy.short is None]
    assert missing == []


def test_what_is_called_out_is_short(tmp_path: Path) -> None:
    long = TINY["remedies.yaml"].replace("text: Wait.", f"short: {'a' * 45}, text: Wait.")
    [found] = load.read(write(tmp_path, TINY | {"remedies.yaml": long})).findings
    assert (found.file, found.line) == ("remedies.yaml", 2)
    assert "44" in found.message


def test_a_long_sentence_that_forbids_is_no(reasoner: Reasoner) -> None:
    blank = Consultation(reasoner, date(2026, 6, 15), reasoner.home())
    [case, *_] = reasoner.knowledge.causes["herbicide-drift"].cases
    worked = work(case, blank).consultation
    assert worked.answers[0].first == "herbicide-drift"
    said = [block.text for block in answer.short(worked)]
    assert "To eat: no." in said
