"""diagnose coverage: what the knowledge covers."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINE, screen, the_knowledge
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "coverage", run, "crops and symptoms by kind of cause, months by cause",
        "diagnose coverage --html coverage.html",
    )  # fmt: skip
    made.add_argument("--html", metavar="FILE", help="write a page of HTML instead", default=None)


def run(options: argparse.Namespace) -> int:
    """The coverage tables."""
    from diagnose.bench import coverage as tables

    knowledge = the_knowledge(options)
    if options.html:
        try:
            Path(options.html).write_text(tables.html_page(knowledge), encoding="utf-8")
        except OSError as error:
            raise UsageError(f"{options.html} cannot be written: {error.strerror}") from None
        print(f"Wrote {options.html}")
        return FINE
    tables.show_coverage(screen(options), knowledge)
    return FINE
