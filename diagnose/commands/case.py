"""diagnose case: stored cases worked, and where the expected cause came."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.commands.common import FINDINGS, FINE, blank, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.cases import Worked
    from diagnose.consultation import Reasoner


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "case", run, "work stored cases and say where the expected cause came",
        "diagnose case my-cases.yaml --ask",
    )  # fmt: skip
    made.add_argument("files", metavar="FILE", nargs="+")
    made.add_argument("--json", action="store_true", help="as JSON, a line per case", default=False)
    made.add_argument(
        "--ask", action="store_true", default=False,
        help="put the guided questions, answered from the case",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Work the cases; findings (exit code 1) where an expected cause did not come first."""
    from diagnose import cases

    reasoner = the_reasoner(options)
    started = blank(reasoner, options)
    worked: list[Worked] = []
    skipped: list[str] = []
    for name in options.files:
        for number, case in enumerate(cases.read_cases(Path(name)), 1):
            label = case.id or f"{name} {number}"
            if case.crop and reasoner.knowledge.crop_named(case.crop) is None:
                skipped.append(label)
                continue
            try:
                done = cases.work(case, started, options.ask)
            except UsageError as error:
                raise UsageError(f"{label}: {error}") from None
            worked.append(done)
            print(_as_json(label, done, options.ask) if options.json else
                  _line(label, done, options.ask))  # fmt: skip
    _note_old_names(worked, reasoner)
    if not options.json:
        for line in _total(worked, skipped, options.ask):
            print(line)
    return FINE if all(w.place == 1 or not w.case.expect for w in worked) else FINDINGS


def _note_old_names(worked: Sequence[Worked], reasoner: Reasoner) -> None:
    """On standard error, each old name that the cases use, with today's."""
    from diagnose import cases

    old = {name for w in worked for name in cases.retired_names(w.case, reasoner.knowledge)}
    for name in sorted(old):
        print(f"old name read as today's: {name}", file=sys.stderr)


def _as_json(label: str, done: Worked, asked: bool) -> str:
    from diagnose.documents.as_json import document

    data = {"id": label, "expect": done.case.names, "place": done.place or None}
    data |= {"questions": done.consultation.asked} if asked else {}
    return json.dumps(data | document(done.consultation), ensure_ascii=False)


def _line(label: str, done: Worked, asked: bool) -> str:
    came = f"came {done.place}" if done.place else "did not come"
    expected = f"; expected {done.case.names[0]}, {came}" if done.case.names else ""
    questions = f"; {done.consultation.asked} questions" if asked else ""
    unread = "" if done.consultation.observations else "; nothing read"
    return f"{label}: {done.first}{expected}{questions}{unread}"


def _total(worked: Sequence[Worked], skipped: Sequence[str], asked: bool) -> list[str]:
    lines = []
    judged = [w for w in worked if w.case.expect]
    if judged:
        first = sum(w.place == 1 for w in judged)
        three = sum(1 <= w.place <= 3 for w in judged)
        unread = sum(not w.consultation.observations for w in judged)
        count = len(judged)
        lines.append(
            f"{count} cases: right first {first} ({first / count:.1%}), "
            f"in the first three {three} ({three / count:.1%}), nothing read {unread}"
        )
        if asked:
            mean = sum(w.consultation.asked for w in judged) / count
            lines.append(f"questions asked: {mean:.1f} on average")
    if skipped:
        lines.append(f"left aside, crop not known: {len(skipped)} ({', '.join(skipped)})")
    return lines
