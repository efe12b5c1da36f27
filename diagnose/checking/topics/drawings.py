"""Drawings: whether each shows a form that there is, and no two the same."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.checking.subject import Subject
from diagnose.kb.model import PRESENT
from diagnose.kb.reader import Finding


def shown(subject: Subject) -> Iterator[Finding]:
    """unknown-id, retired-id, drawn-twice: what a drawing shows."""
    symptoms = subject.knowledge.symptoms
    first: dict[tuple[str, str], str] = {}
    for drawing_id, drawing in subject.knowledge.drawings.items():
        at = ("drawings", drawing_id, "shows", drawing.symptom)
        yield from subject.unknown(at, "symptoms", "symptom", drawing.symptom, symptoms)
        if drawing.symptom in symptoms:
            allowed = (*symptoms[drawing.symptom].values, PRESENT)
            yield from subject.unknown_value(at, drawing.symptom, drawing.form, allowed)
        before = first.setdefault((drawing.symptom, drawing.form), drawing_id)
        if before != drawing_id:
            yield subject.finding(
                at, "drawn-twice",
                f"{before} shows {drawing.symptom}: {drawing.form} already; keep one of them",
            )  # fmt: skip
