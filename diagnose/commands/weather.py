"""diagnose weather: daily weather or monthly normals of a garden, taken in from a file."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import get_args

from diagnose.commands.common import FINE, screen
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError
from diagnose.seasons.weather import Degrees, RainUnit


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "weather", run, "take in a garden's weather: CSV of days, GHCN-Daily, or monthly normals",
        "diagnose weather station.csv --in 'Hill School'",
    )  # fmt: skip
    made.add_argument("file", metavar="FILE", nargs="?", default=None)
    made.add_argument("--in", metavar="GARDEN", dest="garden", default=None, help="of this garden")
    made.add_argument(
        "--normals", action="store_true", default=False,
        help="the file holds what is usual: month,min_c,max_c, twelve lines",
    )  # fmt: skip
    made.add_argument("--degrees", choices=get_args(Degrees), default=None, help="C or F")
    made.add_argument("--rain", choices=get_args(RainUnit), default=None, help="mm or in")
    made.add_argument(
        "--yes", action="store_true", default=False, help="it is read rightly; do not ask"
    )


def run(options: argparse.Namespace) -> int:
    """Read the file, say how it was read, and keep it after a yes where anything was guessed."""
    from diagnose.commands.round_common import ask_for, the_garden, the_store, yes
    from diagnose.pages.blocks import Page, item, text
    from diagnose.rounds.model import Normal, Weather
    from diagnose.seasons.weather import read, read_normals

    name = options.file or ask_for(options, "Which file?")
    with the_store(options) as store:
        garden = the_garden(store, options, [options.garden] if options.garden else [])
        if options.normals:
            months = read_normals(Path(name), options.degrees)
            store.put(*(Normal(garden.id, *month) for month in months))
            screen(options).show([text(f"Kept what is usual at {garden.name} in each month.")])
            return FINE
        table = read(Path(name), options.degrees, options.rain)
        page: Page = [text(f"{len(table.days)} days, {table.days[0].date} to "
                           f"{table.days[-1].date}, are read so:")]  # fmt: skip
        page += [item(line) for line in table.taken]
        page += [item(f"left out: {line}") for line in table.left_out[:10]]
        if len(table.left_out) > 10:
            page.append(item(f"left out: {len(table.left_out) - 10} more"))
        gaps = table.gaps()
        page += [item(f"no temperatures from {a} to {b}") for a, b in gaps[:10]]
        if len(gaps) > 10:
            page.append(item(f"and {len(gaps) - 10} more gaps"))
        screen(options).show(page)
        if table.guessed and not yes(options, "Part of this is guessed. Is it right?"):
            raise UsageError("nothing was kept; say what it is with --degrees and --rain")
        store.put(*(
            Weather(garden.id, d.date.isoformat(), d.low, d.high, d.rain) for d in table.days
        ))  # fmt: skip
        screen(options).show([text(f"Kept for {garden.name}.")])
    return FINE
