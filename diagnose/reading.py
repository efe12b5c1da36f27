"""A gardener's sentence to observations. docs/reading.md explains the steps.

The text is cut into sentences, the sentences into words, each word into keys: its stem, and the
groups of `words.yaml` that it belongs to. A phrase of the knowledge matches where each of its
words finds a key, near together in one sentence. The longest match wins over what lies inside it.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import pairwise

from diagnose.errors import UsageError
from diagnose.kb.model import ABSENT, PRESENT, Knowledge
from diagnose.reasoning.facts import Observation

LONGEST = 5_000  # characters
SLACK = 6  # words of any kind that may stand between the words of a phrase, beside its own
THIN = 2  # phrases that a word may stand in and still mean something alone
REACH = 6  # words after a negator that it can still turn round
SELF = "="  # before a word, the key of the very word, for names
WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?|\d+(?:\.\d+)?|[.!?;:,\n()/]|--|—")
HARD = frozenset(".!?;")
JOINS = frozenset({"and", "or", ",", "with", "plus"})
PAUSE = frozenset({",", ":", "\n", "(", ")", "--", "—"})


@cache
def _stemmer() -> object:
    import snowballstemmer

    return snowballstemmer.stemmer("english")


@cache
def stem(word: str) -> str:
    """The stem of one lower-case word (Snowball English)."""
    return str(_stemmer().stemWord(word))  # type: ignore[attr-defined]


def clean(text: str) -> str:
    """Text without control characters and with plain quotes; letters as people see them.

    Raises UsageError where it is empty or longer than LONGEST.
    """
    text = unicodedata.normalize("NFKC", text).replace("’", "'").replace("`", "'")  # noqa: RUF001
    text = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", " ", text)
    text = "".join(
        c if c == "\n" or unicodedata.category(c)[0] != "C" else " " for c in text
    ).strip()
    if not text:
        raise UsageError("the text is empty; say in a sentence what you see on the plant")
    if len(text) > LONGEST:
        raise UsageError(
            f"the text has {len(text):,} characters; the most is {LONGEST:,}: "
            "say what you see on one plant"
        )
    return text


def _self(word: str) -> set[str]:
    """The keys of the very word, for names: as it is, and without a plural's ending."""
    return {SELF + form for form in (word, word.removesuffix("s"), word.removesuffix("es"))}


@dataclass(frozen=True, slots=True)
class Token:
    """One word or mark of the text: its place, its form and its keys."""

    start: int
    end: int
    text: str
    keys: frozenset[str] = frozenset()
    negated: bool = False
    negator: bool = False

    @property
    def mark(self) -> bool:
        """Whether it is a mark, not a word."""
        return not (self.text[0].isalnum())


Element = frozenset[str]


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase of the knowledge: what it stands for, and the keys each of its words may have."""

    target: tuple[str, ...]  # ("symptom", id, value), ("denies", id), ("crop", id), ("cause", id)
    elements: tuple[Element, ...]
    negative: bool = False
    text: str = ""  # as written


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase found in a sentence, at these tokens."""

    phrase: Phrase
    tokens: frozenset[int]

    @property
    def order(self) -> tuple[int, int, int]:
        """Longest first, then tightest, then first."""
        first, last = min(self.tokens), max(self.tokens)
        return (-len(self.tokens), last - first, first)


@dataclass(frozen=True)
class Reading:
    """What a text says: the crop, the observations, the gardener's guesses, what was not used."""

    crop: str | None
    observations: list[Observation]
    guesses: list[str]
    unread: list[str]
    known_words: float = field(default=1.0)

    @property
    def foreign(self) -> bool:
        """Whether most of the words are strange, as in another language."""
        return self.known_words < 0.4


class Lexicon:
    """The words of a knowledge base, made ready for matching."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        words = knowledge.words
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
        self.heads = {
            name: {stems[0] for stems in members if stems} for name, members in self.lists.items()
        }
        self.describing = {key for word in words.describing for key in self.keys(word)}
        self.longest = max(
            len(key) for table in (self.groups, *self.lists.values()) for key in table
        )
        found = list(self._all_phrases())
        counts = Counter(key for phrase in found for element in phrase.elements for key in element)
        self.phrases = [phrase for phrase in found if not _thin(phrase, counts)]
        self.by_key: dict[str, list[Phrase]] = defaultdict(list)
        for phrase in self.phrases:
            rarest = min(phrase.elements, key=lambda e: sum(counts[k] for k in e))
            for key in rarest:
                self.by_key[key].append(phrase)
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
        words = text.lower().replace("'", "").split()
        negative = False
        elements: list[Element] = []
        i = 0
        while i < len(words):
            size, keys = self._grouped(words, i)
            if not keys:
                choices = re.findall(r"[^\W_]+(?:-[^\W_]+)?", words[i])
                known = [c for c in choices if c in self.knowledge.words.numbers]
                keys = {f"#{c}" for c in known} | {
                    key for c in choices if c not in known
                    for part in c.split("-") for key in self.keys(part)
                }  # fmt: skip
                if (stem(words[i]),) in self.lists["negators"] and not whole:
                    negative, keys = True, set()
                elif words[i] in self.small:
                    keys = set()
            if whole and keys:
                parts = re.findall(r"[^\W_]+", " ".join(words[i : i + size]))
                elements += [frozenset(_self(w)) for w in parts]
            elif keys:
                elements.append(frozenset(keys))
            i += size
        if elements:
            yield Phrase(target, tuple(dict.fromkeys(elements)), negative, text)

    def _grouped(self, words: Sequence[str], i: int) -> tuple[int, set[str]]:
        """The longest group member of two words or more that starts at word i, and its groups."""
        for size in range(min(self.longest, len(words) - i), 1, -1):
            stems = tuple(stem(w) for w in words[i : i + size])
            if stems in self.groups:
                return size, set(self.groups[stems])
        return 1, set()

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
        words = {w for t in texts for w in re.findall(r"[^\W\d_]+", t.lower())}
        return sorted(w for w in words if len(w) >= 4)

    @cached_property
    def english(self) -> frozenset[str]:
        """Stems of every word that the knowledge uses in its own prose, and the plain words."""
        knowledge = self.knowledge
        texts: list[str] = [*self.vocabulary, *self.small, *knowledge.words.plain]
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
    def _says(symptom: object) -> Iterator[str]:
        yield from symptom.says  # type: ignore[attr-defined]
        for spec in symptom.values.values():  # type: ignore[attr-defined]
            if not isinstance(spec, str):
                yield from spec.says

    def mended(self, word: str) -> str:
        """The word that a slip of the pen was meant for, or the word itself."""
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        if len(word) < 5 or stem(word) in self.english:
            return word
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
            size, keys = self._grouped(words, i)
            if not keys and words[i][0].isdigit():
                value = float(words[i])
                keys = {
                    f"#{name}" for name, (low, high) in self.knowledge.words.numbers.items()
                    if low <= value <= high
                }  # fmt: skip
            elif not keys and words[i].isalpha() and words[i] not in self.small:
                keys = self.keys(words[i])
            if len(words) > i + size and self._names_owner(words[i], words[i + size]):
                keys = set()
            for (start, end, _), word in zip(raw[i : i + size], words[i : i + size], strict=True):
                found.append(Token(start, end, word, frozenset({*keys, *_self(word)})))
            i += size
        return found

    def _names_owner(self, word: str, following: str) -> bool:
        """Whether a word only says whose part is meant, as 'tomato' does in 'tomato leaves'."""
        return bool(_self(word) & self.crop_words and self.keys(following) & self.part_keys)

    def word_keys(self, text: str) -> list[str]:
        """The keys of the words of a text, for weighing its wording; small words have none."""
        return [key for t in self.tokens(text) if not t.mark for key in t.keys if key[0] != SELF]

    def listed(self, tokens: Sequence[Token], i: int, name: str) -> int:
        """How many tokens, from i on, make up a member of one of the word lists; 0 if none."""
        if stem(tokens[i].text) not in self.heads[name]:
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


def read(lexicon: Lexicon, text: str, crop: str | None = None) -> Reading:
    """Read a text about one crop, or about the first crop it names.

    Raises UsageError on an empty or too long text.
    """
    text = clean(text)
    sentences = list(_sentences(lexicon.tokens(text)))
    matched = [(tokens, _matches(lexicon, tokens)) for tokens in sentences]
    named = [m.phrase.target[1] for _, ms in matched for m in ms if m.phrase.target[0] == "crop"]
    crop = crop or (named[0] if named else None)
    best: dict[str, tuple[tuple[float, int], Observation]] = {}
    guesses: dict[str, None] = {}
    unread: list[str] = []
    number = 0
    for tokens, matches in matched:
        asides, past = _asides(lexicon, tokens, matches, crop)
        used: set[int] = set()
        for match in matches:
            kind, ident, *rest = match.phrase.target
            used |= match.tokens
            if kind == "cause":
                if asides & match.tokens:
                    guesses[ident] = None
                continue
            if kind == "crop" or asides & match.tokens:
                continue
            if past & match.tokens and not _says_past(lexicon, tokens, match):
                continue
            value = rest[0]
            if not match.phrase.negative and _turned_round(tokens, match):
                if value == ABSENT:
                    continue
                value = ABSENT
            number += 1
            words = _words(text, tokens, match)
            form = {ABSENT: -2.0, PRESENT: 0.0}.get(value, 0.75)  # a form says more than "there"
            strength = (len(match.tokens) + form, -number)
            if ident not in best or strength > best[ident][0]:
                best[ident] = (strength, Observation(ident, value, "text", words))
        unread += _unread(lexicon, text, tokens, used)
    content = [t for ts in sentences for t in ts if not t.mark and t.text.isalpha()]
    known = sum(t.text in lexicon.small or stem(t.text) in lexicon.english for t in content)
    return Reading(
        crop=crop,
        observations=[seen for _, seen in best.values()],
        guesses=list(guesses),
        unread=unread,
        known_words=known / len(content) if len(content) >= 4 else 1.0,
    )


def _sentences(tokens: Sequence[Token]) -> Iterator[list[Token]]:
    """The tokens of each sentence, without its end mark, but for the question mark."""
    sentence: list[Token] = []
    for token in tokens:
        if token.text in HARD:
            if sentence:
                yield [*sentence, token] if token.text == "?" else sentence
            sentence = []
        else:
            sentence.append(token)
    if sentence:
        yield sentence


def _mark_negation(lexicon: Lexicon, tokens: list[Token]) -> list[Token]:
    """The tokens with those turned round by a negator marked.

    What was looked for is turned round too where a negator follows: "looked for slugs, found none".
    """
    result: list[Token] = []
    sought = next((i for i in range(len(tokens)) if lexicon.listed(tokens, i, "sought")), None)
    last_no = max(
        (i for i in range(len(tokens)) if lexicon.listed(tokens, i, "negators")), default=-1
    )
    reach = 0
    i = 0
    while i < len(tokens):
        token = tokens[i]
        size = lexicon.listed(tokens, i, "negators")
        if size:
            for t in tokens[i : i + size]:
                result.append(Token(t.start, t.end, t.text, t.keys, False, True))
            reach = REACH
            i += size
            continue
        paused = token.text in PAUSE and not _list_goes_on(tokens, i)
        if paused or lexicon.listed(tokens, i, "breaks"):
            reach = 0
        vain = sought is not None and sought < i < last_no
        result.append(Token(token.start, token.end, token.text, token.keys, reach > 0 or vain))
        reach -= not token.mark
        i += 1
    return result


def _list_goes_on(tokens: Sequence[Token], i: int) -> bool:
    """Whether a comma stands inside a list that ends in 'or' or 'nor' within a few words."""
    ahead = [t.text for t in tokens[i + 1 : i + 6]]
    return tokens[i].text == "," and ("or" in ahead or "nor" in ahead)


def _matches(lexicon: Lexicon, tokens: list[Token]) -> list[Match]:
    """The phrases in one sentence, longest first, without those inside longer ones."""
    tokens[:] = _mark_negation(lexicon, tokens)
    where: dict[str, list[int]] = defaultdict(list)
    for i, token in enumerate(tokens):
        for key in token.keys:
            where[key].append(i)
    seen: set[int] = set()
    found: list[Match] = []
    for key in where:
        for phrase in lexicon.by_key.get(key, ()):
            if id(phrase) in seen:
                continue
            seen.add(id(phrase))
            match = _match(phrase, where, tokens)
            if match:
                found.append(match)
    found.sort(key=lambda m: (m.order, m.phrase.target))
    kept: list[Match] = []
    for match in found:
        inside = any(
            match.tokens < other.tokens and match.phrase.target[0] == other.phrase.target[0]
            for other in kept
        )
        same = any(
            match.tokens == other.tokens and match.phrase.target[0] == other.phrase.target[0]
            and match.phrase.target[1] == other.phrase.target[1]
            for other in kept
        )  # fmt: skip
        if not inside and not same and not _straddles(match, kept, tokens, lexicon.describing):
            kept.append(match)
    return kept


def _straddles(
    match: Match, better: Sequence[Match], tokens: Sequence[Token], describing: set[str]
) -> bool:
    """Whether a describing word of a match reaches across a word that a better match needs.

    So does 'pale' in 'pale trails in the leaves': it belongs to the nearest, unless 'and' or a
    pause parts them.
    """
    needed = {i for other in better if other.phrase.target[0] == "symptom" for i in other.tokens}
    ordered = sorted(match.tokens)
    for left, right in pairwise(ordered):
        if not tokens[left].keys & describing:
            continue
        for i in range(left + 1, right):
            if tokens[i].text in JOINS:
                break
            if i in needed and i not in match.tokens:
                return True
    return False


def _match(phrase: Phrase, where: dict[str, list[int]], tokens: Sequence[Token]) -> Match | None:
    """The tightest place in the sentence where every word of a phrase is found, or None."""
    places = []
    for element in phrase.elements:
        at = sorted({i for key in element for i in where.get(key, ())})
        if not at:
            return None
        places.append(at)
    if phrase.negative:
        places.append([i for i, t in enumerate(tokens) if t.negator])
        if not places[-1]:
            return None
    best: tuple[int, ...] | None = None
    for first in places[0]:
        chosen = [first]
        for at in places[1:]:
            free = [i for i in at if i not in chosen]
            if not free:
                break
            chosen.append(min(free, key=lambda i: abs(i - first)))
        else:
            if best is None or _width(chosen, tokens) < _width(best, tokens):
                best = tuple(chosen)
    if best is None or _width(best, tokens) > 2 * len(best) + SLACK:
        return None
    if phrase.negative and not any(tokens[i].negated for i in best):
        return None
    whole = phrase.target[0] in ("crop", "cause")
    if whole and _width(best, tokens) > len(best):
        return None
    return Match(phrase, frozenset(best))


def _width(chosen: Iterable[int], tokens: Sequence[Token]) -> int:
    """The words from first to last; a pause counts for three."""
    ordered = sorted(chosen)
    inside = tokens[ordered[0] : ordered[-1] + 1]
    return sum(3 if t.mark else 1 for t in inside)


def _asides(
    lexicon: Lexicon, tokens: Sequence[Token], matches: Sequence[Match], crop: str | None
) -> tuple[set[int], set[int]]:
    """Tokens not about the sick plant (other crops, guesses), and tokens about past years."""
    aside: set[int] = set()
    past: set[int] = set()
    asked = tokens[-1].text == "?"
    named = {i for m in matches if m.phrase.target[0] == "cause" for i in m.tokens}
    crops = {i: m.phrase.target[1] for m in matches if m.phrase.target[0] == "crop"
             for i in m.tokens}  # fmt: skip
    for part in _segments(lexicon, tokens):
        here = {crops[i] for i in part if i in crops}
        fine = any(lexicon.listed(tokens, i, "fine") for i in part)
        if crop and here and crop not in here and fine:
            aside |= set(part)
        if any(lexicon.listed(tokens, i, "past") for i in part):
            past |= set(part)
        hedge = [i for i in part if lexicon.listed(tokens, i, "hedges")]
        if hedge or asked:
            aside |= {i for i in part if i in named and (asked or i >= hedge[0])}
    return aside, past


def _turned_round(tokens: Sequence[Token], match: Match) -> bool:
    """Whether a negator turns a match round: it reaches a word of it, and every later word too.

    What stands before it is what it is said of: "the leaves have no spots".
    """
    said = [tokens[i].negated for i in sorted(match.tokens)]
    return any(said) and all(said[said.index(True) :])


def _says_past(lexicon: Lexicon, tokens: Sequence[Token], match: Match) -> bool:
    """Whether a match itself speaks of a past time, as 'beans here last year' does."""
    return any(lexicon.listed(tokens, i, "past") for i in match.tokens)


def _segments(lexicon: Lexicon, tokens: Sequence[Token]) -> Iterator[list[int]]:
    """The stretches of a sentence between pauses and breaks, as token numbers."""
    part: list[int] = []
    for i, token in enumerate(tokens):
        if token.text in PAUSE or lexicon.listed(tokens, i, "breaks"):
            if part:
                yield part
            part = []
        else:
            part.append(i)
    if part:
        yield part


def _words(text: str, tokens: Sequence[Token], match: Match) -> str:
    first, last = tokens[min(match.tokens)], tokens[max(match.tokens)]
    return text[first.start : last.end]


def _unread(lexicon: Lexicon, text: str, tokens: Sequence[Token], used: set[int]) -> Iterator[str]:
    """The stretches of a sentence that hold words of weight, none of which was used."""
    for part in _segments(lexicon, tokens):
        weighty = [i for i in part if any(key[0] != SELF for key in tokens[i].keys)]
        if weighty and not used.intersection(part):
            yield text[tokens[part[0]].start : tokens[part[-1]].end]
