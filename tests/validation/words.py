"""The words of the files as numbers, read anew from docs/reasoning.md for the checks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diagnose.kb.model import Knowledge, Symptom
from diagnose.reasoning.facts import Observation

MOST_NAMED = 0.98


def chance(word: str | float, scale: Mapping[Any, float]) -> float:
    """The number behind a word of the files."""
    return scale[word] if isinstance(word, str) else word


def ordinary(symptom: Symptom, scale: Mapping[Any, float]) -> dict[str, float]:
    """How the symptom is on a plant with any other trouble."""
    forms = symptom.states[1:]
    if isinstance(symptom.background, dict):
        named = {f: chance(symptom.background.get(f, "never"), scale) for f in forms}
        if sum(named.values()) > MOST_NAMED:
            named = {f: p * MOST_NAMED / sum(named.values()) for f, p in named.items()}
    else:
        named = {f: chance(symptom.background, scale) / len(forms) for f in forms}
    return {"absent": 1 - sum(named.values()), **named}


def otherwise(knowledge: Knowledge, seen: Observation) -> float:
    """The chance of being told this where something else is behind it."""
    usual = ordinary(knowledge.symptoms[seen.symptom], knowledge.likelihood.frequency)
    return usual[seen.value] if seen.value in usual else 1 - usual["absent"]
