"""A gardener's sentence to observations. docs/reading.md explains the steps.

The text is cut into sentences, the sentences into words, each word into keys: its stem, and the
groups of `words.yaml` that it belongs to. A phrase of the knowledge matches where each of its
words finds a key, near together in one sentence. The longest match wins over what lies inside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import TypeAlias

from diagnose.inputs import Said
from diagnose.kb.model import ABSENT, AND, PRESENT
from diagnose.reading.apart import GUESSED, Apart, Sentence, taken_apart, telling, weighty
from diagnose.reading.concerns import Heard
from diagnose.reading.keys import stem
from diagnose.reading.matching import Match
from diagnose.reading.words import Lexicon, Token
from diagnose.reasoning.facts import TEXT, Observation

__all__ = ["Heard", "Lexicon", "Reading", "concerns", "read", "stem"]

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
    `named` are all crops that it names; `clauses` those that hold words of weight; `telling` are
    the places where words start that tell something of a plant.
    """

    crop: str | None
    observations: list[Observation]
    guesses: list[str]
    clauses: tuple[Clause, ...] = ()
    named: tuple[str, ...] = ()
    perhaps: tuple[Observation, ...] = ()
    known_words: float = 1.0
    telling: frozenset[int] = frozenset()

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
    best: dict[str, dict[str, Strong]] = {}  # symptom -> value -> the strongest that says so
    guesses: dict[str, None] = {}
    guessed: dict[int, set[int]] = {}  # sentence -> the tokens of guesses
    gave: dict[int, dict[int, set[str]]] = {}  # sentence -> token -> the symptoms that it told
    for number, finding in enumerate(apart.findings, 1):
        match = finding.match
        ident = match.phrase.target[1]
        if finding.value is None:
            if finding.why == GUESSED:
                guesses[ident] = None
                guessed.setdefault(finding.sentence, set()).update(match.tokens)
            continue
        for i in match.tokens:
            gave.setdefault(finding.sentence, {}).setdefault(i, set()).add(ident)
        tokens = apart.sentences[finding.sentence].tokens
        form = {ABSENT: -2.0, PRESENT: 0.0}.get(finding.value, 0.75)  # more than "there"
        strength = (len(match.tokens) + form, -number)
        seen = strength, Observation(ident, finding.value, TEXT, quoted(text, tokens, match))
        values = best.setdefault(ident, {})
        if finding.value not in values or strength > values[finding.value][0]:
            values[finding.value] = seen
    content = [t for s in apart.sentences for t in s.tokens if not t.mark and t.text.isalpha()]
    known = sum(t.text in lexicon.small or stem(t.text) in lexicon.english for t in content)
    return Reading(
        crop=apart.crop,
        observations=[_together(lexicon, ident, found) for ident, found in best.items()],
        guesses=_at_home(lexicon, guesses, apart.crop),
        clauses=tuple(
            clause
            for number, sentence in enumerate(apart.sentences)
            for clause in _clauses(text, sentence, gave.get(number, {}), guessed.get(number, set()))
        ),
        named=apart.named,
        known_words=known / len(content) if len(content) >= 4 else 1.0,
        telling=telling(lexicon, apart),
    )


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


def _clauses(
    text: str, sentence: Sentence, gave: Mapping[int, set[str]], guessed: AbstractSet[int]
) -> Iterator[Clause]:
    """The clauses of a sentence that hold words of weight and no concern; guesses count as used."""
    tokens = sentence.tokens
    for part in sentence.clauses:
        heavy = [i for i in part if weighty(tokens[i]) and not tokens[i].crop]
        if heavy and sentence.beside.isdisjoint(part) and guessed.isdisjoint(part):
            told = frozenset(symptom for i in part for symptom in gave.get(i, ()))
            yield Clause(text[tokens[part[0]].start : tokens[part[-1]].end], told)


def _at_home(lexicon: Lexicon, guesses: Iterable[str], crop: str | None) -> list[str]:
    """The guessed causes that live on the crop at all; names are shared between causes."""
    knowledge = lexicon.knowledge
    if crop is None:
        return list(guesses)
    family = knowledge.crops[crop].family
    return [g for g in guesses if knowledge.causes[g].commonness(crop, family)]
