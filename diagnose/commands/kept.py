"""diagnose kept: the consultations that were kept."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, asker, print_json, screen, the_reasoner
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "kept", run, "the consultations that were kept: list, look at, go on with, drop",
        "diagnose kept",
    )  # fmt: skip
    made.add_argument(
        "names", metavar="NAME", nargs="*", default=[], help="one to look at, two to compare"
    )
    made.add_argument("--go-on", action="store_true", default=False, help="go on with it")
    made.add_argument("--drop", action="store_true", default=False, help="drop it")
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .md, .html or .json")
    made.add_argument("--json", action="store_true", default=False, help="as JSON")


def run(options: argparse.Namespace) -> int:
    """The list, or what was asked of the ones named."""
    from diagnose import kept
    from diagnose.documents.as_json import document
    from diagnose.documents.files import report, write
    from diagnose.pages.blocks import item, note, text, title
    from diagnose.pages.sayings import kept_line

    if options.drop:
        for name in options.names:
            kept.drop(name)
            print(f"Dropped {name}")
        return FINE
    reasoner = the_reasoner(options)
    if not options.names:
        found, aside = kept.listed()
        page = [title("Kept consultations")]
        page += [item(kept_line(name, k, reasoner.knowledge)) for name, k in found]
        page += [note(f"{name} could not be read; it is set aside.") for name in aside]
        screen(options).show(page if len(page) > 1 else [text("None is kept.")])
        return FINE
    for name in options.names:
        one = kept.named(name)
        made = kept.opened(one, reasoner)
        if options.go_on:
            return _go_on(options, name, one)
        if options.to:
            print(f"Wrote {write(made.journal.now, options.to)}")
        elif options.json:
            print_json(document(made.journal.now))
        else:
            screen(options).show(report(made.journal.now))
    return FINE


def _go_on(options: argparse.Namespace, name: str, one: object) -> int:
    from diagnose import kept
    from diagnose.terminal.dialogue import Dialogue, Leave

    assert isinstance(one, kept.Kept)
    made = kept.opened(one, the_reasoner(options))
    keeper = kept.keeper_of(name, one)
    try:
        Dialogue(screen(options), asker(options, "history"), made.journal, keeper).run(made)
    except Leave:
        return FINE
    return FINE
