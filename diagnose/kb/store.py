"""Where the knowledge lies, and ready-made copies of it, so that starting is quick.

A copy is kept in the user's cache folder under the digest of the files it was made from and of the
program that made it, so it is never older than either. It holds only values (MessagePack) behind
their checksum, and is made anew where anything does not fit.
"""

from __future__ import annotations

import contextlib
import hashlib
from functools import cache
from pathlib import Path
from typing import TypeVar

import msgspec

from diagnose.inputs import plain_file, write_whole

LARGEST = 200_000_000  # bytes of a copy
KEPT = 5  # copies
CHECKSUM = 32  # bytes at the head of a copy
MAKERS = ("kb", "checking", "reading", "reasoning", "seasons")  # packages that a copy depends on

Value = TypeVar("Value")


def in_use() -> Path:
    """The knowledge folder to use where none is named.

    In a clone of the project that is the clone's, so that an edited file is seen; else the one that
    came with the package.
    """
    here = Path.cwd()
    for folder in (here, *here.parents):
        if (folder / "diagnose" / "kb").is_dir() and (folder / "knowledge" / "causes").is_dir():
            return folder / "knowledge"
    return shipped()


def shipped() -> Path:
    """The knowledge folder that came with the package, or stands beside it in the source."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "knowledge"
    return inside if inside.is_dir() else package.parent / "knowledge"


def cache_folder() -> Path:
    """Where ready-made copies are kept."""
    from platformdirs import user_cache_path

    return user_cache_path("diagnose")


@cache
def _program() -> str:
    """A digest of what makes copies: eight hexadecimal digits."""
    package = Path(__file__).resolve().parent.parent
    files = sorted(file for name in MAKERS for file in (package / name).rglob("*.py"))
    total = hashlib.sha256()
    for file in files:
        total.update(file.read_bytes())
    return total.hexdigest()[:8]


def _file(name: str) -> Path:
    return cache_folder() / f"{name}-{_program()}.ready"


def copy_of(name: str, kind: type[Value]) -> Value | None:
    """The ready-made copy under a digest, or None where there is none that can be trusted."""
    with contextlib.suppress(OSError, msgspec.MsgspecError):
        raw = memoryview(plain_file(_file(name), LARGEST))
        if hashlib.sha256(raw[CHECKSUM:]).digest() == raw[:CHECKSUM]:
            return msgspec.msgpack.decode(raw[CHECKSUM:], type=kind)
    return None


def keep(name: str, value: object) -> None:
    """Keep a ready-made copy; a folder that cannot be written only costs time."""
    data = msgspec.msgpack.encode(value)
    with contextlib.suppress(OSError):
        write_whole(_file(name), hashlib.sha256(data).digest() + data)
        _drop_old(cache_folder())


def _drop_old(folder: Path) -> None:
    copies = sorted(folder.glob("*.ready"), key=lambda p: p.stat().st_mtime)
    for old in (*copies[:-KEPT], *folder.glob("*.msgpack")):
        old.unlink(missing_ok=True)
