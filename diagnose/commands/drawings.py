"""diagnose drawings: what is drawn, shown in the terminal or on a sheet to look through."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.commands.common import FINE, screen, the_knowledge
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.kb.model import Knowledge


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "drawings", run, "the pictures of what can be seen, of all symptoms or of one",
        "diagnose drawings --to sheet.html",
    )  # fmt: skip
    made.add_argument("names", metavar="SYMPTOM", nargs="*", default=[])
    made.add_argument(
        "--to", metavar="FILE.html", default=None, help="write them on a sheet for a browser"
    )


def run(options: argparse.Namespace) -> int:
    """Show the pictures, or write them."""
    from diagnose.documents.sheets import write
    from diagnose.pages import pictures
    from diagnose.pages.blocks import item, text

    knowledge = the_knowledge(options)
    wanted = _symptoms(knowledge, " ".join(options.names).strip())
    if options.to is None:
        screen(options).show(pictures.of_all(knowledge, wanted))
        return FINE
    files = write(knowledge, wanted, Path(options.to).expanduser())
    drawn = sum(1 for d in knowledge.drawings.values() if d.symptom in wanted)
    page = [text(f"{drawn} drawings."), *(item(f"{f} ({f.stat().st_size:,} bytes)") for f in files)]
    screen(options).show(page)
    return FINE


def _symptoms(knowledge: Knowledge, name: str) -> list[str]:
    """The symptoms with drawings, or the one of that name. Raises UsageError."""
    from diagnose.kb import names

    drawn = {drawing.symptom for drawing in knowledge.drawings.values()}
    if not name:
        return [symptom for symptom in knowledge.symptoms if symptom in drawn]
    found = [named.id for named in names.find(knowledge, name) if named.kind == "symptoms"]
    if not found:
        near = names.nearest(knowledge, name)
        ending = f"; did you mean {', '.join(map(repr, near))}?" if near else ""
        raise UsageError(f"no symptom is called {name!r}{ending}")
    if not drawn & {*found}:
        raise UsageError(f"{found[0]} has no drawings; docs/drawings.md says how to add one")
    return [symptom for symptom in found if symptom in drawn]
