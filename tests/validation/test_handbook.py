"""The knowledge against handbooks and the practice of the trade; see data/handbook.yaml.

What was seen in print and what is common practice must hold. What is from memory only warns.
Where sources disagree, docs/conflicts.md says what was chosen.
"""

from __future__ import annotations

import re
import warnings
from pathlib import Path
from typing import Any

import pytest

from diagnose.kb.model import Knowledge
from tests.validation import handbook

ENTRIES = handbook.entries()
WARMTH = handbook.published_warmth(ENTRIES)
SEEN = {"opened", "from memory", "common practice"}
CONFLICTS = Path(__file__).parents[2] / "docs" / "conflicts.md"


@pytest.fixture(scope="module")
def data(knowledge: Knowledge) -> dict[str, Any]:
    return handbook.plain(knowledge)


def test_every_entry_is_whole_and_stands_once() -> None:
    assert len({entry["id"] for entry in ENTRIES}) == len(ENTRIES)
    for entry in ENTRIES:
        assert entry["source"] and entry["seen"] in SEEN and entry["kind"] in handbook.HOLD


@pytest.mark.parametrize("crop", sorted(WARMTH))
def test_germination(data: dict[str, Any], crop: str) -> None:
    sources = "; ".join(
        entry["source"]
        for entry in ENTRIES
        if entry["kind"] == "germination" and crop in entry["rows"]
    )
    found = list(handbook.germination(data["crops"][crop], WARMTH[crop]))
    assert not found, f"{crop}: {'; '.join(found)} ({sources})"


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["id"])
def test_the_knowledge_agrees(data: dict[str, Any], entry: handbook.Entry) -> None:
    found = handbook.off(data, entry)
    if entry["seen"] == "from memory":
        for line in found:
            warnings.warn(f"{line} (from memory: {entry['source']})", stacklevel=1)
    else:
        assert not found, f"{'; '.join(found)} ({entry['seen']}: {entry['source']})"


@pytest.mark.parametrize("crop", ["lettuce", "bok-choy", "radish"])
def test_what_summer_heat_ends_malabar_spinach_bears(data: dict[str, Any], crop: str) -> None:
    """Common practice of the trade, no source."""
    climber = data["crops"]["malabar-spinach"]["growth-c"]
    assert data["crops"][crop]["growth-c"]["max"] < climber["best"][1] < climber["max"]


@pytest.mark.parametrize("kind", ["crops", "causes"])
def test_codes_have_the_published_form(data: dict[str, Any], kind: str) -> None:
    """EPPO codes overview: six signs for animals, germs and viruses, five for plants; 1 first for
    a genus or more."""
    for entry_id, entry in data[kind].items():
        code = entry["code"]
        if code:
            plant = kind == "crops" or entry["kind"] == "weed"
            assert re.fullmatch("[A-Z0-9]{5}" if plant else "[A-Z0-9]{6}", code), entry_id
            assert code[0].isalpha() or code[0] == "1", entry_id


def test_conflicts_name_entries_that_are_held() -> None:
    text = CONFLICTS.read_text(encoding="utf-8")
    known = {entry["id"].partition("/")[0] for entry in ENTRIES}
    named = set(re.findall(r"`([a-z0-9-]+)`", text))
    assert named and named <= known, named - known
