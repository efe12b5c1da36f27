"""The tables of docs/validation.md: printed, or with --write put between their markers."""

from __future__ import annotations

import argparse
import platform
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "validation.md"


def table(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    """A Markdown table."""
    made = [f"| {' | '.join(head)} |", "|" + " --- |" * len(head)]
    made += [f"| {' | '.join(str(cell) for cell in line)} |" for line in lines]
    return "\n".join(made)


def percent(share: float) -> str:
    """A share with one decimal."""
    return f"{100 * share:.1f} %"


def machine() -> str:
    """What the figures were measured on."""
    return f"Python {platform.python_version()}, {platform.system()} {platform.machine()}"


def options(about: str | None) -> argparse.ArgumentParser:
    """The command line that every script has."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--write", action="store_true", help="put the table into the page")
    return parser


def show(section: str, text: str, write: bool, page: Path = PAGE) -> None:
    """Print a section, and with `write` put it between its markers in the page."""
    print(text)
    if write:
        old = page.read_text(encoding="utf-8")
        start, end = f"<!-- {section} -->", f"<!-- end of {section} -->"
        pattern = re.compile(f"{re.escape(start)}.*?{re.escape(end)}", re.DOTALL)
        if len(pattern.findall(old)) != 1:
            raise SystemExit(f"{page} needs the markers {start} and {end}, once each")
        page.write_text(pattern.sub(lambda _: f"{start}\n{text}\n{end}", old), encoding="utf-8")
