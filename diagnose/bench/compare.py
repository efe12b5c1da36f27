"""What a change did: two states of the knowledge, their entries and their cases."""

from __future__ import annotations

import io
import subprocess
import zipfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from diagnose.bench.confusion import Score, score
from diagnose.bench.difference import Move, moves
from diagnose.checking import check
from diagnose.checking.changes import Difference, Key, differences, key, keyed, short
from diagnose.checking.worked import Result, outcomes
from diagnose.errors import UsageError
from diagnose.kb import load
from diagnose.kb.model import Case, Knowledge
from diagnose.kb.reader import Finding
from diagnose.pages.blocks import Page, heading, item, note, text, title

MARKS = {"added": "+", "gone": "-", "changed": "~"}


@dataclass(frozen=True, slots=True)
class Side:
    """One state: its name, what could be read of it, its findings, its cases as worked.

    Where it has findings, its cases are not worked: `results` is None.
    """

    name: str
    knowledge: Knowledge
    findings: tuple[Finding, ...]
    results: tuple[Result, ...] | None

    @property
    def cases(self) -> dict[Key, Case]:
        """Every case of every cause, by what makes it the same case."""
        return {
            key(cause_id, case): case
            for cause_id, cause in self.knowledge.causes.items()
            for case in cause.cases
        }


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two states; `moves` is None where the cases could not be worked."""

    old: Side
    new: Side
    entries: tuple[Difference, ...]
    moves: tuple[Move, ...] | None

    @property
    def lost(self) -> bool:
        """Whether a case that came first no longer does."""
        return any(m.before.place == 1 and m.after.place != 1 for m in self.moves or ())

    @property
    def can_hurt(self) -> tuple[Difference, ...]:
        """What touches safety, help, measures or what may be eaten."""
        return tuple(entry for entry in self.entries if entry.can_hurt)


def folder_of(name: str, knowledge: Path, scratch: Path) -> Path:
    """The folder that a name means: a folder, else the knowledge at that git revision.

    A revision is written below `scratch`. Raises UsageError where it is neither.
    """
    if name and Path(name).is_dir():
        return Path(name)
    commit = _git(knowledge, "rev-parse", "--verify", "--quiet", "--end-of-options",
                  f"{name}^{{commit}}")  # fmt: skip
    if commit is None:
        raise UsageError(
            f"{name!r} is neither a folder nor a git revision of {knowledge}; "
            "give a knowledge folder, or a revision as HEAD~1"
        )
    packed = _git(knowledge, "archive", "--format=zip", commit.decode().strip())
    if packed is None:
        raise UsageError(f"at {name} there is no {knowledge}")
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        archive.extractall(scratch)
    return scratch


def _git(folder: Path, *words: str) -> bytes | None:
    """What git prints, run in a folder; None where it fails or is not there."""
    try:
        done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, check=False)
    except OSError:
        return None
    return done.stdout if done.returncode == 0 else None


def open_side(name: str, root: Path) -> Side:
    """Read one state and work its cases. Raises UsageError where nothing can be read."""
    gathered = load.read(root)
    if gathered.knowledge is None:
        lines = "\n".join(str(finding) for finding in gathered.findings)
        raise UsageError(f"{name} is no knowledge that can be used\n{lines}")
    findings = tuple(gathered.findings) or tuple(check.errors(gathered.knowledge))
    results = None if findings else tuple(outcomes(gathered.knowledge))
    return Side(name, gathered.knowledge, findings, results)


def compare(old: Side, new: Side) -> Comparison:
    """What differs between two states."""
    moved = None
    if old.results is not None and new.results is not None:
        before, after = keyed(old.knowledge, old.results), keyed(new.knowledge, new.results)
        moved = tuple(moves(before, after, new.knowledge))
    return Comparison(old, new, tuple(differences(old.knowledge, new.knowledge)), moved)


def page(found: Comparison) -> Page:
    """The comparison as a person reads it in a review."""
    old, new = found.old, found.new
    shown: Page = [
        title(f"{old.name} -> {new.name}"),
        note(f"Knowledge {old.knowledge.digest} -> {new.knowledge.digest}."),
    ]
    for side in (old, new):
        if side.findings:
            count = len(side.findings)
            shown.append(
                text(f"{side.name} has {count} {'finding' if count == 1 else 'findings'} that keep "
                     f"it from being used; the first: {side.findings[0]}. What cannot be read "
                     "counts as not there, and no cases were worked.")
            )  # fmt: skip
    if not found.entries and not found.moves:
        return [*shown, text("Nothing differs.")]
    files = (found.new.knowledge, found.old.knowledge)
    if found.can_hurt:
        shown += _entries("Touches safety, measures or what may be eaten", found.can_hurt, files)
    for kind in load.KINDS:
        rest = [d for d in found.entries if d.kind == kind and not d.can_hurt]
        shown += _entries(kind.capitalize(), rest, files)
    return shown + _cases(found)


def _entries(noun: str, entries: Sequence[Difference], sides: Sequence[Knowledge]) -> Page:
    if not entries:
        return []
    shown: Page = [heading(noun)]
    for entry in entries:
        places = (side.place(entry.kind, entry.id).rpartition(":")[0] for side in sides)
        file = next(filter(None, places), entry.kind)
        shown.append(item(f"{entry.id} {entry.what} ({file})", MARKS[entry.what]))
        shown += [item(str(field), level=1) for field in entry.fields]
    return shown


def _cases(found: Comparison) -> Page:
    before, after = found.old.cases, found.new.cases
    shown = [item(_case(k, after), "+") for k in after if k not in before]
    shown += [item(_case(k, before), "-") for k in before if k not in after]
    shown += [item(str(move), "worse:" if move.fell else "moved:") for move in found.moves or ()]
    if found.moves is not None and found.old.results and found.new.results:
        shown.append(text(_totals(score(found.old.results), score(found.new.results))))
    return [heading("Cases"), *shown] if shown else []


def _case(same: Key, cases: dict[Key, Case]) -> str:
    return f'{same[0]} "{short(cases[same].text)}"'


def _totals(old: Score, new: Score) -> str:
    parts = [
        f"cases {old.cases} -> {new.cases}",
        f"right first {old.first} -> {new.first}",
        f"in the first three {old.three} -> {new.three}",
    ]
    if old.asked or new.asked:
        parts.append(f"questions needed {old.questions:.1f} -> {new.questions:.1f}")
    return "In all: " + ", ".join(parts) + "."


def as_json(found: Comparison) -> dict[str, Any]:
    """The comparison for machines."""
    before, after = found.old.cases, found.new.cases
    return {
        "old": _side(found.old),
        "new": _side(found.new),
        "entries": [
            {"kind": d.kind, "id": d.id, "what": d.what, "can_hurt": d.can_hurt,
             "fields": [field._asdict() for field in d.fields]}
            for d in found.entries
        ],
        "cases": {
            "added": [_case_json(k, after) for k in after if k not in before],
            "gone": [_case_json(k, before) for k in before if k not in after],
            "moved": None if found.moves is None else [
                {"cause": m.after.cause, "text": m.case.text, "worse": m.fell,
                 "before": asdict(m.before), "after": asdict(m.after)}
                for m in found.moves
            ],
        },
    }  # fmt: skip


def _side(side: Side) -> dict[str, Any]:
    return {
        "name": side.name,
        "digest": side.knowledge.digest,
        "findings": [str(finding) for finding in side.findings],
        "score": None if side.results is None else asdict(score(side.results)),
    }


def _case_json(same: Key, cases: dict[Key, Case]) -> dict[str, Any]:
    return {"cause": same[0], "text": cases[same].text, "crop": cases[same].crop}
