"""YAML to model. Every problem is kept, with file and line, and all are reported at once."""

from __future__ import annotations

import difflib
import hashlib
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from diagnose.errors import KnowledgeError
from diagnose.kb import model

FOLDERS: dict[str, type[msgspec.Struct]] = {
    "crops": model.Crop,
    "causes": model.Cause,
}
TABLES: dict[str, type[msgspec.Struct]] = {
    "symptoms": model.Symptom,
    "remedies": model.Remedy,
    "cautions": model.Caution,
    "referrals": model.Referral,
    "sources": model.Source,
}
SINGLES: dict[str, type[msgspec.Struct]] = {
    "likelihood": model.Likelihood,
    "seasons": model.Seasons,
    "words": model.Words,
}
LARGEST = 1_000_000  # bytes of one file
AMBIGUOUS = re.compile(r"^(y|n|yes|no|on|off)$", re.IGNORECASE)
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
SHOWN = 10  # problems that are told where the knowledge cannot be used; check tells all
INTEGER = re.compile(r"^-?(0|[1-9][0-9]*)$")
NUMBER = re.compile(r"^-?[0-9]+\.[0-9]+$")


class Finding(NamedTuple):
    """One problem in the knowledge: where, a stable code, and what to do."""

    file: str
    line: int
    code: str
    message: str

    def __str__(self) -> str:
        """As one line."""
        return f"{self.file}:{self.line}: {self.code} {self.message}"


class Document(NamedTuple):
    """A parsed file: plain values, the line of every path within it, the digest of its bytes."""

    data: Any
    lines: dict[tuple[str, ...], int]
    digest: bytes = b""


def near(word: str, allowed: list[str]) -> str:
    """The end of a message: the nearest allowed word, or the allowed words if few."""
    close = difflib.get_close_matches(word, allowed, n=1, cutoff=0.6)
    if close:
        return f"did you mean {close[0]!r}?"
    return f"allowed: {', '.join(sorted(allowed))}" if 0 < len(allowed) <= 25 else ""


def unknown(what: str, word: str, allowed: list[str]) -> str:
    """The message for a word that is not among the allowed ones."""
    return f"unknown {what} {word!r}; {near(word, allowed)}".rstrip("; ")


class Reader:
    """Reads one file at a time; problems gather in `findings`."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.findings: list[Finding] = []

    def report(self, file: str, line: int, code: str, message: str) -> None:
        """Keep one problem."""
        self.findings.append(Finding(file, line, code, message))

    def document(self, path: Path) -> Document | None:
        """Parse a file, or report why not."""
        import yaml

        name = path.relative_to(self.root).as_posix()
        try:
            raw = path.read_bytes()
        except OSError as error:
            self.report(name, 1, "file-unreadable", f"cannot be read: {error.strerror}")
            return None
        if len(raw) > LARGEST:
            self.report(
                name, 1, "file-too-large", f"{len(raw):,} bytes; the most is {LARGEST:,}: split it"
            )
            return None
        try:
            text = raw.decode("utf-8")
        except UnicodeDecodeError as error:
            line = raw[: error.start].count(b"\n") + 1
            self.report(
                name, line, "not-utf8",
                f"byte {raw[error.start]:#04x} is not UTF-8; save the file as UTF-8",
            )  # fmt: skip
            return None
        loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        for number, source_line in enumerate(text.splitlines(), 1):
            if "\t" in source_line[: len(source_line) - len(source_line.lstrip())]:
                self.report(name, number, "tab", "a tab stands in the indent; use two spaces")
                return None
        try:
            node = yaml.compose(text, Loader=loader)
        except yaml.YAMLError as error:
            mark = getattr(error, "problem_mark", None)
            problem = getattr(error, "problem", None) or str(error).splitlines()[0]
            self.report(name, mark.line + 1 if mark else 1, "not-yaml", f"not YAML: {problem}")
            return None
        if node is None:
            self.report(name, 1, "empty-file", "the file is empty; fill it or delete it")
            return None
        before = len(self.findings)
        lines: dict[tuple[str, ...], int] = {}
        data = self._plain(name, node, (), lines, {})
        return Document(data, lines) if len(self.findings) == before else None

    def _plain(
        self,
        name: str,
        node: Any,
        path: tuple[str, ...],
        lines: dict[tuple[str, ...], int],
        seen: dict[int, int],
    ) -> Any:
        """A YAML node as plain values, refusing whatever could surprise the writer."""
        line = node.start_mark.line + 1
        lines.setdefault(path, line)
        if id(node) in seen:
            self.report(name, seen[id(node)], "alias", "anchors and aliases are not used here")
            return None
        seen[id(node)] = line
        if node.id == "mapping":
            result: dict[str, Any] = {}
            for key_node, value_node in node.value:
                key_line = key_node.start_mark.line + 1
                if key_node.id != "scalar":
                    self.report(name, key_line, "key-not-text", "a key must be a plain word")
                    continue
                key = key_node.value
                if key in result:
                    self.report(
                        name, key_line, "duplicate-key",
                        f"{key!r} stands twice, first on line {lines[(*path, key)]}",
                    )  # fmt: skip
                    continue
                lines[(*path, key)] = key_line
                result[key] = self._plain(name, value_node, (*path, key), lines, seen)
            return result
        if node.id == "sequence":
            return [
                self._plain(name, item, (*path, str(i)), lines, seen)
                for i, item in enumerate(node.value)
            ]
        return self._scalar(name, node, line)

    def _scalar(self, name: str, node: Any, line: int) -> Any:
        text: str = node.value
        if node.style not in (None, ""):  # quoted, or a block of text
            return text
        if AMBIGUOUS.match(text):
            self.report(
                name, line, "yes-or-no",
                f"{text!r} can be read as a truth value; put it in quotes",
            )  # fmt: skip
            return text
        if text in ("true", "false"):
            return text == "true"
        if text in ("", "~", "null"):
            return None
        if INTEGER.match(text):
            return int(text)
        return float(text) if NUMBER.match(text) else text

    def convert(
        self, name: str, doc: Document, at: tuple[str, ...], data: Any, kind: type[msgspec.Struct]
    ) -> Any:
        """One struct, field by field, so that every wrong field is reported; None if any is."""
        line = doc.lines.get(at, 1)
        if not isinstance(data, dict):
            self.report(
                name, line, "wrong-shape",
                f"expected keys with values here, found {_shown(data)}",
            )  # fmt: skip
            return None
        before = len(self.findings)
        fields = _fields(kind)
        for key in data:
            if key not in fields:
                self.report(
                    name, doc.lines[(*at, key)], "unknown-key", unknown("key", key, list(fields))
                )
        values: dict[str, Any] = {}
        for key, field in fields.items():
            if key not in data:
                if field.required:
                    self.report(name, line, "missing-key", f"{key!r} is missing")
                continue
            try:
                values[field.name] = msgspec.convert(data[key], field.type)
            except msgspec.ValidationError as error:
                inner, message = _located(str(error), doc, (*at, key))
                self.report(
                    name, doc.lines.get(inner, line), "wrong-value",
                    f"{'.'.join(inner[len(at):])}: {message}; found {_shown(_dig(data, inner[len(at):]))}",
                )  # fmt: skip
        return kind(**values) if len(self.findings) == before else None


@cache  # msgspec works the annotations out anew at every call
def _fields(kind: type[msgspec.Struct]) -> dict[str, msgspec.structs.FieldInfo]:
    """The fields that a file may hold, by the key it has there."""
    return {
        field.encode_name: field
        for field in msgspec.structs.fields(kind)
        if not (kind is model.Cause and field.name == "kind")
    }


def _located(message: str, doc: Document, at: tuple[str, ...]) -> tuple[tuple[str, ...], str]:
    """The path and the words of a msgspec message such as 'Expected int - at `$.a[0]`'."""
    text, _, where = message.partition(" - at ")
    steps = re.findall(r"\.([\w-]+)|\[(\d+|\.\.\.)\]", where)
    path = at
    for key, index in steps:
        step = key or index
        if step == "...":
            break
        if (*path, step) not in doc.lines:
            break
        path = (*path, step)
    return path, _plain_words(text)


def _plain_words(message: str) -> str:
    """A msgspec message as a maintainer would say it."""
    pairs = (
        ("Expected `str`", "expected text"),
        ("Expected `array`", "expected a list"),
        ("Expected `object`", "expected keys with values"),
        ("Invalid enum value", "not an allowed word:"),
        (", got `null`", ", found nothing"),
        ("matching regex '^[a-z0-9]+(-[a-z0-9]+)*$'", "that is small letters, digits and dashes"),
    )
    for old, new in pairs:
        message = message.replace(old, new)
    return message


def _dig(data: Any, path: tuple[str, ...]) -> Any:
    for step in path:
        data = data[int(step)] if isinstance(data, list) else data[step]
    return data


def _shown(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


class Gathered(NamedTuple):
    """What a load found: the entries that can be read, and the problems of the rest.

    `knowledge` is None where a file is missing without which nothing works.
    """

    knowledge: model.Knowledge | None
    findings: list[Finding]


def files(root: Path) -> list[Path]:
    """Every YAML file of a knowledge folder, in a stable order; hidden files are left out."""
    return sorted(
        path
        for path in root.rglob("*.yaml")
        if not any(part.startswith(".") for part in path.relative_to(root).parts)
    )


def digest(root: Path) -> str:
    """A digest of the folder's names and bytes: 12 hexadecimal digits."""
    total = hashlib.sha256()
    for path in files(root):
        total.update(path.relative_to(root).as_posix().encode())
        total.update(b"\0")
        total.update(path.read_bytes())
        total.update(b"\0")
    return total.hexdigest()[:12]


def read(root: Path, reader: Reader | None = None) -> Gathered:
    """Read a knowledge folder, with a reader of one's own where there is one.

    Raises KnowledgeError where it is no folder.
    """
    if not root.is_dir():
        problem = "is a file, not a folder" if root.exists() else "is not there"
        raise KnowledgeError(f"the knowledge folder {root} {problem}; give one with --knowledge")
    reader = reader or Reader(root)
    entries: dict[str, dict[str, Any]] = {
        kind: {} for kind in (*FOLDERS, *TABLES, "rules", *SINGLES)
    }
    places: dict[str, str] = {}
    for path in files(root):
        name = path.relative_to(root).as_posix()
        kind = path.relative_to(root).parts[0].removesuffix(".yaml")
        if kind not in entries:
            reader.report(name, 1, "unknown-file", unknown("folder or file", kind, list(entries)))
            continue
        doc = reader.document(path)
        if doc is None:
            continue
        for entry_id, at, value in _entries(reader, name, path, kind, doc):
            if entry_id in entries[kind]:
                reader.report(
                    name, doc.lines.get(at, 1), "duplicate-id",
                    f"{entry_id!r} stands already in {places[f'{kind}/{entry_id}']}",
                )  # fmt: skip
                continue
            entries[kind][entry_id] = value
            for inner, line in doc.lines.items():
                if inner[: len(at)] == at:
                    key = "/".join((kind, entry_id, *inner[len(at) :]))
                    places[key] = f"{name}:{line}"
    for kind in SINGLES:
        if kind not in entries[kind] and not any(
            f.file.startswith(f"{kind}") for f in reader.findings
        ):
            reader.report(f"{kind}.yaml", 1, "missing-file", "this file is missing")
    if not all(entries[kind] for kind in SINGLES):
        return Gathered(None, reader.findings)
    knowledge = model.Knowledge(
        **{k: v for k, v in entries.items() if k not in SINGLES},
        **{k: entries[k][k] for k in SINGLES},
        places=places,
        digest=digest(root),
    )
    return Gathered(knowledge, reader.findings)


def _entries(
    reader: Reader, name: str, path: Path, kind: str, doc: Document
) -> Iterator[tuple[str, tuple[str, ...], Any]]:
    """The entries of one file: id, path within the file, value."""
    if kind in SINGLES:
        value = reader.convert(name, doc, (), doc.data, SINGLES[kind])
        if value is not None:
            yield kind, (), value
    elif kind in FOLDERS:
        value = reader.convert(name, doc, (), doc.data, FOLDERS[kind])
        if value is not None and kind == "causes":
            value = _with_kind(reader, name, path, value)
        if value is not None:
            yield path.stem, (), value
    elif kind == "rules":
        if not isinstance(doc.data, list):
            reader.report(name, 1, "wrong-shape", "expected a list of rules, each '- rule: id'")
            return
        for i, item in enumerate(doc.data):
            rule = reader.convert(name, doc, (str(i),), item, model.Rule)
            if rule is not None:
                yield rule.rule, (str(i),), rule
    elif not isinstance(doc.data, dict):
        reader.report(name, 1, "wrong-shape", "expected ids with their entries")
    else:
        for entry_id, item in doc.data.items():
            value = reader.convert(name, doc, (entry_id,), item, TABLES[kind])
            if value is not None:
                yield entry_id, (entry_id,), value


def _with_kind(reader: Reader, name: str, path: Path, cause: model.Cause) -> model.Cause | None:
    folder = path.parent.name
    kinds = list(model.CauseKind.__args__)  # type: ignore[attr-defined]
    if folder not in kinds or len(Path(name).parts) != 3:
        reader.report(
            name, 1, "unknown-kind",
            f"a cause stands in causes/<kind>/; {unknown('kind', folder, kinds)}",
        )  # fmt: skip
        return None
    return msgspec.structs.replace(cause, kind=folder)


def load(root: Path, check: Callable[[model.Knowledge], list[Finding]]) -> model.Knowledge:
    """Load a folder that must be usable.

    Raises KnowledgeError with every problem, a line each.
    """
    gathered = read(root)
    findings = gathered.findings or check(_known(gathered))
    if findings:
        raise KnowledgeError(
            f"the knowledge in {root} cannot be used: {len(findings)} "
            f"{'problem' if len(findings) == 1 else 'problems'}\n"
            + "\n".join(str(f) for f in sorted(findings))
        )
    return _known(gathered)


def _known(gathered: Gathered) -> model.Knowledge:
    assert gathered.knowledge is not None
    return gathered.knowledge
