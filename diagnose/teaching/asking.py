"""What a learner wants to look at: from words, from a part of the plant, from a short list."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from typing import get_args

from diagnose.consultation import Consultation
from diagnose.inputs import Said, clean
from diagnose.kb.model import Part, Symptom
from diagnose.reading import read
from diagnose.reasoning.ranking import SOMETHING_ELSE

MOST = 9  # things in a list
TELLING = 3  # of these, so many are among those that tell most
GOING = ("see", "look", "looks", "check", "find", "there", "show")  # words of going to look


def meant(now: Consultation, words: str, open_: Sequence[str]) -> list[str]:
    """The things that words may ask to look at, of those that are open, likeliest first.

    A part of the plant means what can be seen on it. Else what goes by just these words is meant,
    or what goes by these among others comes first, then what would be read in them if they were
    told; failing both, what shares most words with them. Raises UsageError as `clean` does.
    """
    text = clean(words)
    wanted = _keys(now, [text]) - _keys(now, GOING)
    for part in get_args(Part):
        if wanted == _keys(now, [part]):
            return of_part(now, open_, part)
    symptoms = now.reasoner.knowledge.symptoms
    beside = {s: len(_keys(now, [symptoms[s].name]) - wanted) for s in open_}
    named = [s for s in open_ if wanted and wanted <= _keys(now, [symptoms[s].name])]
    if exact := [s for s in named if not beside[s]]:
        return exact
    heard = read(now.reasoner.lexicon, _told(now, text), now.crop).observations
    told = [o.symptom for o in heard if o.symptom in open_]
    if named or told:
        nearest = sorted(_by_name(now, named), key=lambda s: beside[s])
        return list(dict.fromkeys((*nearest, *told)))[:MOST]
    shared = {s: len(wanted & _keys(now, _texts(symptoms[s]))) for s in open_}
    most = max(shared.values(), default=0)
    return _by_name(now, [s for s in open_ if most and shared[s] == most])[:MOST]


def _told(now: Consultation, text: Said) -> Said:
    """What would be told of what is asked: "leaves wilting" of "are the leaves wilting?"."""
    plain = text.rstrip(" ?")
    openings = [
        words
        for words in now.reasoner.knowledge.words.asks
        if plain.lower().startswith(f"{words} ")
    ]
    return Said(plain[len(max(openings, key=len, default="")) :].strip() or text)


def _texts(symptom: Symptom) -> list[str]:
    return [symptom.name, symptom.ask, *map(symptom.value_name, symptom.values)]


def _keys(now: Consultation, texts: Iterable[str]) -> set[str]:
    return {key for text in texts for key in now.reasoner.lexicon.word_keys(text)}


def few(now: Consultation, open_: Sequence[str], seed: int) -> list[str]:
    """Nine things to look at, by their names: some that tell much, and others that may not."""
    chance = random.Random(f"{seed} {now.asked}")
    telling = [q.symptom for q in now.all_questions if q.symptom in open_]
    best, rest = telling[:TELLING], telling[TELLING : 6 * MOST]
    mixed = [*best, *chance.sample(rest, min(MOST - len(best), len(rest)))]
    return _by_name(now, mixed)


def of_part(now: Consultation, open_: Sequence[str], part: str) -> list[str]:
    """Things to look at on one part of the plant, by their names."""
    symptoms = now.reasoner.knowledge.symptoms
    here = [q.symptom for q in now.all_questions if q.symptom in open_]
    return _by_name(now, [s for s in here if part in symptoms[s].parts][:MOST])


def causes(now: Consultation, hidden: str, seed: int) -> list[str]:
    """Nine causes to think of, by their names: the hidden one among the likeliest."""
    likely = [c for c, _ in now.standing if c not in (hidden, SOMETHING_ELSE)]
    known = now.reasoner.knowledge.causes
    return sorted([hidden, *likely[: MOST - 1]], key=lambda c: known[c].name)


def _by_name(now: Consultation, found: Sequence[str]) -> list[str]:
    return sorted(found, key=lambda s: now.reasoner.knowledge.symptoms[s].name)
