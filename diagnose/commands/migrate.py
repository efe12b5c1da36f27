"""diagnose migrate: a knowledge folder of an older form, brought to the one of today."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, knowledge_folder, screen
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    commands.add(
        "migrate", run, "bring a knowledge folder of an older form to the one of today",
        "diagnose migrate --knowledge my-region",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """A line for each file that was changed. Raises UsageError where that cannot be."""
    from diagnose.bench.migrate import migrate
    from diagnose.kb import load
    from diagnose.kb.store import in_use
    from diagnose.pages.blocks import Page, item, text

    folder = knowledge_folder(options)
    if not folder.is_dir():
        raise UsageError(f"{folder} is no folder; give one with --knowledge")
    retired = {**load.read(in_use()).readable.retired, **load.read(folder).readable.retired}
    try:
        changed = list(migrate(folder, retired))
    except (ValueError, OSError) as error:
        raise UsageError(str(error)) from None
    page: Page = [item(str(path), "changed:") for path in changed]
    page.append(text(f"{folder} has form {load.FORMAT} now." if changed else
                     f"{folder} has form {load.FORMAT} already."))  # fmt: skip
    screen(options).show(page)
    return FINE
