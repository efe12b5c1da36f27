"""A consultation written to a file, in the form that its name asks for."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from diagnose.consultation import Consultation
from diagnose.documents.as_json import document
from diagnose.documents.as_text import html, markdown
from diagnose.errors import UsageError
from diagnose.inputs import write_whole
from diagnose.pages import answer, first, reasons
from diagnose.pages.blocks import Page, figures, text, title
from diagnose.pages.pictures import of_found
from diagnose.pages.sayings import day, plant_name

FORMS = (".md", ".html", ".json")


def write(consultation: Consultation, name: str) -> Path:
    """Write a consultation to a file, whose name ends in .md, .html or .json.

    Raises UsageError as `put` does.
    """
    return put(name, {form: partial(as_file, consultation, form) for form in FORMS})


def put(name: str, made: Mapping[str, Callable[[], str]]) -> Path:
    """Write a file in the form that its name asks for; `made` makes its text, by ending.

    Raises UsageError on another ending, where a file of that name is there, or none can be written.
    """
    path, forms = Path(name).expanduser(), [*made]
    if path.suffix not in made:
        allowed = f"{', '.join(forms[:-1])} or {forms[-1]}" if len(forms) > 1 else forms[0]
        raise UsageError(f"{name!r} must end in {allowed}")
    if path.exists():
        raise UsageError(f"{path} is there already; give another name")
    try:
        write_whole(path, made[path.suffix]().encode())
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from None
    return path


def as_file(consultation: Consultation, form: str) -> str:
    """A consultation as the text of a file of that form."""
    if form == ".json":
        return json.dumps(document(consultation), indent=2, ensure_ascii=False) + "\n"
    page = report(consultation)
    return markdown(page) if form == ".md" else html(page, page[0].text)


def report(consultation: Consultation) -> Page:
    """What was seen, what it is, why, and what to do: one page to take home."""
    about = plant_name(consultation)
    page: Page = [title(f"{about[:1].upper()}{about[1:]}, {day(consultation.day)}")]
    if consultation.said:
        page.append(text(f'"{consultation.said}"'))
    page += first.alerts(consultation.alerts)
    page += answer.so_far(consultation)
    seen = ((o.symptom, o.value) for o in consultation.counted)
    drawn = of_found(consultation.reasoner.knowledge, seen)
    page += [figures(drawn)] if drawn else []
    page += answer.one_shot(consultation)
    if consultation.verdict != "nothing understood":
        page += reasons.why_first(consultation)
    return page
