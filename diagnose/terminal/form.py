"""A few lines asked for one after another, each with what it is now."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from diagnose.errors import UsageError
from diagnose.inputs import latitude_of, month_day_of
from diagnose.pages.blocks import text
from diagnose.pages.places import latitude
from diagnose.pages.sayings import day_of_year
from diagnose.seasons.calendar import MonthDay, Place
from diagnose.settings import Settings
from diagnose.terminal.askers import Asker
from diagnose.terminal.screen import Screen

ABOUT = "Press Enter to leave a line as it is. Whatever you do not know can stay as it is assumed."


def ask_place(screen: Screen, asker: Asker, settings: Settings, home: Place) -> Settings:
    """The settings after a gardener went through them; end of input leaves the rest as it is."""
    screen.show([text(ABOUT)])
    lines: tuple[tuple[str, str, Callable[[str], Any]], ...] = (
        ("place", "A name for the place", str),
        ("latitude", "Latitude in degrees, south negative", latitude_of),
        ("last_frost", "Usual last frost", month_day_of),
        ("first_frost", "Usual first frost", month_day_of),
        ("units", "Units: both, metric or us", _one_of("both", "metric", "us")),
        ("dates", "Dates: day first or month first", _one_of("day first", "month first")),
    )
    for name, label, meant in lines:
        try:
            settings = _asked(screen, asker, settings, home, name, label, meant)
        except EOFError:
            break
    return settings


def _asked(
    screen: Screen, asker: Asker, settings: Settings, home: Place,
    name: str, label: str, meant: Callable[[str], Any],
) -> Settings:  # fmt: skip
    """The settings with one line asked for, until it makes sense."""
    while True:
        now = _now(settings, home, name)
        line = asker.ask(f"{label} [{now}]: " if now else f"{label}: ", (), "Enter leaves it")
        if not line:
            return settings
        try:
            made = msgspec.structs.replace(settings, **{name: meant(line)})
            made.at(home)
        except (UsageError, ValueError) as error:
            screen.show([text(f"{error}.")])
            continue
        return made


def _now(settings: Settings, home: Place, name: str) -> str:
    """What a setting is now, or what is assumed, as a person reads it."""
    here = settings.at(home)
    value = getattr(settings, name)
    match name:
        case "latitude":
            return latitude(here.latitude)
        case "last_frost" | "first_frost":
            day: MonthDay = getattr(here, name)
            return day_of_year(day)
    return value or {"units": "both", "dates": "day first"}.get(name, "")


def _one_of(*words: str) -> Callable[[str], str]:
    def meant(line: str) -> str:
        found = [word for word in words if word.startswith(line.strip().lower())]
        if len(found) != 1:
            raise UsageError(f"found {line!r}; say {' or '.join(words)}")
        return found[0]

    return meant
