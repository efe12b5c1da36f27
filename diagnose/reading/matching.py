"""Finding the phrases of the knowledge in a sentence, and what turns them round or aside."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import accumulate, dropwhile, pairwise

from diagnose.reading.keys import Element
from diagnose.reading.phrases import Phrase
from diagnose.reading.words import Lexicon, Token

SLACK = 6  # words of any kind that may stand between the words of a phrase, beside its own
BESIDE = 2  # words that may stand between the two words of a phrase on a condition, of any kind
CLOSELY = 3  # words from a negator to a word of a phrase that has it
ITEM = 4  # words in one item of a list
REACH = 6  # words after a negator that it can still turn round
GUESS = 4  # words of a question at most that is no more than a guess: "Slugs or snails?"
HARD = frozenset(".!?;")
JOINS = frozenset({"and", "or", ",", "with", "plus"})
PAUSE = frozenset({",", ":", "\n", "(", ")", "--", "—"})
GARDENER = frozenset({"i", "ive", "we", "weve"})
LEADS = frozenset({"so", "and", "or", "but", "then", "also", "ok", "please"})  # to a question
DEFINITE = frozenset({"the", "these", "those", "this", "that", "my", "our", "its", "their"})
GIVEN = frozenset({"with", "that", "which", "who", "whose", "where"})  # they tell of a thing


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase found in a sentence, at these tokens."""

    phrase: Phrase
    tokens: frozenset[int]

    @property
    def ordered(self) -> bool:
        """Whether it is told by the order of words."""
        return not self.phrase.elements

    @property
    def order(self) -> tuple[int, int, int]:
        """Longest first, then tightest, then first."""
        first, last = min(self.tokens), max(self.tokens)
        return (-len(self.tokens), last - first, first)


def sentences(tokens: Sequence[Token]) -> Iterator[list[Token]]:
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


def mark_negation(lexicon: Lexicon, tokens: list[Token]) -> list[Token]:
    """The tokens with those turned round by a negator marked.

    What was looked for is turned round too where a negator follows: "looked for slugs, found none".
    """
    opens = [i for i, token in enumerate(tokens) if token.opens]
    negators = {i: n for i in opens if (n := lexicon.listed(tokens, i, "negators"))}
    if not negators:
        return tokens
    sought = next((i for i in opens if lexicon.listed(tokens, i, "sought")), None)
    last_no = max(negators)
    lists = _lists_going_on(tokens)
    result: list[Token] = []
    reach = 0
    i = 0
    while i < len(tokens):
        token = tokens[i]
        size = negators.get(i, 0)
        if size:
            result += [t._replace(negator=True) for t in tokens[i : i + size]]
            reach = REACH
            i += size
            continue
        paused = token.text in PAUSE and i not in lists
        if paused or lexicon.listed(tokens, i, "breaks"):
            reach = 0
        vain = sought is not None and sought < i < last_no
        result.append(token._replace(negated=True) if reach > 0 or vain else token)
        reach -= not token.mark
        i += 1
    return result


def _lists_going_on(tokens: Sequence[Token]) -> set[int]:
    """The commas that stand inside a list that ends in 'or' or 'nor', each item of few words."""
    found: set[int] = set()
    ends_well, after = False, ITEM + 1  # what comes next that ends the list, and how far off
    for i in range(len(tokens) - 1, -1, -1):
        token = tokens[i]
        if token.text in ("or", "nor"):
            ends_well, after = True, 0
        elif token.text == ",":
            if ends_well and after <= ITEM:
                found.add(i)
            ends_well, after = i in found, 0
        elif token.mark:
            ends_well = False
        else:
            after += 1
    return found


def found(lexicon: Lexicon, tokens: Sequence[Token]) -> list[Match]:
    """The phrases in one sentence, and what its order tells, longest first."""
    sentence = Keyed(tokens)
    phrases = lexicon.within(sentence.where)
    matches = [match for phrase in phrases if (match := placed(phrase, sentence))]
    matches += [Match(pattern, at) for pattern, at in lexicon.order.found(tokens)]
    return sorted(matches, key=lambda m: (m.order, m.phrase.target))


def best(lexicon: Lexicon, tokens: Sequence[Token], matches: Iterable[Match]) -> list[Match]:
    """Of the phrases in one sentence, longest first, those that lie inside no longer one."""
    kept: list[Match] = []
    needed: set[int] = set()  # words that a better match on a symptom needs
    for match in matches:
        kind, ident = match.phrase.target[:2]
        alike = [other for other in kept if other.phrase.target[0] == kind]
        inside = any(match.tokens < other.tokens for other in alike)
        same = any(
            match.tokens == other.tokens and ident == other.phrase.target[1] for other in alike
        )
        if inside or same or _straddles(match, needed, tokens, lexicon.describing):
            continue
        kept.append(match)
        if kind == "symptom":
            needed |= match.tokens
    return kept


class Keyed:
    """The tokens of a sentence, where each key stands in it, and its length up to each token."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self.where: dict[str, list[int]] = defaultdict(list)
        for i, token in enumerate(tokens):
            for key in token.keys:
                self.where[key].append(i)
        self.negators = [i for i, token in enumerate(tokens) if token.negator]
        # a pause counts for three words
        self._lengths = list(accumulate((3 if t.mark else 1 for t in tokens), initial=0))

    def places(self, element: Element) -> list[int]:
        """Where a word of a phrase stands, in order."""
        if len(element) == 1:
            (key,) = element
            return self.where.get(key, [])
        return sorted({i for key in element for i in self.where.get(key, ())})

    def width(self, chosen: Collection[int]) -> int:
        """The words from the first of these to the last."""
        return self._lengths[max(chosen) + 1] - self._lengths[min(chosen)]


def _straddles(
    match: Match, needed: AbstractSet[int], tokens: Sequence[Token], describing: AbstractSet[str]
) -> bool:
    """Whether a describing word of a match reaches across a word that a better match needs.

    So does 'pale' in 'pale trails in the leaves': it belongs to the nearest, unless 'and' or a
    pause parts them.
    """
    for left, right in pairwise(sorted(match.tokens)):
        if right == left + 1 or tokens[left].keys.isdisjoint(describing):
            continue
        for i in range(left + 1, right):
            if tokens[i].text in JOINS:
                break
            if i in needed and i not in match.tokens:
                return True
    return False


def placed(phrase: Phrase, sentence: Keyed) -> Match | None:
    """The tightest place in the sentence of a phrase each word of which is there, or None."""
    places = list(map(sentence.places, phrase.elements))
    if phrase.negative:
        places.append(sentence.negators)
    best = _tightest(places, sentence)
    if best is None:
        return None
    width = sentence.width(best)
    if width > len(best) + _between(phrase, len(best)):
        return None
    if phrase.negative and not _closely_negated(phrase, best):
        return None
    if phrase.target[0] == "cause" and width > len(best):
        return None
    return Match(phrase, frozenset(best))


def _tightest(places: Sequence[Sequence[int]], sentence: Keyed) -> list[int] | None:
    """A token from each of some lists of places, all different, as near together as can be.

    The others are those nearest to one of the shortest list.
    """
    best: list[int] | None = None
    least = 0
    order = sorted(range(len(places)), key=lambda n: len(places[n]))
    for first in places[order[0]]:
        chosen = [first]
        for at in (places[n] for n in order[1:]):
            nearest = _nearest(at, first, chosen)
            if nearest is None:
                break
            chosen.append(nearest)
        else:
            width = sentence.width(chosen)
            if best is None or width < least:
                best, least = chosen, width
    return best and [token for _, token in sorted(zip(order, best, strict=True))]


def _nearest(at: Sequence[int], place: int, taken: Collection[int]) -> int | None:
    """Of some places in order, the one nearest to a place that is not taken; of two, the first."""
    low, tried = bisect_left(at, place), len(taken) + 1
    free = (i for i in reversed(at[max(low - tried, 0) : low]) if i not in taken)
    before = next(free, None)
    after = next((i for i in at[low : low + tried] if i not in taken), None)
    if before is None or after is None:
        return after if before is None else before
    return before if place - before <= after - place else after


def _between(phrase: Phrase, size: int) -> int:
    """How many words may stand between those of a phrase.

    Of weather, soil and what was done people speak in set phrases, so two words of one stand close.
    """
    return BESIDE if phrase.condition and size == 2 else size + SLACK


def _closely_negated(phrase: Phrase, chosen: Sequence[int]) -> bool:
    """Whether the word that a phrase denies follows the negator closely; any, if it names none."""
    *words, no = chosen
    said = words if phrase.denied is None else [words[phrase.denied]]
    return any(0 < i - no <= CLOSELY for i in said)


def asides(
    lexicon: Lexicon,
    tokens: Sequence[Token],
    clauses: Sequence[Sequence[int]],
    matches: Sequence[Match],
    crop: str | None,
    alone: bool = True,
) -> tuple[set[int], set[int]]:
    """Tokens not about the sick plant (other crops, guesses), and tokens about past years.

    `alone` is whether the sentence is all that was said; then a question too tells what is seen.
    """
    aside: set[int] = set()
    past: set[int] = set()
    asked = tokens[-1].text == "?" and not alone
    if asked and sum(not token.mark for token in tokens) <= GUESS:
        return set(range(len(tokens))), past
    named = {i for m in matches if m.phrase.target[0] == "cause" for i in m.tokens}
    for part in clauses:
        here = {crop for i in part if (crop := tokens[i].crop)}
        opens = [i for i in part if tokens[i].opens]
        fine = any(lexicon.listed(tokens, i, "fine") for i in opens)
        if crop and here and crop not in here and fine:
            aside |= set(part)
        if any(lexicon.listed(tokens, i, "past") for i in opens):
            past |= set(part)
        hedge = [i for i in opens if lexicon.listed(tokens, i, "hedges")]
        if hedge or asked:
            aside |= {i for i in part if i in named and (asked or i >= hedge[0])}
    return aside, past


def asked(lexicon: Lexicon, tokens: Sequence[Token], clauses: Iterable[Sequence[int]]) -> set[int]:
    """Tokens of what is asked for, as what to do, and not told: 'should I water more'.

    It goes from the opening of a clause to its end, or to what tells more of what is asked about.
    """
    found: set[int] = set()
    for part in clauses:
        rest = [*dropwhile(lambda i: tokens[i].text in LEADS, part)]
        if rest and (size := lexicon.listed(tokens, rest[0], "asks")):
            told = (k for k, i in enumerate(rest) if k >= size and tokens[i].text in GIVEN)
            found.update(rest[: next(told, len(rest))])
    return found


def is_definite(tokens: Sequence[Token], match: Match) -> bool:
    """Whether a match begins with a thing that is taken as known: 'the yellow leaves'."""
    first = min(match.tokens)
    return first > 0 and tokens[first - 1].text in DEFINITE


def of_the_gardener(tokens: Sequence[Token], match: Match) -> bool:
    """Whether a phrase denies what the gardener does, 'I never grew it', and nothing of a plant."""
    before = (tokens[i - 1] for i in match.tokens if i and tokens[i].negator)
    return match.phrase.negative and any(token.text in GARDENER for token in before)


def turned_round(tokens: Sequence[Token], match: Match) -> bool | None:
    """Whether a negator turns a match round: it reaches a word of it, and every later word too.

    What stands before it is what it is said of: "the leaves have no spots". Where it reaches only
    the first words, as in "no spots, leaves fine", the match is of two minds: None.
    """
    said = [tokens[i].negated for i in sorted(match.tokens)]
    if not any(said):
        return False
    return True if all(said[said.index(True) :]) else None


def says_past(lexicon: Lexicon, tokens: Sequence[Token], match: Match) -> bool:
    """Whether a match itself speaks of a past time, as 'beans here last year' does."""
    return any(lexicon.listed(tokens, i, "past") for i in match.tokens)


def segments(lexicon: Lexicon, tokens: Sequence[Token]) -> Iterator[list[int]]:
    """The stretches of a sentence between pauses and breaks, as token numbers.

    No question is broken in its first words: 'do I have to'.
    """
    part: list[int] = []
    opening = -1  # the last token of the opening of a question
    for i, token in enumerate(tokens):
        opening = max(opening, i + lexicon.listed(tokens, i, "asks") - 1)
        breaks = token.opens and i > opening and lexicon.listed(tokens, i, "breaks")
        if token.text in PAUSE or breaks:
            if part:
                yield part
            part = []
        else:
            part.append(i)
    if part:
        yield part
