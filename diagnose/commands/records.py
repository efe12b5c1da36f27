"""diagnose records: copies of all that is kept of the rounds."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from importlib.resources import as_file, files
from pathlib import Path

from diagnose.commands.common import FINE
from diagnose.commands.parser import Commands

DOINGS = ("backup", "restore", "export", "import", "example", "where")
EXAMPLE = "example.json"  # two seasons of a garden of our own invention


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "records", run, "what is kept of the rounds: backup, restore, export, import, an example",
        "diagnose records backup rounds-june.sqlite",
    )  # fmt: skip
    made.add_argument("doing", metavar="DOING", choices=DOINGS, help=", ".join(DOINGS))
    made.add_argument(
        "file", metavar="FILE", nargs="?", default=None,
        help="a file; for export and import one that ends in .json, or a folder of CSV tables",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Copy all out, or take all in."""
    from diagnose.commands.round_common import ask_for, the_store
    from diagnose.rounds import exchange

    with the_store(options) as store:
        if options.doing == "where":
            print(store.path)
            return FINE
        if options.doing == "example":
            shipped = files("diagnose.rounds") / EXAMPLE
            with as_file(shipped) as path:
                _added(exchange.add(store, exchange.read(path)))
            return FINE
        path = Path(options.file or ask_for(options, "Which file?")).expanduser()
        match options.doing:
            case "backup":
                store.backup(path)
                print(f"Wrote {path}")
            case "restore":
                print(f"Restored. What was there before is in {store.restore(path)}")
            case "export":
                for written in exchange.write(store, path):
                    print(f"Wrote {written}")
            case "import":
                _added(exchange.add(store, exchange.read(path)))
    return FINE


def _added(new: Mapping[str, int]) -> None:
    said = ", ".join(f"{n} {name}" for name, n in new.items() if n)
    print(f"New: {said or 'nothing'}")
