"""A folder of files of one kind, each a value under its name: put there, listed, found, dropped.

A file that cannot be read is said so, and set aside under another name. Nothing is lost.
"""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Generic, TypeVar

import msgspec

from diagnose.errors import UsageError
from diagnose.inputs import plain_file, write_whole

LARGEST = 2_000_000  # bytes of one file
DAMAGED = ".damaged"
OLD = 3600  # seconds after which part of a file is a leftover

T = TypeVar("T")


def new_name() -> str:
    """A name by the time, for a file that is none yet."""
    return f"{datetime.now():%Y%m%d-%H%M%S}-{secrets.token_hex(2)}"


@dataclass(frozen=True)
class Shelf(Generic[T]):
    """Files of one kind; `noun` is what a person calls one.

    `sound` raises ValueError where a value makes no sense.
    """

    folder: Callable[[], Path]
    type: type[T]
    noun: str
    sound: Callable[[T], object]

    def put(self, name: str, value: T) -> bool:
        """Write a value under a name; False where that could not be done."""
        with contextlib.suppress(OSError):
            data = msgspec.json.format(msgspec.json.encode(value), indent=1)
            write_whole(self.folder() / f"{name}.json", data)
            return True
        return False

    def listed(self) -> tuple[list[tuple[str, T]], list[str]]:
        """The values by name, newest first, and the names of files set aside just now."""
        found, aside = [], []
        with contextlib.suppress(OSError):
            for file in sorted(self.folder().glob("*.json"), reverse=True):
                value = self._read(file)
                if value is None:
                    aside.append(file.name)
                    with contextlib.suppress(OSError):
                        file.rename(file.with_name(file.name + DAMAGED))
                else:
                    found.append((file.stem, value))
        return found, aside

    def _read(self, file: Path) -> T | None:
        try:
            value = msgspec.json.decode(plain_file(file, LARGEST), type=self.type)
            self.sound(value)
        except (OSError, ValueError, RecursionError, msgspec.MsgspecError):
            return None
        return value

    def named(self, name: str) -> T:
        """The value of that name. Raises UsageError where there is none."""
        found, _ = self.listed()
        for known, value in found:
            if known == name:
                return value
        names = ", ".join(known for known, _ in found[:5]) or "none is kept"
        raise UsageError(f"no {self.noun} {name!r} is kept; there are: {names}")

    def drop(self, name: str) -> None:
        """Drop a value. Raises UsageError where there is none, or it cannot be removed."""
        self.named(name)
        try:
            (self.folder() / f"{name}.json").unlink()
        except OSError as error:
            raise UsageError(f"{name} cannot be dropped: {error.strerror}") from None

    def remove_leftovers(self) -> None:
        """Remove parts of files that a killed run left behind, once they are an hour old."""
        now = datetime.now().timestamp()
        with contextlib.suppress(OSError):
            for part in self.folder().glob(".*.json.*"):
                if now - part.stat().st_mtime > OLD:
                    part.unlink()
