"""The pictures on sheets for a browser; what is too much for one goes on to the next."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from pathlib import Path

from diagnose.documents.as_text import html
from diagnose.drawings import shown
from diagnose.errors import UsageError
from diagnose.inputs import write_whole
from diagnose.kb.model import Knowledge
from diagnose.pages import pictures

MOST = 100  # pictures on one sheet, which then has less than 300 kB


def write(knowledge: Knowledge, symptoms: Sequence[str], path: Path) -> list[Path]:
    """Write the pictures of symptoms on a sheet, or on several: x.html, x-2.html. Gives the files.

    Raises UsageError on another ending, where a file of such a name is there, or none can be
    written.
    """
    if path.suffix != ".html":
        raise UsageError(f"{path} must end in .html")
    made = sheets(knowledge, symptoms)
    files = [path, *(path.with_stem(f"{path.stem}-{n}") for n in range(2, len(made) + 1))]
    for file in files:
        if file.exists():
            raise UsageError(f"{file} is there already; give another name")
    for number, (file, sheet) in enumerate(zip(files, made, strict=True)):
        others = "".join(
            f' <a href="{escape(other.name)}">{n}</a>' if n - 1 != number else f" {n}"
            for n, other in enumerate(files, 1)
        )
        links = f"<nav>Sheet{others}</nav>" if len(files) > 1 else ""
        whole = sheet.replace("<main>", f"{links}\n<main>", 1)
        try:
            write_whole(file, whole.encode())
        except OSError as error:
            raise UsageError(f"{file} cannot be written: {error.strerror}") from None
    return files


def sheets(knowledge: Knowledge, symptoms: Sequence[str]) -> list[str]:
    """The sheets as HTML; one holds the pictures of as many whole symptoms as come to `MOST`."""
    made: list[str] = []
    here: list[str] = []
    drawn = 0
    for symptom in symptoms:
        count = len(shown.forms(knowledge, symptom))
        if here and drawn + count > MOST:
            made.append(_sheet(knowledge, here))
            here, drawn = [], 0
        here.append(symptom)
        drawn += count
    return [*made, _sheet(knowledge, here)]


def _sheet(knowledge: Knowledge, symptoms: Sequence[str]) -> str:
    page = pictures.of_all(knowledge, symptoms)
    return html(page, page[0].text)
