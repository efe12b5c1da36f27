"""What the shape of a file cannot say: dangling ids, dead rules, twins, cases that go astray.

Errors keep the knowledge from being used, warnings say where it may mislead; `codes.py` says what
each code means. The checks stand in `topics/`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path

from diagnose.checking import baseline, worked
from diagnose.checking.changes import differences, far_from, keyed
from diagnose.checking.codes import CODES, severity
from diagnose.checking.sound import sound
from diagnose.checking.subject import Check, Subject
from diagnose.checking.topics import cases as case_checks
from diagnose.checking.topics import (
    concerns,
    drawings,
    evidence,
    handbook,
    numbers,
    once,
    phrases,
    prose,
    references,
    remedies,
    rules,
    safety,
    units,
)
from diagnose.checking.worked import Kept, Past, Result, working
from diagnose.kb import load, store
from diagnose.kb.garbage import uncollected
from diagnose.kb.load import Root
from diagnose.kb.model import Knowledge
from diagnose.kb.reader import Finding, Reader, Silence
from diagnose.kb.remembered import Remembered
from diagnose.kb.store import Parts

ERRORS: tuple[Check, ...] = (
    numbers.scales, numbers.place, numbers.ranges, numbers.moments, numbers.degree_days,
    references.causes, references.others, references.dangers, references.values,
    references.retired, concerns.named, phrases.classes, drawings.shown, evidence.lines,
    safety.patterns, safety.names, safety.alerts, safety.first, safety.kept, safety.said,
    safety.inedible, safety.phones, safety.food, safety.cautions, safety.products,
    rules.shape, rules.names,
)  # fmt: skip

ALL = (
    "crops", "symptoms", "causes", "rules", "remedies", "cautions", "referrals", "alerts",
    "dangers", "concerns", "sources",
)  # fmt: skip
READY = ("likelihood", "seasons", "words", "concerns")  # what a bench cannot be made without
REASONING = (*READY, "symptoms", "crops", "rules")
# Each with the kinds of files that must be free of errors for it to say anything of the rest.
WARNINGS: dict[Check, tuple[str, ...]] = {
    references.unused: ALL,
    references.unused_values: ("symptoms", "causes", "rules"),
    references.no_source: ("sources",),
    evidence.words: ("likelihood", "symptoms"),
    evidence.off_host: ("symptoms", "crops"),
    evidence.twins: (*READY, "symptoms", "crops"),
    evidence.one_way: (),
    evidence.idle: (*READY, "symptoms"),
    numbers.never_opens: ("seasons",),
    numbers.harvest_first: ("seasons",),
    units.pairs: (),
    units.bands: (),
    once.names: (),
    once.aliases: (),
    once.codes: (),
    once.cases: (),
    once.tellings: (),
    handbook.agrees: ("likelihood", "handbook"),
    safety.helpers: (),
    remedies.ladder: ("remedies",),
    remedies.agreeing: ("remedies",),
    rules.unused_conclusions: ("symptoms", "rules"),
    rules.firing: (*REASONING, "causes"),
    rules.ruled_out: REASONING,
    rules.loops: ("rules",),
    rules.against_cause: REASONING,
    concerns.unused: ("rules",),
    phrases.clashes: (*READY, "symptoms"),
    prose.eaten: (),
    prose.gaps: (),
    prose.negative_questions: (),
    prose.reading_level: (),
    case_checks.few: (),
    case_checks.out_of_season: ("seasons",),
}
OF_CASES = frozenset({"bad-case", "case-not-first", "cases-fell", "change-without-gain"})
# Checks that take their time, and the one kind of files in which their findings stand.
SPEAKS_OF: dict[Check, str] = {phrases.clashes: "symptoms", rules.firing: "rules"}


@dataclass(frozen=True)
class Report:
    """All that a check found: the findings in order of file and line, and the cases worked.

    `from_memory` counts the causes, of `causes` in all, that rest on no opened source; `carried`
    the results that are of an earlier state, since nothing near to their cases has changed.
    """

    findings: list[Finding]
    results: list[Result]
    causes: int
    from_memory: int
    carried: int = 0


def errors(
    knowledge: Knowledge,
    broken: frozenset[str] = frozenset(),
    only: Collection[str] | None = None,
) -> list[Finding]:
    """All that keeps the knowledge from being used, in order of file and line.

    `broken` names what could not be read (see `diagnose.kb.load.Gathered`); of files that are not
    among `only`, no more than concerns the use of these need be told.
    """
    subject = Subject(knowledge, broken, only=only)
    return sorted({finding for check in ERRORS for finding in check(subject)})


def _kind(file: str) -> str:
    """The kind of what stands in a file: "causes", "likelihood"."""
    return Path(file).parts[0].removesuffix(".yaml")


class Rest:
    """What errors leave to be warned of: a sound subject, and where to keep silent.

    Nothing is said of files with errors, nor what depends on a kind of file with errors.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        found: Iterable[Finding],
        broken: frozenset[str] = frozenset(),
        parts: Parts | None = None,
        only: Collection[str] | None = None,
    ) -> None:
        self.files = {finding.file for finding in found}
        kinds = {_kind(file) for file in self.files}
        self.kinds = kinds | {name.partition("/")[0] for name in broken}
        places = {
            (kind, entry_id): knowledge.place(kind, entry_id).rpartition(":")[0]
            for kind in ("causes", "rules")
            for entry_id in getattr(knowledge, kind)
        }
        bad = {place for place, file in places.items() if file in self.files}
        self.causes = [c for c in knowledge.causes if ("causes", c) not in bad]
        rules = [rule_id for kind, rule_id in bad if kind == "rules"]
        self.only = only
        self.subject = Subject(sound(knowledge, rules), broken, parts, only)

    def allows(self, needs: Iterable[str]) -> bool:
        """Whether none of these kinds of files has errors."""
        return self.kinds.isdisjoint(needs)

    def warnings(self) -> list[Finding]:
        """All but what the cases tell; where `only` some files matter, at least what is in them."""
        kinds = None if self.only is None else {_kind(file) for file in self.only}
        return self.told(
            finding
            for check, needs in WARNINGS.items()
            if self.allows(needs) and (kinds is None or SPEAKS_OF.get(check, "") in {"", *kinds})
            for finding in check(self.subject)
        )

    def told(self, findings: Iterable[Finding]) -> list[Finding]:
        """The findings in files without errors."""
        return [finding for finding in findings if finding.file not in self.files]


def warnings(
    knowledge: Knowledge, found: Iterable[Finding] = (), broken: frozenset[str] = frozenset()
) -> list[Finding]:
    """What may mislead, but for the cases, in order of file and line.

    `found` are the errors found before: what they leave sound is checked.
    """
    return sorted(set(Rest(knowledge, found, broken).warnings()))


@uncollected()
def examine(
    root: Root,
    only: Collection[str] | None = None,
    *,
    cases: bool = True,
    every: bool = True,
) -> Report:
    """Check a knowledge folder, or several laid over one another, or `only` some of its files.

    Files are named as findings name them: below the folder, and below the name of one laid over.

    Of those, everything is said that is said of them in a check of the whole folder, the cases of
    their causes included; without `cases` none are worked, and without `every` only those near to
    what has changed since all were. Raises KnowledgeError where it is no folder.
    """
    folders = load.layers(root)
    remembered = Remembered(folders)
    gathered = load.read(root, Reader(folders[0], remembered))
    remembered.keep()
    knowledge = gathered.readable
    found = [*gathered.findings, *errors(knowledge, gathered.broken, only)]
    found_errors = bool(found)
    parts = None if found else store.copy_of(knowledge.digest)
    rest = Rest(knowledge, found, gathered.broken, parts, only)
    causes = [c for c in rest.causes if only is None or _file(knowledge, c) in only]
    kept = Kept(knowledge.digest if not found and only is None else None)
    results = kept.read() if cases and rest.allows(REASONING) else []
    carried: list[Result] = []
    if results is None:
        past = None if every or only is not None else Past.of(root)
        if past:
            before = keyed(past.knowledge, past.results)
            changed = differences(past.knowledge, knowledge)
            carried = list(far_from(changed, knowledge, before).values())
        done = {(result.cause, result.index) for result in carried}
        todo = [one for one in worked.numbers(knowledge, causes) if one not in done]
        with working(rest.subject.bench, todo) as coming:
            found += rest.warnings()
            results = sorted([*coming, *carried], key=lambda r: (r.cause, r.index))
        if not carried and not found_errors and only is None:
            Past(knowledge, results).keep(root)
    else:
        found += rest.warnings()
    found += rest.told(case_checks.outcomes(rest.subject, results))
    over = f"{folders[-1].resolve().name}/" if len(folders) > 1 else ""
    worse = baseline.findings(rest.subject, folders[-1], results, causes, over, knowledge)
    found += rest.told(worse)
    found += rest.told(gathered.notes)
    unasked = OF_CASES if not results else frozenset()
    found = _let_stand(found, gathered.silences, CODES.keys() if found_errors else unasked)
    return Report(
        findings=sorted({f for f in found if only is None or f.file in only}),
        results=results,
        causes=len(knowledge.causes),
        from_memory=references.from_memory(Subject(knowledge)),
        carried=len(carried),
    )


def _file(knowledge: Knowledge, cause: str) -> str:
    """The file of a cause."""
    return knowledge.place("causes", cause).rpartition(":")[0]


def _let_stand(
    found: Iterable[Finding], silences: Iterable[Silence], unasked: Collection[str]
) -> list[Finding]:
    """The findings without the warnings that comments let stand; and comments that do nothing.

    Nothing is known of comments for codes that were not asked for.
    """
    there = list(found)
    silent: set[Finding] = set()
    idle: list[Finding] = []
    for let in silences:
        mine = [
            f for f in there
            if (f.file, f.code) == (let.file, let.code) and f.line in (let.line, let.line + 1)
            and severity(f.code) == "warning"
        ]  # fmt: skip
        if mine and let.because:
            silent.update(mine)
        elif mine:
            why = f"say why {let.code} may stand, after a colon"
            idle.append(Finding(let.file, let.line, "silence-idle", why))
        elif let.code not in unasked:
            why = f"there is no warning {let.code} here that can stand; take the comment out"
            idle.append(Finding(let.file, let.line, "silence-idle", why))
    return [f for f in there if f not in silent] + idle
