"""diagnose beds: the beds of a garden, what stands in them, and all that is kept of one."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, screen, the_reasoner
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "beds", run, "the beds of a garden: list, add, rename, plant, clear, look at one",
        "diagnose beds North --plant kale --date 2026-05-02",
    )  # fmt: skip
    made.add_argument("names", metavar="BED", nargs="*", default=[])
    made.add_argument("--in", metavar="GARDEN", dest="garden", default=None, help="in this garden")
    made.add_argument("--add", metavar="NAME", default=None, help="keep a bed of this name")
    made.add_argument("--rename", metavar="NAME", default=None, help="call BED so from now on")
    made.add_argument("--plant", metavar="CROP", default=None, help="a crop stands in BED from now")
    made.add_argument("--clear", metavar="CROP", default=None, help="a crop in BED is over now")


def run(options: argparse.Namespace) -> int:
    """Change what is told, then show the bed, or all beds of the garden."""
    import msgspec

    from diagnose.commands.round_common import (
        garden_of,
        named,
        the_bed,
        the_crop,
        the_day,
        the_garden,
        the_store,
    )
    from diagnose.pages import rounds
    from diagnose.rounds.history import records
    from diagnose.rounds.model import Bed, Due, new_id
    from diagnose.rounds.visits import clear, plant

    reasoner, day = the_reasoner(options), the_day(options)
    with the_store() as store:
        bed: Bed | None = None
        if options.add:
            garden = the_garden(store, options, [options.garden] if options.garden else [])
            bed = Bed(new_id(), garden.id, named([options.add]))
            store.put(bed)
        elif options.names or options.plant or options.clear or options.rename:
            bed = the_bed(store, options, options.names)
        if bed is not None and options.rename:
            bed = msgspec.structs.replace(bed, name=named([options.rename]))
            store.put(bed)
        if bed is not None and options.plant:
            plant(store, bed, the_crop(reasoner.knowledge, options.plant), day)
        if bed is not None and options.clear:
            clear(store, bed, the_crop(reasoner.knowledge, options.clear), day)
        if bed is None:
            garden = the_garden(store, options, [options.garden] if options.garden else [])
        else:
            garden = garden_of(store, bed)
        found = records(store, garden)
        due = [d for d in store.under(Due, "bed", (r.bed.id for r in found)) if not d.settled]
        at = rounds.AtGarden(reasoner, garden, day, found, due=due)
        if bed is None:
            screen(options).show(rounds.beds(at))
        else:
            one = next(record for record in found if record.bed.id == bed.id)
            screen(options).show(rounds.bed(at, one))
    return FINE
