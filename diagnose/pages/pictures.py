"""Figures of what can be seen: of a question's answers, of a symptom, of all that is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diagnose.drawings import shown
from diagnose.kb.model import AND, PRESENT, Knowledge
from diagnose.pages.blocks import Figure, Page, figures, heading, note, text, title

MOST = 6  # pictures of what was found: a row or two on paper
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


def of_question(knowledge: Knowledge, symptom: str, offered: Sequence[str]) -> Page:
    """The pictures of the answers to a question, and which answers have none."""
    found = of_answers(knowledge, symptom, offered)
    if not found:
        return [text("There are no pictures of these answers.")]
    known = knowledge.symptoms[symptom].values
    drawn = {figure.drawing.form for figure in found}
    without = [str(n) for n, form in enumerate(offered, 1) if form in known and form not in drawn]
    left = [text(f"Without a picture, but as likely: {', '.join(without)}.")] if without else []
    return [figures(found), *left, note(TONES)]


def of_symptom(knowledge: Knowledge, symptom: str) -> list[Figure]:
    """The pictures of a symptom, under the names of its forms."""
    return [
        Figure(_name(knowledge, symptom, form), drawing)
        for form in shown.forms(knowledge, symptom)
        if (drawing := shown.drawing(knowledge, symptom, form))
    ]


def _name(knowledge: Knowledge, symptom: str, form: str) -> str:
    """The name of a form, or of the symptom where it has none."""
    known = knowledge.symptoms[symptom]
    return known.name if form == PRESENT else known.value_name(form)


def of_found(
    knowledge: Knowledge, found: Iterable[tuple[str, str]], most: int = MOST
) -> list[Figure]:
    """The pictures of what was found, as symptoms with their values, under the names of both."""
    made = [
        Figure(shown.caption(knowledge, symptom, form), drawing)
        for symptom, value in found
        for form in value.split(AND)
        if (drawing := shown.drawing(knowledge, symptom, form))
    ]
    return made[:most]


def unnamed(found: Iterable[Figure]) -> list[Figure]:
    """Pictures without their names, where these stand beside them."""
    return [Figure("", figure.drawing) for figure in found]


def of_all(knowledge: Knowledge, symptoms: Sequence[str]) -> Page:
    """The pictures of symptoms for a maintainer, each with its id, and a heading for each."""
    page: Page = []
    for symptom in symptoms:
        found = [
            Figure(f"{_name(knowledge, symptom, drawing.form)} ({drawing_id})", drawing)
            for drawing_id, drawing in knowledge.drawings.items()
            if drawing.symptom == symptom
        ]
        if found:
            page += [heading(knowledge.symptoms[symptom].ask), figures(found)]
    drawn = sum(len(block.figures) for block in page)
    head = f"{drawn} {'picture' if drawn == 1 else 'pictures'}"
    return [title(head), note(TONES), *page]
