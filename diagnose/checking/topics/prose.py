"""What gardeners will read: how hard it is, and what of it is still to be written."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING

from diagnose.checking.gaps import TO_DO, to_do
from diagnose.checking.subject import Subject, cause_texts
from diagnose.kb.reader import Finding

if TYPE_CHECKING:
    import pyphen

HARDEST = 8.0  # school grade, Flesch-Kincaid
FEWEST_WORDS = 30  # of a running text; of less, the grade says nothing
WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?")
END = re.compile(r"[.!?]\s*$")
FORBIDS = re.compile(
    r"\b(?:do not eat|never eat|eat no(?:ne|thing)?|not food|poisonous|throw \w+|bin|discard)\b",
    re.IGNORECASE,
)
NO_FOOD = re.compile(
    r"\b(?:uneaten|nothing of .* is eaten|grown to look at|not a salad|not count on it as food)\b",
    re.IGNORECASE,
)
LIMITS = re.compile(
    r"\b(?:sound|clean|firm|whole|ripe|young|cut|peel\w*|trim|strip|rinse|wash\w*|cook\w*|leave"
    r"|look|soon|first|except|unless|but|only|nothing|not|no|never|poor|unmarked|healthy|shake"
    r"|parts|bitter|wait|until|without|beside|compost\w*|taken out)\b",
    re.IGNORECASE,
)
NEGATIVE = re.compile(r"\b(?:not|never|no longer|(?:are|is) there no)\b|n't\b", re.IGNORECASE)
ASIDE = re.compile(r"\b(?:that|where|which|who|whom|though|than)\b.*")  # it qualifies, no more
SENTENCE = re.compile(r"[.!?](?:\s|$)")


@cache
def syllables(word: str) -> int:
    """The syllables of a lower-case word, by the places where it can be hyphenated."""
    return len(_hyphens().positions(word)) + 1


@cache
def _hyphens() -> pyphen.Pyphen:
    import pyphen

    return pyphen.Pyphen(lang="en_US")


def grade(texts: list[str]) -> float:
    """The school grade of a running text (Kincaid and others, 1975); 0 where it is too short."""
    whole = " ".join(text if END.search(text) else text + "." for text in texts)
    words = WORD.findall(whole.lower())
    sentences = len(SENTENCE.findall(whole))
    if len(words) < FEWEST_WORDS or not sentences:
        return 0.0
    spoken = sum(map(syllables, words))
    return 0.39 * len(words) / sentences + 11.8 * spoken / len(words) - 15.59


def eaten(subject: Subject) -> Iterator[Finding]:
    """eaten-too-freely, eaten-without-limit: a harvest text that says otherwise than `eat`."""
    for cause_id, cause in subject.knowledge.causes.items():
        at = ("causes", cause_id, "eat")
        if TO_DO in cause.harvest:
            continue
        found = FORBIDS.search(cause.harvest)
        if found and cause.eat == "normal":
            yield subject.finding(
                at, "eaten-too-freely",
                f"its harvest text says {found.group()!r}; let eat be 'some' or 'never'",
            )  # fmt: skip
        elif cause.eat == "never" and not found and not NO_FOOD.search(cause.harvest):
            yield subject.finding(
                at, "eaten-without-limit",
                "eat says never, but no word of its harvest text forbids it; say 'do not eat'",
            )  # fmt: skip
        elif cause.eat == "some" and not found and not LIMITS.search(cause.harvest):
            yield subject.finding(
                at, "eaten-without-limit",
                "eat says some, but its harvest text sets no limit; say which part, or after what",
            )  # fmt: skip


def negative_questions(subject: Subject) -> Iterator[Finding]:
    """negative-question: a question to which nobody knows whether yes or no is the answer."""
    for symptom_id, symptom in subject.knowledge.symptoms.items():
        found = NEGATIVE.search(ASIDE.sub("", symptom.ask))
        if found and not NEGATIVE.search(symptom.name):
            yield subject.finding(
                ("symptoms", symptom_id, "ask"), "negative-question",
                f"it asks with {found.group()!r}, so that a yes says no; ask for what is there",
            )  # fmt: skip


def gaps(subject: Subject) -> Iterator[Finding]:
    """to-do: texts that are still to be written."""
    return to_do(subject)


def reading_level(subject: Subject) -> Iterator[Finding]:
    """hard-to-read: the running text of a cause or a crop above grade 8."""
    knowledge = subject.knowledge
    texts = [(("causes", c), cause_texts(cause)) for c, cause in knowledge.causes.items()]
    texts += [
        (("crops", c), [*crop.normal.values(), *crop.limits.values()])
        for c, crop in knowledge.crops.items()
    ]
    for path, found in texts:
        if not subject.asked(*path):
            continue
        reached = grade(found)
        if reached > HARDEST:
            yield subject.finding(
                path, "hard-to-read",
                f"reading grade {reached:.1f}; the most is {HARDEST:g}: shorter sentences, "
                "plainer words",
            )  # fmt: skip
