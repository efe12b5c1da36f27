"""What was said once and what is said now, side by side, by the sentences of complaints.

`python -m tests.safety.side_by_side [--write]` prints the table, and puts it into docs/safety.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import msgspec

from diagnose.cases import start
from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation
from diagnose.kb.model import Case
from diagnose.kb.store import shipped
from diagnose.pages import answer, first
from diagnose.pages.blocks import Page
from diagnose.ready import open_knowledge
from tests.validation import tables

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "safety.md"


class Once(msgspec.Struct, frozen=True):
    """A sentence, who complained of it, and what was said then."""

    of: str
    text: str
    then: str
    date: date
    crop: str | None = None


def once() -> list[Once]:
    """The sentences, in order."""
    return msgspec.yaml.decode((HERE / "then.yaml").read_bytes(), type=list[Once])


def now(one: Once, blank: Consultation) -> Consultation:
    """The consultation that a sentence begins today."""
    return start(Case(text=one.text, crop=one.crop, date=one.date.isoformat()), blank)


def lines(blank: Consultation) -> Iterator[list[object]]:
    """A line of the table for each sentence."""
    for one in once():
        told = now(one, blank)
        kinds = list(dict.fromkeys(alert.kind for alert in told.alerts))
        plan = "yes" if told.verdict in ("clear", "likely") else "no"
        loud, short = first.alerts(told.alerts), answer.short(told)
        said = _said(loud, 1) if loud else _said(short, 2)
        yield [one.of, one.text, one.then, ", ".join(kinds), told.verdict, said, plan]


def _said(page: Page, most: int) -> str:
    """The first sentences, as they are read aloud, without headings and reasons."""
    spoken = [f"{b.mark} {b.text}".strip() for b in page if b.kind not in ("heading", "note")]
    return " ".join(f"{words.split('. ')[0].rstrip('.')}." for words in spoken[:most])


if __name__ == "__main__":
    given = tables.options(__doc__).parse_args()
    head = ["from", "told", "said then", "alerts now", "verdict", "first lines now", "a plan"]
    blank = Bench.of(open_knowledge(shipped())).blank
    tables.show("side by side", tables.table(head, lines(blank)), given.write, PAGE)
