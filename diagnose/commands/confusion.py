"""diagnose confusion: which causes are taken for which."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, print_json, screen, the_knowledge
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "confusion", run, "which causes are taken for which, from their own cases",
        "diagnose confusion beet-leafminer",
    )  # fmt: skip
    made.add_argument(
        "cause", metavar="CAUSE", nargs="?", default=None, help="the cases of this cause alone"
    )
    made.add_argument("--json", action="store_true", help="as JSON", default=False)


def run(options: argparse.Namespace) -> int:
    """The confusion table, whole or of one cause."""
    from diagnose.bench import confusion as tables
    from diagnose.checking.worked import run_cases
    from diagnose.kb.reader import unknown

    knowledge = the_knowledge(options)
    if options.cause and options.cause not in knowledge.causes:
        raise UsageError(unknown("cause", options.cause, list(knowledge.causes)))
    results = run_cases(knowledge)
    if options.json:
        if options.cause:
            results = [r for r in results if options.cause in (r.cause, r.first)]
        print_json(tables.as_json(results))
    elif options.cause:
        screen(options).show(tables.cause_page(knowledge, options.cause, results))
    else:
        tables.show_whole(screen(options), results)
    return FINE
