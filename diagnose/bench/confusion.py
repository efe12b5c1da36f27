"""How well the cases come out, and which cause is taken for which."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from diagnose.checking.changes import short
from diagnose.checking.worked import Result
from diagnose.kb.model import Knowledge
from diagnose.pages.blocks import Block, Page, heading, item, note, text, title
from diagnose.pages.sayings import cause_name, percent
from diagnose.reasoning.ranking import SOMETHING_ELSE
from diagnose.terminal.screen import Screen
from diagnose.terminal.table import Row, Table, show

WORST = 5  # confusions named at the end of a check
ORDINALS = ("not at all", "first", "second", "third")


@dataclass(frozen=True, slots=True)
class Score:
    """How many cases came out how.

    `first` and `three` count those whose own cause came first, or in the first three, after all
    that they tell; `asked_first` those that came first after the guided questions, of the
    `asked`; `questions` is how many these needed, on average.
    """

    cases: int
    first: int
    three: int
    unread: int
    broken: int
    asked: int
    asked_first: int
    questions: float


def place_words(place: int) -> str:
    """A place in the ranking, in words; 0 is 'not at all'."""
    return ORDINALS[place] if place < len(ORDINALS) else f"place {place}"


def score(results: Iterable[Result]) -> Score:
    """The figures of a set of worked cases."""
    done = list(results)
    asked = [r for r in done if r.questions is not None]
    told = [r.questions or 0 for r in asked if r.place_asked == 1]
    return Score(
        cases=len(done),
        first=sum(r.place == 1 for r in done),
        three=sum(1 <= r.place <= 3 for r in done),
        unread=sum(r.read == 0 and r.problem is None for r in done),
        broken=sum(r.problem is not None for r in done),
        asked=len(asked),
        asked_first=len(told),
        questions=sum(told) / len(told) if told else 0.0,
    )


def confusions(results: Iterable[Result]) -> list[tuple[str, str, int]]:
    """(cause, what was taken for it, how often), most frequent first."""
    found = Counter((r.cause, r.first) for r in results if r.place != 1 and r.problem is None)
    return sorted(
        ((cause, first, count) for (cause, first), count in found.items()),
        key=lambda c: (-c[2], c[0], c[1]),
    )


def table(found: Score) -> Table:
    """The figures as a short table: right first, in three, questions needed."""

    def share(count: int, total: int) -> tuple[int, str]:
        return count, f"{count / total:.1%}" if total else ""

    rows = [
        Row("cases", (found.cases, "")),
        Row("right first", share(found.first, found.cases)),
        Row("in the first three", share(found.three, found.cases)),
        Row("nothing read in them", share(found.unread, found.cases)),
    ]
    if found.broken:
        rows.append(Row("could not be worked", share(found.broken, found.cases)))
    if found.asked:
        needed = f"{found.questions:.1f} questions needed on average"
        rows += [
            Row("answered question by question", share(found.asked, found.cases)),
            Row("  of these right first", share(found.asked_first, found.asked), needed),
        ]
    return Table("", ("cases", "share"), tuple(rows))


def show_summary(screen: Screen, results: Sequence[Result]) -> None:
    """What a check ends with: the figures, and the worst confusions."""
    screen.show([heading("Cases")])
    show(screen, table(score(results)))
    worst = confusions(results)[:WORST]
    if worst:
        lines = [item(f"{cause} taken for {first}: {_times(n)}") for cause, first, n in worst]
        screen.show([heading("Worst confusions"), *lines])


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def by_cause(results: Iterable[Result]) -> dict[str, list[Result]]:
    """The worked cases under their causes."""
    found: dict[str, list[Result]] = {}
    for result in results:
        found.setdefault(result.cause, []).append(result)
    return found


def whole_table(results: Sequence[Result]) -> Table:
    """Every cause with its figures and what it was taken for, most often missed first."""
    taken: dict[str, list[str]] = {}
    for cause, first, count in confusions(results):
        taken.setdefault(cause, []).append(f"{first} {count}")
    asked = any(r.questions is not None for r in results)
    rows = []
    for cause, mine in by_cause(results).items():
        got = score(mine)
        needed = (f"{got.questions:.1f}" if got.asked_first else "-",) if asked else ()
        words = ", ".join(taken.get(cause, []))
        rows.append(Row(cause, (got.cases, got.first, got.three, *needed), words))
    rows.sort(key=lambda r: (int(r.cells[1]) - int(r.cells[0]), r.name))
    heads = ("cases", "first", "three", *(("questions",) if asked else ()))
    return Table("cause", heads, tuple(rows))


def show_whole(screen: Screen, results: Sequence[Result]) -> None:
    """The whole confusion table between causes, as one line per cause."""
    screen.show([title("Which cause is taken for which")])
    show(screen, whole_table(results))
    screen.show([note("At the end of a line: what came first instead, and how often.")])
    show_summary(screen, results)


def cause_page(knowledge: Knowledge, cause: str, results: Sequence[Result]) -> Page:
    """One cause: where each of its cases came, and which cases of others it was taken for."""
    page: Page = [title(f"Cases of {knowledge.causes[cause].name}")]
    own = [r for r in results if r.cause == cause]
    if not own:
        page.append(text("It has no cases."))
    page += [_case_line(knowledge, result) for result in own]
    others = [r for r in results if r.cause != cause and r.first == cause and r.problem is None]
    if others:
        page.append(heading("Cases of others that it was taken for"))
        page += [_case_line(knowledge, result, result.cause) for result in others]
    return page


def _case_line(knowledge: Knowledge, result: Result, cause: str = "") -> Block:
    case = knowledge.causes[result.cause].cases[result.index]
    lead = f"{cause_name(knowledge, cause)}: " if cause else ""
    words = f'"{short(case.text)}"' if case.text else "(observations only)"
    if result.problem:
        return item(f"{lead}{words}: {result.problem}", f"{result.index + 1}.")
    came = place_words(result.place)
    if result.place != 1 and result.first != SOMETHING_ELSE:
        came += f"; first {cause_name(knowledge, result.first)} ({percent(result.chance)})"
    if result.questions is not None:
        came += f"; {result.questions} questions, then {place_words(result.place_asked or 0)}"
    return item(f"{lead}{words}: {came}", f"{result.index + 1}.")


def as_json(results: Sequence[Result]) -> dict[str, Any]:
    """Figures, confusions and every case, for machines."""
    return {
        **asdict(score(results)),
        "confusions": [
            {"cause": cause, "first": first, "count": count}
            for cause, first, count in confusions(results)
        ],
        "results": [asdict(result) for result in results],
    }
