"""A folder of an older form, brought to the one that this program reads.

Form 0 is that of folders without format.yaml: they may still use ids of symptoms that have gone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from diagnose.bench import schemas
from diagnose.bench.tidy import layout
from diagnose.inputs import write_whole
from diagnose.kb import load
from diagnose.kb.reader import Reader
from diagnose.kb.retired import Retired, successor

FILE = "format.yaml"


def form_of(folder: Path) -> int:
    """The form of a folder. Raises ValueError where its format.yaml cannot be read."""
    path = folder / FILE
    if not path.exists():
        return 0
    reader = Reader(folder)
    document = reader.document(path)
    form = document.data.get("format") if document and isinstance(document.data, dict) else None
    if not isinstance(form, int):
        raise ValueError(f"{path} does not say which form the folder has, as in 'format: 1'")
    return form


def migrate(folder: Path, retired: Retired) -> Iterator[Path]:
    """Bring a folder to the form of today; gives the files that were changed.

    Raises ValueError where it is newer than the program, or a file cannot be read.
    """
    form = form_of(folder)
    if form > load.FORMAT:
        raise ValueError(f"{folder} has form {form}, this program knows {load.FORMAT}")
    for step in STEPS[form:]:
        yield from step(folder, retired)
    if form < load.FORMAT:
        text = f"{schemas.modeline(FILE)}\nformat: {load.FORMAT}\n"
        write_whole(folder / FILE, text.encode())
        yield folder / FILE


def _renamed(folder: Path, retired: Retired) -> Iterator[Path]:
    """From 0 to 1: symptoms that have gone are called by the names of today."""
    for path in load.files(folder):
        kind = schemas.kind_of(path.relative_to(folder).as_posix())
        if kind not in ("causes", "rules"):
            continue
        old = path.read_text(encoding="utf-8")
        if not any(word.partition("/")[0] in old for word in retired):
            continue
        change = _in_cause if kind == "causes" else _in_rules
        new = layout(old, partial(change, retired))
        if new != layout(old):
            write_whole(path, new.encode())
            yield path


def _in_cause(retired: Retired, data: Any) -> None:
    if not isinstance(data, dict):
        return
    if isinstance(data.get("evidence"), dict):
        _rename(data["evidence"], lambda name, _: _whole(retired, name))
    for case in data.get("cases") or []:
        if isinstance(case, dict) and isinstance(case.get("observations"), dict):
            _rename(case["observations"], lambda name, value: successor(retired, name, str(value)))


def _in_rules(retired: Retired, data: Any) -> None:
    for rule in data if isinstance(data, list) else []:
        if isinstance(rule, dict) and isinstance(rule.get("when"), dict):
            _rename(rule["when"], lambda name, value: (
                successor(retired, name, value) if isinstance(value, str) else _whole(retired, name)
            ))  # fmt: skip


def _whole(retired: Mapping[str, str], name: str) -> tuple[str, None] | None:
    """The name of today where a symptom has only been renamed; its values stay."""
    now = retired.get(name)
    return (now, None) if now and "/" not in now else None


def _rename(lines: Any, now: Callable[[str, Any], tuple[str, str | None] | None]) -> None:
    """Rename keys in place, where they stand."""
    for number, (name, value) in enumerate(list(lines.items())):
        found = now(name, value)
        if found and found[0] not in lines:
            comment = lines.ca.items.pop(name, None)
            del lines[name]
            lines.insert(number, found[0], value if found[1] is None else found[1])
            if comment:
                lines.ca.items[found[0]] = comment


STEPS = (_renamed,)
assert len(STEPS) == load.FORMAT
