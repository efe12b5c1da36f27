"""The windows of the year that a season of the knowledge names."""

from __future__ import annotations

from diagnose.kb.model import Season, Span
from diagnose.seasons.calendar import Window


def windows(season: Season) -> tuple[Window, ...]:
    """The windows of a season as the file has it. Raises ValueError where a moment is no moment."""
    if isinstance(season, str):
        return (Window.parse(season),)
    spans = [season] if isinstance(season, Span) else season
    return tuple(Window.parse(f"{span.from_} to {span.to}") for span in spans)
