"""Where the knowledge lies, and ready-made copies of it, so that starting is quick.

A copy is a file in the user's cache folder, or in the package, under the digest of the files it was
made from and of the program that made it, so it is never older than either. It holds named parts,
plain bytes and arrays, behind their checksum; they are read where they lie, so that what is not
looked at takes no memory. Where anything does not fit, it is made anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import mmap
import os
from collections.abc import Mapping
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, TypeAlias

import msgspec
import numpy as np

from diagnose.inputs import opened, write_whole

KEPT = 10  # copies
CHECKSUM = 32  # bytes at the head of a copy
WORD = 8  # bytes: parts begin at multiples of it
# What makes a copy: packages and modules.
MAKERS = (
    "inputs.py",
    "seasons",
    "kb",
    "reasoning",
    "reading",
    "listening",
    "consultation.py",
    "cases.py",
    "checking",
)

Parts: TypeAlias = Mapping[str, Any]
"""The parts of a copy by name: bytes, which are a view of the file when read back, and arrays."""


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


def packaged_folder() -> Path:
    """Where the ready-made copy of the knowledge lies that came with the package."""
    return Path(__file__).resolve().parent.parent / "made"


@cache
def _program() -> str:
    """A digest of what makes copies, the stemmer included: eight hexadecimal digits."""
    package = Path(__file__).resolve().parent.parent
    places = [package / name for name in MAKERS]
    files = [place for place in places if place.is_file()]
    files += sorted(file for place in places for file in place.rglob("*.py"))
    stemmer = find_spec("snowballstemmer")
    if stemmer and stemmer.origin:
        files.append(Path(stemmer.origin).with_name("english_stemmer.py"))
    total = hashlib.sha256()
    for file in files:
        total.update(file.read_bytes())
    return total.hexdigest()[:8]


def file_name(name: str) -> str:
    """The name of the file of a copy."""
    return f"{name}-{_program()}.ready"


def copy_of(name: str) -> Parts | None:
    """The parts of the copy under a digest, or None where there is none that can be trusted."""
    for folder in (cache_folder(), packaged_folder()):
        with contextlib.suppress(OSError, ValueError, msgspec.MsgspecError):
            found = _parts(folder / file_name(name))
            with contextlib.suppress(OSError):
                os.utime(folder / file_name(name))  # those least in use are dropped first
            return found
    return None


def keep(name: str, parts: Parts) -> None:
    """Keep a copy in the cache folder; one that cannot be written only costs time."""
    with contextlib.suppress(OSError):
        write(cache_folder(), name, parts)
        _drop_old(cache_folder())


def write(folder: Path, name: str, parts: Parts) -> Path:
    """Write a copy into a folder, and give the file. Raises OSError."""
    places: dict[str, tuple[str, int, int]] = {}  # kind of array, first byte and number of bytes
    body = bytearray()
    for part, value in parts.items():
        kind = value.dtype.str if isinstance(value, np.ndarray) else ""
        data = value.tobytes() if isinstance(value, np.ndarray) else value
        body += bytes(-len(body) % WORD)
        places[part] = (kind, len(body), len(data))
        body += data
    head = msgspec.msgpack.encode(places)
    data = len(head).to_bytes(WORD, "little") + head + bytes(-len(head) % WORD) + body
    file = folder / file_name(name)
    write_whole(file, hashlib.sha256(data).digest() + data)
    return file


def _parts(file: Path) -> Parts:
    """The parts of a copy. Raises OSError, ValueError or MsgspecError where anything is wrong."""
    with opened(file) as stream:
        checksum = stream.read(CHECKSUM)
        if hashlib.file_digest(stream, "sha256").digest() != checksum:
            raise ValueError("its checksum does not fit")
        whole = memoryview(mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ))
    start = CHECKSUM + WORD
    end = start + int.from_bytes(whole[CHECKSUM:start], "little")
    places = msgspec.msgpack.decode(whole[start:end], type=dict[str, tuple[str, int, int]])
    body = end + -end % WORD
    return {
        part: np.frombuffer(data, kind) if kind else data
        for part, (kind, first, size) in places.items()
        for data in [whole[body + first : body + first + size]]
    }


def _drop_old(folder: Path) -> None:
    copies = sorted(folder.glob("*.ready"), key=lambda p: p.stat().st_mtime)
    for old in (*copies[:-KEPT], *folder.glob("*.msgpack")):
        old.unlink(missing_ok=True)
