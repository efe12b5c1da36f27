"""The place as a person reads it: what is set, and what is assumed."""

from __future__ import annotations

from datetime import date

from diagnose.pages.blocks import Block, Page, note, text, title
from diagnose.pages.sayings import day, day_of_year
from diagnose.seasons.calendar import Place
from diagnose.settings import Settings

UNITS = {
    "both": "inches and degrees F, with cm and C beside them", "us": "inches and degrees F",
    "metric": "cm and degrees C",
}  # fmt: skip
ASSUMED = " (assumed; not set)"


def latitude(degrees: float) -> str:
    """A latitude in words: 42 degrees north."""
    side = "south" if degrees < 0 else "north"
    return f"{abs(degrees):g} degrees {side}"


def page(settings: Settings, place: Place) -> Page:
    """What is set, line by line, and what is assumed where nothing is."""

    def line(label: str, value: str, told: object) -> Block:
        return text(f"{label}: {value}{'' if told is not None else ASSUMED}")

    return [
        title(settings.place or "Your place"),
        line("Latitude", latitude(place.latitude), settings.latitude),
        line("Usual last frost", day_of_year(place.last_frost), settings.last_frost),
        line("Usual first frost", day_of_year(place.first_frost), settings.first_frost),
        line("Units", UNITS[settings.units or "both"], settings.units),
        line("Dates", f"as in {day(date(2026, 6, 5))}", settings.dates),
    ]


def today(when: date, place: Place, settings: Settings) -> Block:
    """The first line of a consultation: the day and the place that it reckons with."""
    name = f"{settings.place}, " if settings.place else ""
    return note(
        f"{day(when)}; {name}{latitude(place.latitude)}; usual last frost "
        f"{day_of_year(place.last_frost)}, first frost {day_of_year(place.first_frost)} "
        "(diagnose place changes them for good)."
    )
