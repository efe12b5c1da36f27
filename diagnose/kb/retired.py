"""Ids of symptoms that are no longer used, and what each is called now (knowledge/retired.yaml)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.kb.model import ABSENT, AND, DENIED, PRESENT, UNSURE, Symptom

Retired = Mapping[str, str]
OPPOSITE = {PRESENT: ABSENT, ABSENT: PRESENT}


def successor(retired: Retired, symptom: str, value: str = PRESENT) -> tuple[str, str] | None:
    """The symptom and value that an old statement is now; None where it is no old one.

    An entry for the very value goes before that for the symptom, which a denial turns round.
    """
    exact = retired.get(f"{symptom}/{value}")
    target = exact or retired.get(f"{symptom}/{value.removeprefix(DENIED)}") or retired.get(symptom)
    if target is None:
        return None
    now, _, to = target.partition("/")
    whole = target == retired.get(symptom) and not exact
    if value == UNSURE or (whole and not to):
        return now, value
    to = to or PRESENT
    denied = not exact and (value == ABSENT or value.startswith(DENIED))
    return now, turned(to) if denied else to


def turned(value: str) -> str:
    """The denial of a value."""
    return OPPOSITE.get(value) or f"{DENIED}{value}"


def name_now(retired: Retired, symptom: str, value: str = PRESENT) -> str | None:
    """As `successor`, as one would write it: 'how-fast: overnight'."""
    found = successor(retired, symptom, value)
    return f"{found[0]}: {found[1]}" if found else None


def translated(
    retired: Retired, symptoms: Mapping[str, Symptom], stated: Iterable[tuple[str, str]]
) -> dict[str, str]:
    """Statements with today's names. Of two that fall together, the one that says more stays."""
    found: dict[str, str] = {}
    for old in stated:
        name, value = successor(retired, *old) or old
        found[name] = _joined(symptoms.get(name), found[name], value) if name in found else value
    return found


def _joined(symptom: Symptom | None, one: str, other: str) -> str:
    """Two values of one symptom as one: both forms where they can hold together."""
    if _says(one) != _says(other):
        return max(one, other, key=_says)
    together = symptom.forms(f"{one}{AND}{other}") if symptom and symptom.many else ()
    return AND.join(together) or one


def _says(value: str) -> int:
    """How much a value says: a form more than that it is there, that more than a denial."""
    if value.startswith(DENIED):
        return 2
    return {UNSURE: 0, ABSENT: 1, PRESENT: 3}.get(value, 4)
