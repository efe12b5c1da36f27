"""What the files say people say of each sign: small texts to learn a unit from."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from diagnose.kb.model import ABSENT, PRESENT, Knowledge, SymptomValue

MOST = 8  # of a phrase with choices, so many of them

Heard = Mapping[str, Mapping[str, Sequence[str]]]


def sayings(knowledge: Knowledge, heard: Heard) -> Iterator[tuple[str, str, str]]:
    """Symptom, value, and a text that says it, each once: phrases, names, questions, and `heard`.

    `heard` gives further texts by symptom and value; what the knowledge does not know is left out.
    """
    told = [*said_of(knowledge)]
    for symptom_id, forms in heard.items():
        if symptom := knowledge.symptoms.get(symptom_id):
            told += [
                (symptom_id, value, text)
                for value, texts in forms.items()
                if value in (PRESENT, ABSENT) or value in symptom.values
                for phrase in texts
                for text in alternatives(phrase)
            ]
    yield from dict.fromkeys(told)


def said_of(knowledge: Knowledge) -> Iterator[tuple[str, str, str]]:
    """Symptom, value, and each text that the files have for it."""
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
