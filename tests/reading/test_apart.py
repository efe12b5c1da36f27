"""A text taken apart: what became of each phrase, and which clauses gave nothing."""

from __future__ import annotations

import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.pages.readings import how_read
from diagnose.reading import apart, read
from diagnose.reading.apart import taken_apart


@pytest.mark.parametrize(
    ("text", "symptom", "why"),
    [
        ("leaves on the tomatoes have brown spots and rings", "fruit-target", apart.OTHER_PART),
        ("onions with rotten fruit", "fruit-rot", apart.NO_SUCH_PART),
        ("tomatoes fine, but last year the leaves had spots", "leaf-spots", apart.OF_THE_PAST),
    ],
)
def test_why_a_phrase_says_nothing(reasoner: Reasoner, text: str, symptom: str, why: str) -> None:
    found = taken_apart(reasoner.lexicon, clean(text)).findings
    reasons = {f.why for f in found if f.match.phrase.target[1] == symptom}
    assert reasons == {why}


def test_each_clause_that_gave_nothing_is_listed(reasoner: Reasoner) -> None:
    text = clean("Leaves have holes, the whatsit wobbles madly, and grandma hums a tune. Spots?")
    found = read(reasoner.lexicon, text, "kale")
    assert [o.symptom for o in found.observations] == ["holes-in-leaves"]
    assert found.unread == ["the whatsit wobbles madly", "and grandma hums a tune", "Spots?"]


def test_a_clause_read_too_weakly_is_listed_too(reasoner: Reasoner) -> None:
    from dataclasses import replace

    text = clean("Leaves have holes, it rained for weeks")
    found = read(reasoner.lexicon, text, "kale")
    assert found.unread == []
    less = replace(found, observations=[o for o in found.observations if o.symptom != "rain"])
    assert less.unread == ["it rained for weeks"]


def test_a_question_and_a_concern_are_no_clause_to_list(reasoner: Reasoner) -> None:
    assert read(reasoner.lexicon, clean("can we eat the tomatoes")).unread == []


def test_the_page_tells_clauses_phrases_and_reasons(
    reasoner: Reasoner, blank: Consultation
) -> None:
    said = clean("The leaves of my tomatoes have spots. No slugs.")
    page = "\n".join(block.text for block in how_read(blank.told(said), said))
    assert "leaves[#leaf @leaf]" in page
    assert "leaf-spots: present; understood" in page
    assert "NOT slugs" in page
