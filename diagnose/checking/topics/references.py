"""Ids: those that name nothing, and those that nothing names."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from diagnose.cases import retired_names
from diagnose.checking.subject import Subject, pairs
from diagnose.kb import load
from diagnose.kb.model import ABSENT, ANY_CROP, DENIED, NONE, PRESENT, UNSURE, Cause, Family, Part
from diagnose.kb.names import plainly
from diagnose.kb.reader import Finding
from diagnose.reasoning import facts

RESERVED = (NONE, PRESENT, ABSENT, UNSURE)
KINDS = ("symptoms", "remedies", "cautions", "referrals", "alerts", "sources")


def warmth_sources(cause: Cause) -> list[str]:
    """The sources of a cause's degree-day model."""
    return cause.degree_days.sources if cause.degree_days else []


def causes(subject: Subject) -> Iterator[Finding]:
    """unknown-id: what a cause names."""
    knowledge = subject.knowledge
    hosts = [*get_args(Family), ANY_CROP, *knowledge.crops]
    for cause_id, cause in knowledge.causes.items():
        at = ("causes", cause_id)
        lists = (
            ("hosts", "crops", "crop or family", cause.hosts, hosts),
            ("looks-like", "causes", "cause", cause.looks_like, knowledge.causes),
            ("remedies", "remedies", "remedy", cause.remedies, knowledge.remedies),
            ("next-season", "remedies", "remedy", cause.next_season, knowledge.remedies),
            ("cautions", "cautions", "caution", cause.cautions, knowledge.cautions),
            ("sources", "sources", "source", cause.sources, knowledge.sources),
            ("degree-days", "sources", "source", warmth_sources(cause), knowledge.sources),
        )
        for key, kind, what, words, allowed in lists:
            for number, word in enumerate(words):
                step = word if isinstance(words, dict) else str(number)
                yield from subject.unknown((*at, key, step), kind, what, word, allowed)
        if cause.referral:
            yield from subject.unknown(
                (*at, "referral"), "referrals", "referral", cause.referral, knowledge.referrals
            )
        if cause.matters.source:
            yield from subject.unknown(
                (*at, "matters", "source"), "sources", "source", cause.matters.source,
                knowledge.sources,
            )  # fmt: skip


def others(subject: Subject) -> Iterator[Finding]:
    """unknown-id, duplicate-id: what crops, remedies, letters, symptoms, causes and rules name."""
    knowledge = subject.knowledge
    if "likelihood" not in subject.broken:
        for number, word in enumerate(knowledge.likelihood.screens.first):
            where = ("likelihood", "likelihood", "screens", "first", str(number))
            yield from subject.unknown(where, "symptoms", "symptom", word, knowledge.symptoms)
    meant: dict[str, str] = {}
    for term_id, term in knowledge.glossary.items():
        for name in (term.name, *term.also):
            other = meant.setdefault(plainly(name), term_id)
            if other != term_id:
                says = f"{name!r} is {other} too; let one word have one meaning"
                yield subject.finding(("glossary", term_id), "duplicate-id", says)
    for crop_id, crop in knowledge.crops.items():
        for number, word in enumerate(crop.sources):
            yield from subject.unknown(
                ("crops", crop_id, "sources", str(number)), "sources", "source", word,
                knowledge.sources,
            )  # fmt: skip
    fitting = [*knowledge.crops, *get_args(Family), *get_args(Part)]
    for remedy_id, remedy in knowledge.remedies.items():
        for number, word in enumerate(remedy.cautions):
            yield from subject.unknown(
                ("remedies", remedy_id, "cautions", str(number)), "cautions", "caution", word,
                knowledge.cautions,
            )  # fmt: skip
        for word in remedy.excludes:
            yield from subject.unknown(
                ("remedies", remedy_id, "excludes"), "remedies", "remedy", word, knowledge.remedies
            )
        for word in remedy.fits:
            yield from subject.unknown(
                ("remedies", remedy_id, "fits"), "crops", "crop, family or part", word, fitting
            )
    for referral_id, referral in knowledge.referrals.items():
        for word in referral.excludes:
            yield from subject.unknown(
                ("referrals", referral_id, "excludes"), "remedies", "remedy", word,
                knowledge.remedies,
            )  # fmt: skip
    for kin_id, kin in knowledge.kin.items():
        for cause in kin.members:
            yield from subject.unknown(
                ("kin", kin_id, "members"), "causes", "cause", cause, knowledge.causes
            )
    for letter_id, letter in knowledge.letters.items():
        at = ("letters", letter_id)
        yield from subject.unknown(
            (*at, "cause"), "causes", "cause", letter.cause, knowledge.causes
        )
        if letter.crop:
            yield from subject.unknown((*at, "crop"), "crops", "crop", letter.crop, knowledge.crops)
    for symptom_id, symptom in knowledge.symptoms.items():
        for field, wanted in (("settles", symptom.settles), ("only-with", symptom.only_with)):
            for word in wanted:
                yield from subject.unknown(
                    ("symptoms", symptom_id, field), "symptoms", "symptom", word,
                    knowledge.symptoms,
                )  # fmt: skip
    for cause_id, needy in knowledge.causes.items():
        for word in needy.needs:
            yield from subject.unknown(
                ("causes", cause_id, "needs"), "symptoms", "symptom", word, knowledge.symptoms
            )
    for rule_id, rule in knowledge.rules.items():
        if rule.source:
            yield from subject.unknown(
                ("rules", rule_id, "source"), "sources", "source", rule.source, knowledge.sources
            )

    yield from _rounds(subject)


def _rounds(subject: Subject) -> Iterator[Finding]:
    """unknown-id: what rounds.yaml names."""
    knowledge, at = subject.knowledge, ("rounds", "rounds")
    bed = knowledge.rounds.bed
    named = {
        "same-family": bed.same_family, "set-out": bed.set_out, "covered": bed.covered,
        "fenced": bed.fenced,
    }  # fmt: skip
    for key, word in named.items():
        if word is not None:
            yield from subject.unknown(
                (*at, "bed", key), "symptoms", "symptom", word, knowledge.symptoms
            )
    for key, words in (("covers", bed.covers), ("uncovers", bed.uncovers), ("fences", bed.fences)):
        for number, word in enumerate(words):
            yield from subject.unknown(
                (*at, "bed", key, str(number)), "remedies", "remedy", word, knowledge.remedies
            )
    for number, sign in enumerate(knowledge.rounds.weather):
        yield from subject.unknown(
            (*at, "weather", str(number), "shows"), "symptoms", "symptom", sign.shows,
            knowledge.symptoms,
        )  # fmt: skip


def dangers(subject: Subject) -> Iterator[Finding]:
    """unknown-id: what alerts and dangers name."""
    knowledge = subject.knowledge
    for kind, entries in (("alerts", knowledge.alerts), ("dangers", knowledge.dangers)):
        for entry_id, entry in entries.items():
            for number, word in enumerate(entry.sources):
                yield from subject.unknown(
                    (kind, entry_id, "sources", str(number)), "sources", "source", word,
                    knowledge.sources,
                )  # fmt: skip
    for danger_id, danger in knowledge.dangers.items():
        for number, word in enumerate(danger.causes):
            yield from subject.unknown(
                ("dangers", danger_id, "causes", str(number)), "causes", "cause", word,
                knowledge.causes,
            )  # fmt: skip
    for alert_id, alert in knowledge.alerts.items():
        for number, word in enumerate(alert.instead_of):
            yield from subject.unknown(
                ("alerts", alert_id, "instead-of", str(number)), "alerts", "alert", word,
                knowledge.alerts,
            )  # fmt: skip


def values(subject: Subject) -> Iterator[Finding]:
    """value-reserved, unknown-id: the values that a symptom has, and those of its background."""
    knowledge = subject.knowledge
    known: dict[str, list[str]] = {
        "season": list(knowledge.seasons.stretches),
        "crop": list(knowledge.crops),
        "family": [*get_args(Family)],
    }
    for symptom_id, symptom in subject.knowledge.symptoms.items():
        at = ("symptoms", symptom_id)
        for value in symptom.values:
            if value in RESERVED or value.startswith(DENIED):
                yield subject.finding(
                    (*at, "values", value), "value-reserved",
                    f"{value!r} has a meaning of its own; call it something else, as 'nothing'",
                )  # fmt: skip
        if isinstance(symptom.background, dict):
            for value in symptom.background:
                yield from subject.unknown(
                    (*at, "background", value), "", f"value of {symptom_id}", value,
                    symptom.states[1:],
                )  # fmt: skip
        for number, where in enumerate(symptom.background_where):
            place = (*at, "background-where", str(number))
            for name, values in where.when.items():
                for value in values:
                    yield from subject.unknown((*place, name), "", name, value, known[name])


def retired(subject: Subject) -> Iterator[Finding]:
    """duplicate-id, unknown-id, retired-id: ids that went, and the cases that still use one."""
    knowledge = subject.knowledge
    for old, now in knowledge.retired.items():
        at = (load.RETIRED, old)
        symptom_id, _, form = old.partition("/")
        symptom = knowledge.symptoms.get(symptom_id)
        if symptom and (not form or form in symptom.values):
            yield subject.finding(
                at, "duplicate-id",
                f"{old!r} is in use, {knowledge.place('symptoms', symptom_id)}; take it out of one",
            )  # fmt: skip
        target_id, _, value = now.partition("/")
        yield from subject.unknown(at, "symptoms", "symptom", target_id, knowledge.symptoms)
        target = knowledge.symptoms.get(target_id)
        if target and value:
            allowed = (PRESENT, ABSENT, *target.values)
            yield from subject.unknown_value(at, target_id, value, allowed)
    for cause_id, cause in knowledge.causes.items():
        for number, case in enumerate(cause.cases):
            for name in retired_names(case, knowledge):
                yield subject.finding(
                    ("causes", cause_id, "cases", str(number)), "retired-id", f"it states {name}"
                )


def unused(subject: Subject) -> Iterator[Finding]:
    """unused-id: symptoms, remedies, cautions, referrals and sources that nothing uses."""
    knowledge = subject.knowledge
    causes, rules = knowledge.causes.values(), knowledge.rules.values()
    used: dict[str, set[str | None]] = {kind: set() for kind in KINDS}
    for cause in causes:
        used["symptoms"] |= cause.evidence.keys()
        used["remedies"] |= {*cause.remedies, *cause.next_season}
        used["cautions"] |= set(cause.cautions)
        used["referrals"].add(cause.referral)
        used["sources"] |= {*cause.sources, *warmth_sources(cause), cause.matters.source}
    for rule in rules:
        used["symptoms"] |= rule.when.keys()
        used["sources"].add(rule.source)
        for name, value in pairs(rule.then):
            kind = {
                facts.PREFER: "remedies", facts.CAUTION: "cautions", facts.REFER: "referrals",
                facts.ALERT: "alerts",
            }.get(name)  # fmt: skip
            if kind:
                used[kind].add(value)
    for remedy in knowledge.remedies.values():
        used["cautions"] |= set(remedy.cautions)
    for crop in knowledge.crops.values():
        used["sources"] |= set(crop.sources)
    for alert in knowledge.alerts.values():
        used["sources"] |= set(alert.sources)
    for danger in knowledge.dangers.values():
        used["sources"] |= set(danger.sources)
    for kind in KINDS:
        for entry_id in getattr(knowledge, kind):
            if entry_id not in used[kind]:
                yield subject.finding(
                    (kind, entry_id), "unused-id",
                    f"nothing uses {entry_id}; use it or take it out",
                )  # fmt: skip


def unused_values(subject: Subject) -> Iterator[Finding]:
    """value-unused: values that no cause names and no rule asks for."""
    knowledge = subject.knowledge
    named = {
        (symptom_id, value)
        for cause in knowledge.causes.values()
        for symptom_id, line in cause.evidence.items()
        if isinstance(line, dict)
        for value in line
    }
    named |= {pair for rule in knowledge.rules.values() for pair in pairs(rule.when)}
    used = {symptom_id for cause in knowledge.causes.values() for symptom_id in cause.evidence}
    used |= {name for name, _ in named}
    for symptom_id, symptom in knowledge.symptoms.items():
        for value in symptom.values:
            if symptom_id in used and (symptom_id, value) not in named:
                yield subject.finding(
                    ("symptoms", symptom_id, "values", value), "value-unused",
                    f"no cause names {symptom_id}: {value}; name it in one or take it out",
                )  # fmt: skip


def no_source(subject: Subject) -> Iterator[Finding]:
    """no-source, source-without-address: where the knowledge comes from."""
    knowledge = subject.knowledge
    for kind in ("causes", "crops", "alerts", "dangers"):
        for entry_id, entry in getattr(knowledge, kind).items():
            if not entry.sources:
                yield subject.finding(
                    (kind, entry_id), "no-source",
                    "names no source; where nothing was opened, say from-memory",
                )  # fmt: skip
    for source_id, source in knowledge.sources.items():
        if source.seen == "opened" and not source.where:
            yield subject.finding(
                ("sources", source_id), "source-without-address",
                "says that it was opened, but not where; add where, or say from memory",
            )  # fmt: skip


def from_memory(subject: Subject) -> int:
    """How many causes rest on memory alone: none of their sources was opened."""
    sources = subject.knowledge.sources
    opened = {source_id for source_id, source in sources.items() if source.seen == "opened"}
    return sum(opened.isdisjoint(cause.sources) for cause in subject.knowledge.causes.values())
