"""diagnose crops: the crops that are known, by family."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, screen, the_knowledge
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    commands.add("crops", run, "the crops it knows, by family", "diagnose crops")


def run(options: argparse.Namespace) -> int:
    """A list for each family."""
    from diagnose.pages import entries

    screen(options).show(entries.crops(the_knowledge(options)))
    return FINE
