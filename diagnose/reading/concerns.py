"""What words are about beside the plant: someone ate or was hurt, a question, dangerous soil.

A concern has patterns over classes of words: `{person} .. {swallowed} .. {berry}`. Words follow one
another in a pattern; `..` lets a few others stand between, and parts joined by `&` may come in any
order. What is denied raises nothing, and a class may be barred, so that caterpillars which ate are
no person who did. `{start}` and `{end}` are where a sentence starts and ends. A word of no class
with a capital letter is a person's name where it stands before what only someone alive does, or
owns what comes next.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import cache
from itertools import pairwise, permutations
from typing import TYPE_CHECKING

from diagnose.kb.model import Concern, Concerns
from diagnose.reading.verbs import told

if TYPE_CHECKING:
    from diagnose.reading.words import Token

PAUSE = 4  # words that the end of a sentence counts for
AROUND = 4  # words before and after a concern in which what speaks against it is looked for
ENDS = frozenset(".!?;")
ELEMENT = re.compile(r"\{[^}]*\}|\.\.|[^\s{}]+")
PLURAL = re.compile(r"(?P<y>.+)ies|(?P<es>.+(?:s|x|z|ch|sh|o))es|(?P<s>.+)s")
COMMON = range(10_000)  # a class of no words is never the rarest
START, END = "start", "end"  # classes of no words
PERSON = "person"  # the class of names
WHOSE = "whose"  # the class of words for those who own what follows
NAME = re.compile(r"[A-ZÀ-Þ][a-zà-ÿ]{2,}")
OWNER = re.compile(rf"{NAME.pattern}'s")
OTHER_SENSE = ""  # the class of words used in another sense
HELPING = "helping"  # the class of verbs over which a denial reaches
LITERAL = "="  # before a word of a pattern that stands for itself

Words = tuple[str, ...]
Span = tuple[int, int]  # tokens from the first to before the last
Member = tuple[Words, str]  # the words of a member of a class after its first, and the class


@dataclass(frozen=True, slots=True)
class Heard:
    """A concern in a text: its words, from the first to the last, and the tokens that told it.

    `taken` are the places in the text of those words that are no longer to be read of the plant.
    """

    concern: str
    words: str
    taken: frozenset[int]


@dataclass(frozen=True, slots=True)
class Pattern:
    """Elements in order: the classes that each may be of, and whether words may stand before it."""

    elements: tuple[frozenset[str], ...]
    loose: tuple[bool, ...]


def parsed(text: str) -> list[Pattern]:
    """The patterns of one that is written: `{a|b} .. word`, or of `{a} & {b}` both orders."""
    return [_in_order(" .. ".join(parts)) for parts in permutations(text.split("&"))]


def _in_order(text: str) -> Pattern:
    elements: list[frozenset[str]] = []
    loose: list[bool] = []
    open_ = False
    for part in ELEMENT.findall(text):
        if part == "..":
            open_ = True
            continue
        names = part[1:-1].split("|") if part[0] == "{" else [LITERAL + part]
        elements.append(frozenset(names))
        loose.append(open_)
        open_ = False
    return Pattern(tuple(elements), tuple(loose))


def classes_named(pattern: Pattern) -> Iterator[str]:
    """The classes of a pattern."""
    for element in pattern.elements:
        yield from (name for name in element if not name.startswith(LITERAL))


def literals(pattern: Pattern) -> Iterator[str]:
    """The words of a pattern that stand for themselves."""
    for element in pattern.elements:
        yield from (name[1:] for name in element if name.startswith(LITERAL))


@cache
def forms(word: str) -> Words:
    """A word as it is, and without the ending of a plural."""
    found = PLURAL.fullmatch(word)
    if not found:
        return (word,)
    kind = found.lastgroup or "s"
    singular = found[kind] + ("y" if kind == "y" else "")
    return (word, *(form for form in (singular, word[:-1]) if len(form) > 2))


def class_words(concerns: Concerns) -> dict[str, list[str]]:
    """The members of each class: its words, and the forms of its verbs."""
    found = {name: list(words) for name, words in concerns.classes.items()}
    for name, verbs in concerns.verbs.items():
        found.setdefault(name, []).extend(f for v in verbs for f in told(v, concerns.irregular))
    return found


def spelled(member: str) -> Words:
    """The words of a member of a class, without accidents of spelling."""
    return tuple(re.findall(r"[^\W_]+", member.lower().replace("'", "")))


class Listener:
    """The concerns of a knowledge base, made ready to be heard."""

    def __init__(self, concerns: Concerns) -> None:
        self.concerns = concerns.concerns
        self.things = frozenset(concerns.things)
        self.acts = frozenset(concerns.acts)
        self.patterns = [
            (concern_id, found)
            for concern_id, concern in concerns.concerns.items()
            for text in concern.says
            for found in parsed(text)
            if found.elements
        ]
        classes = {n: list(filter(None, map(spelled, m))) for n, m in class_words(concerns).items()}
        for _, pattern in self.patterns:
            classes |= {LITERAL + word: [(word,)] for word in literals(pattern)}
        self.heads: dict[str, list[Member]] = defaultdict(list)
        for name, members in classes.items():
            for words in members:
                self.heads[words[0]].append((words[1:], name))
        for words in filter(None, map(spelled, concerns.other_sense)):
            self.heads[words[0]].append((words[1:], OTHER_SENSE))
        self.by_class: dict[str, list[int]] = defaultdict(list)  # under their rarest element
        for number, (_, pattern) in enumerate(self.patterns):
            sizes = [sum(len(classes.get(n, COMMON)) for n in e) for e in pattern.elements]
            for name in pattern.elements[sizes.index(min(sizes))]:
                self.by_class[name].append(number)
        self.opened = cache(self._opened)

    def hear(self, text: str, tokens: Sequence[Token], no: Collection[int]) -> list[Heard]:
        """The concerns in a text; `no` are the tokens that deny what follows."""
        where = self._where(text, tokens)
        found: dict[str, Heard] = {}
        for number in sorted({n for name in where for n in self.by_class.get(name, ())}):
            concern_id, pattern = self.patterns[number]
            if concern_id in found or any(map(where.keys().isdisjoint, pattern.elements)):
                continue
            heard = self._heard(concern_id, pattern, text, tokens, where, no)
            if heard is not None:
                found[concern_id] = heard
        return list(found.values())

    def _opened(self, word: str) -> tuple[list[str], dict[str, list[Member]]]:
        """The classes of a word; and what it begins of classes, by the word that must follow."""
        alone: list[str] = []
        longer: dict[str, list[Member]] = defaultdict(list)
        for form in forms(word):
            for rest, name in self.heads.get(form, ()):
                if rest:
                    longer[rest[0]].append((rest, name))
                else:
                    alone.append(name)
        return alone, longer

    def _members(self, words: Sequence[str]) -> Iterator[tuple[str, Span]]:
        """Every member of a class in a text, with its place."""
        for i, word in enumerate(words):
            alone, longer = self.opened(word)
            for name in alone:
                yield name, (i, i + 1)
            if longer and i + 1 < len(words):
                for form in forms(words[i + 1]):
                    for rest, name in longer.get(form, ()):
                        if _follow(words, i + 1, rest):
                            yield name, (i, i + 1 + len(rest))

    def _capitals(self, pattern: re.Pattern[str], text: str, tokens: Sequence[Token]) -> list[int]:
        """The words of no class that are written like a name.

        A plural that opens a sentence is none ("Groundhogs ate ..."), nor is a text in capitals.
        """
        found = []
        for i, token in enumerate(tokens):
            if token.opens or any(self.opened(token.text)):
                continue
            if pattern.fullmatch(text, token.start, token.end):
                opens = i == 0 or tokens[i - 1].text in ENDS
                if not (opens and text[token.end - 1] == "s" and pattern is NAME):
                    found.append(i)
        return found

    def _names(
        self, text: str, tokens: Sequence[Token], found: Sequence[tuple[str, Span]]
    ) -> Iterator[tuple[str, Span]]:
        """Names of people: "Maya has licked", "Maya's hand"."""
        acts = {span[0] for name, span in found if name in self.acts}
        helping = {i for name, span in found if name == HELPING for i in range(*span)}
        for i in self._capitals(NAME, text, tokens):
            after = i + 1
            while after in helping and after not in acts:
                after += 1
            if after in acts:
                yield PERSON, (i, i + 1)
        for i in self._capitals(OWNER, text, tokens):
            yield WHOSE, (i, i + 1)

    def _where(self, text: str, tokens: Sequence[Token]) -> dict[str, list[Span]]:
        """Where each class of words stands, but for words that are used in another sense."""
        found = list(self._members([token.text for token in tokens]))
        found += self._names(text, tokens, found)
        taken = {i for name, span in found if name == OTHER_SENSE for i in range(*span)}
        where: dict[str, set[Span]] = defaultdict(set)
        for name, span in found:
            if name != OTHER_SENSE and taken.isdisjoint(range(*span)):
                where[name].add(span)
        if where:
            ends = [i for i, token in enumerate(tokens) if token.text in ENDS]
            where[START] = {(i, i) for i in (0, *(i + 1 for i in ends)) if i < len(tokens)}
            where[END] = {(i, i) for i in (*ends, len(tokens)) if i}
        return {name: sorted(spans) for name, spans in where.items()}

    def _heard(
        self,
        concern_id: str,
        pattern: Pattern,
        text: str,
        tokens: Sequence[Token],
        where: Mapping[str, list[Span]],
        no: Collection[int],
    ) -> Heard | None:
        """The first place where a pattern of a concern is told, or None."""
        concern = self.concerns[concern_id]
        barred = {i for name in concern.bars for span in where.get(name, ()) for i in range(*span)}
        denied = set() if concern.of == "question" else set(no)
        search = _Search(pattern, tokens, where, barred | denied, concern.reach)
        for spans in search.places():
            first, last = spans[0][0], spans[-1][1]
            if self._before(first, where) not in denied and not self._spoken_against(
                concern, where, first, last
            ):
                return Heard(
                    concern_id,
                    text[tokens[first].start : tokens[last - 1].end],
                    self._taken(concern, pattern, spans, tokens, where),
                )
        return None

    @staticmethod
    def _before(first: int, where: Mapping[str, list[Span]]) -> int:
        """The token before a concern, but for helping verbs: "nobody has been stung"."""
        helping = {i for span in where.get(HELPING, ()) for i in range(*span)}
        before = first - 1
        while before in helping:
            before -= 1
        return before

    @staticmethod
    def _spoken_against(
        concern: Concern, where: Mapping[str, list[Span]], first: int, last: int
    ) -> bool:
        return any(
            first - AROUND <= start < last + AROUND
            for name in concern.unless
            for start, _ in where.get(name, ())
        )

    def _taken(
        self,
        concern: Concern,
        pattern: Pattern,
        spans: Sequence[Span],
        tokens: Sequence[Token],
        where: Mapping[str, list[Span]],
    ) -> frozenset[int]:
        """Where the words start that tell the concern and no thing; none of one of the garden."""
        if concern.of == "garden":
            return frozenset()
        return frozenset(
            tokens[i].start
            for element, span in zip(pattern.elements, spans, strict=True)
            if not any(span in where.get(name, ()) for name in element & self.things)
            for i in range(*span)
        )


class _Search:
    """The places of one pattern in one text."""

    def __init__(
        self,
        pattern: Pattern,
        tokens: Sequence[Token],
        where: Mapping[str, list[Span]],
        barred: AbstractSet[int],
        reach: int,
    ) -> None:
        self.pattern, self.tokens, self.barred, self.reach = pattern, tokens, barred, reach
        self.spans = [
            sorted({span for name in element for span in where.get(name, ())})
            for element in pattern.elements
        ]

    def places(self) -> Iterator[tuple[Span, ...]]:
        """Every place, one for each start."""
        for span in self.spans[0]:
            found = self._onward((span,))
            if found:
                yield found

    def _onward(self, so_far: tuple[Span, ...]) -> tuple[Span, ...] | None:
        """The rest of the pattern after what was found of it, nearest words first."""
        n = len(so_far)
        if n == len(self.spans):
            return so_far
        end = so_far[-1][1]
        for span in self.spans[n]:
            if span[0] >= end and self._near(end, span[0], self.pattern.loose[n]):
                found = self._onward((*so_far, span))
                if found:
                    return found
        return None

    def _near(self, start: int, stop: int, loose: bool) -> bool:
        """Whether only so many words stand between as may, and none that is barred."""
        if not loose:
            return start == stop
        if stop - start > self.reach:
            return False
        marks = [t.text in ENDS for t in self.tokens[start:stop]]
        width = sum(
            PAUSE * (not before) if ends else 1 for before, ends in pairwise([False, *marks])
        )
        return width <= self.reach and self.barred.isdisjoint(range(start, stop))


def _follow(words: Sequence[str], i: int, rest: Words) -> bool:
    """Whether the words of a text, from i on, are these."""
    if i + len(rest) > len(words):
        return False
    return all(word in forms(words[i + k]) for k, word in enumerate(rest))
