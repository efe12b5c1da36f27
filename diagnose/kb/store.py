"""Where the knowledge lies, and a ready-made copy of it, so that starting is quick.

The copy is kept in the user's cache folder under the digest of the files it was made from, so it
is never older than they are. It holds only values (MessagePack), and is made anew where unreadable.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

import msgspec

from diagnose.errors import KnowledgeError
from diagnose.kb.model import Knowledge

FORMAT = "9"  # raise it when the model changes, so that older copies are not read


def shipped() -> Path:
    """The knowledge folder that came with the package, or stands beside it in the source."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "knowledge"
    return inside if inside.is_dir() else package.parent / "knowledge"


def cache_folder() -> Path:
    """Where ready-made copies are kept."""
    from platformdirs import user_cache_path

    return user_cache_path("diagnose")


def open_knowledge(root: Path) -> Knowledge:
    """The knowledge in a folder, from its ready-made copy where there is one.

    Raises KnowledgeError with a line for every problem.
    """
    from diagnose.kb import load

    if not root.is_dir():
        load.read(root)  # says what is wrong with it
    try:
        name = load.digest(root)
    except OSError as error:
        raise KnowledgeError(
            f"{error.filename} cannot be read: {error.strerror}; mend its permissions"
        ) from None
    copy = cache_folder() / f"{FORMAT}-{name}.msgpack"
    with contextlib.suppress(OSError, msgspec.MsgspecError):
        return msgspec.msgpack.decode(copy.read_bytes(), type=Knowledge)
    from diagnose.kb import check

    knowledge = load.load(root, check.errors)
    with contextlib.suppress(OSError):  # a folder that cannot be written only costs time
        copy.parent.mkdir(parents=True, exist_ok=True)
        part = copy.with_suffix(f".{os.getpid()}")
        part.write_bytes(msgspec.msgpack.encode(knowledge))
        part.replace(copy)
        _drop_old(copy)
    return knowledge


def _drop_old(newest: Path, keep: int = 5) -> None:
    copies = sorted(newest.parent.glob("*.msgpack"), key=lambda p: p.stat().st_mtime)
    for old in copies[:-keep]:
        old.unlink(missing_ok=True)
