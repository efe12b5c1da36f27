"""The live loop: what a save touched is checked again, and what it did to the cases is shown.

The loop itself is thin: `look` reads what is there, `rework` works the cases that wait, `changes`
says what differs between two states, `report` makes a page of it. Cases near to the change come
first; the rest follow while nothing else happens.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from diagnose.bench.confusion import score, show_summary
from diagnose.bench.difference import Move, moves
from diagnose.checking import check
from diagnose.checking.changes import (
    Key,
    differences,
    far_from,
    key,
    keyed,
    numbered,
    touched_causes,
)
from diagnose.checking.worked import Bench, Past, Result, begun, run_cases, work
from diagnose.consultation import Consultation, Reasoner
from diagnose.errors import KnowledgeError
from diagnose.kb import load, store
from diagnose.kb.model import PRESENT, Knowledge
from diagnose.kb.reader import Document, Finding, Reader, Remembers
from diagnose.kb.remembered import Remembered
from diagnose.pages.blocks import Page, heading, item, note, text
from diagnose.pages.sayings import said
from diagnose.reasoning.ranking import DECIBANS, DOUBT, SOMETHING_ELSE, WORDS
from diagnose.terminal.screen import Screen

TOP = 3  # moves among these places, into them or out of them are shown
FAR = 10**6  # a place worse than any
AT_ONCE = 0.3  # seconds given to cases after a save, and at each idle moment
SHOWN = 12  # findings or moves in one report
TELLING = 1.0  # decibans: smaller changes of a weight are no reason
MOST_REASONS = 4
QUIET = 200  # milliseconds without a save, after which waiting cases are worked


class Outcome(NamedTuple):
    """The last result of a case, and the bench it was worked on."""

    result: Result
    bench: Bench


@dataclass(frozen=True, slots=True)
class State:
    """What is known after a look.

    `broken` are the findings of files that cannot be read as they are; all else is then as it was
    before. `bench` is the last knowledge that could be used, `waiting` its cases not worked yet;
    `warned` says whether `warnings` are those of that knowledge, or still of the one before.
    """

    errors: tuple[Finding, ...] = ()
    warnings: tuple[Finding, ...] = ()
    warned: bool = True
    broken: tuple[Finding, ...] = ()
    bench: Bench | None = None
    outcomes: Mapping[Key, Outcome] = field(default_factory=dict)
    waiting: tuple[Key, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Errors and warnings."""
        return self.errors + self.warnings

    @property
    def busy(self) -> bool:
        """Whether there is something to do at a quiet moment."""
        return bool(self.waiting) or not self.warned

    @property
    def knowledge(self) -> Knowledge | None:
        """The knowledge of the bench."""
        return self.bench.blank.reasoner.knowledge if self.bench else None


class Parsed(NamedTuple):
    """A file as it was last read: its bytes, what is in it, what was found wrong."""

    raw: bytes
    document: Document | None
    findings: tuple[Finding, ...]


class Made(NamedTuple):
    """An entry as it was last made, from which document, and what was found wrong."""

    document: Document
    value: Any
    findings: tuple[Finding, ...]


class Kept(NamedTuple):
    """What is kept from look to look: files by path, entries by file and place in it."""

    files: dict[Path, Parsed]
    entries: dict[tuple[str, tuple[str, ...]], Made]


class KeepingReader(Reader):
    """A reader that reads anew only the files whose bytes have changed."""

    def __init__(self, root: Path, kept: Kept, remembers: Remembers | None = None) -> None:
        super().__init__(root, remembers)
        self.kept = kept

    def document(self, path: Path) -> Document | None:
        """As a plain reader, or as kept."""
        try:
            raw = path.read_bytes() if path.is_file() else None
        except OSError:
            raw = None
        if raw is None:
            return super().document(path)
        known = self.kept.files.get(path)
        if known is None or known.raw != raw:
            before = len(self.findings)
            found = super().document(path)
            known = self.kept.files[path] = Parsed(raw, found, tuple(self.findings[before:]))
        else:
            self.findings += known.findings
        return known.document

    def convert(
        self, name: str, doc: Document, at: tuple[str, ...], data: Any, kind: type[msgspec.Struct]
    ) -> Any:
        """As a plain reader, or as kept."""
        known = self.kept.entries.get((name, at))
        if known is None or known.document is not doc:
            before = len(self.findings)
            value = super().convert(name, doc, at, data, kind)
            known = Made(doc, value, tuple(self.findings[before:]))
            self.kept.entries[name, at] = known
        else:
            self.findings += known.findings
        return known.value


def look(root: Path, kept: Kept, before: State, remembers: Remembers | None = None) -> State:
    """Read and check what is there now; `kept`, and what is remembered, need not be read again."""
    try:
        gathered = load.read(root, KeepingReader(root, kept, remembers))
    except (OSError, KnowledgeError) as error:  # it changed while it was read
        return replace(before, broken=(Finding(root.name, 1, "file-unreadable", str(error)),))
    if gathered.knowledge is None or gathered.broken:
        return replace(before, broken=tuple(gathered.findings))
    knowledge = gathered.knowledge
    errors = check.errors(knowledge)
    if errors:
        return replace(before, errors=(*gathered.findings, *errors), broken=())
    there = numbered(knowledge)
    return State(
        errors=tuple(gathered.findings),
        warnings=before.warnings,
        warned=False,
        bench=bench_of(knowledge, before.bench),
        outcomes={k: o for k, o in before.outcomes.items() if k in there},
        waiting=to_work(before, knowledge),
    )


def bench_of(knowledge: Knowledge, before: Bench | None) -> Bench:
    """The knowledge made ready; the words of the one before serve where they are the same."""
    reasoner = Reasoner(knowledge, parts=store.copy_of(knowledge.digest), hears=False)
    was = before.blank.reasoner if before else None
    if was:
        reasoner.lexicon = was.lexicon.of(knowledge)
    return Bench.of(knowledge, reasoner)


def to_work(before: State, knowledge: Knowledge) -> tuple[Key, ...]:
    """The cases to work again after a change, those nearest to it first."""
    there = numbered(knowledge)
    if before.knowledge is None:
        return tuple(there)
    found = differences(before.knowledge, knowledge)
    if any(d.moves_cases for d in found):
        todo = list(there)
    else:
        waiting = set(before.waiting)
        todo = [k for k in there if k not in before.outcomes or k in waiting]
    touched, near = touched_causes(found, knowledge)

    def distance(one: Key) -> int:
        outcome = before.outcomes.get(one)
        if one[0] in touched:
            return 0
        return 1 if one[0] in near or (outcome and outcome.result.first in touched) else 2

    return tuple(sorted(todo, key=distance))


def rework(
    state: State, seconds: float = AT_ONCE, clock: Callable[[], float] = time.monotonic
) -> State:
    """Work the cases that wait, for about so long; one at the least."""
    if state.bench is None or state.knowledge is None or not state.waiting:
        return state
    there = numbered(state.knowledge)
    until = clock() + seconds
    outcomes = dict(state.outcomes)
    done = 0
    for one in state.waiting:
        outcomes[one] = Outcome(work(state.bench, *there[one]), state.bench)
        done += 1
        if clock() >= until:
            break
    return replace(state, outcomes=outcomes, waiting=state.waiting[done:])


def warn(state: State) -> State:
    """Look for what may mislead, where that was not done yet; it takes longer than a save may."""
    if state.warned or state.knowledge is None:
        return state
    return replace(state, warnings=tuple(check.warnings(state.knowledge)), warned=True)


class Changes(NamedTuple):
    """What differs between two states, as far as it has been worked.

    `moves` are those of cases that came, or come, in the first three or need other questions,
    each with its reasons; `slight` counts the rest. `settled` says that the last of the waiting
    cases was worked just now.
    """

    broken: tuple[Finding, ...]
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]
    moves: tuple[tuple[Move, tuple[str, ...]], ...]
    slight: int
    waiting: int
    settled: bool


def changes(before: State, after: State) -> Changes:
    """What a look, and the work after it, brought."""
    moved = _moves(before, after)
    worked = any(before.outcomes.get(k) is not o for k, o in after.outcomes.items())
    telling = [move for move in moved if _tells(move)]
    return Changes(
        broken=after.broken,
        new=_missing(after.findings, before.findings),
        gone=_missing(before.findings, after.findings),
        moves=tuple((move, tuple(_reasons(move, before, after))) for move in telling),
        slight=len(moved) - len(telling),
        waiting=len(after.waiting),
        settled=worked and not after.waiting,
    )


def _moves(before: State, after: State) -> list[Move]:
    if after.knowledge is None:
        return []
    was, now = before.outcomes, after.outcomes
    both = [k for k in numbered(after.knowledge) if k in was and k in now and was[k] is not now[k]]
    return moves(
        {k: was[k].result for k in both}, {k: now[k].result for k in both}, after.knowledge
    )


def _tells(move: Move) -> bool:
    """Whether a move is worth a line."""
    best = min(move.before.place or FAR, move.after.place or FAR)
    return best <= TOP or _asked(move.before) != _asked(move.after)


def _asked(result: Result) -> tuple[object, ...]:
    return result.questions, result.place_asked, result.problem


def _reasons(move: Move, before: State, after: State) -> list[str]:
    one = key(move.after.cause, move.case)
    return reasons(before.outcomes[one], after.outcomes[one])


def _missing(these: Iterable[Finding], those: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings that are not among the others, wherever they stand in the file."""
    known = {(f.file, f.code, f.message) for f in those}
    return tuple(f for f in these if (f.file, f.code, f.message) not in known)


def reasons(before: Outcome, after: Outcome) -> list[str]:
    """Why a case came out otherwise: what was read, ruled out or weighed differently."""
    if before.result.problem or after.result.problem:
        return []
    old, new = (begun(one.bench, one.result.cause, one.result.index) for one in (before, after))
    causes = dict.fromkeys((after.result.cause, after.result.first, before.result.first))
    causes |= dict.fromkeys(_rivals_changed(old, new))
    causes.pop(SOMETHING_ELSE, None)
    return [*_read_otherwise(old, new), *_ruled_otherwise(old, new, causes),
            *_weighed_otherwise(old, new, causes)][:MOST_REASONS]  # fmt: skip


def _rivals_changed(old: Consultation, new: Consultation) -> list[str]:
    """The causes that are possible in a case and whose entries differ."""
    was, now = old.reasoner.knowledge.causes, new.reasoner.knowledge.causes
    return [
        cause
        for cause, chance in zip(new.reasoner.tables.causes, new.chances, strict=False)
        if chance > 0 and cause in was and was[cause] != now[cause]
    ]


def _read_otherwise(old: Consultation, new: Consultation) -> Iterator[str]:
    was = {o.symptom: o.value for o in old.counted}
    now = {o.symptom: o.value for o in new.counted}
    for symptom in dict.fromkeys((*was, *now)):
        if was.get(symptom) != now.get(symptom):
            yield f"reads {symptom}: {was.get(symptom, 'nothing')} -> {now.get(symptom, 'nothing')}"


def _ruled_otherwise(old: Consultation, new: Consultation, causes: Iterable[str]) -> Iterator[str]:
    was, now = old.ruled_out, new.ruled_out
    for cause in causes:
        if (cause in was) != (cause in now):
            why = now.get(cause) or was[cause]
            yield f"{cause} is {'now' if cause in now else 'no longer'} ruled out, because {why}"


def _weighed_otherwise(
    old: Consultation, new: Consultation, causes: Iterable[str]
) -> Iterator[str]:
    """Weights of these causes that changed, by how much and where, the largest change first."""
    knowledge = new.reasoner.knowledge
    found: list[tuple[float, str]] = []
    for cause in causes:
        if not (cause in old.reasoner.tables.row and cause in new.reasoner.tables.row):
            continue
        was, now = _weights(old, cause), _weights(new, cause)
        for seen in was.keys() & now.keys() - {(DOUBT, PRESENT)}:  # it follows from the others
            change = now[seen] - was[seen]
            if abs(change) >= TELLING:
                moved = f"{_points(was[seen])} -> {_points(now[seen])}"
                where = _line(old, new, cause, seen[0])
                label = "the wording" if seen[0] == WORDS else said(knowledge, *seen)
                found.append((change, f"{cause}, {label}: {moved} ({where})"))
        change = _beforehand(new, cause) - _beforehand(old, cause)
        if abs(change) >= TELLING:
            where = knowledge.place("causes", cause, "hosts")
            found.append(
                (change, f"{cause}, how common it is here and now: {_points(change)} ({where})")
            )
    for _, line in sorted(found, key=lambda f: (-abs(f[0]), f[1])):
        yield line


def _weights(consultation: Consultation, cause: str) -> dict[tuple[str, str], float]:
    """The weight of each observation, and of the wording, on a cause, by symptom and value."""
    found = next((r.weights for r in consultation.ranked if r.cause == cause), ())
    return {(weight.symptom, weight.value): weight.decibans for weight in found}


def _points(decibans: float) -> str:
    return f"{round(decibans):+d}"


def _beforehand(consultation: Consultation, cause: str) -> float:
    """The chance before anything is seen, in decibans; -99 where it is out."""
    return max(DECIBANS * float(consultation.prior[consultation.reasoner.tables.row[cause]]), -99.0)


def _line(old: Consultation, new: Consultation, cause: str, symptom: str) -> str:
    """The file and line behind a changed weight: the evidence, else the symptom's background."""
    if symptom == WORDS:
        return new.reasoner.knowledge.place("causes", cause)
    was, now = (c.reasoner.knowledge.causes[cause].evidence.get(symptom) for c in (old, new))
    if was != now:
        return new.reasoner.knowledge.place("causes", cause, "evidence", symptom)
    return new.reasoner.knowledge.place("symptoms", symptom, "background")


def report(found: Changes) -> Page:
    """What changed, as a page; empty where nothing did."""
    page: Page = []
    firsts = {f.file: f for f in reversed(found.broken)}
    page += [note(f"{first}; waiting until it can be read") for first in firsts.values()]
    page += _findings(found.new, "new:")
    page += _findings(found.gone, "mended:")
    for move, why in found.moves[:SHOWN]:
        page.append(item(str(move), "worse:" if move.fell else "moved:"))
        page += [item(line, level=1) for line in why]
    if len(found.moves) > SHOWN:
        page.append(text(f"and {len(found.moves) - SHOWN} more cases moved"))
    if found.slight:
        noun = "case" if found.slight == 1 else "cases"
        page.append(note(f"{found.slight} {noun} moved below place {TOP}"))
    return page


def _findings(found: tuple[Finding, ...], mark: str) -> Page:
    page: Page = [item(str(finding), mark) for finding in found[:SHOWN]]
    if len(found) > SHOWN:
        page.append(text(f"and {len(found) - SHOWN} more {mark.rstrip(':')}"))
    return page


def begin(root: Path, kept: Kept, past: Past | None = None) -> State:
    """The first look, with every case worked and every warning made.

    With a past state its outcomes stand, cases near to what changed since then wait, and so do
    the warnings.
    """
    remembered = Remembered((root,))
    state = look(root, kept, State(), remembered)
    remembered.keep()
    if state.bench is None or state.knowledge is None:
        return state
    if past:
        before = keyed(past.knowledge, past.results)
        far = far_from(differences(past.knowledge, state.knowledge), state.knowledge, before)
        done = {k: Outcome(result, state.bench) for k, result in far.items()}
        waiting = tuple(k for k in state.waiting if k not in done)
        return replace(state, outcomes=done, waiting=waiting)
    results = run_cases(state.knowledge, bench=state.bench)
    done = {k: Outcome(r, state.bench) for k, r in keyed(state.knowledge, results).items()}
    return warn(replace(state, outcomes=done, waiting=()))


def saves(root: Path) -> Iterator[set[str]]:
    """The names of the files saved, again and again; none at a quiet moment."""
    from watchfiles import watch

    def is_knowledge(_: object, name: str) -> bool:
        path = Path(name)
        return path.suffix == ".yaml" and not any(
            part.startswith(".") for part in path.relative_to(root.resolve()).parts
        )

    for changed in watch(
        root.resolve(), watch_filter=is_knowledge, debounce=QUIET, rust_timeout=QUIET,
        yield_on_timeout=True, raise_interrupt=True,
    ):  # fmt: skip
        yield {Path(name).relative_to(root.resolve()).as_posix() for _, name in changed}


def watch_folder(
    root: Path, screen: Screen, saved: Callable[[Path], Iterable[set[str]]] = saves
) -> None:
    """Check a folder, and again at each save, until interrupted."""
    kept = Kept({}, {})
    state = begin(root, kept, Past.of(root))
    screen.show(report(changes(State(), replace(state, outcomes={}, warnings=()))))
    if state.outcomes:
        show_summary(screen, [o.result for o in state.outcomes.values()])
    many = len(state.warnings)
    noun = "warning" if many == 1 else "warnings"
    count = f"{many} {noun}; diagnose check lists them, and what came of cases. " if many else ""
    screen.show([note(f"{count}Watching {root}. Ctrl-C stops.")])
    for names in saved(root):
        if not names and not state.busy:
            continue
        before, started = state, time.monotonic()
        state = rework(look(root, kept, before) if names else warn(before))
        found = changes(before, state)
        if not names:  # what is broken was said at the save, and trifles are not worth a line
            found = found._replace(broken=(), slight=0)
        page = report(found)
        if names:
            took = time.monotonic() - started
            page = [heading(", ".join(sorted(names))), *(page or [text("Nothing moved.")])]
            page.append(note(_progress(found, took)))
        if found.settled:
            page.append(note(_all_worked(state)))
        screen.show(page)


def _progress(found: Changes, seconds: float) -> str:
    rest = f"; {found.waiting} cases follow" if found.waiting else ""
    return f"{seconds:.1f} s{rest}."


def _all_worked(state: State) -> str:
    got = score(outcome.result for outcome in state.outcomes.values())
    return f"All {got.cases} cases: right first {got.first}, in the first three {got.three}."
