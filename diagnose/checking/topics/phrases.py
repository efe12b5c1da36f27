"""The words by which sentences are read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice, product

from diagnose.checking.subject import Subject
from diagnose.kb.model import ABSENT, DENIED, PRESENT, Symptom
from diagnose.kb.reader import Finding
from diagnose.reading import Lexicon
from diagnose.reading.naming import MADE

CLASS_NAMED = re.compile(r"\{([^}]*)\}")
MOST_READINGS = 64  # of one phrase with alternatives
Path = tuple[str, ...]


def phrases(subject: Subject) -> Iterator[tuple[Path, str, str, str]]:
    """Every phrase of a symptom: its path, its text, its symptom and the value it stands for."""
    for symptom_id, symptom in subject.knowledge.symptoms.items():
        at = ("symptoms", symptom_id)
        lists: list[tuple[Path, str, list[str]]] = [
            ((*at, "says"), PRESENT, symptom.says),
            ((*at, "denies"), ABSENT, symptom.denies),
        ]
        for value, spec in symptom.values.items():
            if not isinstance(spec, str):
                where = (*at, "values", value)
                lists.append(((*where, "says"), value, spec.says))
                lists.append(((*where, "denies"), DENIED + value, spec.denies))
        for path, value, texts in lists:
            for number, text in enumerate(texts):
                yield (*path, str(number)), text, symptom_id, value


def clashes(subject: Subject) -> Iterator[Finding]:
    """same-phrase, empty-phrase: phrases that read as two things, or as none."""
    lexicon, symptoms = subject.bench.lexicon, subject.knowledge.symptoms
    kept = _kept(lexicon)
    seen: dict[tuple[bool, frozenset[str]], tuple[str, str, str, Path]] = {}
    for path, text, symptom_id, value in phrases(subject):
        readings = kept.get((symptom_id, value, text))
        if readings is None:
            yield subject.finding(
                path, "empty-phrase",
                f"too little is left of {text!r} without its small words; say more, or drop it",
            )  # fmt: skip
            continue
        for reading in readings:
            other = seen.setdefault(reading, (symptom_id, value, text, path))
            if _clash(symptoms, (symptom_id, value), other[:2]):
                yield subject.finding(
                    path, "same-phrase",
                    f"{text!r} reads as {symptom_id}: {value}, and as {other[0]}: {other[1]} "
                    f"({other[2]!r}, {subject.knowledge.place(*other[3])})",
                )  # fmt: skip
                break


def classes(subject: Subject) -> Iterator[Finding]:
    """unknown-id: a phrase that names a class of words which there is not."""
    known = dict.fromkeys((*subject.knowledge.words.classes, *MADE))
    for path, text, _, _ in phrases(subject):
        for name in CLASS_NAMED.findall(text):
            yield from subject.unknown(path, "words", "class", name, known)


def _clash(symptoms: dict[str, Symptom], one: tuple[str, str], other: tuple[str, str]) -> bool:
    """Whether one phrase must not stand for both of these.

    It may where one restates the other, and where it also denies a third: "cold" is not hot.
    """
    if one[0] == other[0]:
        return one != other
    group = symptoms[one[0]].overlaps
    restated = group is not None and group == symptoms[other[0]].overlaps
    denied = any(value == ABSENT or value.startswith(DENIED) for _, value in (one, other))
    return not restated and not denied


def _kept(lexicon: Lexicon) -> dict[tuple[str, str, str], list[tuple[bool, frozenset[str]]]]:
    """What each phrase can be read as: for each way to choose among its words, the keys."""
    return {
        (phrase.target[1], phrase.target[2], phrase.text): [
            (phrase.negative, frozenset(keys))
            for keys in islice(product(*map(sorted, phrase.elements)), MOST_READINGS)
        ]
        for phrase in lexicon.phrases
        if phrase.target[0] == "symptom"
    }
