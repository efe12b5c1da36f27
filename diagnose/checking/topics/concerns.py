"""The words of concerns: patterns over classes that are there, and nothing without use."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.checking.subject import Subject, pairs
from diagnose.kb.reader import Finding
from diagnose.reading.concerns import END, HELPING, START, class_words, classes_named, parsed
from diagnose.reasoning import facts

FILE = ("concerns", "concerns")  # a file of one entry, of its own name


def named(subject: Subject) -> Iterator[Finding]:
    """unknown-id: the classes that patterns, bars and things name."""
    found = subject.knowledge.concerns
    classes = class_words(found)
    known = [*classes, START, END]
    for key, words in (("things", found.things), ("acts", found.acts)):
        for number, word in enumerate(words):
            yield from subject.unknown(
                (*FILE, key, str(number)), "concerns", "class", word, classes
            )
    for concern_id, concern in found.concerns.items():
        at = (*FILE, "concerns", concern_id)
        for key, words in (("bars", concern.bars), ("unless", concern.unless)):
            for number, word in enumerate(words):
                yield from subject.unknown(
                    (*at, key, str(number)), "concerns", "class", word, classes
                )
        for number, text in enumerate(concern.says):
            for word in classes_named(parsed(text)[0]):
                yield from subject.unknown(
                    (*at, "says", str(number)), "concerns", "class", word, known
                )


def unused(subject: Subject) -> Iterator[Finding]:
    """unused-id, empty-phrase: classes, concerns and patterns that do nothing.

    A question that no rule asks of still keeps its words from being read as signs.
    """
    found = subject.knowledge.concerns
    asked = {
        value
        for rule in subject.knowledge.rules.values()
        for name, value in pairs(rule.when)
        if name == facts.CONCERN
    }
    used = {HELPING, *found.acts}  # which the listener itself knows
    for concern_id, concern in found.concerns.items():
        at = (*FILE, "concerns", concern_id)
        used |= {*concern.bars, *concern.unless}
        for number, text in enumerate(concern.says):
            pattern = parsed(text)[0]
            used |= set(classes_named(pattern))
            if not pattern.elements:
                yield subject.finding(
                    (*at, "says", str(number)), "empty-phrase",
                    f"{text!r} names no word and no class; say more, or drop it",
                )  # fmt: skip
        if concern_id not in asked and concern.of != "question":
            yield subject.finding(
                at, "unused-id", f"no rule asks for {concern_id}; use it or take it out"
            )
    for key, names in (("classes", found.classes), ("verbs", found.verbs)):
        for name in names:
            if name not in used:
                yield subject.finding(
                    (*FILE, key, name), "unused-id",
                    f"no pattern uses {name}; use it or take it out",
                )  # fmt: skip
