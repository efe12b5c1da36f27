"""diagnose season: the year of a garden, and what is due as a calendar file."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINE, the_reasoner
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "season", run, "the year of a garden, or what is due as a calendar file (.ics)",
        "diagnose season --to due.ics",
    )  # fmt: skip
    made.add_argument("names", metavar="GARDEN", nargs="*", default=[])
    made.add_argument("--to", metavar="FILE", default=None, help="write it: .html, .md or .ics")


def run(options: argparse.Namespace) -> int:
    """The season on a page, or in a file."""
    from diagnose.commands.round_common import hand_out, the_day, the_garden, the_store, write_new
    from diagnose.pages import rounds
    from diagnose.rounds.calendar import ics

    with the_store(options) as store:
        garden = the_garden(store, options, options.names)
        at = rounds.at_garden(the_reasoner(options), store, garden, the_day(options))
        if options.to and options.to.endswith(".ics"):
            beds = {r.bed.id: f"{garden.name}, {r.bed.name}" for r in at.records}
            write_new(Path(options.to).expanduser(), ics(at.due, beds))
        else:
            hand_out(options, rounds.season(at))
    return FINE
