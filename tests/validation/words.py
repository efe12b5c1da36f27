"""The words of the files as numbers, read anew from docs/reasoning.md for the checks."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from typing import Any

from diagnose.kb.model import AND, DENIED, Knowledge, Symptom
from diagnose.reasoning.facts import Observation

MOST_NAMED = 0.98


def chance(word: str | float, scale: Mapping[Any, float]) -> float:
    """The number behind a word of the files."""
    return scale[word] if isinstance(word, str) else word


def here(symptom: Symptom, scale: Mapping[Any, float], setting: Collection[str]) -> float | None:
    """How often it is seen anyway at this crop and date, where the file says so."""
    for where in symptom.background_where:
        if all(any(f"{n}={v}" in setting for v in values) for n, values in where.when.items()):
            return chance(where.is_, scale)
    return None


def ordinary(
    symptom: Symptom, scale: Mapping[Any, float], setting: Collection[str] = ()
) -> dict[str, float]:
    """How the symptom is on a plant with any other trouble."""
    usual, there = commonly(symptom, scale), here(symptom, scale, setting)
    if there is None:
        return usual
    share = there / (1 - usual["absent"])
    return {f: 1 - there if f == "absent" else p * share for f, p in usual.items()}


def commonly(symptom: Symptom, scale: Mapping[Any, float]) -> dict[str, float]:
    """How it is on such a plant wherever and whenever the file says nothing more."""
    forms = symptom.states[1:]
    if isinstance(symptom.background, dict):
        named = {f: chance(symptom.background.get(f, "never"), scale) for f in forms}
        if sum(named.values()) > MOST_NAMED:
            named = {f: p * MOST_NAMED / sum(named.values()) for f, p in named.items()}
    else:
        named = {f: chance(symptom.background, scale) / len(forms) for f in forms}
    return {"absent": 1 - sum(named.values()), **named}


def otherwise(knowledge: Knowledge, seen: Observation, setting: Collection[str] = ()) -> float:
    """The chance of being told this where something else is behind it."""
    usual = ordinary(knowledge.symptoms[seen.symptom], knowledge.likelihood.frequency, setting)
    if seen.value.startswith(DENIED):
        return 1 - usual[seen.value.removeprefix(DENIED)]
    there = 1 - usual["absent"]
    if AND in seen.value:
        return there * math.prod(usual[form] / there for form in seen.value.split(AND))
    return usual.get(seen.value, there)
