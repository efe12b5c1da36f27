"""A round of practice as it is kept, and made again."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import msgspec

from diagnose.consultation import Consultation, Reasoner
from diagnose.errors import UsageError
from diagnose.seasons.calendar import MonthDay, Place
from diagnose.teaching.hidden import Hidden
from diagnose.teaching.practice import Round, Turn, replayed


class Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A round as it lies in its file: the hidden problem whole, so that it stays the same."""

    begun: str  # day and time, ISO
    latitude: Annotated[float, msgspec.Meta(ge=-90, le=90)]
    last_frost: str
    first_frost: str
    knowledge: str  # the digest
    seed: int
    hidden: Hidden
    teams: tuple[str, ...] = ()
    turns: tuple[Turn, ...] = ()
    state: Literal["unfinished", "finished"] = "unfinished"
    format: Literal[1] = 1


def record(played: Round, begun: str) -> Record:
    """A round as it is kept; `begun` is the day and time at which it began."""
    place, knowledge = played.blank.place, played.blank.reasoner.knowledge
    return Record(
        begun=begun,
        latitude=place.latitude,
        last_frost=str(place.last_frost),
        first_frost=str(place.first_frost),
        knowledge=knowledge.digest,
        seed=played.seed,
        hidden=played.hidden,
        teams=played.teams,
        turns=played.turns,
        state="finished" if played.stage == "over" else "unfinished",
    )


def place_of(kept: Record) -> Place:
    """Its place. Raises ValueError where that, or the day, makes no sense."""
    date.fromisoformat(kept.hidden.day)
    return Place(kept.latitude, MonthDay.parse(kept.last_frost), MonthDay.parse(kept.first_frost))


def reopened(kept: Record, reasoner: Reasoner) -> tuple[Round, list[str]]:
    """The round made again, and a line for each turn that the knowledge no longer allows.

    Raises UsageError where the knowledge no longer has its plant, its cause or what is seen.
    """
    knowledge, hidden = reasoner.knowledge, kept.hidden
    gone = [s for s in hidden.truth if s not in knowledge.symptoms]
    known = hidden.cause in knowledge.causes and hidden.crop in knowledge.crops
    allowed = all(knowledge.symptoms[s].allows(v) for s, v in hidden.truth.items() if s not in gone)
    if gone or not known or not allowed:
        raise UsageError("the knowledge has changed since, and no longer has this problem")
    blank = Consultation(reasoner, date.fromisoformat(hidden.day), place_of(kept))
    return replayed(Round(blank, hidden, kept.seed, kept.teams), kept.turns)


def teams_named(words: str) -> tuple[str, ...]:
    """The names of a class or of teams, separated by commas.

    Raises UsageError on a name that stands twice, or is too long.
    """
    names = [" ".join(part.split()) for part in words.split(",") if part.strip()]
    for name in names:
        if len(name) > LONGEST:
            raise UsageError(f"{name[:LONGEST]!r}... is too long for a name; 24 letters at most")
    seen: set[str] = set()
    for name in names:
        if name.casefold() in seen:
            raise UsageError(
                f"{name!r} stands twice in the list; give each a name of its own, as {name!r} and "
                f"'{name} B'"
            )
        seen.add(name.casefold())
    return tuple(names)


LONGEST = 24  # letters of a name
