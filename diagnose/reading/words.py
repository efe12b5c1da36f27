"""The words of a knowledge base, made ready for matching: stems, groups, phrases, tokens."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from threading import local

from diagnose.kb.model import ABSENT, PRESENT, Knowledge, Symptom
from diagnose.reading.concerns import Listener

THIN = 2  # phrases that a word may stand in and still mean something alone
SELF = "="  # before a word, the key of the very word, for names
WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?|\d+(?:\.\d+)?|[.!?;:,\n()/]|--|—")


_own = local()  # a stemmer keeps the word that it works on, so each thread has its own


@cache
def stem(word: str) -> str:
    """The stem of one lower-case word (Snowball English)."""
    if not hasattr(_own, "stemmer"):
        import snowballstemmer

        _own.stemmer = snowballstemmer.stemmer("english")
    return str(_own.stemmer.stemWord(word))


Element = frozenset[str]
NO_KEYS: Element = frozenset()


@cache
def _self(word: str) -> Element:
    """The keys of the very word, for names: as it is, and without a plural's ending."""
    return frozenset(
        {SELF + form for form in (word, word.removesuffix("s"), word.removesuffix("es"))}
    )


@dataclass(frozen=True, slots=True)
class Token:
    """One word or mark of the text: its place, its form and its keys."""

    start: int
    end: int
    text: str
    keys: frozenset[str] = frozenset()
    negated: bool = False
    negator: bool = False
    owner: bool = False  # a crop's name that only says whose part is meant
    opens: frozenset[str] = NO_KEYS  # the word lists that have a member which begins so

    @property
    def mark(self) -> bool:
        """Whether it is a mark, not a word."""
        return not (self.text[0].isalnum())


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase of the knowledge: what it stands for, and the keys each of its words may have."""

    target: tuple[str, ...]  # ("symptom", id, value), ("denies", id), ("crop", id), ("cause", id)
    elements: tuple[Element, ...]
    negative: bool = False
    denied: int | None = None  # which of the elements the phrase's own negator stands before
    text: str = ""  # as written
    condition: bool = False  # of weather, soil or what was done


class Lexicon:
    """The words of a knowledge base, made ready for matching."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.mended = cache(self._mended)
        self._choice = cache(self._all_of_choice)
        words = knowledge.words
        self.listener = Listener(knowledge.concerns)
        self.small = {w for word in words.small for w in word.split()}
        self.groups: dict[tuple[str, ...], set[str]] = defaultdict(set)
        self.exact: dict[str, set[str]] = defaultdict(set)
        for group, members in words.same.items():
            for member in (group.replace("-", " "), *members):
                self.groups[self._stems(member)].add(f"#{group}")
                self.exact[member.replace("'", "")].add(f"#{group}")
        self.lists = {
            name: {self._stems(word) for word in getattr(words, name)}
            for name in ("negators", "breaks", "hedges", "sought", "fine", "past")
        }
        self.opens = cache(self._opens)
        self._alone = cache(self._keys_alone)
        self.group_heads = {stems[0] for stems in self.groups if len(stems) > 1}
        self.describing = {key for word in words.describing for key in self.keys(word)}
        self.longest = max(
            len(key) for table in (self.groups, *self.lists.values()) for key in table
        )
        found = list(self._all_phrases())
        self.said = {
            phrase.text: [key for element in phrase.elements for key in sorted(element)]
            for phrase in found
            if phrase.target[0] == "symptom"
        }
        counts = Counter(key for phrase in found for element in phrase.elements for key in element)
        self.phrases = [phrase for phrase in found if not _thin(phrase, counts)]
        self.by_key: dict[str, list[int]] = defaultdict(list)  # under their rarest word
        for number, phrase in enumerate(self.phrases):
            rarest = min(phrase.elements, key=lambda e: sum(counts[k] for k in e))
            for key in rarest:
                self.by_key[key].append(number)
        self.part_keys = {key for word in words.parts for key in self.keys(word)}
        self.crop_words = {
            key
            for phrase in self.phrases
            if phrase.target[0] == "crop" and len(phrase.elements) == 1
            for key in phrase.elements[0]
        }

    @staticmethod
    def _stems(text: str) -> tuple[str, ...]:
        return tuple(stem(w) for w in re.findall(r"[^\W_]+", text.lower().replace("'", "")))

    def _all_phrases(self) -> Iterator[Phrase]:
        for symptom_id, symptom in self.knowledge.symptoms.items():
            said = [(PRESENT, symptom.says)]
            for value, spec in symptom.values.items():
                if not isinstance(spec, str):
                    said.append((value, spec.says))
            for value, says in said:
                for text in says:
                    yield from self._phrase(text, ("symptom", symptom_id, value))
            for text in symptom.denies:
                yield from self._phrase(text, ("symptom", symptom_id, ABSENT))
        for crop_id, crop in self.knowledge.crops.items():
            for text in {crop.name, crop_id.replace("-", " "), *crop.also}:
                yield from self._phrase(text, ("crop", crop_id), whole=True)
        for cause_id, cause in self.knowledge.causes.items():
            for text in (cause.name, *cause.also):
                yield from self._phrase(text, ("cause", cause_id), whole=True)

    def _phrase(self, text: str, target: tuple[str, ...], whole: bool = False) -> Iterator[Phrase]:
        """A phrase as elements; with `whole`, words are taken as they are, groups apart."""
        words = self._apart(text.lower().replace("'", "").split())
        negative = False
        denied: int | None = None
        elements: list[Element] = []
        i = 0
        while i < len(words):
            size, keys = self._grouped(words, i)
            if not keys:
                keys = self._choice(words[i])
                if (stem(words[i]),) in self.lists["negators"] and not whole:
                    negative, denied, keys = True, len(elements), NO_KEYS
            if whole and keys:
                parts = re.findall(r"[^\W_]+", " ".join(words[i : i + size]))
                elements += [frozenset(_self(w)) for w in parts]
            elif keys:
                elements.append(keys)
            i += size
        if elements:
            told = tuple(dict.fromkeys(elements))
            yield Phrase(
                target,
                told,
                negative,
                denied if denied is not None and denied < len(told) else None,
                text,
                condition=target[0] == "symptom"
                and self.knowledge.symptoms[target[1]].kind == "condition",
            )

    def _apart(self, words: Sequence[str]) -> list[str]:
        """Words with a hyphen as two; but the name of a range of numbers, and a choice, are one."""
        one = self.knowledge.words.numbers
        return [
            part
            for word in words
            for part in ([word] if "/" in word or word in one else word.split("-"))
        ]

    def _all_of_choice(self, word: str) -> Element:
        """The keys of a word of a phrase, of each where there is a choice; none of a small word."""
        if word in self.small:
            return NO_KEYS
        numbers = self.knowledge.words.numbers
        keys: set[str] = set()
        for choice in re.findall(r"[^\W_]+(?:-[^\W_]+)?", word):
            if choice in numbers:
                keys.add(f"#{choice}")
            else:
                keys.update(key for part in choice.split("-") for key in self.keys(part))
        return frozenset(keys)

    def _grouped(self, words: Sequence[str], i: int) -> tuple[int, Element]:
        """The longest group member of two words or more that starts at word i, and its groups."""
        if stem(words[i]) not in self.group_heads:
            return 1, NO_KEYS
        for size in range(min(self.longest, len(words) - i), 1, -1):
            stems = tuple(stem(w) for w in words[i : i + size])
            if stems in self.groups:
                return size, frozenset(self.groups[stems])
        return 1, NO_KEYS

    def keys(self, word: str) -> set[str]:
        """The keys of one word: the groups it stands in, else those of its stem, else its stem."""
        found = stem(word)
        return self.exact.get(word) or self.groups.get((found,)) or {found}

    @cached_property
    def vocabulary(self) -> list[str]:
        """The words that a slip of the pen may have been meant for."""
        texts = [t for s in self.knowledge.symptoms.values() for t in self._says(s)]
        texts += [m for members in self.knowledge.words.same.values() for m in members]
        texts += [n for crop in self.knowledge.crops.values() for n in (crop.name, *crop.also)]
        concerns = self.knowledge.concerns.classes.values()
        words = {w for t in texts for w in re.findall(r"[^\W\d_]+", t.lower()) if len(w) >= 4}
        words |= {w for m in concerns for t in m for w in t.lower().split() if len(w) >= 6}
        return sorted(words)

    @cached_property
    def english(self) -> frozenset[str]:
        """Stems of every word that the knowledge uses in its own prose, and the plain words."""
        knowledge = self.knowledge
        texts: list[str] = [*self.vocabulary, *self.small, *knowledge.words.plain]
        texts += [m for members in knowledge.concerns.classes.values() for m in members]
        texts += [w for name in self.lists for w in getattr(knowledge.words, name)]
        for symptom in knowledge.symptoms.values():
            texts += [symptom.name, symptom.ask, symptom.look or ""]
        for cause in knowledge.causes.values():
            texts += [cause.name, *cause.also, cause.summary, cause.harvest, cause.mechanism or ""]
            texts += [cause.spread or "", cause.matters.text, *cause.looks_like.values()]
            texts += [case.text for case in cause.cases]
        texts += [remedy.text for remedy in knowledge.remedies.values()]
        return frozenset(stem(w) for t in texts for w in re.findall(r"[^\W\d_]+", t.lower()))

    @staticmethod
    def _says(symptom: Symptom) -> Iterator[str]:
        yield from symptom.says
        for spec in symptom.values.values():
            if not isinstance(spec, str):
                yield from spec.says

    def _mended(self, word: str) -> str:
        """The word that a slip of the pen was meant for, or the word itself."""
        if len(word) < 5 or stem(word) in self.english:
            return word
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        slips = 1 if len(word) < 8 else 2
        found = process.extractOne(word, self.vocabulary, scorer=OSA.distance, score_cutoff=slips)
        return found[0] if found and found[0][0] == word[0] else word

    def tokens(self, text: str) -> list[Token]:
        """The words and marks of a text with their keys."""
        raw = [(m.start(), m.end(), m.group().lower()) for m in WORD.finditer(text)]
        words = [w.replace("'", "") if w[0].isalpha() else w for _, _, w in raw]
        words = [self.mended(w) if w.isalpha() else w for w in words]
        found: list[Token] = []
        i = 0
        while i < len(raw):
            size, keys = self._keys_at(words, i)
            owner = len(words) > i + size and self._names_owner(words[i], words[i + size])
            for (start, end, _), word in zip(raw[i : i + size], words[i : i + size], strict=True):
                both = keys | _self(word)
                found.append(Token(start, end, word, both, owner=owner, opens=self.opens(word)))
            i += size
        return found

    def _names_owner(self, word: str, following: str) -> bool:
        """Whether a word only says whose part is meant, as 'tomato' does in 'tomato leaves'."""
        return bool(_self(word) & self.crop_words and self.keys(following) & self.part_keys)

    def word_keys(self, text: str) -> list[str]:
        """The keys of the words of a text, for weighing its wording; small words have none."""
        if text in self.said:
            return self.said[text]
        words = [w.replace("'", "") for w in WORD.findall(text.lower()) if w[0].isalnum()]
        words = [self.mended(w) if w.isalpha() else w for w in words]
        found: list[str] = []
        i = 0
        while i < len(words):
            size, keys = self._keys_at(words, i)
            found += sorted(keys)  # the same order in every run, for the pairs
            i += size
        return found

    def _keys_at(self, words: Sequence[str], i: int) -> tuple[int, Element]:
        """How many words from word i on belong together, and their keys."""
        size, keys = self._grouped(words, i)
        return size, keys or self._alone(words[i])

    def _keys_alone(self, word: str) -> Element:
        """The keys of a word or a number by itself; a small word or a mark has none."""
        if word in self.small:
            return NO_KEYS
        if word[0].isdecimal():
            ranges = self.knowledge.words.numbers.items()
            return frozenset(f"#{n}" for n, (low, high) in ranges if low <= float(word) <= high)
        return frozenset(self.keys(word)) if word.isalpha() else NO_KEYS

    def _opens(self, word: str) -> frozenset[str]:
        """The word lists that have a member which begins with a word."""
        first = stem(word)
        return frozenset(
            name for name, members in self.lists.items() if any(m[:1] == (first,) for m in members)
        )

    def listed(self, tokens: Sequence[Token], i: int, name: str) -> int:
        """How many tokens, from i on, make up a member of one of the word lists; 0 if none."""
        if name not in tokens[i].opens:
            return 0
        for size in range(min(self.longest, len(tokens) - i), 0, -1):
            if tuple(stem(t.text) for t in tokens[i : i + size]) in self.lists[name]:
                return size
        return 0


def _thin(phrase: Phrase, counts: Counter[str]) -> bool:
    """Whether so little is left of a phrase, without its small words, that it could mean anything.

    One word alone will do only where the knowledge uses it for next to nothing else, or where the
    phrase was one word to begin with.
    """
    if phrase.negative or " " not in phrase.text or len(phrase.elements) > 1:
        return False
    return any(key[0] == "#" or counts[key] > THIN for key in phrase.elements[0])
