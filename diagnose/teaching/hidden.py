"""A hidden problem to practice on: a described case, or one drawn from the knowledge's own chances.

Nothing of it depends on the order in which it is asked for, so that a round can be repeated.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal, get_args

import msgspec

from diagnose.cases import checked_observations
from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.inputs import clean
from diagnose.kb.described import CaseId, own
from diagnose.kb.model import ABSENT, Case, Knowledge
from diagnose.kb.reader import unknown
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import SOMETHING_ELSE
from diagnose.seasons.calendar import Window, days_outside

Level = Literal["easy", "middle", "hard"]
LEVELS: tuple[Level, ...] = get_args(Level)
TOLD: dict[Level, int] = {"easy": 2, "middle": 1, "hard": 0}
"""How many things that are there are told at first, where the words are not."""
SEEN = 3  # signs of its cause that a drawn problem shows at least
GROWING = Window.parse("last frost - 6 weeks to first frost + 4 weeks")  # where none is wished
TRIES = 200  # of drawing, before it is given up


class Hidden(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A problem with its cause and all that can be seen, by symptom.

    `words` are what the gardener says at first, `told` what is seen at first; `case` is the
    described case it was made of, which is then left out of the wording.
    """

    cause: str
    crop: str
    day: str  # ISO
    level: Level
    truth: dict[str, str]
    told: tuple[str, ...] = ()
    words: str = ""
    story: str = ""  # the words of the described case, told at the end
    case: CaseId | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """What to practice on; no seasons or crops means any. `drawn`: not from described cases."""

    level: Level = "easy"
    seasons: tuple[str, ...] = ()
    crops: tuple[str, ...] = ()
    drawn: bool = False


def level_named(word: str) -> Level:
    """A level by its name. Raises UsageError on any other word."""
    for level in LEVELS:
        if level == word.strip().lower():
            return level
    raise UsageError(unknown("level", word, list(LEVELS)))


def seasons_named(knowledge: Knowledge, words: str) -> tuple[str, ...]:
    """Stretches of the year by their names, separated by commas; 'fall' is autumn.

    Raises UsageError on any other word.
    """
    known, found = knowledge.seasons.stretches, []
    for word in _parts(words):
        name = word.lower().replace(" ", "-").replace("fall", "autumn")
        if name not in known:
            raise UsageError(unknown("season", word, list(known)))
        found.append(name)
    return tuple(found)


def crops_named(knowledge: Knowledge, words: str) -> tuple[str, ...]:
    """Crops by their names, separated by commas. Raises UsageError on one that is not known."""
    from diagnose.kb.names import unknown_crop

    found = []
    for word in _parts(words):
        crop = knowledge.crop_named(word)
        if crop is None:
            raise UsageError(unknown_crop(knowledge, word).rstrip("."))
        found.append(crop)
    return tuple(found)


def _parts(words: str) -> list[str]:
    return [part.strip() for part in words.split(",") if part.strip()]


def seed_of(text: str) -> int:
    """A seed from what was typed: a whole number from 0 to 999,999. Raises UsageError."""
    if text.isascii() and text.isdecimal() and len(text) <= 6:
        return int(text)
    raise UsageError(f"{text!r} is no seed; give a whole number from 0 to 999999, as in --seed 7")


def hide(blank: Consultation, wish: Wish, seed: int) -> Hidden:
    """The hidden problem that a wish and a seed make; the same ones make the same.

    Raises UsageError where no described case is left by the season and the crops.
    """
    chance = random.Random(seed)
    return _drawn(blank, wish, chance) if wish.drawn else _described(blank, wish, chance)


def begun(blank: Consultation, hidden: Hidden) -> Consultation:
    """The consultation as a round begins: the plant, the day, and what is told at first."""
    start = replace(
        blank, crop=hidden.crop, day=date.fromisoformat(hidden.day), without=hidden.case
    )
    if hidden.words:
        start = start.told(clean(hidden.words))
    return start.observe(Observation(s, hidden.truth[s]) for s in hidden.told)


def _described(blank: Consultation, wish: Wish, chance: random.Random) -> Hidden:
    knowledge = blank.reasoner.knowledge
    fit = [
        (case, case_id)
        for case, case_id in own(knowledge)
        if case.crop and case.date and case.observations
        for crop in [knowledge.crop_named(case.crop)]
        if crop is not None and (not wish.crops or crop in wish.crops)
    ]
    if not fit:
        crops = " or ".join(wish.crops)
        raise UsageError(f"no described case is about {crops}; try other crops, or --drawn")
    open_ = [(c, i) for c, i in fit if _open(blank, wish.seasons, date.fromisoformat(c.date or ""))]
    if not open_:
        about = f" about {' or '.join(wish.crops)}" if wish.crops else ""
        when = " or ".join(wish.seasons).replace("-", " ")
        raise UsageError(f"no described case{about} is of {when}; try another season, or --drawn")
    for case, case_id in chance.sample(open_, len(open_)):
        found = _made(blank, wish.level, case, case_id, chance)
        if found is not None:
            return found
    raise UsageError("no described case left can be played; try another season, or --drawn")


def _made(
    blank: Consultation, level: Level, case: Case, case_id: CaseId, chance: random.Random
) -> Hidden | None:
    """A described case as a hidden problem; None where the rules would rule its cause out.

    What it does not state is as it most often is with its cause.
    """
    knowledge = blank.reasoner.knowledge
    crop = knowledge.crop_named(case.crop or "")
    assert crop is not None and case.date is not None
    start = replace(blank, crop=crop, day=date.fromisoformat(case.date))
    stated = {o.symptom: o.value for o in checked_observations(case, knowledge)}
    truth = _filled(start, case_id[0], stated, _likeliest)
    if truth is None:
        return None
    words = clean(case.text) if level == "easy" and case.text else ""
    told = () if words else _some(_there(knowledge, stated, stated), level, chance)
    return Hidden(
        cause=case_id[0], crop=crop, day=case.date, level=level, truth=truth, told=told,
        words=words, story=case.text, case=case_id,
    )  # fmt: skip


def _drawn(blank: Consultation, wish: Wish, chance: random.Random) -> Hidden:
    knowledge = blank.reasoner.knowledge
    names = [*blank.reasoner.tables.causes, SOMETHING_ELSE]
    days = [day for day in _year(blank.day) if _open(blank, wish.seasons, day, GROWING)]

    def drawn(states: Sequence[str], chances: Sequence[float]) -> str:
        return chance.choices(states, chances)[0]

    crops = wish.crops or tuple(c for c, crop in knowledge.crops.items() if len(crop.parts) > 2)
    for _ in range(TRIES):
        crop, day = chance.choice(crops), chance.choice(days)
        start = replace(blank, crop=crop, day=day)
        [cause] = chance.choices(names, start.chances.tolist())
        truth = None if cause == SOMETHING_ELSE else _filled(start, cause, {}, drawn)
        if truth is None:
            continue
        there = _there(knowledge, truth, knowledge.causes[cause].evidence)
        if len(there) >= SEEN:
            return Hidden(
                cause=cause, crop=crop, day=day.isoformat(), level=wish.level, truth=truth,
                told=_some(there, wish.level, chance),
            )  # fmt: skip
    raise UsageError("no problem could be drawn; try other crops or another season")


def _likeliest(states: Sequence[str], chances: Sequence[float]) -> str:
    return states[chances.index(max(chances))]


def _filled(
    start: Consultation,
    cause: str,
    stated: dict[str, str],
    pick: Callable[[Sequence[str], Sequence[float]], str],
) -> dict[str, str] | None:
    """All that can be seen where a cause is at work: what is stated, the rest as `pick` has it.

    What only restates something stated is left out. None where the rules would rule the cause out.
    """
    tables, knowledge = start.tables, start.reasoner.knowledge
    row, truth = tables.row[cause], dict(stated)
    groups = {knowledge.symptoms[s].overlaps for s in stated} - {None}
    for symptom_id in sorted(set(start.reasoner.askable(start.crop)) - set(stated)):
        symptom = knowledge.symptoms[symptom_id]
        if symptom.overlaps not in groups:
            lines, rows = tables.exact[symptom_id], tables.rows[symptom_id].tolist()
            line = lines[rows.index(row)] if row in rows else lines[0]
            truth[symptom_id] = pick(symptom.states, line.tolist())
    whole = start.observe(Observation(s, value) for s, value in truth.items())
    return None if cause in whole.ruled_out else truth


def _there(knowledge: Knowledge, truth: Mapping[str, str], among: Iterable[str]) -> list[str]:
    """The symptoms and signs that are there, of those that the case or the cause names."""
    return [
        s
        for s in sorted(among)
        if truth.get(s, ABSENT) != ABSENT and knowledge.symptoms[s].kind in ("symptom", "sign")
    ]


def _some(there: Sequence[str], level: Level, chance: random.Random) -> tuple[str, ...]:
    """What is told at first of what is there."""
    return tuple(chance.sample(there, min(TOLD[level], len(there))))


def _year(day: date) -> Iterator[date]:
    return (date(day.year, 1, 1) + timedelta(days=n) for n in range(365))


def _open(
    blank: Consultation, seasons: Sequence[str], day: date, otherwise: Window | None = None
) -> bool:
    """Whether a day lies in one of some seasons; where none is named, in `otherwise`, or any."""
    stretches, edges = blank.reasoner.stretches, blank.reasoner.edges
    spans = [stretches[s] for s in seasons] or ([(otherwise,)] if otherwise else [])
    return not spans or any(
        days_outside(day, edges(span, day.year, blank.place)) == 0 for span in spans
    )
