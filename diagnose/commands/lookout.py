"""diagnose lookout: what to look for now."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, the_reasoner
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "lookout", run, "what to look for now in a garden's beds, or in one bed",
        "diagnose lookout North",
    )  # fmt: skip
    made.add_argument("names", metavar="BED", nargs="*", default=[])
    made.add_argument("--in", metavar="GARDEN", dest="garden", default=None, help="all its beds")
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .html or .md")


def run(options: argparse.Namespace) -> int:
    """The look-outs, most worth it first."""
    from dataclasses import replace

    from diagnose.commands.round_common import (
        garden_of,
        hand_out,
        the_bed,
        the_day,
        the_garden,
        the_store,
    )
    from diagnose.pages import rounds

    with the_store(options) as store:
        if options.names:
            bed = the_bed(store, options, options.names)
            at = rounds.at_garden(
                the_reasoner(options), store, garden_of(store, bed), the_day(options)
            )
            at = replace(at, records=[one for one in at.records if one.bed.id == bed.id])
        else:
            garden = the_garden(store, options, [options.garden] if options.garden else [])
            at = rounds.at_garden(the_reasoner(options), store, garden, the_day(options))
        hand_out(options, rounds.looks(at))
    return FINE
