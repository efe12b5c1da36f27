"""diagnose beds: the beds of a garden, what stands in them, and all that is kept of one."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.commands.common import FINE, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.commands.round_common import asked_for
from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.consultation import Reasoner
    from diagnose.rounds.history import BedRecord


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "beds", run, "the beds of a garden: list, add, rename, plant, clear, look at one",
        "diagnose beds North --plant kale --date 2026-05-02",
    )  # fmt: skip
    made.add_argument("names", metavar="BED", nargs="*", default=[])
    made.add_argument("--in", metavar="GARDEN", dest="garden", default=None, help="in this garden")
    asked_for(made, "--add", "NAME", "keep a bed of this name")
    asked_for(made, "--rename", "NAME", "call BED so from now on")
    asked_for(made, "--plant", "CROP", "a crop stands in BED from now")
    made.add_argument(
        "--whole", metavar="YYYY-MM-DD", default=None, help="the consultations of that day, whole"
    )
    asked_for(made, "--unplant", "CROP", "take out the last entry of a crop in BED")
    asked_for(made, "--clear", "CROP", "a crop in BED is over now")


def run(options: argparse.Namespace) -> int:
    """Change what is told, then show the bed, or all beds of the garden."""
    import msgspec

    from diagnose.commands.round_common import (
        garden_of,
        the_bed,
        the_crop,
        the_day,
        the_garden,
        the_store,
        told,
    )
    from diagnose.pages import rounds
    from diagnose.rounds.history import records
    from diagnose.rounds.model import Bed, new_id
    from diagnose.rounds.visits import clear, plant, unplant, waiting

    reasoner, day = the_reasoner(options), the_day(options)
    with the_store(options) as store:
        bed: Bed | None = None
        if options.add is not None:
            garden = the_garden(store, options, [options.garden] if options.garden else [])
            bed = Bed(new_id(), garden.id, told(options, options.add, "What is it called?"))
            store.put(bed)
        elif options.names or {options.plant, options.unplant, options.clear, options.rename} != {
            None
        }:
            bed = the_bed(store, options, options.names)
        if bed is not None and options.rename is not None:
            name = told(options, options.rename, "What is it called from now on?")
            bed = msgspec.structs.replace(bed, name=name)
            store.put(bed)
        if bed is not None and options.plant is not None:
            crop = told(options, options.plant, "Which crop is planted?")
            plant(store, bed, the_crop(reasoner.knowledge, crop), day)
        if bed is not None and options.unplant is not None:
            crop = told(options, options.unplant, "Which crop was entered wrongly?")
            unplant(store, bed, the_crop(reasoner.knowledge, crop))
        if bed is not None and options.clear is not None:
            crop = told(options, options.clear, "Which crop is over?")
            clear(store, bed, the_crop(reasoner.knowledge, crop), day)
        if bed is None:
            garden = the_garden(store, options, [options.garden] if options.garden else [])
        else:
            garden = garden_of(store, bed)
        found = records(store, garden)
        due = waiting(store, [record.bed.id for record in found], day)
        at = rounds.AtGarden(reasoner, garden, day, found, due=due)
        if bed is None:
            screen(options).show(rounds.beds(at))
        else:
            one = next(record for record in found if record.bed.id == bed.id)
            if options.whole is not None:
                _whole(options, one, reasoner)
            else:
                screen(options).show(rounds.bed(at, one))
    return FINE


def _whole(options: argparse.Namespace, record: BedRecord, reasoner: Reasoner) -> None:
    """The consultations of a day, made again with today's knowledge."""
    from diagnose.documents.files import report
    from diagnose.inputs import day_of
    from diagnose.kept import opened
    from diagnose.pages.blocks import note
    from diagnose.rounds.visits import kept_of

    day = day_of(options.whole)
    held = [f for f in record.findings if f.kept and record.day_of(f) == day]
    if not held:
        raise UsageError(f"no consultation of {record.bed.name} is kept from {day}")
    for finding in held:
        kept = kept_of(finding)
        made = opened(kept, reasoner)
        shown = report(made.journal.now)
        if kept.knowledge != reasoner.knowledge.digest:
            shown.append(note(f"At the time, with knowledge {kept.knowledge}: "
                              f"{kept.answer or 'nothing sure'}."))  # fmt: skip
        shown += [note(f"Left out: {line}.") for line in made.lost]
        screen(options).show(shown)
