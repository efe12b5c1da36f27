"""diagnose check: the linter of the knowledge."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose import __version__
from diagnose.commands.common import (
    FINDINGS,
    FINE,
    knowledge_folders,
    over_base,
    print_json,
    screen,
)
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
        "--as", dest="form", choices=("annotations", "sarif"), default=None,
        help="the findings alone, for a code host: annotation lines, or SARIF 2.1.0",
    )  # fmt: skip
    made.add_argument(
        "--errors", action="store_true", default=False,
        help="errors alone: what keeps the knowledge from being used",
    )  # fmt: skip
    made.add_argument(
        "--cases", action=argparse.BooleanOptionalAction, default=None,
        help="work the cases too; told otherwise, those of a folder are and those of files are not",
    )  # fmt: skip
    made.add_argument(
        "--every", action="store_true", default=False,
        help="work every case; told otherwise, those near to what changed since all were worked",
    )  # fmt: skip
    made.add_argument(
        "--watch", action="store_true", default=False,
        help="go on, and check again at each save (docs/bench.md)",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """The folder, a line for each finding, then what came of the cases."""
    from diagnose.bench.confusion import show_summary
    from diagnose.checking.check import examine
    from diagnose.checking.codes import severity
    from diagnose.pages.blocks import note, text
    from diagnose.terminal import findings

    folders, only = _asked_for(options)
    folder = folders[-1]
    if options.watch:
        return _watch(folder, options)
    alone = options.json or options.form
    some = "" if only is None else f"{', '.join(sorted(only))} in "
    if not alone:
        screen(options).show([note(f"Checking {some}{' under '.join(map(str, folders))}")])
    work = only is None if options.cases is None else options.cases
    report = examine(folders, only, cases=work and not options.errors, every=options.every)
    found = [f for f in report.findings if not options.errors or severity(f.code) == "error"]
    if len(folders) > 1:  # what is below is not for whoever lays something over it to mend
        own = f"{folder.resolve().name}/"
        found = [f for f in found if f.file.startswith(own) or severity(f.code) == "error"]
    if options.json:
        print_json(findings.as_json(found))
    elif options.form == "sarif":
        print_json(findings.as_sarif(found, folder, __version__))
    elif options.form:
        print(*findings.as_annotations(found, folder), sep="\n", end="\n" if found else "")
    if not alone:
        shown = screen(options)
        findings.show(shown, found)
        if report.results:
            show_summary(shown, report.results)
        if report.carried:
            anew = len(report.results) - report.carried
            shown.show([note(
                f"{anew} cases near to what changed were worked anew; the other {report.carried} "
                "are as they last came out (--every works them all)."
            )])  # fmt: skip
        rest = f"{report.from_memory} of {report.causes} causes rest on no source that was opened."
        shown.show([
            note(rest),
            text(f"{findings.total(found)} in {some}{folder}"),
        ])  # fmt: skip
    return FINDINGS if found else FINE


def _asked_for(options: argparse.Namespace) -> tuple[tuple[Path, ...], set[str] | None]:
    """The folders to check, the lowest first, and the files that are asked for; None for all.

    Raises UsageError where a file is not there or in no knowledge folder.
    """
    paths = [Path(name) for name in options.paths]
    if not paths:
        return knowledge_folders(options), None
    if len(paths) == 1 and not paths[0].is_file():
        return over_base(paths[0]), None
    folder = _folder_of(paths[0])
    for path in paths:
        if not path.is_file():
            raise UsageError(f"{path} is no file; check one folder, or some files of one")
        if not path.resolve().is_relative_to(folder):
            raise UsageError(f"{path} is not in {folder}, as {paths[0]} is; check one at a time")
    return (folder,), {path.resolve().relative_to(folder).as_posix() for path in paths}


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
