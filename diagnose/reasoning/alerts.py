"""What must be said first: the alerts that rules concluded, in the order in which they are told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import get_args

from diagnose.kb.model import AlertKind, Knowledge
from diagnose.reasoning import facts
from diagnose.reasoning.explain import Reason

MOST = 2  # of one kind; more would not be read
KINDS: tuple[AlertKind, ...] = get_args(AlertKind)


@dataclass(frozen=True, slots=True)
class Alert:
    """What must be said, and why: the general reason with the gardener's own words."""

    id: str
    kind: AlertKind
    text: str
    because: str


def raised(knowledge: Knowledge, trace: Iterable[Reason], words: Mapping[str, str]) -> list[Alert]:
    """The alerts that rules concluded, gravest kind first, most to the point first in a kind.

    `words` are the gardener's own for the facts that have some.
    """
    since: dict[str, list[str]] = {}
    for reason in trace:
        for alert_id in facts.concluded(reason.gives, facts.ALERT):
            since.setdefault(alert_id, []).extend(words[f] for f in reason.facts if words.get(f))
    silent = {other for alert_id in since for other in knowledge.alerts[alert_id].instead_of}
    found: list[Alert] = []
    for kind in KINDS:
        here = [
            Alert(alert_id, kind, alert.text, because(alert.because, since[alert_id]))
            for alert_id, alert in knowledge.alerts.items()
            if alert.kind == kind and alert_id in since and alert_id not in silent
        ]
        found += here[:MOST]
    return found


def because(reason: str, words: Iterable[str]) -> str:
    """A general reason, with the gardener's own words where there are any."""
    quoted = ", ".join(f'"{w}"' for w in dict.fromkeys(words))
    return f"{reason}: you wrote {quoted}" if quoted else reason
