"""The words of a knowledge base, made ready for matching."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, NamedTuple

import msgspec

from diagnose.kb.model import Concerns, Knowledge, Symptom, Words
from diagnose.reading.concerns import Heard, Listener, class_words
from diagnose.reading.keys import LISTS, NO_KEYS, Element, Groups, Keys, stem, very
from diagnose.reading.naming import Classes, named
from diagnose.reading.order import Order, patterns
from diagnose.reading.phrases import (
    Cutter,
    Index,
    Names,
    Phrase,
    Phrases,
    Texts,
    all_phrases,
    meaning,
)

WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?|\d+(?:\.\d+)?|[.!?;:,\n()/]|--|—")
LETTERS = re.compile(r"[^\W\d_]+")


class Token(NamedTuple):
    """One word or mark of the text: its place, its form and its keys."""

    start: int
    end: int
    text: str
    keys: Element = NO_KEYS
    mark: bool = False  # no word
    crop: str | None = None  # the crop that it names, or ends the name of
    opens: frozenset[str] = NO_KEYS  # the word lists that have a member which begins so
    negated: bool = False
    negator: bool = False


class Compiled(msgspec.Struct, frozen=True):
    """What a lexicon knows of words beside the phrases; made once for a knowledge base."""

    groups: Groups
    describing: Element
    classes: Classes
    vocabulary: list[str]  # the words that a slip of the pen may have been meant for
    english: frozenset[str]  # stems of every word of the knowledge's prose, and the plain words
    elements: dict[str, list[int]]  # by key, the numbers of the elements that hold it


class Ready(NamedTuple):
    """All that a lexicon is made of; `texts` are those of the symptoms' phrases."""

    compiled: Compiled
    phrases: Phrases
    lookup: Index
    texts: Texts

    def parts(self) -> dict[str, Any]:
        """To be kept in a ready-made copy."""
        found = self.lookup
        return {
            "lexicon": msgspec.msgpack.encode(self.compiled),
            "phrases": self.phrases.packed,
            "phrase ends": self.phrases.ends,
            "text hashes": self.texts.hashes,
            "text keys": self.texts.packed,
            "text ends": self.texts.ends,
            "element starts": found.starts,
            "elements": found.elements,
            "element order": found.order,
        }

    @classmethod
    def of(cls, parts: Mapping[str, Any]) -> Ready:
        """From the parts of a ready-made copy."""
        return cls(
            msgspec.msgpack.decode(parts["lexicon"], type=Compiled),
            Phrases(parts["phrases"], parts["phrase ends"]),
            Index(parts["element starts"], parts["elements"], parts["element order"]),
            Texts(parts["text hashes"], parts["text keys"], parts["text ends"]),
        )


class Lexicon:
    """The words of a knowledge base, made ready for matching."""

    def __init__(self, knowledge: Knowledge, ready: Ready | None = None) -> None:
        self.knowledge = knowledge
        self.ready = ready or compiled(Taken.of(knowledge))
        self.phrases = self.ready.phrases
        self.index = self.ready.lookup
        made = self.ready.compiled
        self.english = made.english
        self.describing = made.describing
        self._vocabulary = made.vocabulary
        self._elements = made.elements
        self.classes = made.classes
        self._keys = Keys(knowledge.words, made.groups)
        self.small = self._keys.small
        self.keys = self._keys.of
        self.mended = cache(self._mended)
        self.listener = Listener(knowledge.concerns)
        names = {crop_id: (crop.name, *crop.also) for crop_id, crop in knowledge.crops.items()}
        self.order = Order(knowledge.symptoms, knowledge.words.slots, names)
        self.heard = lru_cache(maxsize=8)(self._heard)  # the same text is asked about twice
        self._written = cache(self._as_written)
        self._all = cache(self._with_classes)

    def of(self, knowledge: Knowledge) -> Lexicon:
        """The lexicon of another state of the knowledge; these words where they are the same."""
        same = Taken.of(knowledge) == Taken.of(self.knowledge)
        return Lexicon(knowledge, self.ready if same else None)

    def phrase(self, text: str, symptom_id: str, value: str) -> list[Phrase]:
        """A phrase as it would be cut if a symptom said it; none where too little is left of it."""
        symptom = self.knowledge.symptoms.get(symptom_id)
        condition = symptom is not None and symptom.kind == "condition"
        target = ("symptom", symptom_id, value)
        return list(Cutter(self._keys).cut(text, target, condition=condition))

    def within(self, keys: Iterable[str]) -> list[Phrase]:
        """The phrases each word of which has one of these keys, in order."""
        found = {element for key in keys for element in self._elements.get(key, ())}
        return [self.phrases[number] for number in self.index.whole(found)]

    def _mended(self, word: str) -> str:
        """The word that a slip of the pen was meant for, or the word itself."""
        if len(word) < 5 or stem(word) in self.english:
            return word
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        slips = 1 if len(word) < 8 else 2
        found = process.extractOne(word, self._vocabulary, scorer=OSA.distance, score_cutoff=slips)
        return found[0] if found and found[0][0] == word[0] else word

    def tokens(self, text: str) -> list[Token]:
        """The words and marks of a text with their keys."""
        raw = [(m.start(), m.end(), m.group().lower()) for m in WORD.finditer(text)]
        words = [self._written(word) for _, _, word in raw]
        found: list[Token] = []
        i = 0
        while i < len(raw):
            size, keys = self._keys.at(words, i)
            for (start, end, _), word in zip(raw[i : i + size], words[i : i + size], strict=True):
                mark = not word[0].isalnum()
                opens = self._keys.opens(word)
                found.append(Token(start, end, word, self._all(keys, word), mark, None, opens))
            i += size
        return named(self.classes, found)

    def _heard(self, text: str) -> tuple[list[Token], list[Heard]]:
        """The words of a text, and what it is about beside the plant."""
        tokens = self.tokens(text)
        opens = (i for i, token in enumerate(tokens) if token.opens)
        denying = {i + k for i in opens for k in range(self.listed(tokens, i, "negators"))}
        return tokens, self.listener.hear(text, tokens, denying)

    def _as_written(self, word: str) -> str:
        """A word without apostrophes and slips; a mark or a number as it is."""
        if word[0].isalpha():
            word = word.replace("'", "")
        return self.mended(word) if word.isalpha() else word

    def _with_classes(self, keys: Element, word: str) -> Element:
        """Some keys, those of their classes, and those of the very word."""
        classes = (self.classes.of_key.get(key, NO_KEYS) for key in keys)
        return keys.union(very(word), *classes)

    def word_keys(self, text: str) -> list[str]:
        """The keys of the words of a text, for weighing its wording; small words have none."""
        known = self.ready.texts.get(text)
        if known is not None:
            return known
        words = [self._written(w) for w in WORD.findall(text.lower()) if w[0].isalnum()]
        found: list[str] = []
        i = 0
        while i < len(words):
            size, keys = self._keys.at(words, i)
            found += sorted(keys)  # the same order in every run, for the pairs
            i += size
        return found

    def listed(self, tokens: Sequence[Token], i: int, name: str) -> int:
        """How many tokens, from i on, make up a member of one of the word lists; 0 if none."""
        if name not in tokens[i].opens:
            return 0
        return self._keys.listed([token.text for token in tokens[i : i + self._keys.longest]], name)


@dataclass(frozen=True)
class Taken:
    """All of a knowledge base that a lexicon is made of: where it is equal, so are the lexicons.

    `crops` and `causes` hold their names; `eaten` the part of a crop that is first to be eaten;
    `prose` the words of everything that is told to people.
    """

    words: Words
    concerns: Concerns
    symptoms: Mapping[str, Symptom]
    crops: Mapping[str, Names]
    eaten: Mapping[str, tuple[str, ...]]
    causes: Mapping[str, Names]
    prose: frozenset[str]

    @classmethod
    def of(cls, knowledge: Knowledge) -> Taken:
        """Taken from a knowledge base."""
        return cls(
            knowledge.words,
            knowledge.concerns,
            {symptom_id: _spoken(symptom) for symptom_id, symptom in knowledge.symptoms.items()},
            {crop_id: (crop.name, *crop.also) for crop_id, crop in knowledge.crops.items()},
            {crop_id: tuple(crop.eaten[:1]) for crop_id, crop in knowledge.crops.items()},
            {cause_id: (cause.name, *cause.also) for cause_id, cause in knowledge.causes.items()},
            frozenset(w for text in _prose(knowledge) for w in LETTERS.findall(text.lower())),
        )


def _spoken(symptom: Symptom) -> Symptom:
    """A symptom without what no reading follows from."""
    return msgspec.structs.replace(
        symptom, background="never", background_where=[], counts=None, effort="look", overlaps=None
    )


def _prose(knowledge: Knowledge) -> Iterator[str]:
    """What the knowledge tells people, in its own words and in those of gardeners."""
    for cause in knowledge.causes.values():
        yield from (cause.name, *cause.also, cause.summary, cause.harvest, cause.matters.text)
        yield from (cause.mechanism or "", cause.spread or "", *cause.looks_like.values())
        yield from (case.text for case in cause.cases)
    for remedy in knowledge.remedies.values():
        yield remedy.text


def compiled(knowledge: Taken) -> Ready:
    """All that a lexicon is made of, made anew."""
    groups = Groups.of(knowledge.words)
    keys = Keys(knowledge.words, groups)
    cut = all_phrases(keys, knowledge.symptoms, knowledge.causes)
    phrases = meaning(cut)
    number: dict[Element, int] = {}
    for phrase in phrases:
        for element in phrase.elements:
            number.setdefault(element, len(number))
    elements = defaultdict(list)
    for element, at in number.items():
        for key in element:
            elements[key].append(at)
    texts = {
        phrase.text: [key for element in phrase.elements for key in sorted(element)]
        for phrase in cut
        if phrase.target[0] == "symptom"
    }
    vocabulary = _vocabulary(knowledge)
    made = Compiled(
        groups=groups,
        describing=keys.of_each(knowledge.words.describing),
        classes=Classes.of(knowledge.words, keys, knowledge.crops, knowledge.eaten),
        vocabulary=vocabulary,
        english=_english(knowledge, [*vocabulary, *keys.small]),
        elements=elements,
    )
    return Ready(made, Phrases.of(phrases), Index.of(phrases, number), Texts.of(texts))


def _vocabulary(knowledge: Taken) -> list[str]:
    """The words that a slip of the pen may have been meant for."""
    texts = [t for s in knowledge.symptoms.values() for t in _says(s)]
    texts += [m for members in knowledge.words.same.values() for m in members]
    texts += [m for members in knowledge.words.slots.values() for m in members]
    texts += [pattern.text for pattern in patterns(knowledge.symptoms)]
    texts += [name for names in knowledge.crops.values() for name in names]
    words = {w for t in texts for w in LETTERS.findall(t.lower()) if len(w) >= 4}
    asked = (t for found in class_words(knowledge.concerns).values() for t in found)
    words |= {w for t in asked for w in t.lower().split() if len(w) >= 6}
    return sorted(words)


def _english(knowledge: Taken, more: Iterable[str]) -> frozenset[str]:
    """Stems of every word that the knowledge uses in its own prose, and of some more words."""
    texts = [*more, *knowledge.words.plain]
    texts += [w for name in LISTS for w in getattr(knowledge.words, name)]
    texts += [t for found in class_words(knowledge.concerns).values() for t in found]
    for symptom in knowledge.symptoms.values():
        texts += [symptom.name, symptom.ask, symptom.look or ""]
    words = {w for t in texts for w in LETTERS.findall(t.lower())}
    return frozenset(map(stem, words | knowledge.prose))


def _says(symptom: Symptom) -> Iterator[str]:
    yield from symptom.says
    for spec in symptom.values.values():
        if not isinstance(spec, str):
            yield from spec.says
