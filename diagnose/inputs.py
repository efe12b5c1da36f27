"""The one door: what comes from outside is cleaned and bounded here, before anything sees it."""

from __future__ import annotations

import contextlib
import math
import os
import re
import stat
import tempfile
import unicodedata
from collections.abc import Iterator
from datetime import date
from io import BufferedReader
from pathlib import Path
from typing import NewType

from diagnose.errors import UsageError

LONGEST = 5_000  # characters of a text
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2100, 12, 31)
DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
DEGREES = re.compile(r"[+-]?\d{1,3}(\.\d+)?", re.ASCII)
ESCAPES = re.compile(r"\x1b\[[0-9;]*[A-Za-z]")
QUOTES = str.maketrans(dict.fromkeys("‘’‛′´`", "'") | {"\u2013": "\u2014"})  # noqa: RUF001

Said = NewType("Said", str)
"""A text that came through `clean`."""


def clean(text: str) -> Said:
    """Text without control characters, with plain quotes, letters and digits as people see them.

    Raises UsageError where it is empty or longer than LONGEST.
    """
    text = plain(text)
    if not text:
        raise UsageError("the text is empty; say in a sentence what you see on the plant")
    if len(text) > LONGEST:
        raise UsageError(
            f"the text has {len(text):,} characters; the most is {LONGEST:,}: "
            "say what you see on one plant"
        )
    return Said(text)


def plain(text: str) -> str:
    """Text as `clean` makes it, of any length.

    A raised or circled number stands apart from what is before it: 10² is no 102.
    """
    text = ESCAPES.sub(" ", text).translate(QUOTES)
    if not text.isascii():
        apart = (f" {c}" if unicodedata.category(c) == "No" else c for c in text)
        text = unicodedata.normalize("NFKC", "".join(apart)).translate(QUOTES)
    if text.isprintable():
        return text.strip()
    return "".join(c if c == "\n" or c.isprintable() else " " for c in text).strip()


def whole(line: str) -> str:
    """A typed line in which a byte that is no text, which a terminal may send, is a '?'."""
    return line.encode("utf-8", "replace").decode("utf-8")


def day_of(text: str) -> date:
    """A day written as 2026-06-05, from 1900 to 2100. Raises UsageError on anything else."""
    try:
        day = date.fromisoformat(text) if DAY.fullmatch(text) else None
    except ValueError:
        day = None
    if day is None:
        raise UsageError(f"{text!r} is no date; write it as 2026-06-05")
    if not FIRST_DAY <= day <= LAST_DAY:
        raise UsageError(f"{text} is out of reach; give a day from 1900 to 2100")
    return day


MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
IN_WORDS = re.compile(r"(?P<first>[a-z]+|\d{1,2})[. ]+(?P<second>[a-z]+|\d{1,2})", re.ASCII)


def month_day_of(text: str) -> str:
    """A day of the year as MM-DD, written so or as 10 May or May 10, months cut short or not.

    Raises UsageError where it names none.
    """
    word = text.strip().lower().rstrip(".")
    if re.fullmatch(r"\d\d-\d\d", word, re.ASCII):
        return word
    found = IN_WORDS.fullmatch(word)
    parts = sorted(found.groups()) if found else []  # figures come before letters
    if parts and parts[0].isdecimal() and len(parts[1]) >= 3:
        months = [n for n, name in enumerate(MONTHS, 1) if name.startswith(parts[1])]
        if months:
            return f"{months[0]:02d}-{int(parts[0]):02d}"
    raise UsageError(f"{text!r} is no day of the year; write it as 05-10, 10 May or May 10")


def latitude_of(text: str) -> float:
    """Degrees of latitude, south negative. Raises UsageError where they are none."""
    degrees = float(text) if DEGREES.fullmatch(text.strip()) else math.nan
    if not -90 <= degrees <= 90:
        raise UsageError(
            f"{text!r} is no latitude; give degrees from -90 to 90, south negative, as in 42"
        )
    return degrees


class TooLarge(OSError):
    """A file has more bytes than are read; `size` is what it has at least."""

    def __init__(self, size: int, most: int) -> None:
        super().__init__(None, f"it has more than {most:,} bytes")
        self.size = size


@contextlib.contextmanager
def opened(path: Path) -> Iterator[BufferedReader]:
    """A plain file, to be read: no pipe, no device. Raises OSError, whose `strerror` says why."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb") as file:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(None, "it is no plain file")
        yield file


def plain_file(path: Path, most: int) -> bytes:
    """The bytes of a plain file, nothing longer than `most`.

    Raises OSError as `opened`, and TooLarge where it is too long.
    """
    with opened(path) as file:
        size = os.fstat(file.fileno()).st_size
        raw = file.read(min(size, most) + 1)  # no more room than it needs
        if len(raw) > size:  # it grows, or does not tell its size
            raw += file.read(most + 1 - len(raw))
        if len(raw) > most:
            raise TooLarge(max(size, len(raw)), most)
    return raw


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all, and so that it is there after a power cut.

    Raises OSError where the folder cannot be made or written.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, part = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with open(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(part)
        raise
