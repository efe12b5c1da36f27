"""The described texts of each cause, numbered: its cases, and after them its letters."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from diagnose.kb.model import Case, Knowledge

CaseId: TypeAlias = tuple[str, int]
"""A cause, and the number of one of its described texts, from 0."""


def described(knowledge: Knowledge) -> Iterator[tuple[Case, CaseId]]:
    """Every described text as a case with its id, cause by cause.

    A letter is a case that states nothing but its words and the answer; its `id` is the letter's.
    """
    letters: dict[str, list[Case]] = {cause: [] for cause in knowledge.causes}
    for letter_id, letter in knowledge.letters.items():
        answer = [letter.cause, *letter.answer]
        letters[letter.cause].append(
            Case(text=letter.text, crop=letter.crop, date=letter.date, expect=answer, id=letter_id)
        )
    for cause_id, cause in knowledge.causes.items():
        for number, case in enumerate([*cause.cases, *letters[cause_id]]):
            yield case, (cause_id, number)


def own(knowledge: Knowledge) -> list[tuple[Case, CaseId]]:
    """The cases beside the causes."""
    return [(c, out) for c, out in described(knowledge) if not _letter(knowledge, out)]


def published(knowledge: Knowledge) -> list[tuple[Case, CaseId]]:
    """The letters as cases."""
    return [(c, out) for c, out in described(knowledge) if _letter(knowledge, out)]


def _letter(knowledge: Knowledge, ident: CaseId) -> bool:
    cause, number = ident
    return number >= len(knowledge.causes[cause].cases)
