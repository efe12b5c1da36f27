"""Ready-made copies: they hold all that a reasoner is made of, or they are made anew."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.kb import load, store
from diagnose.ready import make, open_knowledge, open_reasoner
from tests.conftest import write

SAID = clean("ragged holes and green dropings on my kale, not slugs")
PARTS = {"bytes": b"abc", "none": b"", "numbers": np.arange(5), "reals": np.array([0.5, 1.0])}


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return store.cache_folder()


def copies(cache: Path) -> list[Path]:
    return sorted(cache.glob("*.ready"))


def told(reasoner: Reasoner) -> tuple[object, ...]:
    blank = Consultation(reasoner, reasoner.home().find("longest day", 2026), reasoner.home())
    found = blank.about("kale").told(SAID)
    return found.reading, found.standing, found.ranked


def test_parts_come_back_as_they_were(cache: Path) -> None:
    store.keep("x", PARTS)
    found = store.copy_of("x")
    assert found is not None
    assert found.keys() == PARTS.keys()
    assert bytes(found["bytes"]) == b"abc"
    assert bytes(found["none"]) == b""
    for name in ("numbers", "reals"):
        np.testing.assert_array_equal(found[name], PARTS[name])


def test_a_copy_answers_as_what_it_was_made_from(tiny: Path) -> None:
    made = Reasoner(load.read(tiny).readable)
    open_reasoner(tiny)
    kept = open_reasoner(tiny)
    assert isinstance(kept.parts["knowledge"], memoryview)  # from the copy, that is
    assert told(kept) == told(made)
    assert kept.knowledge == made.knowledge


def test_a_flipped_bit_anywhere_is_seen(tiny: Path, cache: Path) -> None:
    whole = told(open_reasoner(tiny))
    (file,) = copies(cache)
    good = file.read_bytes()
    for place in range(0, len(good), max(1, len(good) // 40)):
        bad = bytearray(good)
        bad[place] ^= 1
        file.write_bytes(bad)
        assert store.copy_of(load.digest(tiny)) is None
    assert told(open_reasoner(tiny)) == whole
    assert file.read_bytes() == good


@pytest.mark.parametrize("cut", [0, 10, 35, 100])
def test_a_copy_cut_short_is_made_anew(tiny: Path, cache: Path, cut: int) -> None:
    whole = told(open_reasoner(tiny))
    (file,) = copies(cache)
    file.write_bytes(file.read_bytes()[:cut])
    assert told(open_reasoner(tiny)) == whole


def test_a_copy_that_lacks_a_part_is_made_anew(tiny: Path) -> None:
    knowledge, parts = make(tiny)
    store.keep(knowledge.digest, {"knowledge": parts["knowledge"]})
    assert open_knowledge(tiny) == knowledge
    assert told(open_reasoner(tiny))


def test_an_edit_makes_a_new_copy(tiny: Path, cache: Path) -> None:
    open_knowledge(tiny)
    write(tiny, {"cautions.yaml": "wash: {text: Wash them.}\n"})
    assert open_knowledge(tiny).cautions["wash"].text == "Wash them."
    assert len(copies(cache)) == 2


def test_the_copies_least_in_use_are_dropped(cache: Path) -> None:
    for number in range(store.KEPT):
        store.keep(f"n{number}", PARTS)
    store.copy_of("n0")
    store.keep("new", PARTS)
    assert store.copy_of("n0") is not None
    assert store.copy_of("n1") is None


def test_the_copy_that_came_with_the_package_is_used(
    tiny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cache: Path
) -> None:
    knowledge, parts = make(tiny)
    monkeypatch.setattr(store, "packaged_folder", lambda: tmp_path / "made")
    store.write(tmp_path / "made", knowledge.digest, parts)
    assert open_knowledge(tiny) == knowledge
    assert not copies(cache)
