"""diagnose new: begin an entry of the knowledge."""

from __future__ import annotations

import argparse

from diagnose.bench.wanted import WANTED
from diagnose.commands.common import FINE, asker, knowledge_folders
from diagnose.commands.parser import Commands, Parser
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "new", run, "begin a cause, crop, symptom, rule or remedy, its gaps marked",
        "diagnose new cause carrot-fly",
    )  # fmt: skip
    kinds = made.add_subparsers(
        title="what", metavar="WHAT", required=True, dest="what", parser_class=Parser
    )
    for what, wanted in WANTED.items():
        one = kinds.add_parser(
            what, parents=[commands.everywhere], help=f"a new {what}",
            argument_default=argparse.SUPPRESS,
        )  # fmt: skip
        one.add_argument("id", metavar="ID", help="small letters, digits and dashes")
        for name, question in wanted.items():
            one.add_argument(f"--{name}", metavar="X", help=question, default=None)
        if what not in ("cause", "crop"):
            one.add_argument("--file", metavar="FILE", help="the table it goes into", default=None)


def run(options: argparse.Namespace) -> int:
    """Begin an entry."""
    from diagnose.bench import scaffold
    from diagnose.checking.gaps import TO_DO
    from diagnose.kb import load
    from diagnose.terminal.screen import is_terminal

    folders = knowledge_folders(options)
    root, knowledge = folders[-1], load.read(folders).readable
    ask = asker(options, "new-history") if is_terminal() else None
    file = getattr(options, "file", None)
    try:
        path = scaffold.add(options.what, options.id, knowledge, root, vars(options), ask, file)
    except EOFError:
        raise UsageError("stopped; nothing was written") from None
    print(f"Wrote {path}")
    print(f"Fill in what says {TO_DO} and what is empty; diagnose check points it out.")
    return FINE
