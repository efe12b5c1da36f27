"""What is due as a calendar file (.ics), for the calendar that people have anyway."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta

from diagnose.rounds.model import Due


def ics(due: Iterable[Due], beds: Mapping[str, str], made: datetime | None = None) -> bytes:
    """What is due as whole-day events; `beds` names each bed by its id.

    An event keeps its identity, so that a calendar that reads it again changes it.
    """
    from icalendar import Calendar, Event

    whole = Calendar()
    whole.add("prodid", "-//diagnose//rounds//EN")
    whole.add("version", "2.0")
    for one in due:
        day = date.fromisoformat(one.day)
        event = Event()
        event.add("uid", f"{one.id}@rounds.diagnose")
        event.add("dtstamp", made or datetime.now(UTC))
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(1))
        event.add("summary", f"{beds.get(one.bed, 'bed')}: {one.what}")
        whole.add_component(event)
    return bytes(whole.to_ical())
