"""A text taken apart: its sentences and clauses, the phrases found, and what became of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from diagnose.inputs import Said
from diagnose.kb.model import ABSENT, DENIED, Symptom
from diagnose.reading.concerns import Heard
from diagnose.reading.keys import NO_KEYS
from diagnose.reading.matching import (
    Keyed,
    Match,
    asked,
    best,
    found,
    is_definite,
    mark_negation,
    of_the_gardener,
    placed,
    says_past,
    segments,
    sentences,
    turned_round,
)  # fmt: skip
from diagnose.reading.matching import asides as asides_of
from diagnose.reading.naming import (
    SEVERAL,
    crops,
    of_another,
    others,
    owners,
    pieces,
    weighty,
)
from diagnose.reading.phrases import Phrase
from diagnose.reading.words import Lexicon, Token

GUESSED = "a culprit that is only guessed at"
NAMED = "a culprit that is named, and no sign"
OF_ANOTHER = "said of another plant that is well, or a bare guess"
OF_THE_OTHER = "said of another plant"
NO_SUCH_PART = "this plant has no such part"
OTHER_PART = "the clause names another part"
INSIDE = "a longer or nearer phrase has these words"
BY_NAME = "it reaches into another clause for the name of another crop"
OF_THE_PAST = "said of past years"
ASKED = "asked, and not told"
OF_THE_GARDENER = "denied of the gardener, not of the plant"
TWO_MINDS = "only its first words are denied"
DENIES_NOTHING = "a denial that is denied says nothing"


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence with its clauses and their pieces, as token numbers."""

    tokens: list[Token]
    clauses: list[list[int]]
    pieces: list[list[int]]
    beside: frozenset[int]  # tokens that are about a concern
    asked: frozenset[int]  # tokens of what is asked, and not told
    another: frozenset[int]  # tokens of what is said of another plant


@dataclass(frozen=True, slots=True)
class Finding:
    """A phrase found in a sentence: what it says there, or why it says nothing.

    `value` is None where it says nothing; `why` tells the reason.
    """

    sentence: int
    match: Match
    value: str | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """A text cut up: the crops that it names, the one it is about, its concerns and sentences."""

    named: tuple[str, ...]
    crop: str | None
    concerns: Sequence[Heard]
    sentences: list[Sentence]


@dataclass(frozen=True, slots=True)
class Apart(Cut):
    """A text taken apart: also what was found in its sentences."""

    findings: list[Finding]


def cut_up(lexicon: Lexicon, text: Said, crop: str | None = None) -> Cut:
    """A text about one crop, or about the first that it names, cut into sentences and clauses."""
    words, concerns = lexicon.heard(text)
    elsewhere = {start for heard in concerns for start in heard.taken}
    about = [t._replace(keys=NO_KEYS) if t.start in elsewhere else t for t in words]
    cut = []
    for tokens in sentences(about):
        clauses = list(segments(lexicon, tokens))
        parted = list(pieces(lexicon, tokens, clauses))
        cut.append((owners(lexicon, tokens, parted), clauses, parted))
    named = crops(lexicon, ((tokens, parted) for tokens, _, parted in cut))
    crop = crop or (named[0] if named else None)
    found = []
    for tokens, clauses, parted in cut:
        marked = mark_negation(lexicon, others(lexicon, tokens, parted, crop))
        beside = frozenset(i for i, token in enumerate(marked) if token.start in elsewhere)
        unsaid = frozenset(asked(lexicon, marked, clauses))
        told = crop in named  # else all may be said of it by another name
        another = of_another(lexicon, marked, parted, crop) if crop and told else frozenset()
        found.append(Sentence(marked, clauses, parted, beside, unsaid, another))
    return Cut(tuple(named), crop, concerns, found)


def taken_apart(lexicon: Lexicon, text: Said, crop: str | None = None) -> Apart:
    """A text about one crop, or about the first that it names, with every phrase found in it."""
    cut = cut_up(lexicon, text, crop)
    alone = len(cut.sentences) == 1
    findings = [
        finding
        for number, sentence in enumerate(cut.sentences)
        for finding in _findings(lexicon, number, sentence, cut.crop, alone)
    ]
    return Apart(cut.named, cut.crop, cut.concerns, cut.sentences, findings)


def tried(lexicon: Lexicon, cut: Cut, phrase: Phrase) -> Iterator[Finding]:
    """What one phrase, which need not be of the knowledge, would say in a text."""
    for number, sentence in enumerate(cut.sentences):
        match = placed(phrase, Keyed(sentence.tokens))
        symptom = lexicon.knowledge.symptoms.get(phrase.target[1])
        if match is None:
            continue
        if symptom is None:
            yield Finding(number, match, phrase.target[2])
        elif not _impossible(lexicon, sentence, match, cut.crop):
            yield _turned(number, sentence.tokens, match, phrase.target[2], symptom)


def _findings(
    lexicon: Lexicon, number: int, sentence: Sentence, crop: str | None, alone: bool
) -> Iterator[Finding]:
    """What became of each phrase found in a sentence."""
    tokens = sentence.tokens
    possible: list[Match] = []
    for match in found(lexicon, tokens):
        why = _impossible(lexicon, sentence, match, crop)
        if why:
            yield Finding(number, match, None, why)
        else:
            possible.append(match)
    ordered = [m for m in possible if m.ordered]
    plain = [m for m in possible if not m.ordered and not _of_others(m)]
    matches = best(lexicon, tokens, plain)
    # beside what is said of the plant itself: where, how fast, and what is said of others
    matches += best(lexicon, tokens, ordered)
    matches += filter(_of_others, possible)
    yield from (Finding(number, m, None, INSIDE) for m in possible if m not in matches)
    asides, past = asides_of(lexicon, tokens, sentence.clauses, matches, crop, alone)
    for match in matches:
        kind, ident, *rest = match.phrase.target
        if kind == "cause":
            yield Finding(number, match, None, GUESSED if asides & match.tokens else NAMED)
        elif match.tokens <= asides and not _of_others(match):
            yield Finding(number, match, None, OF_ANOTHER)
        elif past & match.tokens and not says_past(lexicon, tokens, match):
            yield Finding(number, match, None, OF_THE_PAST)
        elif match.tokens & sentence.asked and not is_definite(tokens, match):
            yield Finding(number, match, None, ASKED)
        else:
            yield _turned(number, tokens, match, rest[0], lexicon.knowledge.symptoms[ident])


def _impossible(lexicon: Lexicon, sentence: Sentence, match: Match, crop: str | None) -> str:
    """Why a phrase cannot say here what it stands for; empty where it can."""
    kind, ident, *_ = match.phrase.target
    if kind != "symptom":
        return ""
    knowledge = lexicon.knowledge
    symptom = knowledge.symptoms[ident]
    if crop and not set(knowledge.crops[crop].parts).intersection(symptom.parts):
        return NO_SUCH_PART
    if crop and _across_to_another(sentence, match, crop):
        return BY_NAME
    if symptom.kind == "symptom" and _of_other_part(lexicon, sentence, match, symptom):
        return OTHER_PART
    if symptom.kind == "symptom" and of_the_gardener(sentence.tokens, match):
        return OF_THE_GARDENER
    if symptom.kind in ("symptom", "sign") and not match.tokens.isdisjoint(sentence.another):
        return OF_THE_OTHER
    return ""


def _across_to_another(sentence: Sentence, match: Match, crop: str) -> bool:
    """Whether a phrase reaches into another clause for the name of another crop."""
    others = {i for i in match.tokens if sentence.tokens[i].crop not in (None, crop)}
    if not others or _of_others(match):
        return False
    return not any(match.tokens <= set(clause) for clause in sentence.clauses)


def _turned(
    number: int, tokens: Sequence[Token], match: Match, value: str, symptom: Symptom
) -> Finding:
    """What a match says once it is turned round, where a negator does that."""
    turned = not match.phrase.negative and turned_round(tokens, match)
    if turned is None:
        return Finding(number, match, None, TWO_MINDS)
    if not turned:
        return Finding(number, match, value)
    if value == ABSENT or value.startswith(DENIED):
        return Finding(number, match, None, DENIES_NOTHING)
    return Finding(number, match, _denial(symptom, value))


def _denial(symptom: Symptom, value: str) -> str:
    """What a phrase turned round says. The forms of a pattern or a condition are a choice, so that
    to deny one leaves the others; of a symptom or a sign the whole is denied.
    """
    choice = value in symptom.values and symptom.kind in ("pattern", "condition")
    return DENIED + value if choice else ABSENT


def _of_others(match: Match) -> bool:
    """Whether a phrase itself speaks of other crops."""
    return any(not SEVERAL.isdisjoint(element) for element in match.phrase.elements)


def _of_other_part(lexicon: Lexicon, sentence: Sentence, match: Match, symptom: Symptom) -> bool:
    """Whether the pieces in which a match stands name parts, and none on which the symptom is."""
    classes = lexicon.classes
    wanted = {name for part in symptom.parts for name in classes.of_part.get(part, NO_KEYS)}
    if not all(part in classes.of_part for part in symptom.parts):
        return False
    there = {
        key
        for piece in sentence.pieces
        if not match.tokens.isdisjoint(piece)
        for i in piece
        if not sentence.tokens[i].crop
        for key in sentence.tokens[i].keys
        if key in classes.names_part
    }
    return bool(there) and there.isdisjoint(wanted)


@dataclass(frozen=True, slots=True)
class Ground:
    """Where the words of a text start that tell something of its plant, and those of others."""

    telling: frozenset[int] = frozenset()
    of_others: frozenset[int] = frozenset()


NO_GROUND = Ground()


def ground_of(lexicon: Lexicon, cut: Cut) -> Ground:
    """Where the words start that tell something: a part, a look, a creature, what happened.

    The name of the plant itself tells nothing, nor do words of a concern, of what is asked, or of
    another plant, nor those that say only that something is wrong (`general`).
    """
    found: set[int] = set()
    for sentence in cut.sentences:
        tokens = sentence.tokens
        empty = {*sentence.beside, *sentence.asked}
        empty.update(i for i in sentence.another if not tokens[i].crop)
        for i, token in enumerate(tokens):
            if i not in empty:
                empty.update(range(i, i + lexicon.listed(tokens, i, "general")))
            own = token.crop is not None and token.crop == cut.crop
            if i in empty or own or token.negator:
                continue
            if weighty(token) or token.crop:
                found.add(token.start)
    others = (s.tokens[i] for s in cut.sentences for i in s.another)
    return Ground(frozenset(found), frozenset(token.start for token in others))
