"""The cases beside the causes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from diagnose.checking.subject import Subject
from diagnose.checking.worked import Result
from diagnose.kb.reader import Finding
from diagnose.kb.spans import windows

FEWEST = 2
NEAR = 21  # days outside a season that are still near to it (see likelihood.yaml)
NAMED = 3  # of so many causes a gardener is told, where none is likely


def few(subject: Subject) -> Iterator[Finding]:
    """few-cases: causes with fewer than two cases."""
    for cause_id, cause in subject.knowledge.causes.items():
        if len(cause.cases) < FEWEST:
            count = len(cause.cases)
            yield subject.finding(
                ("causes", cause_id, "cases"), "few-cases",
                f"{count or 'no'} {'case' if count == 1 else 'cases'}; write {FEWEST} at least, "
                "in gardeners' words",
            )  # fmt: skip


def out_of_season(subject: Subject) -> Iterator[Finding]:
    """case-out-of-season: a case on a day that its cause's season leaves out by weeks."""
    for cause_id, cause in subject.knowledge.causes.items():
        open_ = windows(cause.season)
        for number, case in enumerate(cause.cases):
            if case.date is None:
                continue
            try:
                day = date.fromisoformat(case.date)
            except ValueError:
                continue  # bad-case tells it
            out = min(window.days_outside(day, subject.home) for window in open_)
            if out > NEAR:
                yield subject.finding(
                    ("causes", cause_id, "cases", str(number)), "case-out-of-season",
                    f"{day:%d %B} is {out} days out of the season of {cause_id}; one of the two "
                    "is wrong",
                )  # fmt: skip


def outcomes(subject: Subject, results: Iterable[Result]) -> Iterator[Finding]:
    """bad-case, case-not-first: what came of the cases."""
    likely = subject.knowledge.likelihood.verdict.likely
    told = range(1, NAMED + 1)
    for result in results:
        at = ("causes", result.cause, "cases", str(result.index))
        if result.problem:
            yield subject.finding(at, "bad-case", f"it cannot be worked: {result.problem}")
        elif result.place != 1 and (result.place not in told or result.chance >= likely):
            why = "" if result.read else "nothing of it was read; "
            yield subject.finding(
                at, "case-not-first",
                f"{why}{_came(result.place)}, behind {result.first} ({result.chance:.0%})",
            )  # fmt: skip
        elif result.place_asked not in (None, *told):
            yield subject.finding(
                at, "case-not-first",
                f"{_came(result.place_asked or 0)} after {result.questions} guided questions, "
                f"behind {result.first_asked}",
            )  # fmt: skip


def _came(place: int) -> str:
    return f"its own cause came {_ordinal(place)}" if place else "its own cause did not come"


def _ordinal(place: int) -> str:
    ending = {1: "st", 2: "nd", 3: "rd"}.get(place % 10 if place % 100 // 10 != 1 else 0, "th")
    return f"{place}{ending}"
