"""What a gardener has set once: the place, its frosts, units, the way of writing dates.

One file, settings.yaml, in the user's configuration folder. What cannot be read there is told with
its line and left out; before it is written anew, a file with such lines is set aside.
"""

from __future__ import annotations

import json
from contextvars import ContextVar
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from diagnose.errors import UsageError
from diagnose.inputs import write_whole
from diagnose.kb.reader import Reader
from diagnose.seasons.calendar import MonthDay, Place

NAME = "settings.yaml"
DAMAGED = ".damaged"

Units = Literal["both", "metric", "us"]
Dates = Literal["day first", "month first"]


class Settings(msgspec.Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """The settings; None where nothing is set and the knowledge's own place holds.

    Latitude in degrees, south negative; frosts as MM-DD.
    """

    place: Annotated[str, msgspec.Meta(max_length=60)] | None = None  # a name of one's own
    latitude: Annotated[float, msgspec.Meta(ge=-90, le=90)] | None = None
    last_frost: str | None = None
    first_frost: str | None = None
    units: Units | None = None
    dates: Dates | None = None
    knowledge: list[str] | None = None  # folders to lay over the knowledge, the last on top

    def __post_init__(self) -> None:
        for frost in (self.last_frost, self.first_frost):
            if frost is not None:
                MonthDay.parse(frost)

    def at(self, home: Place) -> Place:
        """The place that is set; what is not, is as at home. Raises ValueError as `moved`."""
        return moved(home, self.latitude, self.last_frost, self.first_frost)


in_use: ContextVar[Settings] = ContextVar("settings in use", default=Settings())  # noqa: B039
"""The settings by which pages are written: units, and the way of writing dates."""


def moved(
    home: Place, latitude: float | None, last_frost: str | None, first_frost: str | None
) -> Place:
    """A place like another but for what is told; across the equator its frosts are mirrored.

    Raises ValueError where a frost is no day of a year, or the frosts stand the wrong way round.
    """
    degrees = home.latitude if latitude is None else latitude
    across = home.latitude * degrees < 0

    def frost(told: str | None, usual: MonthDay) -> MonthDay:
        if told is not None:
            return MonthDay.parse(told)
        return usual.opposite() if across else usual

    return replace(
        home,
        latitude=degrees,
        last_frost=frost(last_frost, home.last_frost),
        first_frost=frost(first_frost, home.first_frost),
    )


def file() -> Path:
    """Where the settings stand."""
    from platformdirs import user_config_path

    return user_config_path("diagnose") / NAME


def read() -> tuple[Settings, list[str]]:
    """The settings, and a line for each thing in the file that cannot be read and is left out."""
    path = file()
    if not path.exists():
        return Settings(), []
    reader = Reader(path.parent)
    document = reader.document(path)
    found = Settings()
    if document is not None and isinstance(document.data, dict):
        for key, value in document.data.items():
            try:
                one = reader.convert(NAME, document, (), {key: value}, Settings)
            except ValueError as error:
                reader.report(NAME, document.lines[(key,)], "wrong-value", f"{key}: {error}")
                continue
            if one is not None:
                found = over(found, one)
    elif document is not None:
        reader.report(NAME, 1, "wrong-shape", "expected keys with values here")
    return found, [
        f"{path.parent / f.file}:{f.line}: {f.message}; it is left out" for f in reader.findings
    ]


def over(under: Settings, told: Settings) -> Settings:
    """Settings with what others tell put over them."""
    changes = {k: v for k, v in msgspec.structs.asdict(told).items() if v is not None}
    return msgspec.structs.replace(under, **changes)


def write(settings: Settings) -> Path | None:
    """Keep the settings; where the file was set aside first, the name it has now.

    Raises UsageError where they cannot be written.
    """
    path = file()
    _, lost = read()
    aside = None
    told = msgspec.to_builtins(settings)
    text = "".join(
        f"{key}: {json.dumps(value, ensure_ascii=False)}\n"
        for key, value in told.items()
        if value is not None
    )
    try:
        if lost:
            aside = _free(path)
            path.rename(aside)
        if text:
            write_whole(path, text.encode())
        else:
            path.unlink(missing_ok=True)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from None
    return aside


def _free(path: Path) -> Path:
    """A name beside a file that no file has."""
    number, found = 1, path.with_name(path.name + DAMAGED)
    while found.exists():
        number += 1
        found = path.with_name(f"{path.name}{DAMAGED}-{number}")
    return found


def forget() -> bool:
    """Forget all settings; False where none were kept. Raises UsageError where that fails."""
    path = file()
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise UsageError(f"{path} cannot be removed: {error.strerror}") from None
    return True


__all__ = [
    "Dates", "Settings", "Units", "file", "forget", "in_use", "moved", "over", "read", "write",
]  # fmt: skip
