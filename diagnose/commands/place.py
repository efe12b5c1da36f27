"""diagnose place: the place, its frosts, the units and the way of writing dates, set once."""

from __future__ import annotations

import argparse
import sys
from typing import get_args

from diagnose.commands.common import FINE, asker, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError
from diagnose.settings import Dates, Units


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "place", run, "where your garden is: show it, set it once, or be asked",
        "diagnose place --latitude 44 --last-frost 'May 20'",
    )  # fmt: skip
    made.add_argument("--name", metavar="NAME", default=None, help="a name of your own for it")
    made.add_argument("--units", choices=get_args(Units), default=None, help="units on the pages")
    made.add_argument(
        "--dates", choices=[d.split()[0] for d in get_args(Dates)], default=None,
        help="what a date begins with: day (5 June 2026) or month (June 5, 2026)",
    )  # fmt: skip
    made.add_argument("--forget", action="store_true", default=False, help="forget what was set")


def run(options: argparse.Namespace) -> int:
    """Set what is told; where nothing is, ask on a terminal; show what holds."""
    from diagnose import settings
    from diagnose.inputs import latitude_of, month_day_of
    from diagnose.pages import places
    from diagnose.pages.blocks import text
    from diagnose.terminal.form import ask_place

    shown = screen(options)
    if options.forget:
        gone = settings.forget()
        shown.show([text("Forgotten." if gone else "Nothing was set.")])
        settings.in_use.set(settings.Settings())
    told = settings.Settings(
        place=options.name,
        latitude=None if options.latitude is None else latitude_of(options.latitude),
        last_frost=None if options.last_frost is None else month_day_of(options.last_frost),
        first_frost=None if options.first_frost is None else month_day_of(options.first_frost),
        units=options.units,
        dates=next((d for d in get_args(Dates) if d.split()[0] == options.dates), None),
    )
    home = the_reasoner(options).home()
    before = settings.in_use.get()
    after = settings.over(before, told)
    if after == before and not options.forget and sys.stdin.isatty():
        after = ask_place(shown, asker(options, "places"), before, home)
    try:
        place = after.at(home)
    except ValueError as error:
        raise UsageError(f"{error}; nothing was changed") from None
    if after != before:
        aside = settings.write(after)
        settings.in_use.set(after)
        if aside:
            shown.show([text(f"The old file could not be read whole; it is set aside as {aside}.")])
    shown.show(places.page(after, place))
    return FINE
