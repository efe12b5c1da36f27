"""How findings are shown: a line each in a pipe, by file on a terminal, or for other programs."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from pathlib import Path
from typing import Any

from diagnose.checking.codes import CODES, severity
from diagnose.kb.reader import Finding
from diagnose.pages.blocks import Block, Page, heading, item
from diagnose.terminal.screen import PlainScreen, Screen

SARIF = "2.1.0"
SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"


def as_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """The findings as `diagnose check --json` gives them."""
    return [
        {
            "file": found.file,
            "line": found.line,
            "code": found.code,
            "severity": severity(found.code),
            "message": found.message,
        }
        for found in findings
    ]


def as_annotations(findings: Iterable[Finding], folder: Path) -> list[str]:
    """The findings as lines that GitHub's runner shows beside the lines of a pull request.

    The form is that of its workflow commands (docs.github.com, "Workflow commands"); file names are
    given from the working folder, where they lie below it.
    """
    return [
        f"::{severity(f.code)} file={_property(_from_here(folder / f.file))},line={f.line},"
        f"title={_property(f.code)}::{_message(f.message)}"
        for f in findings
    ]


def _message(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _message(text).replace(":", "%3A").replace(",", "%2C")


def _from_here(file: Path) -> str:
    here = Path.cwd()
    whole = file.resolve()
    return (whole.relative_to(here) if whole.is_relative_to(here) else whole).as_posix()


def as_sarif(findings: Iterable[Finding], folder: Path, version: str) -> dict[str, Any]:
    """The findings as a log in SARIF 2.1.0 (an OASIS standard), for code hosts and editors."""
    listed = list(findings)
    codes = sorted({found.code for found in listed})
    return {
        "$schema": SCHEMA,
        "version": SARIF,
        "runs": [{
            "tool": {"driver": {
                "name": "diagnose check",
                "version": version,
                "rules": [
                    {"id": code, "shortDescription": {"text": CODES[code].meaning},
                     "defaultConfiguration": {"level": severity(code)}}
                    for code in codes
                ],
            }},
            "results": [
                {
                    "ruleId": found.code,
                    "ruleIndex": codes.index(found.code),
                    "level": severity(found.code),
                    "message": {"text": found.message},
                    "locations": [{"physicalLocation": {
                        "artifactLocation": {"uri": _from_here(folder / found.file)},
                        "region": {"startLine": max(found.line, 1)},
                    }}],
                }
                for found in listed
            ],
        }],
    }  # fmt: skip


def page(findings: Iterable[Finding]) -> Page:
    """The findings grouped by file; errors stand out."""
    made: Page = []
    for file, group in groupby(findings, lambda found: found.file):
        made.append(heading(file))
        for found in group:
            words, mark = f"{found.code}: {found.message}", f"{found.line}:"
            if severity(found.code) == "error":
                made.append(Block("warning", f"error, {words}", mark))
            else:
                made.append(item(words, mark))
    return made


def show(screen: Screen, findings: Iterable[Finding]) -> None:
    """Show findings; unwrapped where another program may read them."""
    if not isinstance(screen, PlainScreen):
        screen.show(page(findings))
        return
    for found in findings:
        print(found, file=screen.stream)
    screen.stream.flush()


def total(findings: Iterable[Finding]) -> str:
    """How many errors and warnings there are, in words."""
    grave = [severity(found.code) for found in findings]
    counts = ((grave.count("error"), "error"), (grave.count("warning"), "warning"))
    named = [f"{n} {noun}{'s' * (n != 1)}" for n, noun in counts if n]
    return " and ".join(named) or "no findings"
