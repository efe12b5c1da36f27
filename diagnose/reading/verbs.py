"""The forms of a verb that tell of something done, so that one line of knowledge says a verb.

"bite into" gives bit into, bitten into, bites into and biting into; not the bare form, which asks
or forbids as often as it tells. The rules of spelling are those of English grammars (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

DOUBLED = re.compile(r"[^aeiou]*[aeiou][bdgklmnprt]")  # stab, stabbed; but chew, chewed
HISSING = re.compile(r".*(?:s|x|z|ch|sh|o)")
CONSONANT_Y = re.compile(r".*[^aeiou]y")


def told(verb: str, irregular: Mapping[str, Sequence[str]]) -> list[str]:
    """The past, the participle, the form in -s and that in -ing, of the first word of a verb.

    `irregular` has past and participle of the verbs whose past is not in -ed.
    """
    word, _, rest = verb.partition(" ")
    forms = dict.fromkeys((*irregular.get(word, (_past(word),)), _third(word), _gerund(word)))
    return [f"{form} {rest}".rstrip() for form in forms]


def _past(word: str) -> str:
    if CONSONANT_Y.fullmatch(word):
        return f"{word[:-1]}ied"
    return f"{word}d" if word.endswith("e") else f"{_doubled(word)}ed"


def _third(word: str) -> str:
    if CONSONANT_Y.fullmatch(word):
        return f"{word[:-1]}ies"
    return f"{word}es" if HISSING.fullmatch(word) else f"{word}s"


def _gerund(word: str) -> str:
    if word.endswith("ie"):
        return f"{word[:-2]}ying"
    if word.endswith("e") and not word.endswith("ee"):
        return f"{word[:-1]}ing"
    return f"{_doubled(word)}ing"


def _doubled(word: str) -> str:
    return word + word[-1] if DOUBLED.fullmatch(word) else word
