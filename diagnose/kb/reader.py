"""One YAML file to plain values and to the model; every problem is kept, with file and line."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple, Protocol, get_args, get_origin

import msgspec

from diagnose.inputs import TooLarge, plain_file
from diagnose.kb import model

LARGEST = 1_000_000  # bytes of one file
AMBIGUOUS = re.compile(r"^(y|n|yes|no|on|off)$", re.IGNORECASE)
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
INTEGER = re.compile(r"^-?(0|[1-9][0-9]{0,17})$")
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


class Silence(NamedTuple):
    """A comment by which a maintainer lets one warning stand: '# let twins stand: why'.

    It is for the line that it stands on, or for the one below.
    """

    file: str
    line: int
    code: str
    because: str


# Characters that a word processor or a web page puts where a plain one belongs, and what to type.
ODD = {
    "\ufeff": ("a byte order mark", "save the file as UTF-8 without it"),
    "\r\n": ("line ends of Windows (CR LF)", "save the file with LF alone"),
    "\u00a0": ("a no-break space", "type a plain space"),
    "\u202f": ("a no-break space", "type a plain space"),
    "\u200b": ("a space of no width", "take it out"),
    "\u201c": ("a curly quote", 'type "'),
    "\u201d": ("a curly quote", 'type "'),
    "\u2018": ("a curly quote", "type '"),
    "\u2019": ("a curly apostrophe", "type '"),
    "\u2010": ("a hyphen that is not the one on the keyboard", "type -"),
    "\u2011": ("a no-break hyphen", "type -"),
    "\u2013": ("a dash", "type -"),
    "\u2014": ("a dash", "type -"),
    "\u2212": ("a minus sign", "type -"),
}
LET = re.compile(r"#\s*let ([a-z-]+) stand\b:?[ \t]*(.*)")


class Document(NamedTuple):
    """A parsed file: plain values, the line of every path within it, the digest of its bytes."""

    data: Any
    lines: dict[tuple[str, ...], int]
    digest: bytes = b""


class Remembers(Protocol):
    """What knows documents that were parsed before; see `diagnose.kb.remembered`."""

    def document(self, digest: bytes) -> Document | None:
        """The document of these bytes, or None."""

    def put(self, document: Document) -> None:
        """Remember one."""


def near(word: str, allowed: list[str]) -> str:
    """The end of a message: the nearest allowed word, or the allowed words if few."""
    from rapidfuzz import fuzz, process

    close = process.extractOne(word, allowed, scorer=fuzz.ratio, score_cutoff=60)
    if close:
        return f"did you mean {close[0]!r}?"
    return f"allowed: {', '.join(sorted(allowed))}" if 0 < len(allowed) <= 25 else ""


def unknown(what: str, word: str, allowed: list[str]) -> str:
    """The message for a word that is not among the allowed ones."""
    return f"unknown {what} {word!r}; {near(word, allowed)}".rstrip("; ")


def shown_name(root: Path, path: Path) -> str:
    """The name of a file below a folder, on one line and in characters that can be printed."""
    name = path.relative_to(root).as_posix()
    if name.isprintable():
        return name
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in name)


def _broken(error: Any, text: str) -> tuple[int, str, str]:
    """What keeps a text from being YAML: the line, the code, and what to look for there.

    The parser notices it a line too late where it waits for something that does not come.
    """
    mark = getattr(error, "problem_mark", None)
    problem = getattr(error, "problem", None) or str(error).splitlines()[0]
    lines = text.splitlines() or [""]
    at = min(mark.line, len(lines) - 1) if mark else 0
    for number in (at, at - 1):
        odd = next((o for o in ODD if number >= 0 and o in lines[number]), None)
        if odd:
            what, remedy = ODD[odd]
            return number + 1, "not-yaml", f"not YAML: {what} stands here; {remedy}"
    if "could not find expected ':'" in problem:
        start = getattr(error, "context_mark", None)
        number = start.line if start else max(at - 1, 0)
        return number + 1, "not-yaml", f"not YAML: a colon is missing in {_said(lines[number])}"
    if "mapping values are not allowed" in problem:
        above = lines[at - 1].strip() if at else ":"
        if above and ":" not in above and not above.startswith(("#", "-")):
            return at, "not-yaml", f"not YAML: a colon is missing in {_said(above)}"
        return at + 1, "not-yaml", (
            f"not YAML: two colons, or a wrong indent, in {_said(lines[at])}; a text with a colon "
            "goes in quotes"
        )  # fmt: skip
    if "expected ',' or" in problem:
        start = getattr(error, "context_mark", None)
        number = start.line if start else at
        return (
            number + 1,
            "not-yaml",
            f"not YAML: a bracket is not closed in {_said(lines[number])}",
        )
    if "did not find expected key" in problem or "expected <block end>" in problem:
        return at + 1, "not-yaml", (
            f"not YAML: the indent of {_said(lines[at])} does not fit the lines above; or a quote "
            "there ends too early"
        )  # fmt: skip
    return at + 1, "not-yaml", f"not YAML: {problem}, in {_said(lines[at])}"


def _said(line: str) -> str:
    """A line of a file, quoted and cut."""
    line = line.strip()
    return repr(line if len(line) <= 60 else line[:57] + "...")


class Reader:
    """Reads one file at a time; problems gather in `findings`.

    What it `remembers` need not be parsed again.
    """

    def __init__(self, root: Path, remembers: Remembers | None = None) -> None:
        self.root = root
        self.remembers = remembers
        self.over = ""  # the name of a folder that is laid over others, with a slash
        self.findings: list[Finding] = []
        self.notes: list[Finding] = []  # what keeps nothing from being read
        self.silences: list[Silence] = []

    def name(self, path: Path) -> str:
        """What a file is called in findings."""
        return self.over + shown_name(self.root, path)

    def report(self, file: str, line: int, code: str, message: str) -> None:
        """Keep one problem."""
        if code in ("wrong-value", "unknown-key"):
            odd = next((odd for odd in ODD if odd in message or repr(odd)[1:-1] in message), None)
            message += f"; {ODD[odd][0]} is in it: {ODD[odd][1]}" if odd else ""
        self.findings.append(Finding(file, line, code, message))

    def document(self, path: Path) -> Document | None:
        """Parse a file, or report why not."""
        import yaml

        name = self.name(path)
        try:
            raw = plain_file(path, LARGEST)
        except TooLarge as error:
            self.report(
                name, 1, "file-too-large",
                f"{error.size:,} bytes; the most is {LARGEST:,}: split it",
            )  # fmt: skip
            return None
        except OSError as error:
            self.report(name, 1, "file-unreadable", f"cannot be read: {error.strerror}")
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
        self._margins(name, text)
        digest = hashlib.sha256(raw).digest()
        known = self.remembers.document(digest) if self.remembers else None
        if known:
            return known
        for number, source_line in enumerate(text.splitlines(), 1):
            if "\t" in source_line[: len(source_line) - len(source_line.lstrip())]:
                self.report(name, number, "tab", "a tab stands in the indent; use two spaces")
                return None
        before = len(self.findings)
        lines: dict[tuple[str, ...], int] = {}
        try:
            node = yaml.compose(text, Loader=_loader())
            if node is None:
                self.report(name, 1, "empty-file", "the file is empty; fill it or delete it")
                return None
            data = self._plain(name, node, (), lines, {})
        except yaml.YAMLError as error:
            self.report(name, *_broken(error, text))
            return None
        except RecursionError:
            self.report(name, 1, "not-yaml", "lists and keys stand too deep in one another")
            return None
        if len(self.findings) > before:
            return None
        found = Document(data, lines, digest)
        if self.remembers:
            self.remembers.put(found)
        return found

    def _margins(self, name: str, text: str) -> None:
        """Note the odd characters of a file, each kind once, and the warnings it lets stand."""
        if not text.isascii() or "\r" in text:
            for odd, (what, remedy) in ODD.items():
                if odd in text:
                    line = text[: text.index(odd)].count("\n") + 1
                    message = f"{what} stands here; {remedy}"
                    if all(message != f.message or name != f.file for f in self.notes):
                        self.notes.append(Finding(name, line, "odd-character", message))
        if "# let " in text:
            for number, line_ in enumerate(text.split("\n"), 1):
                found = LET.search(line_)
                if found:
                    self.silences.append(Silence(name, number, found[1], found[2].strip()))

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
                f"expected keys with values here, found {quoted(data)}",
            )  # fmt: skip
            return None
        before = len(self.findings)
        fields = fields_of(kind)
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
            except msgspec.ValidationError:
                for inner, message in _faults(field.type, data[key], key):
                    self.report(
                        name, doc.lines.get((*at, *inner), line), "wrong-value",
                        f"{'.'.join(inner)}: {message}; found {quoted(_dig(data, inner))}",
                    )  # fmt: skip
        return kind(**values) if len(self.findings) == before else None


@cache
def _loader() -> Any:
    """The loader of YAML, which need not guess what a scalar may be: `_scalar` does."""
    import yaml

    safe = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return type("Loader", (safe,), {"resolve": lambda self, kind, value, implicit: "any"})


@cache  # msgspec works the annotations out anew at every call
def fields_of(kind: type[msgspec.Struct]) -> dict[str, msgspec.structs.FieldInfo]:
    """The fields that a file may hold, by the key it has there."""
    return {
        field.encode_name: field
        for field in msgspec.structs.fields(kind)
        if not (kind is model.Cause and field.name == "kind")
    }


def _faults(kind: Any, data: Any, key: str) -> Iterator[tuple[tuple[str, ...], str]]:
    """What is wrong with the value of a key: the path to it, from the key on, and in words.

    msgspec does not say which entry of a table is wrong, so the entries are tried one by one.
    """

    def tried(value: Any, known: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
        whole = value
        for name in reversed(known):
            whole = {name: whole}
        try:
            msgspec.convert(whole, kind)
        except msgspec.ValidationError as error:
            message, _, where = str(error).partition(" - at ")
            steps = re.findall(r"\.([\w-]+)|\[(\d+|\.\.\.)\]", where)
            path = [step or index for step, index in steps]
            inside = path[: len(known) + 1] == ["..."] * (len(known) + 1)
            bad_key = where.startswith("`key`") and len(path) == len(known)
            if (inside or bad_key) and isinstance(value, dict):
                for name, item in value.items():
                    yield from tried(item, (*known, name))
                return
            inner = (*known, *path[len(known) :])
            found = inner[: inner.index("...")] if "..." in inner else inner
            wrong_word = message.startswith(("Invalid enum value", "Invalid value"))
            words = _literals(kind, found, whole) if wrong_word else []
            allowed = f"; allowed: {', '.join(words)}" if words else ""
            yield (key, *found), _plain_words(message) + allowed

    return tried(data, ())


def _literals(kind: Any, path: tuple[str, ...], data: Any) -> list[str]:
    """The words that may stand at a path within a type, where it may be certain words only.

    Where the type may be one of several, `data` says which.
    """
    inner = get_args(kind)
    deeper = _step(data, path[0]) if path else None
    if get_origin(kind) is Literal:
        return list(inner) if not path else []
    if get_origin(kind) is Annotated:
        return _literals(inner[0], path, data)
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        if not path:
            return [f"{{{', '.join(f'{name}: ...' for name in fields_of(kind))}}}"]
        config = kind.__struct_config__
        if path[0] == config.tag_field:
            return [str(config.tag)]
        if config.tag_field and _step(data, config.tag_field) != config.tag:
            return []
        field = fields_of(kind).get(path[0])
        return _literals(field.type, path[1:], deeper) if field else []
    if get_origin(kind) in (dict, list):
        return _literals(inner[-1], path[1:], deeper) if path else []
    return [word for member in inner for word in _literals(member, path, data)]


def _step(data: Any, step: str) -> Any:
    """What stands at a key or a number within data, or None."""
    if isinstance(data, list):
        return data[int(step)] if step.isdecimal() and int(step) < len(data) else None
    return data.get(step) if isinstance(data, dict) else None


def _plain_words(message: str) -> str:
    """A msgspec message as a maintainer would say it."""
    pairs = (
        ("Expected `str`", "expected text"),
        ("Expected `array`", "expected a list"),
        ("Expected `object`", "expected keys with values"),
        ("Invalid enum value", "not an allowed word:"),
        ("Invalid value", "not an allowed word:"),
        ("Expected `float` <= ", "expected a number of at most "),
        ("Expected `float` >= ", "expected a number of at least "),
        ("Expected `float`", "expected a number, as in 0.5"),
        ("Expected `int` <= ", "expected a whole number of at most "),
        ("Expected `int` >= ", "expected a whole number of at least "),
        ("Expected `int`", "expected a whole number, as in 7"),
        ("Expected `bool`", "expected true or false"),
        ("Object missing required field", "a key is missing:"),
        (", got `null`", ", found nothing"),
        (", got `str`", ", got text"),
        (", got `array`", ", got a list"),
        (", got `object`", ", got keys with values"),
        (", got `int`", ", got a number"),
        (", got `float`", ", got a number"),
        ("matching regex '^\\\\d{4}-\\\\d{2}-\\\\d{2}$'", "that is a day, as in '2026-06-15'"),
        ("Object contains unknown field", "there is no such key as"),
        ("matching regex '^[a-z0-9]+(-[a-z0-9]+)*$'", "that is small letters, digits and dashes"),
    )
    for old, new in pairs:
        message = message.replace(old, new)
    return message


def _dig(data: Any, path: tuple[str, ...]) -> Any:
    for step in path:
        data = data[int(step)] if isinstance(data, list) else data[step]
    return data


def quoted(value: Any) -> str:
    """A value as it is shown in a problem, not too long."""
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
