"""diagnose tidy: the knowledge files in one layout."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINDINGS, FINE, knowledge_folder, screen
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "tidy", run, "the knowledge files in one layout; what they say stays", "diagnose tidy"
    )
    made.add_argument("files", metavar="FILE", nargs="*", default=[])
    made.add_argument(
        "--check", action="store_true", default=False,
        help="change nothing; exit code 1 where something is untidy",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """A line for each file that is, or was, untidy. Raises UsageError where one is not there."""
    from diagnose.bench import tidy
    from diagnose.kb import load
    from diagnose.pages.blocks import Page, item, text

    root = knowledge_folder(options)
    paths = [Path(name) for name in options.files] or load.files(root)
    try:
        found = [tidy.tidied(root, path) for path in paths]
        untidy = [one.path for one in found if one.untidy]
        if not options.check:
            untidy = list(tidy.write(found))
    except OSError as error:
        raise UsageError(f"{error.filename}: {error.strerror}") from None
    page: Page = [item(str(path), "untidy:" if options.check else "tidied:") for path in untidy]
    left = [one for one in found if one.problem]
    page += [item(f"{one.path}: {one.problem}", "left as it is:") for one in left]
    page.append(text(f"{len(found) - len(untidy) - len(left)} of {len(found)} files were tidy."))
    screen(options).show(page)
    return FINDINGS if options.check and untidy else FINE
