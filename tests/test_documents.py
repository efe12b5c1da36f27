"""The made parts of the docs are what the program makes now."""

from __future__ import annotations

from tests.documents import pages


def test_the_pages_are_current(reasoner) -> None:
    stale = [path.name for path, now, fresh in pages(reasoner) if now != fresh]
    assert not stale, f"run: python -m tests.documents --write ({', '.join(stale)})"
