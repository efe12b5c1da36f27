"""The keys of words: what a word of a text and a word of a phrase must have in common to match."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cache
from threading import local
from typing import TypeAlias

import msgspec

from diagnose.kb.model import Words

SELF = "="  # before a word, the key of the very word, for names
CLASS = "@"  # before the name of a class of words
LISTS = (
    "negators", "breaks", "hedges", "sought", "fine", "past", "likened", "sized", "beside", "alike",
    "asks", "general",
)  # fmt: skip
PART = re.compile(r"[^\W_]+")

Element: TypeAlias = frozenset[str]
"""The keys that one word of a phrase may have."""
Stems: TypeAlias = tuple[str, ...]
NO_KEYS: Element = frozenset()


_own = local()  # a stemmer keeps the word that it works on, so each thread has its own


@cache
def stem(word: str) -> str:
    """The stem of one lower-case word (Snowball English)."""
    if not hasattr(_own, "stemmer"):
        import snowballstemmer

        _own.stemmer = snowballstemmer.stemmer("english")
    return str(_own.stemmer.stemWord(word))


def stems(text: str) -> Stems:
    """The stems of the words of a text."""
    return tuple(map(stem, PART.findall(text.lower().replace("'", ""))))


@cache
def very(word: str) -> Element:
    """The keys of the very word, for names: as it is, and without a plural's ending."""
    return frozenset(
        {SELF + form for form in (word, word.removesuffix("s"), word.removesuffix("es"))}
    )


class Groups(msgspec.Struct, frozen=True):
    """The groups and lists of `words.yaml` by the stems of their members; groups also by word."""

    groups: dict[Stems, Element]
    exact: dict[str, Element]
    lists: dict[str, frozenset[Stems]]

    @classmethod
    def of(cls, words: Words) -> Groups:
        """Made from the words of a knowledge base."""
        groups: dict[Stems, set[str]] = defaultdict(set)
        exact: dict[str, set[str]] = defaultdict(set)
        for group, members in words.same.items():
            for member in (group.replace("-", " "), *members):
                groups[stems(member)].add(f"#{group}")
                exact[member.replace("'", "")].add(f"#{group}")
        return cls(
            {key: frozenset(found) for key, found in groups.items()},
            {key: frozenset(found) for key, found in exact.items()},
            {name: frozenset(map(stems, getattr(words, name))) for name in LISTS},
        )


class Keys:
    """The keys of words, under the words of a knowledge base."""

    def __init__(self, words: Words, made: Groups) -> None:
        self.made = made
        self.numbers = words.numbers
        self.small = {w for word in words.small for w in word.split()}
        self.alone = cache(self._alone)
        self.opens = cache(self._opens)
        self._openers: dict[str, frozenset[str]] = {}
        for name, members in made.lists.items():
            for first, *_ in members:
                self._openers[first] = self._openers.get(first, NO_KEYS) | {name}
        heads = {key[0] for key in made.groups if len(key) > 1}
        self._heads = cache(lambda word: stem(word) in heads)
        self.longest = max(
            len(key) for table in (made.groups, *made.lists.values()) for key in table
        )

    def of(self, word: str) -> Element:
        """The keys of one word: the groups it stands in, else those of its stem, else its stem."""
        found = stem(word)
        made = self.made
        return made.exact.get(word) or made.groups.get((found,)) or frozenset({found})

    def of_each(self, words: Iterable[str]) -> Element:
        """The keys of some words together."""
        return frozenset(key for word in words for key in self.of(word))

    def _alone(self, word: str) -> Element:
        """The keys of a word or a number by itself; a small word or a mark has none."""
        if word in self.small:
            return NO_KEYS
        if word[0].isdecimal():
            ranges = self.numbers.items()
            return frozenset(f"#{n}" for n, (low, high) in ranges if low <= float(word) <= high)
        return self.of(word) if word.isalpha() else NO_KEYS

    def grouped(self, words: Sequence[str], i: int) -> tuple[int, Element]:
        """The longest group member of two words or more that starts at word i, and its groups."""
        if self._heads(words[i]):
            found = tuple(map(stem, words[i : i + self.longest]))
            for size in range(len(found), 1, -1):
                keys = self.made.groups.get(found[:size])
                if keys:
                    return size, keys
        return 1, NO_KEYS

    def at(self, words: Sequence[str], i: int) -> tuple[int, Element]:
        """How many words from word i on belong together, and their keys."""
        size, keys = self.grouped(words, i)
        return size, keys or self.alone(words[i])

    def _opens(self, word: str) -> frozenset[str]:
        """The word lists that have a member which begins with a word."""
        return self._openers.get(stem(word), NO_KEYS)

    def listed(self, words: Sequence[str], name: str) -> int:
        """How many words, from the first on, make up a member of a word list; 0 if none."""
        found = tuple(map(stem, words[: self.longest]))
        sizes = range(len(found), 0, -1)
        return next((size for size in sizes if found[:size] in self.made.lists[name]), 0)
