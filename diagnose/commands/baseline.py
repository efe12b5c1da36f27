"""diagnose baseline: approve the knowledge as it is, for `check` to hold later states against."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, knowledge_folders, screen
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    commands.add(
        "baseline", run, "approve the knowledge as it is; check tells what is worse since",
        "diagnose baseline",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Work all cases and write how they came out. Raises UsageError where that cannot be."""
    from diagnose.checking import baseline, check
    from diagnose.checking.worked import outcomes
    from diagnose.kb import load
    from diagnose.pages.blocks import text

    folders = knowledge_folders(options)
    knowledge = load.load(folders, check.errors)
    try:
        file = baseline.write(folders[-1], baseline.made(knowledge, outcomes(knowledge)))
    except OSError as error:
        raise UsageError(f"the baseline cannot be written: {error.strerror}") from None
    screen(options).show([text(f"{file} holds how the cases come out now, and what is approved.")])
    return FINE
