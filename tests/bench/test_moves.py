"""What can move a case, and what is only told: held by changing it."""

from __future__ import annotations

import random
from dataclasses import fields
from typing import Any

import msgspec
import numpy as np
import pytest

from diagnose.bench import compare, live
from diagnose.bench.compare import Comparison, Side
from diagnose.checking.changes import differences
from diagnose.checking.worked import Bench, Result, numbers, work
from diagnose.consultation import Reasoner
from diagnose.kb.load import FOLDERS, KINDS, SINGLES, TABLES
from diagnose.kb.model import TOLD, Knowledge
from diagnose.pages.blocks import Block
from diagnose.reading.words import Taken
from tests.bench.conftest import CATERPILLAR, read, swap

STRANGE = "yelloww qwertz"


def other(value: Any) -> Any:
    """Another value in the place of one; nothing stays nothing."""
    match value:
        case bool():
            return not value
        case int():
            return value + 1
        case str():
            return f"{value} {STRANGE}"
        case list() | dict():
            return type(value)()
    return None


def changed(knowledge: Knowledge, kind: str, names: frozenset[str]) -> Knowledge:
    """The knowledge with some fields of every entry of one kind changed."""

    def one(entry: msgspec.Struct) -> msgspec.Struct:
        named = {f.encode_name: f.name for f in msgspec.structs.fields(entry)}
        assert names <= named.keys()
        return msgspec.structs.replace(
            entry, **{named[n]: other(getattr(entry, named[n])) for n in names}
        )

    old = getattr(knowledge, kind)
    new = one(old) if kind in SINGLES else {i: one(entry) for i, entry in old.items()}
    return msgspec.structs.replace(knowledge, **{kind: new})


def outcomes(reasoner: Reasoner) -> list[Result]:
    """A few cases as they come out, chosen by a seed."""
    every = numbers(reasoner.knowledge)
    chosen = random.Random(5).sample(every, 15)
    bench = Bench.of(reasoner.knowledge, reasoner)
    return [work(bench, *one) for one in chosen]


def test_what_is_only_told_moves_nothing_7(knowledge: Knowledge, reasoner: Reasoner) -> None:
    new = knowledge
    for kind, entry in KINDS.items():
        new = changed(new, kind, TOLD.get(entry, frozenset()))
    found = differences(knowledge, new)
    assert {d.kind for d in found} == {k for k, entry in KINDS.items() if entry in TOLD}
    assert not any(d.moves_cases for d in found)
    after = Reasoner(new)
    assert Taken.of(new) == Taken.of(knowledge)
    for one in fields(after.wording.counts):
        old = getattr(reasoner.wording.counts, one.name)
        assert np.array_equal(getattr(after.wording.counts, one.name), old), one.name
    assert outcomes(after) == outcomes(reasoner)


@pytest.mark.parametrize(
    ("kind", "field"),
    [("causes", "summary"), ("causes", "harvest"), ("causes", "mechanism"), ("causes", "spread"),
     ("causes", "cases"), ("causes", "also"), ("remedies", "text"), ("symptoms", "ask"),
     ("symptoms", "look"), ("symptoms", "says"), ("crops", "also")],
)  # fmt: skip
def test_other_words_make_another_lexicon_8(knowledge: Knowledge, kind: str, field: str) -> None:
    new = changed(knowledge, kind, frozenset({field}))
    assert Taken.of(new) != Taken.of(knowledge)
    assert all(d.moves_cases for d in differences(knowledge, new))


def test_the_live_loop_reads_with_the_words_of_today_8(cased) -> None:
    kept = live.Kept({}, {})
    state = live.begin(cased, kept)
    assert state.bench is not None
    swap(cased, "symptoms/all.yaml", "says: [ragged holes]", "says: [ragged holes, yellow holes]")
    state = live.look(cased, kept, state)
    assert state.bench is not None
    assert state.bench.lexicon.mended("yelloww") == "yellow"
    swap(cased, "remedies.yaml", "text: Wait.", "text: Wait yelloww.")
    state = live.look(cased, kept, state)
    assert state.bench is not None
    assert state.bench.lexicon.mended("yelloww") == "yelloww"


def test_mechanism_and_harvest_have_cases_worked_again_7(cased) -> None:
    kept = live.Kept({}, {})
    state = live.begin(cased, kept)
    swap(cased, CATERPILLAR, "Wash the leaves and eat them.", "Wash the leaves, then eat them.")
    assert len(live.look(cased, kept, live.rework(state, 60)).waiting) == 5


@pytest.mark.parametrize("kind", [*FOLDERS, *TABLES, "rules"])
def test_whatever_goes_is_shown_6(cased, kind: str) -> None:
    old = read(cased)
    entries = getattr(old, kind) or getattr(
        msgspec.structs.replace(old, **{kind: {"one": None}}), kind
    )
    with_it = msgspec.structs.replace(old, **{kind: entries})
    without = msgspec.structs.replace(old, **{kind: dict(list(entries.items())[1:])})
    found = tuple(differences(with_it, without))
    sides = (Side("old", with_it, (), None), Side("new", without, (), None))
    page: list[Block] = compare.page(Comparison(*sides, found, None))
    assert any(f"{next(iter(entries))} gone" in str(block) for block in page)
