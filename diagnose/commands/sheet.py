"""diagnose sheet: an empty observation sheet to print."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "sheet", run, "an empty observation sheet to print", "diagnose sheet --to sheet.html"
    )
    made.add_argument("--to", metavar="FILE", required=True, help="write it, as .html or .md")


def run(options: argparse.Namespace) -> int:
    """The sheet in a file."""
    from diagnose.documents.files import put
    from diagnose.documents.paper import blank_sheet

    print(f"Wrote {put(options.to, blank_sheet())}")
    return FINE
