"""The words of the trade: enough of them, each used, plain and short."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from diagnose.checking.check import examine
from diagnose.checking.subject import prose
from diagnose.kb import names
from diagnose.kb.model import Knowledge
from diagnose.pages import entries


def test_each_word_stands_on_some_screen(knowledge: Knowledge) -> None:
    assert len(knowledge.glossary) >= 60
    shown = [text for (kind, *_), text in prose(knowledge) if kind != "glossary"]
    shown += [symptom.name for symptom in knowledge.symptoms.values()]
    shown += [cause.name for cause in knowledge.causes.values()]
    whole = names.plainly(" ".join(shown))
    for term in knowledge.glossary.values():
        said = (names.plainly(name) for name in (term.name, *term.also))
        assert any(re.search(rf"\b{re.escape(name)}", whole) for name in said), term.name


def test_a_word_is_found_by_any_name(knowledge: Knowledge) -> None:
    for term_id, term in knowledge.glossary.items():
        for name in (term.name, *term.also, term.name.upper()):
            assert names.term(knowledge, name) == term_id
    assert names.term(knowledge, "cheese") is None


@pytest.mark.parametrize("name", ["frass", "late blight", "green tubers", "kale"])
def test_what_it_is_is_told_in_short(knowledge: Knowledge, name: str) -> None:
    assert 1 <= len(entries.what_is(knowledge, name)) <= 3
    assert entries.what_is(knowledge, "cheese") == []


@pytest.mark.quick
def test_two_meanings_of_one_word_are_found(tiny: Path) -> None:
    (tiny / "glossary.yaml").write_text(
        "mine: {name: mine, text: A trail in a leaf.}\n"
        "pit: {name: pit, also: [Mines], text: A hole.}\n"
    )
    found = [f for f in examine(tiny).findings if f.code == "duplicate-id"]
    assert [(f.file, f.line) for f in found] == [("glossary.yaml", 2)]
