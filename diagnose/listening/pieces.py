"""A text cut into the pieces of words that the encoder knows.

Words are lower-cased and stripped of accents; a word that is not in the vocabulary is cut into the
longest pieces that are (those inside a word begin with ##), and is `[UNK]` where none fits.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

WORD = re.compile(r"[^\W_]+|[^\s]")
INSIDE = "##"
UNKNOWN, BEGIN, END = "[UNK]", "[CLS]", "[SEP]"
LONGEST = 40  # letters of a word that is cut


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece: its number in the vocabulary, and where its word stands in the text."""

    number: int
    start: int
    end: int


class Vocabulary:
    """The pieces that are known, by number."""

    def __init__(self, pieces: Sequence[str]) -> None:
        self.pieces = pieces
        self.number = {piece: i for i, piece in enumerate(pieces)}
        self.unknown = self.number[UNKNOWN]
        self.begin, self.end = self.number[BEGIN], self.number[END]
        self._word = lru_cache(maxsize=20_000)(self._cut_word)

    def cut(self, text: str) -> list[Piece]:
        """The pieces of a text, in order."""
        return [
            Piece(number, match.start(), match.end())
            for match in WORD.finditer(text)
            for number in self._word(match.group())
        ]

    def _cut_word(self, word: str) -> tuple[int, ...]:
        word = _bare(word)
        if not word or len(word) > LONGEST:
            return (self.unknown,)
        found: list[int] = []
        start = 0
        while start < len(word):
            inside = INSIDE if start else ""
            for end in range(len(word), start, -1):
                number = self.number.get(inside + word[start:end])
                if number is not None:
                    found.append(number)
                    start = end
                    break
            else:
                return (self.unknown,)
        return tuple(found)


def _bare(word: str) -> str:
    """A word in lower case, without accents."""
    word = word.lower()
    if word.isascii():
        return word
    return "".join(c for c in unicodedata.normalize("NFD", word) if unicodedata.category(c) != "Mn")
