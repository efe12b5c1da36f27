"""Consultations kept in the user's state folder: each in a file of its own, with every step.

Nothing is overwritten but by the run that began it. A file that cannot be gone on with is said so,
and set aside under another name.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from diagnose.consultation import Consultation, Reasoner
from diagnose.journal import Journal, Step, replay
from diagnose.kb.retired import successor
from diagnose.reasoning.facts import RECORDED, Observation
from diagnose.seasons.calendar import MonthDay, Place
from diagnose.shelf import Shelf, new_name

DayText = Annotated[str, msgspec.Meta(pattern=r"^(19|20)\d\d-\d\d-\d\d$")]
Frost = Annotated[str, msgspec.Meta(pattern=r"^\d\d-\d\d$")]


class Kept(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A consultation as it lies in its file."""

    begun: str  # day and time, ISO
    day: DayText
    latitude: Annotated[float, msgspec.Meta(ge=-90, le=90)]
    last_frost: Frost
    first_frost: Frost
    knowledge: str  # the digest
    steps: tuple[Step, ...]
    state: Literal["unfinished", "finished"] = "unfinished"
    typed: str = ""  # words that were typed, but not taken yet
    answer: str = ""  # what it came to, in words
    format: Literal[1] = 1
    bed: str = ""  # where it was in one: its garden and name, and what its record gave
    crop: str | None = None
    record: tuple[str, ...] = ()  # facts
    recorded: tuple[tuple[str, str], ...] = ()  # symptoms with values


@dataclass(frozen=True)
class Opened:
    """A kept consultation, made again; `lost` says what the knowledge no longer allows."""

    journal: Journal
    typed: str
    lost: list[str]


def folder() -> Path:
    """Where consultations and the history of typed lines are kept."""
    from platformdirs import user_state_path

    return user_state_path("diagnose")


def _consultations() -> Path:
    return folder() / "consultations"


def as_kept(
    begun: str, journal: Journal, *, typed: str = "", finished: bool = False, answer: str = "",
    bed: str = "",
) -> Kept:  # fmt: skip
    """A consultation as it is kept."""
    blank = journal.states[0]
    return Kept(
        begun=begun,
        day=blank.day.isoformat(),
        latitude=blank.place.latitude,
        last_frost=str(blank.place.last_frost),
        first_frost=str(blank.place.first_frost),
        knowledge=blank.reasoner.knowledge.digest,
        steps=journal.steps,
        state="finished" if finished else "unfinished",
        typed=typed,
        answer=answer,
        bed=bed,
        crop=blank.crop,
        record=blank.record,
        recorded=tuple((o.symptom, o.value) for o in blank.observations),
    )


class Keeper:
    """Keeps one consultation in a file of its own."""

    def __init__(self, file: Path | None = None, begun: str = "") -> None:
        self.file = file or _consultations() / f"{new_name()}.json"
        self.begun = begun or datetime.now().isoformat(timespec="seconds")

    def another(self) -> Keeper:
        """What keeps the next consultation."""
        return Keeper()

    @property
    def name(self) -> str:
        """The name under which it is found again."""
        return self.file.stem

    @property
    def shown_by(self) -> str:
        """The command that shows it again."""
        return "diagnose kept"

    def save(
        self, journal: Journal, *, typed: str = "", finished: bool = False, answer: str = ""
    ) -> bool:
        """Keep the consultation as it is now; False where that could not be written.

        Where nothing was said or answered, nothing is kept.
        """
        if not journal.steps and not typed:
            with contextlib.suppress(OSError):
                self.file.unlink(missing_ok=True)
            return True
        kept = as_kept(self.begun, journal, typed=typed, finished=finished, answer=answer)
        return _shelf().put(self.name, kept)


def listed() -> tuple[list[tuple[str, Kept]], list[str]]:
    """The kept consultations by name, newest first, and the names of those set aside just now."""
    return _shelf().listed()


def unfinished() -> tuple[str, Kept] | None:
    """The newest consultation that was left, or None."""
    return next(((name, k) for name, k in listed()[0] if k.state == "unfinished"), None)


def _shelf() -> Shelf[Kept]:
    return Shelf(_consultations, Kept, "consultation", _start)


def named(name: str) -> Kept:
    """The kept consultation of that name. Raises UsageError where there is none."""
    return _shelf().named(name)


def drop(name: str) -> None:
    """Drop a kept consultation. Raises UsageError where there is none, or it cannot be removed."""
    _shelf().drop(name)


def keeper_of(name: str, kept: Kept) -> Keeper:
    """What goes on keeping a consultation that is gone on with."""
    return Keeper(_consultations() / f"{name}.json", kept.begun)


def _start(kept: Kept) -> tuple[date, Place]:
    """Its day and place. Raises ValueError where they make no sense."""
    place = Place(kept.latitude, MonthDay.parse(kept.last_frost), MonthDay.parse(kept.first_frost))
    return date.fromisoformat(kept.day), place


def opened(kept: Kept, reasoner: Reasoner) -> Opened:
    """A kept consultation made again, step by step."""
    knowledge = reasoner.knowledge
    known = [
        Observation(*now, RECORDED)
        for symptom, value in kept.recorded
        if (now := successor(knowledge.retired, symptom, value) or (symptom, value))[0]
        in knowledge.symptoms
        and knowledge.symptoms[now[0]].allows(now[1])
    ]
    blank = Consultation(
        reasoner,
        *_start(kept),
        crop=kept.crop if kept.crop in knowledge.crops else None,
        observations=tuple(known),
        record=kept.record,
    )
    journal, lost = replay(blank, kept.steps)
    return Opened(journal, kept.typed, lost)


def remove_leftovers() -> None:
    """Remove parts of files that a killed run left behind, once they are an hour old."""
    _shelf().remove_leftovers()


__all__ = [
    "Keeper", "Kept", "Opened", "as_kept", "drop", "folder", "keeper_of", "listed", "named",
    "opened", "remove_leftovers", "unfinished",
]  # fmt: skip
