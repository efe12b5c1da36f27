"""diagnose compare: what a change of the knowledge did."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from diagnose.commands.common import FINDINGS, FINE, knowledge_folder, print_json, screen
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "compare", run, "what a change did: entries that differ, cases that moved",
        "diagnose compare HEAD~1 knowledge",
    )  # fmt: skip
    made.add_argument("old", metavar="OLD", help="a knowledge folder or a git revision")
    made.add_argument("new", metavar="NEW", help="another one")
    made.add_argument("--json", action="store_true", help="as JSON", default=False)


def run(options: argparse.Namespace) -> int:
    """What differs; findings (exit code 1) where a case that came first no longer does.

    And where something touches safety, measures or what may be eaten: it wants a second reader.
    """
    from diagnose.bench import compare as comparing

    knowledge = knowledge_folder(options)
    sides = []
    with tempfile.TemporaryDirectory() as scratch:
        for number, name in enumerate((options.old, options.new)):
            into = Path(scratch) / str(number)
            sides.append(comparing.open_side(name, comparing.folder_of(name, knowledge, into)))
    found = comparing.compare(*sides)
    if options.json:
        print_json(comparing.as_json(found))
    else:
        screen(options).show(comparing.page(found))
    return FINDINGS if found.lost or found.can_hurt else FINE
