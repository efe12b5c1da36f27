"""What the checks look at: a knowledge base, and what of it could not be read."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from diagnose.checking.worked import YEAR, Bench
from diagnose.consultation import Reasoner
from diagnose.kb.model import ANY_CROP, DENIED, Cause, Knowledge, Season
from diagnose.kb.reader import Finding, unknown
from diagnose.kb.retired import name_now
from diagnose.kb.spans import windows
from diagnose.kb.store import Parts
from diagnose.seasons.calendar import MonthDay, Place, Window

Booleans: TypeAlias = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Subject:
    """A knowledge base under check.

    `broken` names what could not be read, as `diagnose.kb.load.Gathered` has it: nothing is said
    of entries that name these; `parts` are those of the ready-made copy, where there is one. Where
    `only` some files are asked about, a check may leave out what it would say of others.
    """

    knowledge: Knowledge
    broken: frozenset[str] = frozenset()
    parts: Parts | None = None
    only: Collection[str] | None = None

    def asked(self, kind: str, entry: str) -> bool:
        """Whether this entry is asked about."""
        return (
            self.only is None or self.knowledge.place(kind, entry).rpartition(":")[0] in self.only
        )

    def prose(self) -> Iterator[tuple[tuple[str, ...], str]]:
        """All that is said to people in what is asked about, with the path to it; see `prose`."""
        kept: dict[tuple[str, ...], bool] = {}
        for path, text in prose(self.knowledge):
            entry = path[:2]
            if entry not in kept:
                kept[entry] = self.asked(*entry)
            if kept[entry]:
                yield path, text

    def finding(self, path: Sequence[str], code: str, message: str) -> Finding:
        """A finding at an entry, or at the nearest entry around it."""
        file, _, line = self.knowledge.place(*path).rpartition(":")
        return Finding(file or path[0], int(line or 1), code, message)

    def unknown(
        self, path: Sequence[str], kind: str, what: str, word: str, allowed: Collection[str]
    ) -> Iterator[Finding]:
        """unknown-id where a word is not allowed, unless it is of a kind that is in part unread."""
        if word in allowed or {kind, f"{kind}/{word}"} & self.broken:
            return
        now = name_now(self.knowledge.retired, word) if kind == "symptoms" else None
        if now:
            yield self.finding(path, "retired-id", f"{word} is retired; write {now}")
        else:
            yield self.finding(path, "unknown-id", unknown(what, word, list(allowed)))

    def unknown_value(
        self, path: Sequence[str], symptom: str, value: str, allowed: Collection[str]
    ) -> Iterator[Finding]:
        """As `unknown`, for a value of a symptom."""
        now = name_now(self.knowledge.retired, symptom, value)
        if value in allowed:
            return
        if now and f"{symptom}/{value.removeprefix(DENIED)}" in self.knowledge.retired:
            yield self.finding(path, "retired-id", f"{symptom}: {value} is retired; write {now}")
        else:
            yield from self.unknown(path, "", f"value of {symptom}", value, allowed)

    @cached_property
    def bench(self) -> Bench:
        """The knowledge made ready. Only for a sound one."""
        return Bench.of(self.knowledge, Reasoner(self.knowledge, parts=self.parts, hears=False))

    @property
    def reasoner(self) -> Reasoner:
        """Its engine, tables and windows."""
        return self.bench.blank.reasoner

    @cached_property
    def home(self) -> Place:
        """The place assumed. Only where it makes sense."""
        home = self.knowledge.seasons.place
        return Place(
            home.latitude, MonthDay.parse(home.last_frost), MonthDay.parse(home.first_frost)
        )

    @cached_property
    def days(self) -> list[date]:
        """A day of every week of a year."""
        return [date(YEAR, 1, 1) + timedelta(weeks=week) for week in range(52)]

    @cached_property
    def hosts(self) -> dict[str, list[str]]:
        """The crops that each cause is found on."""
        families = {crop_id: crop.family for crop_id, crop in self.knowledge.crops.items()}
        return {
            cause_id: [
                crop_id
                for crop_id, family in families.items()
                if not cause.hosts.keys().isdisjoint((crop_id, family, ANY_CROP))
            ]
            for cause_id, cause in self.knowledge.causes.items()
        }

    @cached_property
    def on_crop(self) -> Booleans:
        """Which cause is found on which crop: causes down, crops across."""
        column = {crop_id: i for i, crop_id in enumerate(self.knowledge.crops)}
        found = np.zeros((len(self.knowledge.causes), len(column)), dtype=bool)
        for row, crops in enumerate(self.hosts.values()):
            found[row, np.array([column[crop_id] for crop_id in crops], dtype=int)] = True
        return found

    @cached_property
    def in_season(self) -> Booleans:
        """Which cause is in season on which of `days`: causes down, days across."""
        known: dict[tuple[Window, ...], list[bool]] = {}
        rows = []
        for spans in self.reasoner.windows.values():
            if spans not in known:
                known[spans] = [
                    any(span.contains(day, self.home) for span in spans) for day in self.days
                ]
            rows.append(known[spans])
        return np.array(rows, dtype=bool).reshape(len(rows), len(self.days))


Check: TypeAlias = Callable[[Subject], Iterator[Finding]]


def seasons(knowledge: Knowledge) -> Iterator[tuple[tuple[str, ...], Season]]:
    """Every season of the knowledge, with the path to it."""
    for cause_id, cause in knowledge.causes.items():
        yield ("causes", cause_id, "season"), cause.season
    for name, season in knowledge.seasons.stretches.items():
        yield ("seasons", "seasons", "stretches", name), season
    for crop_id, crop in knowledge.crops.items():
        for stage, found in (("sow", crop.season.sow), ("harvest", crop.season.harvest)):
            if found is not None:
                yield ("crops", crop_id, "season", stage), found


def readable(season: Season) -> bool:
    """Whether every moment of a season can be read."""
    try:
        windows(season)
    except ValueError:
        return False
    return True


def pairs(facts: dict[str, str | list[str]]) -> list[tuple[str, str]]:
    """The facts of a rule's side, one by one."""
    return [
        (name, value)
        for name, values in facts.items()
        for value in ([values] if isinstance(values, str) else values)
    ]


def cause_texts(cause: Cause) -> list[str]:
    """What a gardener reads of a cause."""
    matters = cause.matters
    found = [cause.summary, cause.mechanism, cause.spread, matters.text, matters.threshold]
    return [text for text in (*found, cause.harvest, *cause.looks_like.values()) if text]


def prose(knowledge: Knowledge) -> Iterator[tuple[tuple[str, ...], str]]:
    """All that is said to people, with the path to it; not the words that people say themselves."""
    for cause_id, cause in knowledge.causes.items():
        at, matters = ("causes", cause_id), cause.matters
        yield (*at, "summary"), cause.summary
        yield (*at, "mechanism"), cause.mechanism or ""
        yield (*at, "spread"), cause.spread or ""
        yield (*at, "matters"), matters.text
        yield (*at, "matters"), matters.threshold or ""
        yield (*at, "harvest"), cause.harvest
        yield (*at, "look-again"), cause.look_again.for_ if cause.look_again else ""
        for other, text in cause.looks_like.items():
            yield (*at, "looks-like", other), text
    for crop_id, crop in knowledge.crops.items():
        yield ("crops", crop_id, "rotation"), crop.rotation or ""
        for key, texts in (("limits", crop.limits), ("normal", crop.normal)):
            for name, text in texts.items():
                yield ("crops", crop_id, key, name), text
    for symptom_id, symptom in knowledge.symptoms.items():
        at = ("symptoms", symptom_id)
        yield (*at, "ask"), symptom.ask
        yield (*at, "look"), symptom.look or ""
        for value, form in symptom.values.items():
            said = form if isinstance(form, str) else f"{form.name}. {form.look or ''}"
            yield (*at, "values", value), said
    for danger_id, danger in knowledge.dangers.items():
        for key in ("look", "harm", "first_aid", "until_known", "eat"):
            yield ("dangers", danger_id, key.replace("_", "-")), getattr(danger, key)
    for drawing_id, drawing in knowledge.drawings.items():
        yield ("drawings", drawing_id, "words"), drawing.words
    for kind in ("remedies", "cautions", "referrals", "alerts", "glossary"):
        for entry_id, entry in getattr(knowledge, kind).items():
            yield (kind, entry_id, "text"), entry.text
    for rule_id, rule in knowledge.rules.items():
        yield ("rules", rule_id, "because"), rule.because
