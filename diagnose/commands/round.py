"""diagnose round: a prompt for the commands of the round; what is missing is asked."""

from __future__ import annotations

import argparse
import shlex

from diagnose.commands.common import FINE, asker, screen
from diagnose.commands.parser import Commands
from diagnose.errors import DiagnoseError

WORDS = {
    "gardens": "the gardens; --add NAME keeps one",
    "beds": "the beds; --add NAME, BED --plant CROP, BED --clear CROP",
    "visit": "enter a visit to a bed: visit BED",
    "lookout": "what to look for now: lookout BED",
    "season": "the year of a garden; --to due.ics",
    "sheet": "a page to take along",
    "report": "what was found and done; --year 2026",
    "weather": "take in a file of daily weather",
    "records": "backup, restore, export, import",
    "leave": "go; all is kept",
}


def register(commands: Commands) -> None:
    """Put it on the command line."""
    commands.add(
        "round", run, "a prompt for the round: gardens, beds, visits, look-outs, reports",
        "diagnose round",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Take one line after the other until it is left."""
    from diagnose.commands import command_line
    from diagnose.pages.blocks import heading, item, text

    shown, ask = screen(options), asker(options, "round")
    helped = [heading("The round"), *(item(f"{word}: {what}") for word, what in WORDS.items())]
    shown.show(helped)
    while True:
        try:
            line = ask.ask("round> ", list(WORDS), "a word, as visit North; help, leave").strip()
        except (EOFError, KeyboardInterrupt):
            return FINE
        if line.lower() in ("leave", "quit", "exit", "stop"):
            return FINE
        try:
            words = shlex.split(line)
            if not words:
                continue
            if words[0] not in WORDS:
                shown.show(helped if words[0] == "help" else [text(
                    f"I know no {words[0]!r} here; type help to see the words."
                )])  # fmt: skip
                continue
            plain = ["--plain"] if options.plain else []
            there = command_line().parse([*words, *plain])
            there.knowledge = there.knowledge or options.knowledge
            there.rounds = there.rounds or options.rounds
            there.date = there.date or options.date
            there.run(there)
        except (DiagnoseError, ValueError) as error:
            shown.show([text(f"{error}.")])
        except SystemExit:  # --help has shown what it had to
            continue
