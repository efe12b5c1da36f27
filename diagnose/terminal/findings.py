"""How findings are shown: one line each in a pipe, grouped by file on a terminal, or as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from diagnose.checking.codes import severity
from diagnose.kb.load import Finding
from diagnose.pages.blocks import Block, Page, heading, item
from diagnose.terminal.screen import PlainScreen, Screen


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
