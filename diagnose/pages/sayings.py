"""How things are said to a person: days, chances, observations, names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date

from diagnose.consultation import Consultation
from diagnose.journal import Plant, first_words
from diagnose.kb.model import ABSENT, PRESENT, UNSURE, Decision, Knowledge, Part
from diagnose.kept import Kept
from diagnose.reasoning import ranking
from diagnose.reasoning.facts import RECORDED, RULE, Observation
from diagnose.reasoning.ranking import DOUBT, SOMETHING_ELSE, UNTICKED, WORDS
from diagnose.reasoning.screens import Tick
from diagnose.reasoning.verdict import Answer, in_words
from diagnose.seasons.calendar import MonthDay
from diagnose.settings import in_use

DECISIONS: dict[Decision, str] = {
    "act": "Worth acting on now.",
    "watch": "Keep an eye on it.",
    "leave": "Nothing needs doing.",
    "refer": "Ask someone who can test or treat it, and do no more than this until then.",
}
KNOWN_FROM = {RULE: " (from the date and place)", RECORDED: " (from the record)"}
PARTS: dict[Part, str] = {
    "leaf": "the leaves", "stem": "the stems", "flower": "the flowers", "fruit": "the fruit",
    "pod": "the pods", "ear": "the ears", "head": "the head", "root": "the roots",
    "tuber": "the tubers", "bulb": "the bulb", "crown": "the crown, where the leaves join the root",
    "seed": "the seed or seedlings", "whole": "the whole plant", "soil": "the soil, or on it",
}  # fmt: skip
HIGHEST = 0.97  # no chance is shown as surer


def whose(knowledge: Knowledge, kind: str, *entries: str) -> str:
    """From which folders laid over the knowledge entries come, in brackets; else nothing."""
    found = dict.fromkeys(knowledge.folder(kind, entry) for entry in entries)
    names = " and ".join(name for name in found if name)
    return f"(from your folder {names})" if names else ""


def day(when: date) -> str:
    """A date as a person writes it: 5 June 2026, or June 5, 2026 where that is set."""
    if _month_first():
        return f"{when:%B} {when.day}, {when.year}"
    return f"{when.day} {when:%B %Y}"


def day_of_year(when: MonthDay) -> str:
    """A day that comes round every year, as a person writes it: 10 May, or May 10."""
    name = f"{when.in_year(2000):%B}"
    return f"{name} {when.day}" if _month_first() else f"{when.day} {name}"


def _month_first() -> bool:
    return in_use.get().dates == "month first"


def length(bounds: Sequence[float]) -> str:
    """A length or a stretch of lengths, given in centimeters, in the units that are set."""
    inches = _stretch([cm / 2.54 for cm in bounds], 0.25)
    return _in_units(f"{inches} in", f"{_stretch(bounds, 0.5)} cm")


def warmth(bounds: Sequence[float]) -> str:
    """A temperature or a stretch of them, given in degrees C, in the units that are set."""
    fahrenheit = _stretch([c * 9 / 5 + 32 for c in bounds], 1)
    return _in_units(f"{fahrenheit} F", f"{_stretch(bounds, 0.5)} C")


def rainfall(mm: float) -> str:
    """An amount of rain."""
    return _in_units(f"{mm / 25.4:.1f} inches", f"{mm:.0f} mm")


def _stretch(bounds: Sequence[float], step: float) -> str:
    rounded = (f"{round(bound / step) * step:g}" for bound in bounds)
    return " to ".join(dict.fromkeys(rounded))


def _in_units(us: str, metric: str) -> str:
    units = in_use.get().units or "both"
    return {"us": us, "metric": metric}.get(units, f"{us} ({metric})")


def chance_words(knowledge: Knowledge, chance: float) -> str:
    """A chance in the words of the scale."""
    return in_words(chance, knowledge.likelihood.verdict.words)


def percent(chance: float) -> str:
    """A chance in figures that do not pretend to be exact."""
    if chance < 0.01:
        return "under 1 %"
    return f"over {100 * HIGHEST:.0f} %" if chance > HIGHEST else f"{100 * chance:.0f} %"


def cause_name(knowledge: Knowledge, cause: str) -> str:
    """A cause's name; 'something else' for what is not known."""
    return "something else" if cause == SOMETHING_ELSE else knowledge.causes[cause].name


def answer_name(knowledge: Knowledge, answer: Answer) -> str:
    """An answer's name: its cause's, or that of the kin."""
    if answer.kin is None:
        return cause_name(knowledge, answer.first)
    return knowledge.kin[answer.kin].name


def small(name: str) -> str:
    """A name inside a sentence: its first letter small, unless it is a short form like BER."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def said(knowledge: Knowledge, symptom: str, value: str) -> str:
    """An observation as a person would say it."""
    if symptom == WORDS:
        return "you write as people do who had this"
    if symptom == ranking.PARTS:
        return "where it looks wrong"
    if symptom == UNTICKED:
        return "what you left unticked"
    if symptom == DOUBT:
        return "words alone can mislead"
    found = knowledge.symptoms[symptom]
    if value == ABSENT:
        return f"no {found.name}" if found.kind in ("symptom", "sign") else f"not so: {found.name}"
    if value == PRESENT:
        return found.name
    return f"{found.name}: {found.value_name(value)}"


def tick_line(knowledge: Knowledge, line: Tick) -> str:
    """A line to tick: the symptom's name, or that of its form."""
    symptom = knowledge.symptoms[line.symptom]
    return symptom.name if line.value == PRESENT else symptom.value_name(line.value)


def finding(knowledge: Knowledge, symptom: str, value: str) -> str:
    """What was found where it was looked for: the thing, and the answer in its own words."""
    found = knowledge.symptoms[symptom]
    return f"{found.name}: {'nobody can tell' if value == UNSURE else found.value_name(value)}"


def observation(knowledge: Knowledge, seen: Observation) -> str:
    """An observation, with the gardener's own words where there are any."""
    line = said(knowledge, seen.symptom, seen.value)
    if seen.words:
        line += f" (you wrote: {seen.words})"
    return line + KNOWN_FROM.get(seen.source, "")


def plant_name(consultation: Consultation) -> str:
    """The plant's name, small, or 'the plant'."""
    crop = consultation.crop
    return small(consultation.reasoner.knowledge.crops[crop].name) if crop else "the plant"


def kept_line(name: str, kept: Kept, knowledge: Knowledge) -> str:
    """One line on a kept consultation: its name, day and first words, and what it came to."""
    crop = next((s.crop for s in reversed(kept.steps) if isinstance(s, Plant)), None)
    about = small(knowledge.crops[crop].name) if crop in knowledge.crops else ""
    words = first_words(kept.steps) or kept.typed
    begun = f'"{words[:57]}..."' if len(words) > 60 else f'"{words}"' if words else "no words"
    parts = [day(date.fromisoformat(kept.day)), about, begun, kept.answer]
    return f"{name}: {', '.join(part for part in parts if part)}"


def first_sentence(words: str) -> str:
    """The first of some sentences."""
    return re.split(r"(?<=[.!?])\s", words, maxsplit=1)[0]


def listed(names: Iterable[str], last: str = "or") -> str:
    """Names as in a sentence: a, b or c."""
    *most, end = names
    return f"{', '.join(most)} {last} {end}" if most else end
