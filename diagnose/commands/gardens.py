"""diagnose gardens: the gardens that are kept."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, place, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.commands.round_common import asked_for


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "gardens", run, "the gardens that you visit: list, add, rename",
        "diagnose gardens --add 'Hill School' --last-frost 05-20",
    )  # fmt: skip
    made.add_argument("names", metavar="GARDEN", nargs="*", default=[])
    asked_for(made, "--add", "NAME", "keep a garden of this name")
    asked_for(made, "--rename", "NAME", "call GARDEN so from now on")


def run(options: argparse.Namespace) -> int:
    """Add, rename, list."""
    import msgspec

    from diagnose.commands.round_common import the_garden, the_store, told
    from diagnose.pages import rounds
    from diagnose.rounds.model import Bed, Garden, new_id

    with the_store(options) as store:
        if options.add is not None:
            here = place(the_reasoner(options).home(), options)
            frosts = str(here.last_frost), str(here.first_frost)
            store.put(
                Garden(
                    new_id(),
                    told(options, options.add, "What is it called?"),
                    here.latitude,
                    *frosts,
                )
            )
        elif options.rename is not None:
            garden = the_garden(store, options, options.names)
            name = told(options, options.rename, "What is it called from now on?")
            store.put(msgspec.structs.replace(garden, name=name))
        beds: dict[str, list[Bed]] = {}
        for bed in store.all(Bed):
            beds.setdefault(bed.garden, []).append(bed)
        screen(options).show(rounds.gardens(store.all(Garden), beds))
    return FINE
