"""The phrases of the knowledge: cut into the keys of their words, packed, and found by them."""

from __future__ import annotations

import hashlib
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TypeAlias, overload

import msgspec
import numpy as np
import numpy.typing as npt

from diagnose.kb.model import ABSENT, DENIED, PRESENT, Symptom
from diagnose.reading.keys import CLASS, NO_KEYS, PART, Element, Keys, stem, very

THIN = 2  # phrases that a word may stand in and still mean something alone
CHOICE = re.compile(r"\{[a-z-]+\}|[^\W_]+(?:-[^\W_]+)?")

Ints = npt.NDArray[np.int64]
Hashes = npt.NDArray[np.uint64]
Names: TypeAlias = tuple[str, ...]
"""The name of a crop or a cause, and after it the others that it goes by."""
Rest: TypeAlias = tuple[int, tuple[int, ...]]
"""A phrase, and the elements that it needs beside those by which it is found."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase of the knowledge: what it stands for, and the keys each of its words may have."""

    target: tuple[str, ...]  # ("symptom", id, value), ("cause", id)
    elements: tuple[Element, ...]
    negative: bool = False
    denied: int | None = None  # which of the elements the phrase's own negator stands before
    text: str = ""  # as written
    condition: bool = False  # of weather, soil or what was done


class Phrases(Sequence[Phrase]):
    """Phrases packed end to end; each is unpacked when it is first looked at.

    `ends` says where each ends.
    """

    def __init__(self, packed: bytes | memoryview, ends: Ints) -> None:
        self.packed = memoryview(packed)
        self.ends = ends
        self._unpacked = cache(self._unpack)

    @classmethod
    def of(cls, phrases: Iterable[Phrase]) -> Phrases:
        """Some phrases, packed."""
        packed = list(map(msgspec.msgpack.encode, phrases))
        return cls(b"".join(packed), np.cumsum(list(map(len, packed)), dtype=np.int64))

    def _unpack(self, number: int) -> Phrase:
        start = self.ends[number - 1] if number else 0
        return msgspec.msgpack.decode(self.packed[start : self.ends[number]], type=Phrase)

    def __len__(self) -> int:
        return len(self.ends)

    @overload
    def __getitem__(self, at: int) -> Phrase: ...
    @overload
    def __getitem__(self, at: slice) -> list[Phrase]: ...
    def __getitem__(self, at: int | slice) -> Phrase | list[Phrase]:
        found = range(len(self.ends))[at]
        if isinstance(found, int):
            return self._unpacked(found)
        return list(map(self._unpacked, found))


class Texts:
    """The keys of the words of some texts, found by the whole text.

    `hashes` of the texts are in order; the keys of each text are packed end to end, up to its end
    in `ends`.
    """

    def __init__(self, hashes: Hashes, packed: bytes | memoryview, ends: Ints) -> None:
        self.hashes, self.packed, self.ends = hashes, memoryview(packed), ends
        self._known: dict[str, list[str]] = {}

    @classmethod
    def of(cls, texts: dict[str, list[str]]) -> Texts:
        """Some texts with their keys."""
        ordered = sorted(
            (_hash(text), msgspec.msgpack.encode(keys)) for text, keys in texts.items()
        )
        packed = [keys for _, keys in ordered]
        made = cls(
            np.array([text for text, _ in ordered], dtype=np.uint64),
            b"".join(packed),
            np.cumsum([0, *map(len, packed)], dtype=np.int64),
        )
        made._known = texts
        return made

    def get(self, text: str) -> list[str] | None:
        """The keys of a text, or None where it is none of them."""
        if text in self._known:
            return self._known[text]
        wanted = np.uint64(_hash(text))
        at = int(np.searchsorted(self.hashes, wanted))
        if at == len(self.hashes) or self.hashes[at] != wanted:
            return None
        packed = self.packed[self.ends[at] : self.ends[at + 1]]
        return msgspec.msgpack.decode(packed, type=list[str])


def _hash(text: str) -> int:
    """64 bits of a text, the same in every run."""
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "little")


class Index:
    """Phrases by the numbers of their elements.

    Those of the phrase at i stand in `elements` from `starts[i]` to `starts[i + 1]`; the one that
    fewest phrases have comes first, and the phrase is found under it. `order` are the phrases in
    the order of these first elements.
    """

    def __init__(self, starts: Ints, elements: Ints, order: Ints) -> None:
        self.starts, self.elements, self.order = starts, elements, order
        self._firsts = elements[starts[:-1]][order]
        self._under = cache(self._listed_under)

    @classmethod
    def of(cls, phrases: Iterable[Phrase], number: Mapping[Element, int]) -> Index:
        """The index of some phrases; `number` numbers the elements."""
        held = [[number[element] for element in phrase.elements] for phrase in phrases]
        uses = Counter(element for elements in held for element in elements)
        ordered = [sorted(elements, key=lambda e: (uses[e], e)) for elements in held]
        starts = np.cumsum([0, *map(len, held)], dtype=np.int64)
        firsts = np.array([elements[0] for elements in ordered], dtype=np.int64)
        return cls(
            starts,
            np.array([e for elements in ordered for e in elements], dtype=np.int64),
            np.argsort(firsts, kind="stable"),
        )

    def _listed_under(self, element: int) -> tuple[list[int], dict[int, list[Rest]]]:
        """The phrases found under an element: those of it alone; the others by their second."""
        low, high = np.searchsorted(self._firsts, [element, element + 1]).tolist()
        alone: list[int] = []
        by_second: dict[int, list[Rest]] = defaultdict(list)
        for phrase in self.order[low:high].tolist():
            start, end = self.starts[phrase : phrase + 2].tolist()
            others = self.elements[start + 1 : end].tolist()
            if others:
                by_second[others[0]].append((phrase, tuple(others[1:])))
            else:
                alone.append(phrase)
        return alone, by_second

    def whole(self, there: set[int]) -> list[int]:
        """The phrases of which every element is there, in order."""
        found: list[int] = []
        for element in there:
            alone, by_second = self._under(element)
            found += alone
            for second in by_second.keys() & there:
                found += [phrase for phrase, rest in by_second[second] if there.issuperset(rest)]
        return sorted(found)


def all_phrases(
    keys: Keys,
    symptoms: Mapping[str, Symptom],
    causes: Mapping[str, Names],
) -> list[Phrase]:
    """Every phrase of some symptoms, and every name of some causes, cut into keys."""
    cutter = Cutter(keys)
    found = [p for symptom_id, s in symptoms.items() for p in cutter.symptom(symptom_id, s)]
    for cause_id, names in causes.items():
        for text in names:
            found += cutter.cut(text, ("cause", cause_id), whole=True)
    return found


def meaning(phrases: Iterable[Phrase]) -> list[Phrase]:
    """The phrases of which enough is left, without their small words, to mean something."""
    phrases = list(phrases)
    counts = Counter(key for phrase in phrases for element in phrase.elements for key in element)
    return [phrase for phrase in phrases if not _thin(phrase, counts)]


def _thin(phrase: Phrase, counts: Counter[str]) -> bool:
    """Whether so little is left of a phrase, without its small words, that it could mean anything.

    One word alone will do only where the knowledge uses it for next to nothing else, or where the
    phrase was one word to begin with.
    """
    if phrase.negative or " " not in phrase.text or len(phrase.elements) > 1:
        return False
    return any(key[0] == "#" or counts[key] > THIN for key in phrase.elements[0])


class Cutter:
    """Cuts phrases into the keys of their words."""

    def __init__(self, keys: Keys) -> None:
        self.keys = keys
        self.numbers = keys.numbers
        self.negators = keys.made.lists["negators"]
        self.choice = cache(self._choice)

    def symptom(self, symptom_id: str, symptom: Symptom) -> Iterator[Phrase]:
        """Every phrase of a symptom and of its forms."""
        forms = {v: spec for v, spec in symptom.values.items() if not isinstance(spec, str)}
        said = [(PRESENT, symptom.says)]
        said += [(value, spec.says) for value, spec in forms.items()]
        said.append((ABSENT, symptom.denies))
        said += [(DENIED + value, spec.denies) for value, spec in forms.items()]
        condition = symptom.kind == "condition"
        for value, says in said:
            for text in says:
                yield from self.cut(text, ("symptom", symptom_id, value), condition=condition)

    def cut(
        self, text: str, target: tuple[str, ...], whole: bool = False, condition: bool = False
    ) -> Iterator[Phrase]:
        """A phrase as elements; with `whole`, words are taken as they are, groups apart."""
        words = self._apart(text.lower().replace("'", "").split())
        denied: int | None = None
        elements: list[Element] = []
        i = 0
        while i < len(words):
            size, keys = self.keys.grouped(words, i)
            keys = keys or self.choice(words[i])
            if size == 1 and not whole and self._negates(words[i]):
                denied, keys = len(elements), NO_KEYS
            if whole and keys:
                elements += map(very, PART.findall(" ".join(words[i : i + size])))
            elif keys:
                elements.append(keys)
            i += size
        if elements:
            told = tuple(dict.fromkeys(elements))
            yield Phrase(
                target,
                told,
                denied is not None,
                denied if denied is not None and denied < len(told) else None,
                text,
                condition,
            )

    def _negates(self, word: str) -> bool:
        return (stem(word),) in self.negators

    def _apart(self, words: Sequence[str]) -> list[str]:
        """Words with a hyphen as two; but the name of a range of numbers, and a choice, are one."""
        return [
            part
            for word in words
            for part in ([word] if word in self.numbers or set("/{") & {*word} else word.split("-"))
        ]

    def _choice(self, word: str) -> Element:
        """The keys of a word of a phrase, of each where there is a choice; none of a small word."""
        if word in self.keys.small:
            return NO_KEYS
        keys: set[str] = set()
        for choice in CHOICE.findall(word):
            if choice[0] == "{":
                keys.add(CLASS + choice[1:-1])
            elif choice in self.numbers:
                keys.add(f"#{choice}")
            else:
                keys |= self.keys.of_each(choice.split("-"))
        return frozenset(keys)
