"""Files that were parsed before are not parsed again, and say the same."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.kb import load
from diagnose.kb.load import Gathered
from diagnose.kb.reader import Document, Reader
from diagnose.kb.remembered import Remembered
from tests.conftest import TINY, write

pytestmark = pytest.mark.quick


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return write(tmp_path / "kb", TINY)


def read(root: Path) -> tuple[Gathered, Remembered]:
    remembered = Remembered((root,))
    gathered = load.read(root, Reader(root, remembered))
    remembered.keep()
    return gathered, remembered


def test_it_says_the_same_as_parsing_anew(root: Path) -> None:
    plain = load.read(root)
    first, _ = read(root)
    again, remembered = read(root)
    assert len(remembered.before) == len(load.files(root))
    for gathered in (first, again):
        assert gathered.readable == plain.readable
        assert gathered.readable.places == plain.readable.places


def test_only_what_changed_is_parsed(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read(root)
    name = "causes/insect/flea-beetle.yaml"
    write(root, {name: TINY[name] + "also: [jumping beetle]\n"})
    parsed: list[Document] = []
    monkeypatch.setattr(Remembered, "put", lambda self, document: parsed.append(document))
    gathered, _ = read(root)
    assert len(parsed) == 1
    assert gathered.readable.causes["flea-beetle"].also == ["jumping beetle"]


def test_a_broken_file_is_told_of_each_time(root: Path) -> None:
    write(root, {"cautions.yaml": "wash: {text: a}\nwash: {text: b}\n"})
    for _ in range(2):
        assert [f.code for f in read(root)[0].findings] == ["duplicate-key"]


def test_odd_keys_keep_their_lines(root: Path) -> None:
    remembered = Remembered((root,))
    odd = Document({"": {"a/b": 1}}, {(): 1, ("",): 1, ("", "a/b"): 2}, b"1")
    remembered.put(odd)
    remembered.keep()
    assert Remembered((root,)).document(b"1") == odd
