"""What a typed line means: a command, numbers, an answer, or words of the gardener's own."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from diagnose.kb.model import ABSENT, AND, DENIED, PRESENT, UNSURE, Symptom

YES = frozenset({"y", "yes", "yes it is", "yep", "yeah", "right", "that's right", "ok", "okay",
                 "correct", "sure"})  # fmt: skip
NO = frozenset({"n", "no", "nope", "wrong", "not right"})
NONE = frozenset({"none", "none of these", "none of them", "nothing", "0"})
CANNOT_TELL = frozenset({
    "unsure", "not sure", "idk", "i don't know", "i dont know", "don't know", "dont know", "dunno",
    "can't tell", "cant tell", "cannot tell", "i can't tell", "no idea", "skip", "pass", "maybe",
    "who knows", "hard to say",
})  # fmt: skip
COMMANDS = {
    "help": "help", "?": "help", "back": "back", "undo": "back", "so far": "so far", "eat": "eat",
    "stop": "stop", "enough": "stop", "quit": "leave", "exit": "leave", "leave": "leave",
    "bye": "leave", "q": "leave",
}  # fmt: skip
SMALL = frozenset({
    "a", "an", "and", "are", "at", "in", "is", "it", "its", "just", "of", "on", "one", "ones",
    "only", "or", "the", "them", "they", "those", "to", "with",
})  # fmt: skip
CLOSE = 80  # of 100: how like an answer's name a misspelt one must be


def plainly(line: str) -> str:
    """A line without its accidents: case, spaces, end marks."""
    return " ".join(line.lower().replace("\u2019", "'").split()).rstrip(".! ")


def command(line: str) -> str | None:
    """The command that a line is, at any prompt; None where it is none."""
    return COMMANDS.get(plainly(line))


WHAT_IS = re.compile(
    r"(?:what(?:'s| is| are| does)|whats|explain|define)\s+(?:an? |the )?(?P<name>.+?)"
    r"(?:\s+mean)?\s*\??"
)
ASKING = re.compile(r"(?:how|why|when|where|which|who|what|can|could|should|is it|are they|do i)\b")


def asked_about(line: str) -> str | None:
    """The word whose meaning a line asks for, as in "what is frass?"; None for no such line."""
    found = WHAT_IS.fullmatch(plainly(line))
    return found["name"].strip(" \"'") if found else None


def is_question(line: str) -> bool:
    """Whether a line is a question of the gardener's own."""
    return line.rstrip().endswith("?") or bool(ASKING.match(plainly(line)))


class Answers(NamedTuple):
    """What a line can mean as an answer: nothing, one state, or several to choose from."""

    states: tuple[str, ...]

    @property
    def one(self) -> str | None:
        """The state meant, where it is one."""
        return self.states[0] if len(self.states) == 1 else None


def answer(line: str, symptom: Symptom, offered: Sequence[str]) -> Answers:
    """The states of a symptom that a line can mean, 'unsure' among them."""
    word = plainly(line)
    names = [symptom.value_name(state).lower() for state in offered]
    if word in CANNOT_TELL:
        return Answers((UNSURE,))
    if word in names:
        return Answers((offered[names.index(word)],))
    if word.isdecimal() and word != "0":
        number = int(word) if len(word) < 4 else 0
        return Answers((offered[number - 1],) if 1 <= number <= len(offered) else ())
    if told := _forms(word, symptom, offered):
        return Answers((told,))
    if word in NO | NONE:
        return Answers((ABSENT,))
    if word in YES:
        return Answers((PRESENT,) if PRESENT in offered else ())
    for found in (
        [s for s, name in zip(offered, names, strict=True) if name.startswith(word)],
        [
            s
            for s, name in zip(offered, names, strict=True)
            if re.search(rf"\b{re.escape(word)}", name)
        ],
    ):
        if word and found:
            return Answers(tuple(found))
    wanted = [w for w in re.findall(r"[a-z0-9]+", word) if w not in SMALL]
    worded = [s for s, name in zip(offered, names, strict=True) if _has_all(name, wanted)]
    return Answers(tuple(worded)) if worded else Answers(_close(word, names, offered))


def _has_all(name: str, words: Sequence[str]) -> bool:
    """Whether a name has all of some words, or such that begin so."""
    return bool(words) and all(re.search(rf"\b{word}", name) for word in words)


def _forms(word: str, symptom: Symptom, offered: Sequence[str]) -> str | None:
    """Several forms told by their numbers, "1 3", or one denied, "not 2"; None for no such."""
    named = [offered[n - 1] for n in numbers(word, len(offered)) or ()]
    if not named or any(state not in symptom.values for state in named):
        return None
    if word.startswith("not ") and len(named) == 1:
        return DENIED + named[0]
    return AND.join(symptom.forms(AND.join(named))) if symptom.many and len(named) > 1 else None


def _close(word: str, names: Sequence[str], offered: Sequence[str]) -> tuple[str, ...]:
    from rapidfuzz import fuzz, process

    found = process.extractOne(word, names, scorer=fuzz.ratio, score_cutoff=CLOSE)
    return (offered[found[2]],) if found else ()


NUMBERS = re.compile(
    r"(?:not|no|strike|wrong:?|without)?\s*(?P<numbers>\d+(?:(?:\s*,\s*|\s+and\s+|\s*&\s*|\s+)\d+)*)"
    r"\s*(?:is|are)?\s*(?:wrong|not right|not so|not true|no)?"
)


def numbers(line: str, most: int) -> list[int] | None:
    """The numbers that a line names, as "not 1 3" or "1, 3 are wrong"; None for no such."""
    found = NUMBERS.fullmatch(plainly(line))
    if found is None:
        return None
    named = sorted({int(n) for n in re.findall(r"\d+", found["numbers"]) if len(n) < 4})
    return named if named and named[0] >= 1 and named[-1] <= most else None


def ticked(line: str, names: Sequence[str]) -> list[int] | None:
    """Which of the names a line ticks, by their numbers or one by name; None if it makes no sense.

    "none", "no" and "unsure" tick nothing.
    """
    word = plainly(line)
    if word in NO | NONE | CANNOT_TELL:
        return []
    found = numbers(line, len(names))
    if found is not None:
        return [n - 1 for n in found]
    named = [i for i, name in enumerate(names) if len(word) > 2 and word in name.lower()]
    return named if len(named) == 1 else None
