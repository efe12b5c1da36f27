"""diagnose sheet: a page to take along to a garden."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, the_reasoner
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "sheet", run, "a page to take along: what is due, what to look for, room for notes",
        "diagnose sheet 'Hill School' --to sheet.html",
    )  # fmt: skip
    made.add_argument("names", metavar="GARDEN", nargs="*", default=[])
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .html or .md")


def run(options: argparse.Namespace) -> int:
    """The sheet of a garden."""
    from diagnose.commands.round_common import hand_out, the_day, the_garden, the_store
    from diagnose.pages import rounds
    from diagnose.rounds.visits import open_findings

    with the_store(options) as store:
        garden = the_garden(store, options, options.names)
        at = rounds.at_garden(the_reasoner(options), store, garden, the_day(options))
        still = {one.bed.id: open_findings(one, at.day) for one in at.records}
        hand_out(options, rounds.sheet(at, still))
    return FINE
