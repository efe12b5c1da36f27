"""What the files say people say of each sign: small texts to learn a unit from."""

from __future__ import annotations

import re
from collections.abc import Iterator

from diagnose.kb.model import ABSENT, PRESENT, Knowledge, SymptomValue

MOST = 4  # of a phrase with choices, so many of them


def sayings(knowledge: Knowledge) -> Iterator[tuple[str, str, str]]:
    """Symptom, value, and a text that says it: its phrases, its name and its question."""
    for symptom_id, symptom in knowledge.symptoms.items():
        said = {PRESENT: [symptom.name, symptom.ask, *symptom.says], ABSENT: symptom.denies}
        for value, spec in symptom.values.items():
            said[value] = [spec.name, *spec.says] if isinstance(spec, SymptomValue) else [str(spec)]
        for value, texts in said.items():
            for told in texts:
                for text in alternatives(str(told)):
                    yield symptom_id, value, text


def alternatives(phrase: str) -> list[str]:
    """A phrase with each of its choices taken in turn, and no more than MOST of them."""
    words = [word.split("/") for word in re.sub("[{}]", "", phrase).split()]  # a class by its name
    most = max((len(choices) for choices in words), default=0)
    return [" ".join(c[i % len(c)] for c in words) for i in range(min(most, MOST))]
