"""diagnose lesson: a lesson of 25 minutes on a described case, with a sheet and its key."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.commands.common import FINE, blank, screen, the_reasoner
from diagnose.commands.described import described, which
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.teaching.lesson import Lesson


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "lesson", run,
        "a lesson of 25 minutes on a described case, with a sheet and its key; without a name, an "
        "empty sheet", "diagnose lesson beet leafminer --to lesson.html",
    )  # fmt: skip
    which(made, needed=False)
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .html or .md")


def run(options: argparse.Namespace) -> int:
    """The plan or the empty sheet on the screen, or all of it in a file."""
    from diagnose.documents.files import put
    from diagnose.documents.paper import blank_sheet, whole_lesson
    from diagnose.pages.lesson import plan, sheet

    made = _lesson(options) if options.names else None
    if options.to:
        print(f"Wrote {put(options.to, whole_lesson(made) if made else blank_sheet())}")
    else:
        screen(options).show(plan(made) if made else sheet())
    return FINE


def _lesson(options: argparse.Namespace) -> Lesson:
    """The lesson on the case that is named. Raises UsageError where there is none."""
    from diagnose.teaching.lesson import lesson

    reasoner = the_reasoner(options)
    case, cause = described(options, reasoner.knowledge)
    if cause is None:
        raise UsageError("the case expects no cause that is known; a lesson needs one")
    return lesson(case, cause, blank(reasoner, options))
