"""What is kept of a round: one value for each row, days as 2026-06-05, warmth in degrees Celsius.

Every value but weather has an `id` that never changes, whatever is renamed.
"""

from __future__ import annotations

import secrets
from datetime import date
from typing import Annotated, ClassVar, Literal, TypeAlias, get_args

import msgspec

from diagnose.reasoning import facts
from diagnose.seasons.calendar import MonthDay, Place

Key: TypeAlias = Annotated[str, msgspec.Meta(min_length=1, max_length=40)]
Name: TypeAlias = Annotated[
    str, msgspec.Meta(min_length=1, max_length=60, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$")
]
Day: TypeAlias = Annotated[str, msgspec.Meta(pattern=r"^(19|20)\d\d-\d\d-\d\d$")]
Frost: TypeAlias = Annotated[str, msgspec.Meta(pattern=r"^\d\d-\d\d$")]
Celsius: TypeAlias = Annotated[float, msgspec.Meta(ge=-90, le=60)]
State = Literal["better", "same", "worse", "gone"]
STATES: tuple[State, ...] = get_args(State)
assert STATES == facts.STATES


def new_id() -> str:
    """An id that no other program makes too."""
    return secrets.token_hex(8)


class Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One row; the fields named in `key` tell it from all others of its kind."""

    key: ClassVar[tuple[str, ...]] = ("id",)

    def __post_init__(self) -> None:
        """Raise ValueError where a day is none that a calendar has."""
        for name in ("day", "since", "until", "settled"):
            value = getattr(self, name, None)
            if isinstance(value, str):
                date.fromisoformat(value)


class Garden(Record, frozen=True):
    """A place with beds: latitude in degrees, south negative, and its usual frosts."""

    id: Key
    name: Name
    latitude: Annotated[float, msgspec.Meta(ge=-90, le=90)]
    last_frost: Frost
    first_frost: Frost

    def __post_init__(self) -> None:
        """Raise ValueError where the frosts make no sense."""
        _ = self.place

    @property
    def place(self) -> Place:
        """Where it lies in the year."""
        return Place(
            self.latitude, MonthDay.parse(self.last_frost), MonthDay.parse(self.first_frost)
        )


class Bed(Record, frozen=True):
    """A bed of a garden."""

    id: Key
    garden: Key
    name: Name


class Planting(Record, frozen=True):
    """A crop in a bed, from a day on, and until a day where it is over."""

    id: Key
    bed: Key
    crop: Name
    since: Day
    until: Day | None = None


class Visit(Record, frozen=True):
    """A look at a bed on a day; a bed has one visit a day at most."""

    id: Key
    bed: Key
    day: Day
    notes: str = ""


class Finding(Record, frozen=True):
    """A consultation of a visit, whole, as `diagnose.kept.Kept` in JSON; what it came to, if clear.

    `count` is how many were counted, and `per` on what, as on 10 plants.
    """

    id: Key
    visit: Key
    kept: str
    cause: str = ""
    count: Annotated[float, msgspec.Meta(ge=0)] | None = None
    per: str = ""


class Result(Record, frozen=True):
    """How a finding stood on a later day."""

    id: Key
    finding: Key
    day: Day
    state: State
    count: Annotated[float, msgspec.Meta(ge=0)] | None = None


class Done(Record, frozen=True):
    """What was done at a visit: the id of a measure, or own words; against what, if anything."""

    id: Key
    visit: Key
    measure: str
    finding: Key | None = None


class Due(Record, frozen=True):
    """What is to be done or looked at on a day, until it is settled."""

    id: Key
    bed: Key
    day: Day
    what: str
    finding: Key | None = None
    settled: Day | None = None


class Weather(Record, frozen=True):
    """A day at a garden: least and greatest temperature in C, rain in mm; None where not known."""

    key: ClassVar[tuple[str, ...]] = ("garden", "day")

    garden: Key
    day: Day
    low: Celsius | None = None
    high: Celsius | None = None
    rain: Annotated[float, msgspec.Meta(ge=0, le=2000)] | None = None


class Normal(Record, frozen=True):
    """What is usual in a month (1 to 12) at a garden: mean least and greatest temperature in C."""

    key: ClassVar[tuple[str, ...]] = ("garden", "month")

    garden: Key
    month: Annotated[int, msgspec.Meta(ge=1, le=12)]
    low: Celsius
    high: Celsius


TABLES: dict[str, type[Record]] = {
    "gardens": Garden,
    "beds": Bed,
    "plantings": Planting,
    "visits": Visit,
    "findings": Finding,
    "results": Result,
    "done": Done,
    "due": Due,
    "weather": Weather,
    "normals": Normal,
}
"""The tables in which they lie, each after those that it refers to."""
NAMES = {kind: name for name, kind in TABLES.items()}
