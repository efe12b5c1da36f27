"""Files as they were parsed before: only those whose bytes changed are parsed again.

It lies with the ready-made copies (`store`), under the names of the folders; of each file that was
whole it keeps what was in it, under the digest of its bytes.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import msgspec

from diagnose.kb import store
from diagnose.kb.reader import Document

BETWEEN = "\0"  # stands before each step of a path; no text of a file can hold it
Packed = tuple[Any, list[str], list[int]]  # the plain values, the paths, the line of each


class Remembered:
    """The documents of one or several folders, by the digests of their bytes."""

    def __init__(self, folders: Sequence[Path]) -> None:
        names = b"\0".join(os.fsencode(folder.resolve()) for folder in folders)
        self.name = "texts-" + hashlib.sha256(names).hexdigest()[:12]
        self.before: dict[bytes, msgspec.Raw] = {}
        self.now: dict[bytes, msgspec.Raw] = {}
        with suppress(KeyError, msgspec.MsgspecError):
            parts = store.copy_of(self.name)
            if parts is not None:
                kind = dict[bytes, msgspec.Raw]
                self.before = msgspec.msgpack.decode(parts["documents"], type=kind)

    def document(self, digest: bytes) -> Document | None:
        """The document whose bytes have this digest, or None where it was never parsed."""
        raw = self.before.get(digest)
        if raw is None:
            return None
        self.now[digest] = raw
        data, paths, numbers = msgspec.msgpack.decode(raw, type=Packed)
        steps = (tuple(path.split(BETWEEN)[1:]) for path in paths)
        return Document(data, dict(zip(steps, numbers, strict=True)), digest)

    def put(self, document: Document) -> None:
        """Remember a document that was parsed now."""
        paths = ["".join(BETWEEN + step for step in path) for path in document.lines]
        packed = (document.data, paths, list(document.lines.values()))
        with suppress(RecursionError):  # it stands too deep in itself to be worth it
            self.now[document.digest] = msgspec.Raw(msgspec.msgpack.encode(packed))

    def keep(self) -> None:
        """Keep what was read this time, where that is not what was kept."""
        if self.now.keys() != self.before.keys():
            store.keep(self.name, {"documents": msgspec.msgpack.encode(self.now)})
