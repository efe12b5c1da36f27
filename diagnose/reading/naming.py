"""Which crops a text names, and what the name of a crop stands for.

"Holes in my tomatoes" are in the fruit, "holes in my lettuce" in the leaves: a name stands for the
plant, and for the part that is first to be eaten. Where its clause names a part, as in "holes in
the leaves of my tomatoes", it only tells whose part that is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import msgspec

from diagnose.kb.model import Words
from diagnose.reading.keys import CLASS, NO_KEYS, PART, SELF, Element, Keys, very

if TYPE_CHECKING:
    from diagnose.reading.words import Lexicon, Token

BARE = CLASS + "crop"  # the class that the name of a crop is never taken out of
OTHER = CLASS + "other"  # the name of another crop than the text is about
LIKEWISE = CLASS + "likewise"  # the name of another crop of which the same is said
CROPS = CLASS + "crops"  # the last of several crops of which the same is said
SEVERAL = frozenset({OTHER, LIKEWISE, CROPS})
MADE = tuple(sorted(key.removeprefix(CLASS) for key in SEVERAL))  # classes told by the sentence
AND = frozenset({"and", "or", "&"})


class Classes(msgspec.Struct, frozen=True):
    """The classes of words: those of a key, and those of each name of a crop.

    `crops` are the crops by their names, `heads` the first words of these, `stands` the classes of
    each crop; `parts` the keys of the words that name a part of a plant, `owned` those before which
    a name tells only whose it is, `namesakes` those of creatures that go by a crop's name;
    `of_part` are the classes that name a part, `names_part` all of these.
    """

    of_key: dict[str, Element]
    crops: dict[str, str]
    heads: Element
    stands: dict[str, Element]
    parts: Element
    owned: Element
    namesakes: Element
    of_part: dict[str, Element]
    names_part: Element

    @classmethod
    def of(
        cls,
        words: Words,
        keys: Keys,
        crops: Mapping[str, tuple[str, ...]],
        eaten: Mapping[str, tuple[str, ...]],
    ) -> Classes:
        """From the words of a knowledge, the names of its crops and the part first eaten."""
        of_key: dict[str, set[str]] = {}
        parts: set[str] = set()
        of_part: dict[str, set[str]] = {}
        for name, found in words.classes.items():
            members = keys.of_each(found.words)
            for key in members:
                of_key.setdefault(key, set()).add(CLASS + name)
            if found.crops != "all":
                parts |= members
                for part in found.crops:
                    of_part.setdefault(part, set()).add(CLASS + name)
        stands = {
            crop: frozenset(
                CLASS + name
                for name, found in words.classes.items()
                if found.crops == "all" or set(found.crops) & set(eaten[crop])
            )
            for crop in crops
        }
        by_name = _named(crops)
        return cls(
            {key: frozenset(found) for key, found in of_key.items()},
            by_name,
            frozenset(SELF + name.split()[0] for name in by_name),
            stands,
            frozenset(parts),
            keys.of_each((*words.parts, *words.namesakes)),
            keys.of_each(words.namesakes),
            {part: frozenset(names) for part, names in of_part.items()},
            frozenset().union(*of_part.values()),
        )


def _named(crops: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """The crops by each of their names, in one and in many; of two crops of one name the first."""
    found: dict[str, str] = {}
    for crop, names in crops.items():
        for name in (names[0], crop.replace("-", " "), *names[1:]):
            *first, last = PART.findall(name.lower().replace("'", ""))
            for form in very(last):
                found.setdefault(" ".join((*first, form.removeprefix(SELF))), crop)
    return found


MOST = 4  # words of a name
SHORT = 8  # words of a piece at most that may be no more than the first of several names
OWNERS = frozenset({"the", "my", "our", "some", "all", "both", "also"})
VERBS = frozenset(
    {
        "is", "are", "was", "were", "has", "have", "had", "do", "does", "did", "got", "get", "look",
        "looks", "seem", "seems", "went", "turned", "turn", "keep", "came", "come", "grew", "grow",
    }
)  # fmt: skip


def named(classes: Classes, tokens: list[Token]) -> list[Token]:
    """Tokens with the crops that they name, and what these names stand for."""
    found = list(tokens)
    i = 0
    while i < len(found):
        size, crop = _at(classes, found, i)
        if crop:
            last = i + size - 1
            after = found[last + 1].keys if last + 1 < len(found) else NO_KEYS
            stands = classes.stands[crop] if classes.owned.isdisjoint(after) else {BARE}
            for k in range(i, last):
                found[k] = found[k]._replace(keys=very(found[k].text))
            keys = _itself(found[last].keys).union(stands)
            found[last] = found[last]._replace(crop=crop, keys=keys)
        i += size
    return found


def _itself(keys: Element) -> Element:
    """The keys of a name without the classes that its words have otherwise."""
    return frozenset(key for key in keys if key[0] != CLASS)


def _at(classes: Classes, tokens: Sequence[Token], i: int) -> tuple[int, str | None]:
    """How many tokens from i on name a crop, and which; 1 and None where they name none."""
    if classes.heads.isdisjoint(very(tokens[i].text)):
        return 1, None
    for size in range(min(MOST, len(tokens) - i), 0, -1):
        words = [token.text for token in tokens[i : i + size]]
        for form in very(words[-1]):
            crop = classes.crops.get(" ".join((*words[:-1], form.removeprefix(SELF))))
            if crop:
                return size, crop
    return 1, None


def owners(lexicon: Lexicon, tokens: Sequence[Token], cut: Iterable[Sequence[int]]) -> list[Token]:
    """A sentence, cut into pieces, where a name may tell no more than whose part it is."""
    found = list(tokens)
    parts = lexicon.classes.parts
    for piece in cut:
        if any(not tokens[i].crop and not tokens[i].keys.isdisjoint(parts) for i in piece):
            for i in piece:
                if tokens[i].crop:
                    found[i] = tokens[i]._replace(keys=_itself(tokens[i].keys) | {BARE})
    return found


def pieces(
    lexicon: Lexicon, tokens: Sequence[Token], clauses: Iterable[list[int]]
) -> Iterator[list[int]]:
    """The pieces of clauses that 'and' parts.

    One that holds no more than names goes with the piece before it, and where there is none with
    the one after: "Tomatoes: spots on the leaves", "Beans, peas and kale did well".
    """
    piece: list[int] = []
    for part in _parted(tokens, clauses):
        if piece and not _bare(lexicon, tokens, piece) and not _bare(lexicon, tokens, part):
            yield piece
            piece = []
        piece = [*piece, *part]
    if piece:
        yield piece


def _parted(tokens: Sequence[Token], clauses: Iterable[list[int]]) -> Iterator[list[int]]:
    for clause in clauses:
        part: list[int] = []
        for i in clause:
            if tokens[i].text in AND:
                if part:
                    yield part
                part = []
            else:
                part.append(i)
        if part:
            yield part


def _bare(lexicon: Lexicon, tokens: Sequence[Token], piece: Sequence[int]) -> bool:
    """Whether a piece names crops and says nothing of them."""
    if not any(tokens[i].crop for i in piece):
        return False
    telling = [i for i in piece if weighty(tokens[i])]
    if any(lexicon.listed(tokens, i, "fine") for i in piece):
        return False
    return all(tokens[i].crop for i in telling)


def others(
    lexicon: Lexicon, tokens: Sequence[Token], cut: Iterable[Sequence[int]], crop: str | None
) -> list[Token]:
    """A sentence with the names of crops other than the one it is about marked as such.

    Those of which the same is said, as by 'too', and the last of several that share what is said,
    are marked as that beside.
    """
    found = list(tokens)
    for piece in cut:
        names = [i for i in piece if tokens[i].crop and not _likened(lexicon, tokens, i)]
        apart = any(lexicon.listed(tokens, i, n) for i in piece for n in ("fine", "past"))
        alike = not apart and any(lexicon.listed(tokens, i, "alike") for i in piece)
        for i in names:
            if crop and tokens[i].crop != crop:
                marks = {OTHER, LIKEWISE} if alike else {OTHER}
                found[i] = found[i]._replace(keys=found[i].keys | marks)
        near = any(_before(lexicon, tokens, i, "beside") for i in names)
        if len({tokens[i].crop for i in names}) > 1 and not apart and not near:
            found[names[-1]] = found[names[-1]]._replace(keys=found[names[-1]].keys | {CROPS})
    return found


def of_another(
    lexicon: Lexicon, tokens: Sequence[Token], cut: Iterable[Sequence[int]], crop: str
) -> frozenset[int]:
    """The tokens of the pieces of a sentence that are about another crop than the one told of.

    A piece is about the crop that it names, or else about that of the piece before it. A name that
    goes on with others ("beans and peas came up"), that stands only near, or to which something is
    likened, is not one of its own; nor where the same is said of both.
    """
    found: set[int] = set()
    elsewhere = False
    before: Sequence[int] = ()
    for piece in cut:
        names = [i for i in piece if tokens[i].crop and _subject(lexicon, tokens, i)]
        if names:
            alike = len({tokens[i].crop for i in names}) == 1 and any(
                lexicon.listed(tokens, i, "alike") for i in piece
            )
            mine = any(tokens[i].crop == crop for i in names)
            more = not elsewhere and _goes_on(tokens, before, piece)
            elsewhere = not (alike or mine or more)
        if elsewhere:
            found.update(piece)
        before = piece
    return frozenset(found)


def _goes_on(tokens: Sequence[Token], before: Sequence[int], piece: Sequence[int]) -> bool:
    """Whether a piece goes on with the names of the one before, and says nothing of its own.

    So where the first says nothing yet ("my beans | and peas came up"), or the second begins with a
    name before it does ("spots on beans | and peas came up"), or only adds one ("it ate my beans |
    and peas"); not where both tell a thing: "spots on my beans | and holes in my kale".
    """
    if not any(tokens[i].crop for i in before):
        return False
    says, says_more = (any(tokens[i].text in VERBS for i in part) for part in (before, piece))
    first = next(i for i in piece if tokens[i].text not in OWNERS)
    listed = bool(tokens[before[-1]].crop and tokens[first].crop)
    if not says and len(before) <= SHORT:
        return listed or not _tells(tokens, before)
    return listed and not says_more


def _tells(tokens: Sequence[Token], piece: Sequence[int]) -> bool:
    """Whether a piece has words that tell something beside names."""
    return any(tokens[i].crop is None and weighty(tokens[i]) for i in piece)


def weighty(token: Token) -> bool:
    """Whether a word has more than its very self to be found by."""
    return any(key[0] not in (SELF, CLASS) for key in token.keys)


def _subject(lexicon: Lexicon, tokens: Sequence[Token], i: int) -> bool:
    """Whether a name tells of a plant: 'pea green beetles' and 'squash bugs' do not."""
    after = tokens[i + 1].keys if i + 1 < len(tokens) else NO_KEYS
    aside = lexicon.describing | lexicon.classes.namesakes
    near = _before(lexicon, tokens, i, "beside")
    return not near and not _likened(lexicon, tokens, i) and after.isdisjoint(aside)


def crops(
    lexicon: Lexicon, sentences: Iterable[tuple[Sequence[Token], Iterable[Sequence[int]]]]
) -> list[str]:
    """The crops that a text names, the one it is about first; of each sentence with its pieces.

    Those to which something is only likened are left out; those that only stand near, or are said
    to be well, come last.
    """
    first: dict[str, None] = {}
    later: dict[str, None] = {}
    for tokens, cut in sentences:
        for piece in cut:
            fine = any(lexicon.listed(tokens, i, "fine") for i in piece)
            for i in piece:
                crop = tokens[i].crop
                if crop and not _likened(lexicon, tokens, i):
                    aside = fine or _before(lexicon, tokens, i, "beside")
                    after = tokens[i + 1].keys if i + 1 < len(tokens) else NO_KEYS
                    aside = aside or not after.isdisjoint(lexicon.classes.namesakes)
                    (later if aside else first)[crop] = None
    return list(first | later)


def _likened(lexicon: Lexicon, tokens: Sequence[Token], i: int) -> bool:
    after = i + 1 < len(tokens) and lexicon.listed(tokens, i + 1, "sized") > 0
    return after or _before(lexicon, tokens, i, "likened")


def _before(lexicon: Lexicon, tokens: Sequence[Token], i: int, name: str) -> bool:
    """Whether a member of a word list ends right before token i, or one small word before it."""
    return any(
        (size := lexicon.listed(tokens, start, name)) > 0 and i - (start + size) in (0, 1)
        for start in range(max(0, i - 4), i)
    )
