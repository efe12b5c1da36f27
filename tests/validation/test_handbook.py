"""The knowledge against handbooks and the practice of the trade; see knowledge/handbook.yaml.

What was seen in print and what is common practice must hold. What is from memory only warns.
Where sources disagree, docs/conflicts.md says what was chosen.
"""

from __future__ import annotations

import re
import warnings
from pathlib import Path

import pytest

from diagnose.checking.topics import handbook
from diagnose.kb import load
from diagnose.kb.model import Fact, Knowledge
from diagnose.kb.store import shipped

SHIPPED = load.read(shipped()).readable
WARMTH = handbook.published_warmth(SHIPPED)
CONFLICTS = Path(__file__).parents[2] / "docs" / "conflicts.md"


@pytest.mark.parametrize("crop", sorted(WARMTH))
def test_germination(knowledge: Knowledge, crop: str) -> None:
    sources = "; ".join(
        fact.source
        for fact in knowledge.handbook.values()
        if fact.kind == "germination" and crop in fact.rows
    )
    found = [said for _, said in handbook.germination(knowledge, crop, WARMTH[crop])]
    assert not found, f"{crop}: {'; '.join(found)} ({sources})"


@pytest.mark.parametrize("fact", SHIPPED.handbook.values(), ids=lambda fact: fact.id)
def test_the_knowledge_agrees(knowledge: Knowledge, fact: Fact) -> None:
    found = [said for _, said in handbook.off(knowledge, fact)]
    if fact.seen == "from memory":
        for line in found:
            warnings.warn(f"{line} (from memory: {fact.source})", stacklevel=1)
    else:
        assert not found, f"{'; '.join(found)} ({fact.seen}: {fact.source})"


@pytest.mark.parametrize("crop", ["lettuce", "bok-choy", "radish"])
def test_what_summer_heat_ends_malabar_spinach_bears(knowledge: Knowledge, crop: str) -> None:
    """Common practice of the trade, no source."""
    climber, other = (knowledge.crops[c].growth_c for c in ("malabar-spinach", crop))
    assert climber and other and climber.max and other.max
    assert other.max < climber.best[1] < climber.max


@pytest.mark.parametrize("kind", ["crops", "causes"])
def test_codes_have_the_published_form(knowledge: Knowledge, kind: str) -> None:
    """EPPO codes overview: six signs for animals, germs and viruses, five for plants; 1 first for
    a genus or more."""
    for entry_id, entry in getattr(knowledge, kind).items():
        code = entry.code
        if code:
            plant = kind == "crops" or entry.kind == "weed"
            assert re.fullmatch("[A-Z0-9]{5}" if plant else "[A-Z0-9]{6}", code), entry_id
            assert code[0].isalpha() or code[0] == "1", entry_id


def test_conflicts_name_facts_and_sources_that_are_there() -> None:
    text = CONFLICTS.read_text(encoding="utf-8")
    known = {entry.partition("/")[0] for entry in SHIPPED.handbook} | SHIPPED.sources.keys()
    named = set(re.findall(r"`([a-z0-9-]+)`", text))
    assert named and named <= known, named - known
