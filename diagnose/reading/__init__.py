"""A gardener's sentence to observations. docs/reading.md explains the steps.

The text is cut into sentences, the sentences into words, each word into keys: its stem, and the
groups of `words.yaml` that it belongs to. A phrase of the knowledge matches where each of its
words finds a key, near together in one sentence. The longest match wins over what lies inside it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from diagnose.inputs import Said
from diagnose.kb.model import ABSENT, AND, PRESENT
from diagnose.reading.apart import (
    GUESSED,
    NO_GROUND,
    Apart,
    Finding,
    Ground,
    Sentence,
    ground_of,
    taken_apart,
)  # fmt: skip
from diagnose.reading.concerns import Heard
from diagnose.reading.keys import stem
from diagnose.reading.matching import Match
from diagnose.reading.naming import weighty
from diagnose.reading.words import Lexicon, Token
from diagnose.reasoning.facts import TEXT, Observation

__all__ = ["Ground", "Heard", "Lexicon", "Reading", "concerns", "read", "stem"]

FEW = 4  # words that are too few to tell another language by

Strong: TypeAlias = tuple[tuple[float, int], Observation]  # how much a match says, and what


@dataclass(frozen=True, slots=True)
class Clause:
    """A clause as it was written, and the symptoms that phrases found in it."""

    text: str
    gave: frozenset[str]


@dataclass(frozen=True)
class Reading:
    """What a text says: the crop, the observations, the gardener's guesses, what was not used.

    `perhaps` are what it may say as well: too weak to count as understood, offered to be ticked.
    `named` are all crops that it names; `clauses` those that hold words of weight; `ground` is
    where words tell something; `of_others` are the clauses about another plant.
    """

    crop: str | None
    observations: list[Observation]
    guesses: list[str]
    clauses: tuple[Clause, ...] = ()
    named: tuple[str, ...] = ()
    perhaps: tuple[Observation, ...] = ()
    known_words: float = 1.0
    ground: Ground = NO_GROUND
    of_others: tuple[str, ...] = ()

    @property
    def unread(self) -> list[str]:
        """The clauses that gave nothing of what was understood or is offered."""
        shown = [*self.observations, *self.perhaps]
        symptoms = {seen.symptom for seen in shown}
        words = [part for seen in shown if seen.words for part in seen.words.split(" ... ")]
        return [
            clause.text
            for clause in self.clauses
            if symptoms.isdisjoint(clause.gave)
            and not any(part in clause.text or clause.text in part for part in words)
        ]

    @property
    def foreign(self) -> bool:
        """Whether most of the words are strange, as in another language."""
        return self.known_words < 0.4


def concerns(lexicon: Lexicon, text: str) -> Sequence[Heard]:
    """What a text is about beside the plant."""
    return lexicon.heard(text)[1]


def read(lexicon: Lexicon, text: Said, crop: str | None = None) -> Reading:
    """Read a text about one crop, or about the first crop it names."""
    return reading(lexicon, text, taken_apart(lexicon, text, crop))


def reading(lexicon: Lexicon, text: Said, apart: Apart) -> Reading:
    """What a text says that was taken apart."""
    guesses = (f.match.phrase.target[1] for f in apart.findings if f.why == GUESSED)
    return Reading(
        crop=apart.crop,
        observations=_observations(lexicon, text, apart),
        guesses=_at_home(lexicon, dict.fromkeys(guesses), apart.crop),
        clauses=tuple(_clauses(text, apart)),
        named=apart.named,
        known_words=_known_words(lexicon, apart),
        ground=ground_of(lexicon, apart),
        of_others=tuple(_of_others(text, apart)),
    )


def _observations(lexicon: Lexicon, text: str, apart: Apart) -> list[Observation]:
    """What the findings of a text say, the strongest of each symptom; of equal ones the first."""
    best: dict[str, dict[str, Strong]] = {}  # symptom -> value -> the strongest that says so
    for number, finding in enumerate(apart.findings, 1):
        if finding.value is not None:
            ident = finding.match.phrase.target[1]
            tokens = apart.sentences[finding.sentence].tokens
            words = quoted(text, tokens, finding.match)
            seen = _strength(finding, number), Observation(ident, finding.value, TEXT, words)
            values = best.setdefault(ident, {})
            values[finding.value] = max(values.get(finding.value, seen), seen, key=_how_strong)
    return [_together(lexicon, ident, found) for ident, found in best.items()]


def _strength(finding: Finding, number: int) -> tuple[float, int]:
    """How much a finding says: its words, and whether it tells a form; a denial says least."""
    form = {ABSENT: -2.0, PRESENT: 0.0}.get(finding.value or ABSENT, 0.75)
    return len(finding.match.tokens) + form, -number


def _how_strong(seen: Strong) -> tuple[float, int]:
    return seen[0]


def _known_words(lexicon: Lexicon, apart: Apart) -> float:
    """The share of the words of a text that are known; 1 where there are few."""
    words = [t for s in apart.sentences for t in s.tokens if not t.mark and t.text.isalpha()]
    known = sum(t.text in lexicon.small or stem(t.text) in lexicon.english for t in words)
    return known / len(words) if len(words) >= FEW else 1.0


def _together(lexicon: Lexicon, ident: str, found: dict[str, Strong]) -> Observation:
    """The strongest of what was read of a symptom; all its forms where they can hold together."""
    symptom = lexicon.knowledge.symptoms[ident]
    _, strongest = max(found.values(), key=lambda seen: seen[0])
    if not symptom.many or strongest.value not in symptom.values:
        return strongest
    told = [found[form][1] for form in symptom.values if form in found]
    words = dict.fromkeys(seen.words for seen in told)
    value = AND.join(seen.value for seen in told)
    return Observation(ident, value, TEXT, " ... ".join(words))


def quoted(text: str, tokens: Sequence[Token], match: Match) -> str:
    """The words of a match, from the first to the last."""
    first, last = tokens[min(match.tokens)], tokens[max(match.tokens)]
    return text[first.start : last.end]


def _clauses(text: str, apart: Apart) -> Iterator[Clause]:
    """The clauses of a text that hold words of weight and no concern, of the plant it is about.

    Guesses count as used.
    """
    found: dict[int, list[Finding]] = defaultdict(list)
    for finding in apart.findings:
        found[finding.sentence].append(finding)
    for number, sentence in enumerate(apart.sentences):
        here = found[number]
        used = {i for f in here if f.why == GUESSED for i in f.match.tokens} | sentence.beside
        for part in sentence.clauses:
            if _heavy(sentence, part) - sentence.another and used.isdisjoint(part):
                told = frozenset(
                    finding.match.phrase.target[1]
                    for finding in here
                    if finding.value is not None and not finding.match.tokens.isdisjoint(part)
                )
                yield Clause(_words(text, sentence, part), told)


def _of_others(text: str, apart: Apart) -> Iterator[str]:
    """What is said of another plant, a piece each."""
    for sentence in apart.sentences:
        for piece in sentence.pieces if sentence.another else ():
            if sentence.another.issuperset(piece) and _heavy(sentence, piece):
                yield _words(text, sentence, piece)


def _heavy(sentence: Sentence, part: Sequence[int]) -> set[int]:
    """The words of weight of a part of a sentence, but for names of crops."""
    tokens = sentence.tokens
    return {i for i in part if weighty(tokens[i]) and not tokens[i].crop}


def _words(text: str, sentence: Sentence, part: Sequence[int]) -> str:
    """The words of a part of a sentence, from the first to the last."""
    return text[sentence.tokens[part[0]].start : sentence.tokens[part[-1]].end]


def _at_home(lexicon: Lexicon, guesses: Iterable[str], crop: str | None) -> list[str]:
    """The guessed causes that live on the crop at all; names are shared between causes."""
    knowledge = lexicon.knowledge
    if crop is None:
        return list(guesses)
    family = knowledge.crops[crop].family
    return [g for g in guesses if knowledge.causes[g].commonness(crop, family)]
