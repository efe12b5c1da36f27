"""The maintainer's commands, one small function each."""

from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Callable
from pathlib import Path

from diagnose.bench.wanted import WANTED
from diagnose.cli import FINDINGS, FINE, knowledge_folder
from diagnose.errors import UsageError

Add = Callable[..., argparse.ArgumentParser]


def register(add: Add, everywhere: argparse.ArgumentParser) -> None:
    """Put the commands on the command line; `everywhere` has the options of every command."""
    found = add(
        "confusion", confusion, "which causes are taken for which, from their own cases",
        "diagnose confusion beet-leafminer",
    )  # fmt: skip
    found.add_argument("cause", metavar="CAUSE", nargs="?", help="the cases of this cause alone")
    found.add_argument("--json", action="store_true", help="as JSON")
    found = add(
        "coverage", coverage, "crops and symptoms by kind of cause, months by cause",
        "diagnose coverage --html coverage.html",
    )  # fmt: skip
    found.add_argument("--html", metavar="FILE", help="write a page of HTML instead")
    found = add(
        "new", new, "begin a cause, crop, symptom, rule or remedy, its gaps marked",
        "diagnose new cause carrot-fly",
    )  # fmt: skip
    _register_new(found, everywhere)
    found = add(
        "schema", schema, "the JSON Schemas of the knowledge files, for editors",
        "diagnose schema --write",
    )  # fmt: skip
    found.add_argument("kind", metavar="KIND", nargs="?", help="print this one, as causes")
    found.add_argument("--write", action="store_true", help="write all beside the knowledge")
    found.add_argument(
        "--modelines", action="store_true", help="begin every file with the line that names its one"
    )
    found = add(
        "compare", compare, "what a change did: entries that differ, cases that moved",
        "diagnose compare HEAD~1 knowledge",
    )  # fmt: skip
    found.add_argument("old", metavar="OLD", help="a knowledge folder or a git revision")
    found.add_argument("new", metavar="NEW", help="another one")
    found.add_argument("--json", action="store_true", help="as JSON")


def _register_new(found: argparse.ArgumentParser, everywhere: argparse.ArgumentParser) -> None:
    kinds = found.add_subparsers(title="what", metavar="WHAT", required=True, dest="what")
    for what, wanted in WANTED.items():
        one = kinds.add_parser(what, parents=[everywhere], help=f"a new {what}")
        one.add_argument("id", metavar="ID", help="small letters, digits and dashes")
        for name, question in wanted.items():
            one.add_argument(f"--{name}", metavar="X", help=question)
        if what not in ("cause", "crop"):
            one.add_argument("--file", metavar="FILE", help="the table it goes into")


def confusion(options: argparse.Namespace) -> int:
    """The confusion table, whole or of one cause."""
    from diagnose.bench import confusion as tables
    from diagnose.checking.worked import run_cases
    from diagnose.kb.load import unknown
    from diagnose.ready import open_knowledge
    from diagnose.terminal.screen import choose

    knowledge = open_knowledge(knowledge_folder(options))
    if options.cause and options.cause not in knowledge.causes:
        raise UsageError(unknown("cause", options.cause, list(knowledge.causes)))
    results = run_cases(knowledge)
    if options.json:
        if options.cause:
            results = [r for r in results if options.cause in (r.cause, r.first)]
        print(json.dumps(tables.as_json(results), indent=2))
    elif options.cause:
        choose(options.plain).show(tables.cause_page(knowledge, options.cause, results))
    else:
        tables.show_whole(choose(options.plain), results)
    return FINE


def coverage(options: argparse.Namespace) -> int:
    """The coverage tables."""
    from diagnose.bench import coverage as tables
    from diagnose.ready import open_knowledge
    from diagnose.terminal.screen import choose

    knowledge = open_knowledge(knowledge_folder(options))
    if options.html:
        try:
            Path(options.html).write_text(tables.html_page(knowledge), encoding="utf-8")
        except OSError as error:
            raise UsageError(f"{options.html} cannot be written: {error.strerror}") from None
        print(f"Wrote {options.html}")
        return FINE
    tables.show_coverage(choose(options.plain), knowledge)
    return FINE


def new(options: argparse.Namespace) -> int:
    """Begin an entry."""
    from diagnose.bench import scaffold
    from diagnose.checking.gaps import TO_DO
    from diagnose.kb import load
    from diagnose.terminal import saved
    from diagnose.terminal.askers import Asker, LineAsker, PromptAsker
    from diagnose.terminal.screen import is_terminal

    root = knowledge_folder(options)
    knowledge = load.read(root).readable
    asker: Asker | None = None
    if is_terminal():
        asker = LineAsker() if options.plain else PromptAsker(saved.folder() / "new-history")
    file = getattr(options, "file", None)
    try:
        path = scaffold.add(options.what, options.id, knowledge, root, vars(options), asker, file)
    except EOFError:
        raise UsageError("stopped; nothing was written") from None
    print(f"Wrote {path}")
    print(f"Fill in what says {TO_DO} and what is empty; diagnose check points it out.")
    return FINE


def schema(options: argparse.Namespace) -> int:
    """Print or write the schemas."""
    from diagnose.bench import schemas
    from diagnose.kb.load import unknown

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


def compare(options: argparse.Namespace) -> int:
    """What a change did; findings (exit code 1) where a case that came first no longer does."""
    from diagnose.bench import compare as comparing
    from diagnose.terminal.screen import choose

    knowledge = knowledge_folder(options)
    sides = []
    with tempfile.TemporaryDirectory() as scratch:
        for number, name in enumerate((options.old, options.new)):
            into = Path(scratch) / str(number)
            sides.append(comparing.open_side(name, comparing.folder_of(name, knowledge, into)))
    found = comparing.compare(*sides)
    if options.json:
        print(json.dumps(comparing.as_json(found), indent=2, ensure_ascii=False))
    else:
        choose(options.plain).show(comparing.page(found))
    return FINDINGS if found.lost else FINE


def watch(folder: Path, options: argparse.Namespace) -> int:
    """Check a folder at each save, until Ctrl-C."""
    from diagnose.bench.live import watch_folder
    from diagnose.terminal.screen import choose

    try:
        watch_folder(folder, choose(options.plain))
    except KeyboardInterrupt:
        print()
    return FINE
