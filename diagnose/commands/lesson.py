"""diagnose lesson: a lesson of 25 minutes on a described case, with a sheet and its key."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, blank, screen, the_reasoner
from diagnose.commands.described import described, which
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "lesson", run, "a lesson of 25 minutes on a described case, with a sheet and its key",
        "diagnose lesson beet leafminer --to lesson.html",
    )  # fmt: skip
    which(made)
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .html or .md")


def run(options: argparse.Namespace) -> int:
    """The plan on the screen, or all of it in a file."""
    from diagnose.pages.lesson import plan
    from diagnose.teaching.lesson import lesson

    reasoner = the_reasoner(options)
    case, cause = described(options, reasoner.knowledge)
    if cause is None:
        raise UsageError("the case expects no cause that is known; a lesson needs one")
    made = lesson(case, cause, blank(reasoner, options))
    if options.to:
        from diagnose.documents.files import put
        from diagnose.documents.paper import whole_lesson

        print(f"Wrote {put(options.to, whole_lesson(made))}")
    else:
        screen(options).show(plan(made))
    return FINE
