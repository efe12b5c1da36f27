"""diagnose check: the linter of the knowledge."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINDINGS, FINE, knowledge_folder, print_json, screen
from diagnose.commands.parser import Commands


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add("check", run, "check a knowledge folder", "diagnose check my-knowledge")
    made.add_argument("folder", metavar="DIR", nargs="?", default=None)
    made.add_argument(
        "--json", action="store_true", help="the findings alone, as JSON", default=False
    )
    made.add_argument(
        "--watch", action="store_true", default=False,
        help="go on, and check again at each save (docs/bench.md)",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """The folder, a line for each finding, then what came of the cases."""
    from diagnose.bench.confusion import show_summary
    from diagnose.checking.check import examine
    from diagnose.pages.blocks import note, text
    from diagnose.terminal import findings

    folder = Path(options.folder) if options.folder else knowledge_folder(options)
    if options.watch:
        return _watch(folder, options)
    if options.json:
        found = examine(folder).findings
        print_json(findings.as_json(found))
        return FINDINGS if found else FINE
    shown = screen(options)
    shown.show([note(f"Checking {folder}")])
    report = examine(folder)
    findings.show(shown, report.findings)
    if report.results:
        show_summary(shown, report.results)
    shown.show([
        note(f"{report.from_memory} of {report.causes} causes rest on no source that was opened."),
        text(f"{findings.total(report.findings)} in {folder}"),
    ])  # fmt: skip
    return FINDINGS if report.findings else FINE


def _watch(folder: Path, options: argparse.Namespace) -> int:
    """Check the folder at each save, until Ctrl-C."""
    from diagnose.bench.live import watch_folder

    try:
        watch_folder(folder, screen(options))
    except KeyboardInterrupt:
        print()
    return FINE
