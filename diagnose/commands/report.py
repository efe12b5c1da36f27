"""diagnose report: what was found and done at a visit, or in a year."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "report", run, "what was found, done and left on a day, or in a whole year",
        "diagnose report 'Hill School' --year 2026 --to year.html",
    )  # fmt: skip
    made.add_argument("names", metavar="GARDEN", nargs="*", default=[])
    made.add_argument("--year", metavar="YYYY", default=None, help="of a whole year, or of all")
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .html or .md")


def run(options: argparse.Namespace) -> int:
    """The report of a day, or of a year."""
    from diagnose.commands.round_common import hand_out, the_day, the_garden, the_store
    from diagnose.pages import rounds

    number = options.year
    if number not in (None, "all") and not (number.isdecimal() and 1900 <= int(number) <= 2100):
        raise UsageError(f"{number!r} is no year; write it as 2026, or all")
    with the_store(options) as store:
        garden = the_garden(store, options, options.names)
        at = rounds.at_garden(the_reasoner(options), store, garden, the_day(options))
        which = int(number) if number and number != "all" else None
        hand_out(options, rounds.year(at, which) if number else rounds.report(at))
    return FINE
