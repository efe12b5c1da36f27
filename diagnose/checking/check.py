"""What the shape of a file cannot say: dangling ids, dead rules, twins, cases that go astray.

Errors keep the knowledge from being used, warnings say where it may mislead; `codes.py` says what
each code means. The checks stand in `checks/`, by topic.
"""

from __future__ import annotations

import gc
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from diagnose.checking.sound import sound
from diagnose.checking.subject import Check, Subject
from diagnose.checking.topics import (
    cases,
    evidence,
    numbers,
    phrases,
    prose,
    references,
    remedies,
    rules,
    safety,
)
from diagnose.checking.worked import Result, working
from diagnose.kb import load
from diagnose.kb.load import Finding
from diagnose.kb.model import Knowledge

ERRORS: tuple[Check, ...] = (
    numbers.scales, numbers.place, numbers.ranges, numbers.moments, numbers.degree_days,
    references.causes, references.others, references.values, references.retired, evidence.lines,
    safety.patterns, safety.names, safety.first, safety.kept, safety.food, safety.cautions,
    safety.products,
    rules.shape, rules.names,
)  # fmt: skip

ALL = ("crops", "symptoms", "causes", "rules", "remedies", "cautions", "referrals", "sources")
READY = ("likelihood", "seasons", "words")  # what a bench cannot be made without
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
    numbers.never_opens: ("seasons",),
    remedies.ladder: ("remedies",),
    remedies.agreeing: ("remedies",),
    rules.unused_conclusions: ("symptoms", "rules"),
    rules.firing: (*REASONING, "causes"),
    rules.ruled_out: REASONING,
    rules.loops: ("rules",),
    phrases.clashes: (*READY, "symptoms"),
    prose.gaps: (),
    prose.reading_level: (),
    cases.few: (),
}


@dataclass(frozen=True)
class Report:
    """All that a check found: the findings in order of file and line, and the cases worked.

    `from_memory` counts the causes, of `causes` in all, that rest on no opened source.
    """

    findings: list[Finding]
    results: list[Result]
    causes: int
    from_memory: int


def errors(knowledge: Knowledge, broken: frozenset[str] = frozenset()) -> list[Finding]:
    """All that keeps the knowledge from being used, in order of file and line.

    `broken` names what could not be read (see `diagnose.kb.load.Gathered`).
    """
    subject = Subject(knowledge, broken)
    return sorted({finding for check in ERRORS for finding in check(subject)})


class Rest:
    """What errors leave to be warned of: a sound subject, and where to keep silent.

    Nothing is said of files with errors, nor what depends on a kind of file with errors.
    """

    def __init__(
        self, knowledge: Knowledge, found: Iterable[Finding], broken: frozenset[str] = frozenset()
    ) -> None:
        self.files = {finding.file for finding in found}
        kinds = {Path(file).parts[0].removesuffix(".yaml") for file in self.files}
        self.kinds = kinds | {name.partition("/")[0] for name in broken}
        places = {
            (kind, entry_id): knowledge.place(kind, entry_id).rpartition(":")[0]
            for kind in ("causes", "rules")
            for entry_id in getattr(knowledge, kind)
        }
        bad = {place for place, file in places.items() if file in self.files}
        self.causes = [c for c in knowledge.causes if ("causes", c) not in bad]
        rules = [rule_id for kind, rule_id in bad if kind == "rules"]
        self.subject = Subject(sound(knowledge, rules), broken)

    def allows(self, needs: Iterable[str]) -> bool:
        """Whether none of these kinds of files has errors."""
        return self.kinds.isdisjoint(needs)

    def warnings(self) -> list[Finding]:
        """All but what the cases tell."""
        return self.told(
            finding
            for check, needs in WARNINGS.items()
            if self.allows(needs)
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


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without looking for garbage: there is next to none, and looking is a tenth of the time."""
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()


@_uncollected()
def examine(folder: Path) -> Report:
    """Check a knowledge folder. Raises KnowledgeError where it is no folder."""
    gathered = load.read(folder)
    knowledge = gathered.readable
    found = [*gathered.findings, *errors(knowledge, gathered.broken)]
    rest = Rest(knowledge, found, gathered.broken)
    if rest.allows(REASONING):
        with working(rest.subject.bench, rest.causes) as coming:
            found += rest.warnings()
            results = list(coming)
        found += rest.told(cases.outcomes(rest.subject, results))
    else:
        found += rest.warnings()
        results = []
    return Report(
        findings=sorted(set(found)),
        results=results,
        causes=len(knowledge.causes),
        from_memory=references.from_memory(Subject(knowledge)),
    )
