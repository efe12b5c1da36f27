"""Figures of what can be seen: of a question's answers, of a symptom, of all that is drawn."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.drawings import shown
from diagnose.kb.model import PRESENT, Knowledge
from diagnose.pages.blocks import Figure, Page, figures, heading, note, title

TONES = "Dotted is pale or yellow, hatched is brown or dry, solid is dark."


def of_answers(knowledge: Knowledge, symptom: str, offered: Sequence[str]) -> list[Figure]:
    """The pictures of the answers to a question, each under its number among those offered."""
    return [
        Figure(
            "" if general else knowledge.symptoms[symptom].value_name(form),
            drawing,
            "" if general else f"{offered.index(form) + 1}.",
        )
        for form in shown.forms(knowledge, symptom)
        if (drawing := shown.drawing(knowledge, symptom, form))
        for general in [form == PRESENT and bool(knowledge.symptoms[symptom].values)]
        if general or form in offered
    ]


def of_symptom(knowledge: Knowledge, symptom: str) -> list[Figure]:
    """The pictures of a symptom, under the names of its forms."""
    return [
        Figure(shown.caption(knowledge, symptom, form), drawing)
        for form in shown.forms(knowledge, symptom)
        if (drawing := shown.drawing(knowledge, symptom, form))
    ]


def of_all(knowledge: Knowledge, symptoms: Sequence[str]) -> Page:
    """The pictures of symptoms, a heading for each."""
    page: Page = []
    for symptom in symptoms:
        found = of_symptom(knowledge, symptom)
        if found:
            page += [heading(knowledge.symptoms[symptom].ask), figures(found)]
    drawn = sum(len(block.figures) for block in page)
    head = f"{drawn} {'picture' if drawn == 1 else 'pictures'}"
    return [title(head), note(TONES), *page]
