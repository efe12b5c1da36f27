"""diagnose check: the linter of the knowledge."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINDINGS, FINE, knowledge_folder, print_json, screen
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "check", run, "check a knowledge folder, or some files of it", "diagnose check my-knowledge"
    )
    made.add_argument("paths", metavar="DIR|FILE", nargs="*", default=[])
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

    folder, only = _asked_for(options)
    if options.watch:
        return _watch(folder, options)
    if options.json:
        found = examine(folder, only).findings
        print_json(findings.as_json(found))
        return FINDINGS if found else FINE
    shown = screen(options)
    some = "" if only is None else f"{', '.join(sorted(only))} in "
    shown.show([note(f"Checking {some}{folder}")])
    report = examine(folder, only)
    findings.show(shown, report.findings)
    if report.results:
        show_summary(shown, report.results)
    shown.show([
        note(f"{report.from_memory} of {report.causes} causes rest on no source that was opened."),
        text(f"{findings.total(report.findings)} in {some}{folder}"),
    ])  # fmt: skip
    return FINDINGS if report.findings else FINE


def _asked_for(options: argparse.Namespace) -> tuple[Path, set[str] | None]:
    """The folder to check, and the files of it that are asked for; None for all.

    Raises UsageError where a file is not there or in no knowledge folder.
    """
    paths = [Path(name) for name in options.paths]
    if not paths:
        return knowledge_folder(options), None
    if len(paths) == 1 and not paths[0].is_file():
        return paths[0], None
    folder = _folder_of(paths[0])
    for path in paths:
        if not path.is_file():
            raise UsageError(f"{path} is no file; check one folder, or some files of one")
        if not path.resolve().is_relative_to(folder):
            raise UsageError(f"{path} is not in {folder}, as {paths[0]} is; check one at a time")
    return folder, {path.resolve().relative_to(folder).as_posix() for path in paths}


def _folder_of(file: Path) -> Path:
    """The knowledge folder that a file lies in."""
    for folder in file.resolve().parents:
        if (folder / "likelihood.yaml").is_file():
            return folder
    raise UsageError(f"{file} lies in no knowledge folder: none above it holds likelihood.yaml")


def _watch(folder: Path, options: argparse.Namespace) -> int:
    """Check the folder at each save, until Ctrl-C."""
    from diagnose.bench.live import watch_folder

    try:
        watch_folder(folder, screen(options))
    except KeyboardInterrupt:
        print()
    return FINE
