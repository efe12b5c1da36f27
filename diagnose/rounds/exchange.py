"""Rounds as JSON or as a folder of CSV tables, whole, and back: nothing is lost either way."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, get_args

import msgspec

from diagnose.errors import UsageError
from diagnose.inputs import plain_file, write_whole
from diagnose.rounds.model import TABLES, Record
from diagnose.rounds.store import Store

FORMAT = 1
LARGEST = 500_000_000  # bytes of a file
Tables = dict[str, list[Record]]


def everything(store: Store) -> Tables:
    """All records by table, in the order of their keys."""
    with store.changing():  # so that another program cannot write in between
        return {name: [*store.all(kind)] for name, kind in TABLES.items()}


def as_json(tables: Mapping[str, list[Record]]) -> bytes:
    """All as one JSON object."""
    whole = {"format": FORMAT, **tables}
    return msgspec.json.format(msgspec.json.encode(whole), indent=1) + b"\n"


def as_csv(name: str, records: Iterable[Record]) -> bytes:
    """One table as CSV in UTF-8; an empty cell is nothing known."""
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(TABLES[name].__struct_fields__)
    table.writerows(msgspec.structs.astuple(record) for record in records)
    return text.getvalue().encode()


def write(store: Store, target: Path) -> list[Path]:
    """Write all, to a file that ends in .json, or as CSV into a new folder.

    Raises UsageError where something of that name is there, or cannot be written.
    """
    if target.exists():
        raise UsageError(f"{target} is there already; give another name")
    tables = everything(store)
    if target.suffix == ".json":
        files = {target: as_json(tables)}
    else:
        files = {target / f"{name}.csv": as_csv(name, found) for name, found in tables.items()}
    try:
        for path, data in files.items():
            write_whole(path, data)
    except OSError as error:
        raise UsageError(f"{target} cannot be written: {error.strerror}") from None
    return list(files)


def read(source: Path) -> Tables:
    """What a JSON file or a folder of CSV tables holds. Raises UsageError: where, and what."""
    try:
        if source.is_dir():
            return {n: _from_csv(source / f"{n}.csv", kind) for n, kind in TABLES.items()}
        return _from_json(source)
    except OSError as error:
        raise UsageError(f"{error.filename or source} cannot be read: {error.strerror}") from None


def _from_json(path: Path) -> Tables:
    try:
        whole = msgspec.json.decode(plain_file(path, LARGEST))
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        raise UsageError(f"{path} is no JSON: {error}") from None
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise UsageError(f'{path} is no export of rounds; it should begin with "format": {FORMAT}')
    unknown = set(whole) - {*TABLES, "format"}
    if unknown:
        raise UsageError(f"{path} has a table {min(unknown)!r} that I do not know")
    found: Tables = {}
    for name, kind in TABLES.items():
        rows = whole.get(name, [])
        if not isinstance(rows, list):
            raise UsageError(f"{path}, {name}: a list of rows is wanted")
        found[name] = [_row(row, kind, f"{path}, {name}, row {n}") for n, row in enumerate(rows, 1)]
    return found


def _from_csv(path: Path, kind: type[Record]) -> list[Record]:
    try:
        text = plain_file(path, LARGEST).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UsageError(f"{path} is no UTF-8 text (byte {error.start + 1})") from None
    table = csv.reader(io.StringIO(text, newline=""), strict=True)
    wanted = kind.__struct_fields__
    empty = {f.name for f in msgspec.structs.fields(kind) if type(None) in get_args(f.type)}
    found: list[Record] = []
    try:
        head = next(table, [])
        if tuple(head) != wanted:
            raise UsageError(f"{path}, line 1: the columns should be {','.join(wanted)}")
        for cells in table:
            if len(cells) != len(wanted):
                raise UsageError(f"{path}, line {table.line_num}: {len(cells)} cells, "
                                 f"{len(wanted)} are wanted")  # fmt: skip
            row = {
                name: None if not cell and name in empty else cell
                for name, cell in zip(wanted, cells, strict=True)
            }
            found.append(_row(row, kind, f"{path}, line {table.line_num}", strict=False))
    except csv.Error as error:
        raise UsageError(f"{path}, line {table.line_num}: {error}; is this a table?") from None
    return found


def _row(row: Any, kind: type[Record], where: str, strict: bool = True) -> Record:
    try:
        return msgspec.convert(row, kind, strict=strict)
    except (msgspec.ValidationError, ValueError) as error:
        raise UsageError(f"{where}: {error}") from None


def add(store: Store, tables: Tables) -> dict[str, int]:
    """Add what is not there yet, all or nothing; how many of each table were new.

    The same row twice is one row. Raises UsageError where a row differs from the one that is there.
    """
    new: dict[str, int] = {}
    with store.changing():
        for name, kind in TABLES.items():
            there = {_key(record): record for record in store.all(kind)}
            more: list[Record] = []
            for record in tables.get(name, []):
                old = there.get(_key(record))
                if old is None:
                    more.append(record)
                    there[_key(record)] = record
                elif old != record:
                    raise UsageError(
                        f"{name}: {', '.join(map(str, _key(record)))} is there with other content; "
                        "nothing was taken in. Import into an empty file, or restore a backup"
                    )
            store.put(*more)
            new[name] = len(more)
    return new


def _key(record: Record) -> tuple[object, ...]:
    return tuple(getattr(record, name) for name in record.key)
