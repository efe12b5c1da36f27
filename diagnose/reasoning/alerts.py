"""What must be said first: by rules, and of what may be dangerous; in the order of telling."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import get_args

from diagnose.kb.model import AlertKind, Knowledge
from diagnose.reasoning import facts
from diagnose.reasoning.explain import Reason

MOST = 2  # of one kind; more would not be read
EMERGENCY, SUSPECTED = "emergency", "maybe-hurt"  # the second is asked only without the first
KINDS: tuple[AlertKind, ...] = get_args(AlertKind)
UNKNOWN = "Words cannot tell: let nobody {} it until someone who knows plants has seen it."


@dataclass(frozen=True, slots=True)
class Alert:
    """What must be said, and why: the general reason with the gardener's own words."""

    id: str
    kind: AlertKind
    text: str
    because: str


def raised(knowledge: Knowledge, trace: Iterable[Reason], words: Mapping[str, str]) -> list[Alert]:
    """The alerts that rules concluded, most to the point first in a kind.

    `words` are the gardener's own for the facts that have some.
    """
    since: dict[str, list[str]] = {}
    for reason in trace:
        for alert_id in facts.concluded(reason.gives, facts.ALERT):
            since.setdefault(alert_id, []).extend(words[f] for f in reason.facts if words.get(f))
    silent = {other for alert_id in since for other in knowledge.alerts[alert_id].instead_of}
    if any(knowledge.alerts[alert_id].kind == EMERGENCY for alert_id in since):
        silent |= {alert_id for alert_id in since if knowledge.alerts[alert_id].kind == SUSPECTED}
    return [
        Alert(alert_id, alert.kind, alert.text, because(alert.because, since[alert_id]))
        for alert_id, alert in knowledge.alerts.items()
        if alert_id in since and alert_id not in silent
    ]


def of_causes(knowledge: Knowledge, causes: Iterable[str]) -> list[Alert]:
    """What must be said of dangers where these causes, which are possible, may be some."""
    found: dict[str, Alert] = {}
    for cause in causes:
        for danger_id, danger in knowledge.dangers.items():
            if cause not in danger.causes or danger_id in found:
                continue
            plant = danger.kind == "plant"
            unknown = UNKNOWN.format("touch or eat" if plant else "eat")
            found[danger_id] = Alert(
                danger_id,
                "unknown-plant" if plant else "eating",
                f"It may be dangerous: {danger.name}. {unknown} {danger.until_known}",
                f"it is possible that this is {knowledge.causes[cause].name}",
            )
    return list(found.values())


def ordered(found: Iterable[Alert]) -> list[Alert]:
    """Alerts with the gravest kind first, and no more of one kind than are read."""
    kinds: dict[AlertKind, list[Alert]] = {kind: [] for kind in KINDS}
    for alert in found:
        kinds[alert.kind].append(alert)
    return [alert for some in kinds.values() for alert in some[:MOST]]


def because(reason: str, words: Iterable[str]) -> str:
    """A general reason, with the gardener's own words where there are any."""
    quoted = ", ".join(f'"{w}"' for w in dict.fromkeys(words))
    return f"{reason}: you wrote {quoted}" if quoted else reason
