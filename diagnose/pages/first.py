"""What is said before anything else: alerts, and whether it may be eaten."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.consultation import Consultation
from diagnose.kb.model import AlertKind
from diagnose.pages.blocks import Block, Page, heading, item, note
from diagnose.pages.sayings import first_sentence, small
from diagnose.reasoning.alerts import Alert

LABELS: dict[AlertKind, str] = {
    "emergency": "First, if someone may be hurt",
    "maybe-hurt": "First, a question",
    "unknown-plant": "First: do not eat what nobody has named",
    "soil": "First: the soil",
    "eating": "First: may it be eaten?",
    "spray": "First: about sprays",
    "report": "First: someone may want to know",
}
REMINDERS: dict[AlertKind, str] = {
    "emergency": "People first: the poison center, or the emergency number.",
    "unknown-plant": "Do not touch or eat what nobody has named.",
    "soil": "The soil comes first: eat nothing from it before that is settled.",
    "spray": "No spray is named here; your extension service may.",
    "report": "Tell your extension service.",
}
NOT_KNOWN = "I do not know what it is yet, so do not eat it until a person who knows has seen it."


def alerts(found: Sequence[Alert]) -> Page:
    """What must be said first, a heading for each kind."""
    page: Page = []
    for kind, label in LABELS.items():
        here = [alert for alert in found if alert.kind == kind]
        if here:
            page.append(heading(label))
        for alert in here:
            page += [_loud(alert.text), note(f"I say this because {alert.because}.")]
    return page


def reminder(found: Sequence[Alert]) -> Page:
    """Of what has been said in full already, each kind in a few words, in one line.

    A question that was asked is not asked again; whether it may be eaten is told as it was.
    """
    first = {alert.kind: alert for alert in reversed(found)}
    again = [
        REMINDERS.get(kind) or first_sentence(first[kind].text)
        for kind in LABELS
        if kind in first and kind != "maybe-hurt"
    ]
    return [_loud(f"As I said first: {' '.join(again)}")] if again else []


def eating(consultation: Consultation) -> Page:
    """What may be eaten after all that is still possible, the most careful first."""
    found = consultation.eating
    causes = consultation.reasoner.knowledge.causes
    page: Page = [heading("What may be eaten"), _loud(found.verdict if found else NOT_KNOWN)]
    return page + [
        item(f"If it is {small(causes[c].name)}: {causes[c].harvest}")
        for c in (found.causes if found else ())
    ]


def _loud(words: str) -> Block:
    return Block("warning", words)


__all__ = ["alerts", "eating", "reminder"]
