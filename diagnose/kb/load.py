"""A folder of knowledge, or several laid over one another, to the model; all problems at once."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, NamedTuple, TypeAlias, get_args, get_origin

import msgspec

from diagnose.errors import KnowledgeError
from diagnose.inputs import plain_file
from diagnose.kb import fits, follows, model, shapes
from diagnose.kb.reader import (
    ID,
    LARGEST,
    Document,
    Finding,
    Reader,
    Silence,
    fields_of,
    near,
    quoted,
    unknown,
)

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
NAMED = re.compile(rf"{ID.pattern}(/{ID.pattern})?")  # a symptom, or one form of it
SHOWN = 10  # problems that are told where the knowledge cannot be used; check tells all


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
                    f"the folder has format {form}, this program reads {FORMAT}; "
                    "use a newer program",
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
                here = next((f"{name}:{doc.lines.get(a, 1)}" for a, i in loaded.items()
                             if i == entry_id), None)  # fmt: skip
                self.reader.report(
                    name, doc.lines.get(at, 1), "duplicate-id",
                    f"{entry_id!r} stands already in {here or _first(self.places[known])}",
                )  # fmt: skip
                continue
            below = self.entries[kind].get(entry_id)
            if kind == "causes" and level and below is not None and below.kind != value.kind:
                self.reader.report(
                    name, 1, "unknown-kind",
                    f"{entry_id} stands in causes/{below.kind}/ below; put the file there here too",
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
            needed = {k for k, f in fields_of(struct).items() if f.required} if struct else set()
            if isinstance(data, dict) and len(needed - data.keys()) > 1:
                known = list(self.entries[kind])
                self.reader.report(
                    name, doc.lines.get(at, 1), "unknown-id",
                    f"there is nothing called {entry!r} below to change, and too much is missing "
                    f"for one of its own; {near(entry, known)}".rstrip("; "),
                )  # fmt: skip
            return data
        merged = laid_over(below, data)
        looser = _looser(below, merged) if kind == "safety" else None
        if looser is not None:
            self.reader.report(
                name, _line(doc, (*at, *looser)), "overlay-loosens",
                f"{'.'.join(looser)} is looser here; what safety.yaml demands below may be added "
                "to, not changed or taken out",
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


def _looser(below: Any, above: Any) -> tuple[str, ...] | None:
    """The path to the first thing that was there and is changed or gone; None for nothing."""
    if isinstance(below, dict) and isinstance(above, dict):
        for key, value in below.items():
            inner = _looser(value, above.get(key))
            if inner is not None:
                return (key, *inner)
        return None
    if isinstance(below, list) and isinstance(above, list):
        return None if all(value in above for value in below) else ()
    return None if below == above else ()


def _line(doc: Document, path: tuple[str, ...]) -> int:
    """The line of a path in a file, or of what is nearest around it there."""
    ends = range(len(path), -1, -1)
    return next((doc.lines[path[:end]] for end in ends if path[:end] in doc.lines), 1)


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
                f"{quoted(word)} is no id; write 'old-id: new-id' or 'old-id/form: new-id/form'",
            )  # fmt: skip
        if not wrong:
            yield old, (old,), now


def _is_id(reader: Reader, name: str, line: int, word: str) -> bool:
    """Whether a file name or a key can be an id; reported where it cannot."""
    if ID.fullmatch(word):
        return True
    reader.report(
        name, line, "bad-id",
        f"{quoted(word)} is no id; use small letters, digits and single dashes",
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
