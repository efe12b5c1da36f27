"""A gardener's sentence to observations. docs/reading.md explains the steps.

The text is cut into sentences, the sentences into words, each word into keys: its stem, and the
groups of `words.yaml` that it belongs to. A phrase of the knowledge matches where each of its
words finds a key, near together in one sentence. The longest match wins over what lies inside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from diagnose.inputs import Said
from diagnose.kb.model import ABSENT, AND, DENIED, PRESENT, Symptom
from diagnose.reading import matching
from diagnose.reading.concerns import Heard
from diagnose.reading.keys import NO_KEYS, SELF, stem
from diagnose.reading.matching import Match
from diagnose.reading.words import Lexicon, Token
from diagnose.reasoning.facts import TEXT, Observation

__all__ = ["Heard", "Lexicon", "Reading", "concerns", "read", "stem"]

Strong: TypeAlias = tuple[tuple[float, int], Observation]  # how much a match says, and what


@dataclass(frozen=True)
class Reading:
    """What a text says: the crop, the observations, the gardener's guesses, what was not used.

    `perhaps` are what it may say as well: too weak to count as understood, offered to be ticked.
    """

    crop: str | None
    observations: list[Observation]
    guesses: list[str]
    unread: list[str]
    perhaps: tuple[Observation, ...] = ()
    known_words: float = 1.0

    @property
    def foreign(self) -> bool:
        """Whether most of the words are strange, as in another language."""
        return self.known_words < 0.4


def concerns(lexicon: Lexicon, text: str) -> Sequence[Heard]:
    """What a text is about beside the plant."""
    return lexicon.heard(text)[1]


def read(lexicon: Lexicon, text: Said, crop: str | None = None) -> Reading:
    """Read a text about one crop, or about the first crop it names."""
    words, beside = lexicon.heard(text)
    elsewhere = {start for heard in beside for start in heard.taken}
    about = [t._replace(keys=NO_KEYS) if t.start in elsewhere else t for t in words]
    sentences = list(matching.sentences(about))
    matched = [(tokens, matching.matches(lexicon, tokens)) for tokens in sentences]
    named = [m.phrase.target[1] for _, ms in matched for m in ms if m.phrase.target[0] == "crop"]
    crop = crop or (named[0] if named else None)
    parts = set(lexicon.knowledge.crops[crop].parts) if crop else set()
    best: dict[str, dict[str, Strong]] = {}  # symptom -> value -> the strongest that says so
    guesses: dict[str, None] = {}
    unread: list[str] = []
    number = 0
    for tokens, matches in matched:
        asides, past = matching.asides(lexicon, tokens, matches, crop, alone=len(sentences) == 1)
        taken = {i for i, token in enumerate(tokens) if token.start in elsewhere}
        used = set(taken)
        for match in matches:
            kind, ident, *rest = match.phrase.target
            used |= match.tokens
            if kind == "cause":
                if asides & match.tokens:
                    guesses[ident] = None
                continue
            if kind == "crop" or match.tokens <= asides:
                continue  # said of another plant
            if parts and not parts.intersection(lexicon.knowledge.symptoms[ident].parts):
                continue  # said of a part that this crop has not
            if past & match.tokens and not matching.says_past(lexicon, tokens, match):
                continue
            value = rest[0]
            turned = not match.phrase.negative and matching.turned_round(tokens, match)
            if turned is None:
                continue
            if turned:
                if value == ABSENT or value.startswith(DENIED):
                    continue
                value = _denial(lexicon.knowledge.symptoms[ident], value)
            number += 1
            said = _words(text, tokens, match)
            form = {ABSENT: -2.0, PRESENT: 0.0}.get(value, 0.75)  # a form says more than "there"
            strength = (len(match.tokens) + form, -number)
            seen = strength, Observation(ident, value, "text", said)
            values = best.setdefault(ident, {})
            if value not in values or strength > values[value][0]:
                values[value] = seen
        unread += _unread(lexicon, text, tokens, used)
    content = [t for ts in sentences for t in ts if not t.mark and t.text.isalpha()]
    known = sum(t.text in lexicon.small or stem(t.text) in lexicon.english for t in content)
    return Reading(
        crop=crop,
        observations=[_together(lexicon, ident, found) for ident, found in best.items()],
        guesses=_at_home(lexicon, guesses, crop),
        unread=unread,
        known_words=known / len(content) if len(content) >= 4 else 1.0,
    )


def _denial(symptom: Symptom, value: str) -> str:
    """What a phrase turned round says. The forms of a pattern or a condition are a choice, so that
    to deny one leaves the others; of a symptom or a sign the whole is denied.
    """
    choice = value in symptom.values and symptom.kind in ("pattern", "condition")
    return DENIED + value if choice else ABSENT


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


def _words(text: str, tokens: Sequence[Token], match: Match) -> str:
    first, last = tokens[min(match.tokens)], tokens[max(match.tokens)]
    return text[first.start : last.end]


def _unread(lexicon: Lexicon, text: str, tokens: Sequence[Token], used: set[int]) -> Iterator[str]:
    """The stretches of a sentence that hold words of weight, none of which was used."""
    for part in matching.segments(lexicon, tokens):
        weighty = [i for i in part if any(key[0] != SELF for key in tokens[i].keys)]
        if weighty and not used.intersection(part):
            yield text[tokens[part[0]].start : tokens[part[-1]].end]


def _at_home(lexicon: Lexicon, guesses: Iterable[str], crop: str | None) -> list[str]:
    """The guessed causes that live on the crop at all; names are shared between causes."""
    knowledge = lexicon.knowledge
    if crop is None:
        return list(guesses)
    family = knowledge.crops[crop].family
    return [g for g in guesses if knowledge.causes[g].commonness(crop, family)]
