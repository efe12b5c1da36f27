"""JSON Schemas of the knowledge files, made from the model, for editors.

A file names its schema in its first line, which common editors read, so that they complete keys
and words and flag what is wrong as one types. The schemas keep to draft 7, which they all know.
"""

from __future__ import annotations

import json
from inspect import cleandoc
from pathlib import Path
from typing import Any

import msgspec

from diagnose.kb import load, model

FOLDER = ".schema"  # hidden, so that it is not read as knowledge
DRAFT = "http://json-schema.org/draft-07/schema#"
LINE = "# yaml-language-server: $schema="

FILES: dict[str, Any] = {
    **load.FOLDERS,
    **{kind: dict[model.Id, struct] for kind, struct in load.TABLES.items()},  # type: ignore[valid-type]
    **{kind: list[struct] for kind, (struct, _) in load.LISTS.items()},  # type: ignore[valid-type]
    load.RETIRED: dict[str, str],
    **load.SINGLES,
}


def schema(kind: str) -> dict[str, Any]:
    """The schema of one kind of file, as 'causes' or 'likelihood'."""
    (found,), definitions = msgspec.json.schema_components(
        [FILES[kind]], ref_template="#/definitions/{name}"
    )
    if "$ref" in found:  # draft 7 would not look at what stands beside a reference
        found = definitions.pop(found["$ref"].rpartition("/")[2])
    if kind == "causes":  # the folder says the kind
        del found["properties"]["kind"]
    return {"$schema": DRAFT, **_tidy(found), "definitions": _tidy(definitions)}


def _tidy(value: Any) -> Any:
    """A part of a schema in draft 7, less what depends on the versions of Python and msgspec."""
    if isinstance(value, list):
        return [_tidy(part) for part in value]
    if not isinstance(value, dict):
        return value
    tidy = {name: _tidy(part) for name, part in value.items()}
    if isinstance(about := tidy.get("description"), str):  # Python 3.13 takes indentation out
        tidy["description"] = cleandoc(about)
    if "enum" in tidy.get("propertyNames", ()):  # msgspec before 0.23 does not list the keys
        del tidy["propertyNames"]
    if "prefixItems" in tidy:  # what draft 7 calls items
        tidy["items"] = tidy.pop("prefixItems")
    if "anyOf" in tidy:  # msgspec before 0.22 puts null first
        tidy["anyOf"].sort(key=lambda one: one == {"type": "null"})
    return tidy


def text(kind: str) -> str:
    """The schema as it is kept in a file."""
    return json.dumps(schema(kind), indent=1, ensure_ascii=False) + "\n"


def write(root: Path) -> list[Path]:
    """Write every schema beside the knowledge; gives the files that were not current."""
    changed = []
    for kind in FILES:
        path = root / FOLDER / f"{kind}.json"
        if not path.is_file() or path.read_text(encoding="utf-8") != text(kind):
            path.parent.mkdir(exist_ok=True)
            path.write_text(text(kind), encoding="utf-8")
            changed.append(path)
    return changed


def kind_of(name: str) -> str:
    """The kind of a file by its path within the knowledge folder, as 'causes/insect/x.yaml'."""
    return name.partition("/")[0].removesuffix(".yaml")


def modeline(name: str) -> str:
    """The first line of a file: where its schema lies, from where the file lies."""
    return f"{LINE}{'../' * name.count('/')}{FOLDER}/{kind_of(name)}.json"


def add_modelines(root: Path) -> list[Path]:
    """Begin every file that lacks it with its modeline, and mend a wrong one; gives those files."""
    changed = []
    for path in load.files(root):
        name = path.relative_to(root).as_posix()
        if kind_of(name) not in FILES:
            continue
        old = path.read_text(encoding="utf-8")
        first, _, rest = old.partition("\n")
        new = f"{modeline(name)}\n{rest if first.startswith(LINE) else old}"
        if new != old:
            path.write_text(new, encoding="utf-8")
            changed.append(path)
    return changed
