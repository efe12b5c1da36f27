"""Any text, however odd, is taken: the chances sum to 1, and what is kept of it can be read."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.errors import UsageError
from diagnose.inputs import clean
from diagnose.journal import Journal, Told
from diagnose.kb.model import Knowledge
from diagnose.pages.readings import how_read
from diagnose.reading import read
from tests.odd import Odd

COUNT, READ = 60, 360


def test_any_text_is_taken(blank: Consultation, knowledge: Knowledge) -> None:
    crops = [None, *knowledge.crops]
    refused = 0
    for number, text in enumerate(Odd(knowledge).texts(COUNT)):
        begun = blank.about(crops[number % len(crops)])
        try:
            now = Journal.begin(begun).then(Told(text)).now
        except UsageError:
            refused += 1
            continue
        assert np.isfinite(now.chances).all(), text
        assert now.chances.sum() == pytest.approx(1), text
        assert now.verdict
        assert how_read(now, clean(text))
        assert msgspec.json.encode(Told(now.said))
    assert refused < COUNT / 4


def test_any_text_is_read_without_a_fault(reasoner: Reasoner) -> None:
    """`python -m tests.validation.run_odd` reads ten thousand, and times them."""
    knowledge = reasoner.knowledge
    for text in Odd(knowledge).texts(READ):
        try:
            said = clean(text)
        except UsageError:
            continue
        found = read(reasoner.lexicon, said)
        assert all(clause in said for clause in found.unread), text
        assert all(o.words and o.words.split(" ... ")[0] in said for o in found.observations), text
