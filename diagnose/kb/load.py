"""YAML to model. Every problem is kept, with file and line, and all are reported at once."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple, TypeAlias, get_args, get_origin

import msgspec

from diagnose.errors import KnowledgeError
from diagnose.inputs import TooLarge, plain_file
from diagnose.kb import fits, follows, model, shapes

FOLDERS: dict[str, type[msgspec.Struct]] = {
    "crops": model.Crop,
    "causes": model.Cause,
}
TABLES: dict[str, type[msgspec.Struct]] = {
    "symptoms": model.Symptom,
    "remedies": model.Remedy,
    "cautions": model.Caution,
    "referrals": model.Referral,
    "alerts": model.Alert,
    "dangers": model.Danger,
    "sources": model.Source,
    "letters": model.Letter,
    "kin": model.Kin,
    "glossary": model.Term,
    "drawings": shapes.Drawing,
}
SINGLES: dict[str, type[msgspec.Struct]] = {
    "likelihood": model.Likelihood,
    "seasons": model.Seasons,
    "words": model.Words,
    "concerns": model.Concerns,
    "rounds": model.Rounds,
    "safety": model.Safety,
    "format": model.Format,
}
LISTS: dict[str, tuple[type[msgspec.Struct], str]] = {  # and the key that holds the id
    "rules": (model.Rule, "rule"),
    "handbook": (model.Fact, "id"),
}
KINDS: dict[str, type[msgspec.Struct]] = {
    **FOLDERS, **TABLES, **{kind: struct for kind, (struct, _) in LISTS.items()}, **SINGLES,
}  # fmt: skip
RETIRED = "retired"  # the table of ids that went
# What rules name of it and is not there is told of anyway.
OPTIONAL = frozenset({"concerns", "rounds", "format"})
FORMAT = 1  # of the files, as this program reads them
Root: TypeAlias = Path | Sequence[Path]
"""A knowledge folder, or several: those after the first lie over it, the last on top."""
LINK = "a link to a folder is not followed; copy the folder, or lay it over with --knowledge"
LARGEST = 1_000_000  # bytes of one file
AMBIGUOUS = re.compile(r"^(y|n|yes|no|on|off)$", re.IGNORECASE)
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
NAMED = re.compile(rf"{ID.pattern}(/{ID.pattern})?")  # a symptom, or one form of it
SHOWN = 10  # problems that are told where the knowledge cannot be used; check tells all
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
    """Reads one file at a time; problems gather in `findings`."""

    def __init__(self, root: Path) -> None:
        self.root = root
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
        digest = hashlib.sha256(raw).digest()
        return Document(data, lines, digest) if len(self.findings) == before else None

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
            except msgspec.ValidationError:
                for inner, message in _faults(field.type, data[key], key):
                    self.report(
                        name, doc.lines.get((*at, *inner), line), "wrong-value",
                        f"{'.'.join(inner)}: {message}; found {_shown(_dig(data, inner))}",
                    )  # fmt: skip
        return kind(**values) if len(self.findings) == before else None


@cache
def _loader() -> Any:
    """The loader of YAML, which need not guess what a scalar may be: `_scalar` does."""
    import yaml

    safe = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return type("Loader", (safe,), {"resolve": lambda self, kind, value, implicit: "any"})


@cache  # msgspec works the annotations out anew at every call
def _fields(kind: type[msgspec.Struct]) -> dict[str, msgspec.structs.FieldInfo]:
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
            return [f"{{{', '.join(f'{name}: ...' for name in _fields(kind))}}}"]
        config = kind.__struct_config__
        if path[0] == config.tag_field:
            return [str(config.tag)]
        if config.tag_field and _step(data, config.tag_field) != config.tag:
            return []
        field = _fields(kind).get(path[0])
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


def _shown(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


class Gathered(NamedTuple):
    """What a load found: the entries that can be read, and the problems of the rest.

    `knowledge` is None where a file is missing without which nothing works; `readable` then has
    an empty one in its place, for the checks of the rest. `broken` names what could not be read:
    "causes/beet-leafminer", or "symptoms" where it is not known which entries a file held.
    `notes` are warnings of the files themselves, `silences` the warnings that are let stand.
    """

    knowledge: model.Knowledge | None
    findings: list[Finding]
    readable: model.Knowledge
    broken: frozenset[str]
    notes: Sequence[Finding] = ()
    silences: Sequence[Silence] = ()


def empty(kind: Any) -> Any:
    """A value of a type with as little in it as it can hold."""
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        needed = (field for field in msgspec.structs.fields(kind) if field.required)
        return kind(**{field.name: empty(field.type) for field in needed})
    origin = get_origin(kind) or kind
    return empty(get_args(kind)[0]) if origin is Annotated else origin()


def _walk(root: Path, report: Callable[[OSError], None] | None = None) -> Iterator[Path]:
    """Every file below a folder but hidden ones; folders that cannot be listed are reported.

    So are links to folders, which are not followed: they may lead round in a circle, or out.
    """
    for folder, folders, names in os.walk(root, onerror=report):
        folders[:] = [name for name in folders if not name.startswith(".")]
        for link in (Path(folder, name) for name in folders):
            if report and link.is_symlink():
                report(OSError(None, LINK, str(link)))
        yield from (Path(folder, name) for name in names if not name.startswith("."))


def files(root: Path) -> list[Path]:
    """Every YAML file of a knowledge folder, in a stable order; hidden files are left out."""
    return sorted(path for path in _walk(root) if path.suffix == ".yaml")


def layers(root: Root) -> tuple[Path, ...]:
    """The folders of a knowledge, the lowest first."""
    return (root,) if isinstance(root, Path) else tuple(root)


def digest(root: Root) -> str:
    """A digest of the names and bytes of the folder, or folders: 12 hexadecimal digits.

    Raises KnowledgeError where one is no folder, and OSError where a file cannot be read.
    """
    found = []
    for folder in layers(root):
        _folder(folder)
        parts = ((p, hashlib.sha256(plain_file(p, LARGEST)).digest()) for p in files(folder))
        found.append(_digest(folder, parts))
    return _joined(found)


def _joined(digests: Sequence[str]) -> str:
    """One digest for a knowledge of several folders."""
    if len(digests) == 1:
        return digests[0]
    return hashlib.sha256("/".join(digests).encode()).hexdigest()[:12]


def _digest(root: Path, parts: Iterable[tuple[Path, bytes]]) -> str:
    total = hashlib.sha256()
    for path, part in parts:
        name = os.sep.join(path.parts[len(root.parts) :])
        total.update(os.fsencode(name) + b"\0" + part)
    return total.hexdigest()[:12]


def _folder(root: Path) -> None:
    if not root.is_dir():
        problem = "is a file, not a folder" if root.exists() else "is not there"
        raise KnowledgeError(f"the knowledge folder {root} {problem}; give one with --knowledge")


def read(root: Root, reader: Reader | None = None) -> Gathered:
    """Read a knowledge folder, or several laid over one another, with a reader of one's own.

    Raises KnowledgeError where one is no folder.
    """
    found = _Layers(layers(root), reader)
    for level in range(len(found.folders)):
        found.read(level)
    reader, entries, places, broken = found.reader, found.entries, found.places, found.broken
    for kind in SINGLES:
        if not entries[kind] and kind not in broken | OPTIONAL:
            reader.report(f"{kind}.yaml", 1, "missing-file", "this file is missing")
            broken.add(kind)
    for kind in ("crops", "symptoms", "causes"):
        if not entries[kind] and not any(name.partition("/")[0] == kind for name in broken):
            reader.report(kind, 1, "missing-file", f"there are no {kind}")
            broken.add(kind)
    for (kind, entry_id), rule in [*follows.rules(entries["symptoms"], entries["causes"])]:
        entries["rules"][rule.rule] = rule
        places[f"rules/{rule.rule}"] = places[f"{kind}/{entry_id}"]
    known = (entries["remedies"], entries["causes"], entries["crops"], entries["rules"])
    for rule_id, rule in [*fits.rules(*known)]:
        entries["rules"][rule_id] = rule
        places[f"rules/{rule_id}"] = places[f"crops/{rule.when['crop']}"]
    whole = all(entries[kind] for kind in SINGLES if kind not in OPTIONAL)
    parts: dict[str, Any] = dict(entries)
    parts |= {k: entries[k].get(k) or empty(kind) for k, kind in SINGLES.items()}
    parts |= {"digest": _joined(found.digests), "places": model.Places.at(places)}
    readable = model.Knowledge(**parts, laid=found.laid)
    return Gathered(
        readable if whole else None, reader.findings, readable, frozenset(broken),
        reader.notes, reader.silences,
    )  # fmt: skip


class _Layers:
    """The folders of a knowledge as they are read, one over the other."""

    def __init__(self, folders: Sequence[Path], reader: Reader | None) -> None:
        for folder in folders:
            _folder(folder)
        self.folders = folders
        self.reader = reader or Reader(folders[0])
        self.entries: dict[str, dict[str, Any]] = {
            kind: {} for kind in (*FOLDERS, *TABLES, *LISTS, RETIRED, *SINGLES)
        }
        self.plain: dict[str, Any] = {}  # by "kind/id", what the files say in sum
        self.set_by: dict[tuple[str, ...], str] = {}  # what folders above the base have set
        self.places: dict[str, tuple[str, dict[str, int | str]]] = {}
        self.broken: set[str] = set()
        self.laid: dict[str, str] = {}
        self.digests: list[str] = []

    def read(self, level: int) -> None:
        """Read one folder, over those that were read before."""
        root = self.folders[level]
        reader = self.reader
        reader.root = root
        reader.over = f"{root.resolve().name}/" if level else ""
        parts: list[tuple[Path, bytes]] = []
        for path in self._readable(root):
            name = reader.name(path)
            kind = path.relative_to(root).parts[0].removesuffix(".yaml")
            if kind not in self.entries:
                reader.report(
                    name, 1, "unknown-file", unknown("folder or file", kind, list(self.entries))
                )
                continue
            before = len(reader.findings)
            doc = reader.document(path)
            if doc is None:
                self.broken.add(f"{kind}/{path.stem}" if kind in FOLDERS else kind)
                continue
            parts.append((path, doc.digest))
            own = doc
            if level:
                doc = self._over(name, kind, path, doc)
            loaded = self._keep(level, name, kind, path, doc, own)
            if len(reader.findings) > before:
                self.broken |= _unread(kind, path, doc, loaded)
        self.digests.append(_digest(root, parts))

    def _readable(self, root: Path) -> list[Path]:
        """The files of a folder; none where it has a format that is newer than the program."""
        first = root / "format.yaml"
        if first.is_file():
            doc = Reader(root).document(first)
            form = doc.data.get("format") if doc and isinstance(doc.data, dict) else None
            if isinstance(form, int) and form > FORMAT:
                self.reader.report(
                    self.reader.name(first), 1, "format-newer",
                    f"the folder has format {form}, this program reads {FORMAT}; use a newer one",
                )  # fmt: skip
                self.broken |= set(self.entries)
                return []
        return _files_to_read(self.reader)

    def _keep(
        self, level: int, name: str, kind: str, path: Path, doc: Document, own: Document
    ) -> dict[tuple[str, ...], str]:
        """Keep the entries of one file, and where they stand; gives those that could be read."""
        loaded: dict[tuple[str, ...], str] = {}
        fresh: set[str] = set()
        for entry_id, at, value in _entries(self.reader, name, path, kind, doc):
            known = f"{kind}/{entry_id}"
            if entry_id in self.entries[kind] and (not level or known in fresh):
                self.reader.report(
                    name, doc.lines.get(at, 1), "duplicate-id",
                    f"{entry_id!r} stands already in {_first(self.places[known])}",
                )  # fmt: skip
                continue
            fresh.add(known)
            self.entries[kind][entry_id] = value
            data = doc.data
            for step in at:
                data = data[int(step)] if isinstance(data, list) else data[step]
            self.plain[known] = data
            if level:
                self.laid[known] = self.reader.over.rstrip("/")
                self._set(name, kind, entry_id, own, at)
            loaded[at] = entry_id
        depth = 0 if kind in FOLDERS or kind in SINGLES else 1
        lines: dict[str, dict[str, int | str]] = {}
        for inner, line in doc.lines.items():
            found = loaded.get(inner[:depth])
            if found is not None:
                lines.setdefault(f"{kind}/{found}", {})["/".join(inner[depth:])] = line
        for known, fresh_lines in lines.items():
            file, before = self.places.get(known, ("", {}))
            below = {k: v if isinstance(v, str) else f"{file}:{v}" for k, v in before.items()}
            self.places[known] = (name, {**(below if file != name else before), **fresh_lines})
        return loaded

    def _over(self, name: str, kind: str, path: Path, doc: Document) -> Document:
        """A file of a folder that lies over others: what it does not say is as below."""
        if kind in LISTS or kind == RETIRED or not isinstance(doc.data, dict):
            return doc
        if kind in FOLDERS or kind in SINGLES:
            entry = path.stem if kind in FOLDERS else kind
            return doc._replace(data=self._merged(name, doc, kind, entry, doc.data, ()))
        return doc._replace(data={
            entry: self._merged(name, doc, kind, entry, data, (entry,))
            for entry, data in doc.data.items()
        })  # fmt: skip

    def _merged(
        self, name: str, doc: Document, kind: str, entry: str, data: Any, at: tuple[str, ...]
    ) -> Any:
        """An entry with what is below it; told where there is nothing below though it needs it."""
        below = self.plain.get(f"{kind}/{entry}")
        if below is None:
            struct = {**FOLDERS, **TABLES}.get(kind)
            needed = {k for k, f in _fields(struct).items() if f.required} if struct else set()
            if isinstance(data, dict) and len(needed - data.keys()) > 1:
                known = list(self.entries[kind])
                self.reader.report(
                    name, doc.lines.get(at, 1), "unknown-id",
                    f"there is nothing called {entry!r} below to change, and too much is missing "
                    f"for one of its own; {near(entry, known)}".rstrip("; "),
                )  # fmt: skip
            return data
        merged = laid_over(below, data)
        if kind == "safety" and _looser(below, merged):
            self.reader.report(
                name, doc.lines.get(at, 1), "overlay-loosens",
                "what safety.yaml demands below may be added to, not changed or taken out",
            )  # fmt: skip
            return below
        return merged

    def _set(self, name: str, kind: str, entry: str, doc: Document, at: tuple[str, ...]) -> None:
        """Note what a folder sets, and where one before it set the same otherwise."""
        data = doc.data
        for step in at:
            data = data[int(step)] if isinstance(data, list) else data[step]
        for path, _ in _leaves(data):
            key = (kind, entry, *path)
            other = self.set_by.get(key)
            if other and other != self.reader.over:
                self.reader.notes.append(Finding(
                    name, doc.lines.get((*at, *path), 1), "overlays-disagree",
                    f"{'.'.join((entry, *path))} is set in {other.rstrip('/')} too; what stands "
                    "here wins, since this folder lies over it",
                ))  # fmt: skip
            self.set_by[key] = self.reader.over


def laid_over(below: Any, data: Any) -> Any:
    """What files say in sum: keys of the upper one over those of the lower; an empty one drops."""
    if not (isinstance(below, dict) and isinstance(data, dict)):
        return data
    merged = {**below, **{k: laid_over(below.get(k), v) for k, v in data.items()}}
    return {key: value for key, value in merged.items() if value is not None}


def _looser(below: Any, above: Any) -> bool:
    """Whether something is changed or gone that was there."""
    if isinstance(below, dict):
        return not isinstance(above, dict) or any(
            key not in above or _looser(value, above[key]) for key, value in below.items()
        )
    if isinstance(below, list):
        return not isinstance(above, list) or any(value not in above for value in below)
    return bool(below != above)


def _leaves(data: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _leaves(value, (*path, key))
    else:
        yield path, data


def _first(place: tuple[str, Mapping[str, int | str]]) -> str:
    """The file and line where an entry begins."""
    line = place[1][""]
    return line if isinstance(line, str) else f"{place[0]}:{line}"


def _files_to_read(reader: Reader) -> list[Path]:
    """The YAML files of the reader's folder; what looks like one and is not read is reported."""
    root = reader.root

    def unlisted(error: OSError) -> None:
        name = reader.name(Path(error.filename))
        reader.report(name, 1, "file-unreadable", f"cannot be listed: {error.strerror}")

    found = sorted(_walk(root, unlisted))
    for path in found:
        if path.suffix != ".yaml" and path.suffix.lower() in (".yaml", ".yml"):
            reader.report(
                reader.name(path), 1, "unknown-file",
                f"its name ends in {path.suffix}, so it is not read; let it end in .yaml",
            )  # fmt: skip
    return [path for path in found if path.suffix == ".yaml"]


def _unread(kind: str, path: Path, doc: Document, loaded: dict[tuple[str, ...], str]) -> set[str]:
    """What a file with problems holds that could not be read."""
    if kind in FOLDERS:
        return set() if loaded else {f"{kind}/{path.stem}"}
    if kind in SINGLES or kind in LISTS or kind == RETIRED or not isinstance(doc.data, dict):
        return {kind}
    return {f"{kind}/{entry_id}" for entry_id in doc.data if (entry_id,) not in loaded}


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
        if _is_id(reader, name, 1, path.stem) and value is not None:
            yield path.stem, (), value
    elif kind in LISTS:
        struct, key = LISTS[kind]
        if not isinstance(doc.data, list):
            reader.report(name, 1, "wrong-shape", f"expected a list of {kind}, each '- {key}: id'")
            return
        for i, item in enumerate(doc.data):
            found = reader.convert(name, doc, (str(i),), item, struct)
            if found is not None:
                yield getattr(found, key), (str(i),), found
    elif not isinstance(doc.data, dict):
        reader.report(name, 1, "wrong-shape", "expected ids with their entries")
    elif kind == RETIRED:
        yield from _retired(reader, name, doc)
    else:
        for entry_id, item in doc.data.items():
            value = reader.convert(name, doc, (entry_id,), item, TABLES[kind])
            if _is_id(reader, name, doc.lines[(entry_id,)], entry_id) and value is not None:
                yield entry_id, (entry_id,), value


def _retired(
    reader: Reader, name: str, doc: Document
) -> Iterator[tuple[str, tuple[str, ...], Any]]:
    """The ids that went, each with its successor."""
    for old, now in doc.data.items():
        wrong = [word for word in (old, now) if not NAMED.fullmatch(str(word))]
        for word in wrong:
            reader.report(
                name, doc.lines[(old,)], "bad-id",
                f"{_shown(word)} is no id; write 'old-id: new-id' or 'old-id/form: new-id/form'",
            )  # fmt: skip
        if not wrong:
            yield old, (old,), now


def _is_id(reader: Reader, name: str, line: int, word: str) -> bool:
    """Whether a file name or a key can be an id; reported where it cannot."""
    if ID.fullmatch(word):
        return True
    reader.report(
        name, line, "bad-id",
        f"{_shown(word)} is no id; use small letters, digits and single dashes",
    )  # fmt: skip
    return False


def _with_kind(reader: Reader, name: str, path: Path, cause: model.Cause) -> model.Cause | None:
    folder = path.parent.name
    inside = path.relative_to(reader.root)
    kinds = list(model.CauseKind.__args__)  # type: ignore[attr-defined]
    if folder not in kinds or len(inside.parts) != 3:
        reader.report(
            name, 1, "unknown-kind",
            f"a cause stands in causes/<kind>/; {unknown('kind', folder, kinds)}",
        )  # fmt: skip
        return None
    return msgspec.structs.replace(cause, kind=folder)


def load(root: Root, check: Callable[[model.Knowledge], list[Finding]]) -> model.Knowledge:
    """Load a folder that must be usable.

    Raises KnowledgeError with the first of the problems, a line each.
    """
    gathered = read(root)
    findings = sorted(gathered.findings or check(gathered.readable))
    if findings:
        more = len(findings) - SHOWN
        raise KnowledgeError(
            f"the knowledge in {' under '.join(map(str, layers(root)))} cannot be used: "
            f"{len(findings)} "
            f"{'problem' if len(findings) == 1 else 'problems'}\n"
            + "\n".join(str(f) for f in findings[:SHOWN])
            + (f"\nand {more} more; run diagnose check" if more > 0 else "")
        )
    return gathered.readable
