"""Gaps that a writer has marked, to be filled before the knowledge is good."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec

from diagnose.checking.subject import Subject
from diagnose.kb.load import FOLDERS, LISTS, TABLES
from diagnose.kb.reader import Finding

TO_DO = "TO DO"


def to_do(subject: Subject) -> Iterator[Finding]:
    """to-do: a text still says TO DO."""
    for kind in (*FOLDERS, *TABLES, *LISTS):
        for entry_id, entry in getattr(subject.knowledge, kind).items():
            if not subject.asked(kind, entry_id):
                continue
            for path, text in _gaps(msgspec.to_builtins(entry), (kind, entry_id)):
                yield subject.finding(path, "to-do", text)


def _gaps(value: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every text with a marked gap, with its path."""
    if isinstance(value, str):
        if TO_DO in value:
            yield path, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _gaps(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _gaps(inner, (*path, str(number)))
