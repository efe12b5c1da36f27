"""The one file in which rounds are kept: SQLite, written ahead, so that a kill loses nothing.

What `changing` has left is there, whole, after a kill or a power cut; what it had not is not. Two
programs wait for one another.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import TypeVar

import msgspec

from diagnose.errors import UsageError
from diagnose.rounds.model import NAMES, TABLES, Bed, Garden, Record

OURS = 0x62656473  # what SQLite calls the application id: it tells our file from others
WAIT = 20.0  # seconds that one program waits for another
One = TypeVar("One", bound=Record)

# What each version adds to the one before; never changed, only added to.
MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """CREATE TABLE gardens (id TEXT PRIMARY KEY,
           name TEXT NOT NULL COLLATE NOCASE UNIQUE,
           latitude REAL NOT NULL, last_frost TEXT NOT NULL, first_frost TEXT NOT NULL) STRICT""",
        """CREATE TABLE beds (id TEXT PRIMARY KEY,
           garden TEXT NOT NULL REFERENCES gardens DEFERRABLE INITIALLY DEFERRED,
           name TEXT NOT NULL COLLATE NOCASE, UNIQUE (garden, name)) STRICT""",
        """CREATE TABLE plantings (id TEXT PRIMARY KEY,
           bed TEXT NOT NULL REFERENCES beds DEFERRABLE INITIALLY DEFERRED,
           crop TEXT NOT NULL, since TEXT NOT NULL, until TEXT) STRICT""",
        """CREATE TABLE visits (id TEXT PRIMARY KEY,
           bed TEXT NOT NULL REFERENCES beds DEFERRABLE INITIALLY DEFERRED,
           day TEXT NOT NULL, notes TEXT NOT NULL, UNIQUE (bed, day)) STRICT""",
        """CREATE TABLE findings (id TEXT PRIMARY KEY,
           visit TEXT NOT NULL REFERENCES visits DEFERRABLE INITIALLY DEFERRED,
           kept TEXT NOT NULL, cause TEXT NOT NULL, count REAL, per TEXT NOT NULL) STRICT""",
        """CREATE TABLE results (id TEXT PRIMARY KEY,
           finding TEXT NOT NULL REFERENCES findings DEFERRABLE INITIALLY DEFERRED,
           day TEXT NOT NULL, state TEXT NOT NULL, count REAL) STRICT""",
        """CREATE TABLE done (id TEXT PRIMARY KEY,
           visit TEXT NOT NULL REFERENCES visits DEFERRABLE INITIALLY DEFERRED,
           measure TEXT NOT NULL,
           finding TEXT REFERENCES findings DEFERRABLE INITIALLY DEFERRED) STRICT""",
        """CREATE TABLE due (id TEXT PRIMARY KEY,
           bed TEXT NOT NULL REFERENCES beds DEFERRABLE INITIALLY DEFERRED,
           day TEXT NOT NULL, what TEXT NOT NULL,
           finding TEXT REFERENCES findings DEFERRABLE INITIALLY DEFERRED,
           settled TEXT) STRICT""",
        """CREATE TABLE weather (
           garden TEXT NOT NULL REFERENCES gardens DEFERRABLE INITIALLY DEFERRED,
           day TEXT NOT NULL, low REAL, high REAL, rain REAL, PRIMARY KEY (garden, day))
           STRICT, WITHOUT ROWID""",
        """CREATE TABLE normals (
           garden TEXT NOT NULL REFERENCES gardens DEFERRABLE INITIALLY DEFERRED,
           month INTEGER NOT NULL, low REAL NOT NULL, high REAL NOT NULL,
           PRIMARY KEY (garden, month)) STRICT, WITHOUT ROWID""",
        "CREATE INDEX plantings_bed ON plantings (bed)",
        "CREATE INDEX findings_visit ON findings (visit)",
        "CREATE INDEX results_finding ON results (finding)",
        "CREATE INDEX done_visit ON done (visit)",
        "CREATE INDEX due_bed ON due (bed)",
    ),
)


def default_file() -> Path:
    """Where the rounds of this user lie."""
    from platformdirs import user_data_path

    return user_data_path("diagnose") / "rounds.sqlite"


class Store:
    """An open file of rounds. Raises UsageError, which says what is wrong with the file."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or default_file()
        with self._told():
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self._link = _connect(self.path)
            try:
                self._begin()
            except BaseException:
                self._link.close()
                raise

    def close(self) -> None:
        """Close the file."""
        self._link.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _begin(self) -> None:
        """Make the tables, or bring them up to this version."""
        if self._version() == len(MIGRATIONS):
            return
        _written_ahead(self._link)
        with self.changing():
            for statements in MIGRATIONS[
                self._version() :
            ]:  # another program may have been quicker
                for statement in statements:
                    self._link.execute(statement)
            self._link.execute(f"PRAGMA application_id = {OURS}")
            self._link.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")

    def _version(self) -> int:
        """How many migrations the file has had. Raises UsageError where it is none of ours."""
        version = self._number("user_version")
        if self._number("application_id") != OURS:
            if version or self._link.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                raise UsageError(f"{self.path} holds something else than rounds; move it away")
        elif version > len(MIGRATIONS):
            raise UsageError(
                f"{self.path} was written by a newer version of diagnose (format {version}, "
                f"this one knows {len(MIGRATIONS)}); nothing was changed: use the newer one"
            )
        return version

    def _number(self, pragma: str) -> int:
        found: int = self._link.execute(f"PRAGMA {pragma}").fetchone()[0]
        return found

    @contextlib.contextmanager
    def _told(self) -> Iterator[None]:
        """Say in words what SQLite or the system finds wrong."""
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            raise UsageError(f"{self.path}: {_in_words(error)}") from None

    @contextlib.contextmanager
    def changing(self) -> Iterator[None]:
        """All that is done inside is kept, once it is left, or none of it.

        Inside another `changing` it is part of that.
        """
        with self._told():
            if self._link.in_transaction:
                yield
                return
            self._link.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._link.execute("COMMIT")
            except BaseException:
                with contextlib.suppress(sqlite3.Error):
                    self._link.execute("ROLLBACK")
                raise

    def put(self, *records: Record) -> None:
        """Keep records; one with the same key is replaced."""
        with self.changing():
            for kind in dict.fromkeys(type(record) for record in records):
                names = kind.__struct_fields__
                more = ", ".join(f"{n} = excluded.{n}" for n in names if n not in kind.key)
                self._link.executemany(
                    f"INSERT INTO {NAMES[kind]} ({', '.join(names)}) "
                    f"VALUES ({', '.join('?' * len(names))}) "
                    f"ON CONFLICT ({', '.join(kind.key)}) DO UPDATE SET {more}",
                    (msgspec.structs.astuple(r) for r in records if type(r) is kind),
                )

    def remove(self, record: Record) -> None:
        """Remove a record that nothing refers to."""
        keys = {name: getattr(record, name) for name in record.key}
        where = " AND ".join(f"{name} = ?" for name in keys)
        with self.changing():
            self._link.execute(
                f"DELETE FROM {NAMES[type(record)]} WHERE {where}", tuple(keys.values())
            )

    def all(self, kind: type[One], **where: str) -> list[One]:
        """The records of a kind in which these fields have these values, in the order of keys."""
        names = kind.__struct_fields__
        held = " AND ".join(f"{name} = ?" for name in where) or "1"
        with self._told():
            rows = self._link.execute(
                f"SELECT {', '.join(names)} FROM {NAMES[kind]} WHERE {held} "
                f"ORDER BY {', '.join(kind.key)}", tuple(where.values()),
            ).fetchall()  # fmt: skip
        return [kind(*row) for row in rows]

    def under(self, kind: type[One], above: str, ids: Iterable[str]) -> list[One]:
        """The records of a kind whose field `above` is one of some ids."""
        names, wanted = kind.__struct_fields__, msgspec.json.encode([*ids]).decode()
        with self._told():
            rows = self._link.execute(
                f"SELECT {', '.join(names)} FROM {NAMES[kind]} "
                f"WHERE {above} IN (SELECT value FROM json_each(?)) "
                f"ORDER BY {', '.join(kind.key)}", (wanted,),
            ).fetchall()  # fmt: skip
        return [kind(*row) for row in rows]

    # gardens and beds by name

    def garden_named(self, name: str) -> Garden:
        """The garden of that name. Raises UsageError where there is none."""
        found = {garden.name: garden for garden in self.all(Garden)}
        return found[_the_one("garden", name, found)]

    def bed_named(self, name: str) -> Bed:
        """The bed of that name, or of 'garden/bed'. Raises UsageError where it is not one."""
        gardens = {garden.id: garden.name for garden in self.all(Garden)}
        beds = {f"{gardens[bed.garden]}/{bed.name}": bed for bed in self.all(Bed)}
        found = [n for n, bed in beds.items() if _same(n, name) or _same(bed.name, name)]
        if len(found) > 1:
            raise UsageError(f"{len(found)} beds are called {name!r}; name one: {', '.join(found)}")
        if found:
            return beds[found[0]]
        return beds[_the_one("bed", name, beds)]

    # copies

    def backup(self, target: Path) -> None:
        """Write a whole copy to a new file. Raises UsageError where one is there already."""
        if target.exists():
            raise UsageError(f"{target} is there already; give another name")
        part = target.with_name(f".{target.name}.part")
        with _told_of(target):
            part.unlink(missing_ok=True)
            with contextlib.closing(sqlite3.connect(part)) as copy:
                self._link.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")  # so that it is one file, whole
            _to_disk(part)
            os.replace(part, target)

    def restore(self, source: Path) -> Path:
        """Take all from a copy; what was there before is backed up first, and where is returned.

        Raises UsageError where the copy is none, or damaged; then nothing is changed.
        """
        if not source.is_file():
            raise UsageError(f"{source} is not there; name the file of a backup")
        with _told_of(source), contextlib.closing(
            sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)
        ) as copy:  # fmt: skip
            ours = copy.execute("PRAGMA application_id").fetchone()[0] == OURS
            version = copy.execute("PRAGMA user_version").fetchone()[0]
            if not ours or version > len(MIGRATIONS):
                raise UsageError(f"{source} is no backup that this version can read")
            if copy.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
                raise UsageError(f"{source} is damaged; nothing was changed")
            before = self.path.with_name(f"before-restore-{datetime.now():%Y%m%d-%H%M%S-%f}.sqlite")
            self.backup(before)
            copy.backup(self._link)
        with self._told():
            _written_ahead(self._link)
            self._begin()
        return before


def _connect(path: Path) -> sqlite3.Connection:
    link = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
    link.execute("PRAGMA foreign_keys = ON")
    link.execute("PRAGMA synchronous = FULL")
    return link


def _written_ahead(link: sqlite3.Connection) -> None:
    """Let changes be written ahead; another program that does so at once is waited for."""
    until = time.monotonic() + WAIT
    while True:
        try:
            link.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _to_disk(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())


@contextlib.contextmanager
def _told_of(path: Path) -> Iterator[None]:
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        raise UsageError(f"{path}: {_in_words(error)}") from None


SAYINGS = {
    "disk is full": "the disk is full; nothing of this was kept: make room and do it again",
    "readonly": "it cannot be written; nothing of this was kept",
    "unable to open": "it cannot be opened or made; is its folder there, and may you write in it?",
    "is locked": "another program has held it for too long; end that one and do it again",
    "not a database": "it is damaged, or no file of rounds; restore a backup "
    "(diagnose records restore FILE)",
    "malformed": "it is damaged; restore a backup (diagnose records restore FILE)",
    "UNIQUE constraint failed: gardens.name": "there is a garden of that name already",
    "UNIQUE constraint failed: beds": "there is a bed of that name in that garden already",
    "UNIQUE constraint failed: visits": "that bed has a visit on that day already",
    "FOREIGN KEY": "something would refer to what is not there; nothing of this was kept",
}


def _in_words(error: Exception) -> str:
    said = str(error)
    if isinstance(error, OSError):
        return f"it cannot be used: {error.strerror}"
    return next((words for part, words in SAYINGS.items() if part in said), said)


def _same(one: str, other: str) -> bool:
    return one.strip().casefold() == other.strip().casefold()


def _the_one(what: str, name: str, known: Mapping[str, object]) -> str:
    """The known name that is meant. Raises UsageError with the nearest, or with all."""
    from rapidfuzz import fuzz, process

    for label in known:
        if _same(label, name):
            return label
    close = process.extractOne(name, list(known), scorer=fuzz.WRatio, score_cutoff=70)
    if close:
        raise UsageError(f"there is no {what} {name!r}; did you mean {close[0]!r}?")
    there = ", ".join(list(known)[:12]) or f"no {what} yet"
    raise UsageError(f"there is no {what} {name!r}; there is: {there}")


__all__ = ["MIGRATIONS", "OURS", "TABLES", "Store", "default_file"]
