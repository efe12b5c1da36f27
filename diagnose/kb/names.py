"""Finding an entry by any name that people use for it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Literal, NamedTuple

from diagnose.kb.model import Knowledge

Kind = Literal["crops", "symptoms", "causes", "dangers"]
UNLISTED = "unlisted-plant"  # the crop that stands for every plant that is not known
OTHER = "other"  # what to type for it
GENERAL = "Only general troubles are weighed."


class Named(NamedTuple):
    """An entry: its kind and id."""

    kind: Kind
    id: str


def plainly(name: str) -> str:
    """A name without accidents of spelling: case, dashes, apostrophes, plural endings."""
    words = re.findall(r"[^\W_]+", name.casefold().replace("'", "").replace("’", ""))  # noqa: RUF001
    return " ".join(_singular(word) for word in words)


def _singular(word: str) -> str:
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    return word[:-1] if len(word) > 3 and word.endswith("s") else word


def names(knowledge: Knowledge) -> Iterator[tuple[str, Named]]:
    """Every name of every crop, cause, symptom and danger."""
    for crop_id, crop in knowledge.crops.items():
        yield from ((name, Named("crops", crop_id)) for name in (crop_id, crop.name, *crop.also))
    for cause_id, cause in knowledge.causes.items():
        for name in (cause_id, cause.name, *cause.also):
            yield name, Named("causes", cause_id)
    for symptom_id, symptom in knowledge.symptoms.items():
        yield symptom_id, Named("symptoms", symptom_id)
        yield symptom.name, Named("symptoms", symptom_id)
    for danger_id, danger in knowledge.dangers.items():
        for name in (danger_id, danger.name, *danger.also):
            yield name, Named("dangers", danger_id)


def find(knowledge: Knowledge, text: str) -> list[Named]:
    """The entries that go by a name; maybe none.

    The one with that id, else the one whose first name it is, else all that are also called so;
    and a danger of that name before them.
    """
    kinds: tuple[Kind, ...] = ("crops", "causes", "symptoms", "dangers")
    wanted = plainly(text)
    dangers = [n for name, n in names(knowledge) if n.kind == "dangers" and plainly(name) == wanted]
    warned = list(dict.fromkeys(dangers))[:1]
    for kind in kinds:
        if text in getattr(knowledge, kind):
            return list(dict.fromkeys((*warned, Named(kind, text))))
    found = list(
        dict.fromkeys(
            named
            for name, named in names(knowledge)
            if named.kind != "dangers" and plainly(name) == wanted
        )
    )
    first = [n for n in found if plainly(getattr(knowledge, n.kind)[n.id].name) == wanted]
    return [*warned, *(first if len(first) == 1 else found)]


def term(knowledge: Knowledge, text: str) -> str | None:
    """The id of the word of the trade that goes by a name, or None."""
    wanted = plainly(text)
    for term_id, found in knowledge.glossary.items():
        if wanted in map(plainly, (term_id, found.name, *found.also)):
            return term_id
    return None


def nearest(knowledge: Knowledge, text: str, most: int = 3) -> list[str]:
    """The names nearest to what was typed, nearest first; none where nothing is near."""
    from rapidfuzz import fuzz, process

    known: dict[Named, str] = {}
    for name, named in names(knowledge):
        known.setdefault(named, name)
    by_name = {plainly(name): known[named] for name, named in names(knowledge)}
    close = process.extract(
        plainly(text), list(by_name), scorer=fuzz.ratio, limit=most * 2, score_cutoff=70
    )
    return list(dict.fromkeys(by_name[name] for name, _, _ in close))[:most]


class Placed(NamedTuple):
    """A plant that is not known itself: the crop to go on with, and what to say of it."""

    crop: str
    said: str


def placed(knowledge: Knowledge, word: str) -> Placed | None:
    """A garden plant that is not known but can be placed; None for a word that is none."""
    if UNLISTED not in knowledge.crops:
        return None
    wanted = plainly(word)
    if wanted == OTHER:
        return Placed(UNLISTED, GENERAL)
    for crop_id, crop in knowledge.crops.items():
        if wanted in map(plainly, crop.kin):
            kin = f"; its kin is {crop.name.lower()}" if crop_id != UNLISTED else " nor kin of it"
            return Placed(UNLISTED, f"I do not know {word.strip()}{kin}. {GENERAL}")
    return None


def unknown_crop(knowledge: Knowledge, word: str) -> str:
    """One line on a crop that is not known, with the nearest known ones."""
    from rapidfuzz import fuzz, process

    known = {n.lower(): c.name.lower() for c in knowledge.crops.values() for n in (c.name, *c.also)}
    found = process.extract(
        word.strip().lower(), list(known), scorer=fuzz.ratio, limit=3, score_cutoff=55
    )
    near = list(dict.fromkeys(known[name] for name, _, _ in found))
    ending = f"Did you mean {', '.join(near)}?" if near else "diagnose crops lists those I know."
    other = f" For a plant that is not listed, say {OTHER}." if UNLISTED in knowledge.crops else ""
    return f"I do not know a crop called {shortened(word)}. {ending}{other}"


def shortened(typed: str) -> str:
    """What was typed, quoted, and cut where it is long."""
    return f'"{typed}"' if len(typed) <= 40 else f'"{typed[:37]}..."'
