"""Pages to print: each function gives the text of a file by the ending of its name."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from diagnose.documents.as_text import markdown, sheets
from diagnose.journal import Journal
from diagnose.kb.model import Knowledge
from diagnose.pages import lesson
from diagnose.pages.blocks import Page
from diagnose.teaching.lesson import Lesson
from diagnose.teaching.practice import Round

Forms = Mapping[str, Callable[[], str]]


def forms(pages: Sequence[Page]) -> Forms:
    """Pages as HTML, each beginning on a sheet of its own, or as Markdown."""
    whole = [block for page in pages for block in page]
    return {".html": partial(sheets, pages, pages[0][0].text), ".md": partial(markdown, whole)}


def cause(knowledge: Knowledge, cause_id: str) -> Forms:
    """A cause: a page to hand out."""
    return forms([lesson.cause(knowledge, cause_id)])


def demonstration(journal: Journal, story: str, expected: str) -> Forms:
    """A demonstration: its steps, reasons and plan."""
    return forms([lesson.demonstration(journal, story, expected)])


def practice(played: Round) -> Forms:
    """A round of practice: a sheet to fill in, and its key on a page of its own."""
    return forms([lesson.problem(played), lesson.round_key(played)])


def whole_lesson(made: Lesson) -> Forms:
    """A lesson: its plan, a sheet to copy, and the key on a page of its own."""
    return forms([lesson.plan(made), lesson.lesson_sheet(made), lesson.key(made)])


def blank_sheet() -> Forms:
    """An empty observation sheet."""
    return forms([lesson.sheet()])
