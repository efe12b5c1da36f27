"""diagnose schema: the JSON Schemas of the knowledge files."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, knowledge_folder
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "schema", run, "the JSON Schemas of the knowledge files, for editors",
        "diagnose schema --write",
    )  # fmt: skip
    made.add_argument(
        "kind", metavar="KIND", nargs="?", help="print this one, as causes", default=None
    )
    made.add_argument(
        "--write", action="store_true", help="write all beside the knowledge", default=False
    )
    made.add_argument(
        "--modelines", action="store_true", default=False,
        help="begin every file with the line that names its one",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Print or write the schemas."""
    from diagnose.bench import schemas
    from diagnose.kb.reader import unknown

    root = knowledge_folder(options)
    if options.kind and options.kind not in schemas.FILES:
        raise UsageError(unknown("kind of file", options.kind, list(schemas.FILES)))
    if not (options.kind or options.write or options.modelines):
        raise UsageError(f"give --write, or one of {', '.join(schemas.FILES)}")
    if options.kind:
        print(schemas.text(options.kind), end="")
    try:
        changed = schemas.write(root) if options.write else []
        changed += schemas.add_modelines(root) if options.modelines else []
    except OSError as error:
        raise UsageError(f"{error.filename} cannot be written: {error.strerror}") from None
    if options.write or options.modelines:
        print(f"{len(changed)} {'file' if len(changed) == 1 else 'files'} changed in {root}")
    return FINE
