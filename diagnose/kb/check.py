"""What the shape of a file cannot say: dangling ids, dead rules, evidence that cannot be.

Each check is one small function from the knowledge to findings, named by its code.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from diagnose.kb.load import Finding, unknown
from diagnose.kb.model import ABSENT, ANY_CROP, NONE, PRESENT, Family, Knowledge, Symptom, figure
from diagnose.reasoning import facts
from diagnose.reasoning.ranking import FULL

Check = Callable[[Knowledge], Iterator[Finding]]
FEWEST_EVIDENCE = 3
MOST_PRODUCTS = re.compile(
    r"\b(neem|bt|bacillus|pyrethrin|spinosad|insecticidal soap|horticultural oil|copper|sulfur"
    r"|sulphur|diatomaceous|kaolin|glyphosate|fungicide|insecticide|herbicide|teaspoons?"
    r"|tablespoons?|ml per|oz per|spray with)\b",
    re.IGNORECASE,
)


def _finding(knowledge: Knowledge, path: Sequence[str], code: str, message: str) -> Finding:
    file, _, line = knowledge.place(*path).rpartition(":")
    return Finding(file or path[0], int(line or 1), code, message)


def _unknown(
    knowledge: Knowledge, path: Sequence[str], what: str, word: str, allowed: Sequence[str]
) -> Iterator[Finding]:
    if word not in allowed:
        yield _finding(knowledge, path, "unknown-id", unknown(what, word, list(allowed)))


def references(knowledge: Knowledge) -> Iterator[Finding]:
    """unknown-id: an entry names something that is not there."""
    families = [*Family.__args__, ANY_CROP, *knowledge.crops]  # type: ignore[attr-defined]
    for cause_id, cause in knowledge.causes.items():
        at = ("causes", cause_id)
        lists = {
            "remedies": ("remedy", cause.remedies, knowledge.remedies),
            "next-season": ("remedy", cause.next_season, knowledge.remedies),
            "cautions": ("caution", cause.cautions, knowledge.cautions),
            "sources": ("source", cause.sources, knowledge.sources),
            "looks-like": ("cause", list(cause.looks_like), knowledge.causes),
            "referral": ("referral", [cause.referral or ""], {"": 0, **knowledge.referrals}),
        }
        for key, (what, words, allowed) in lists.items():
            for word in words:
                yield from _unknown(knowledge, (*at, key), what, word, list(allowed))
        for host in cause.hosts:
            yield from _unknown(
                knowledge, (*at, "hosts", host), "crop or family", host, families
            )
        if cause.matters.source:
            yield from _unknown(
                knowledge, (*at, "matters"), "source", cause.matters.source,
                list(knowledge.sources),
            )  # fmt: skip
    for crop_id, crop in knowledge.crops.items():
        for word in crop.sources:
            yield from _unknown(
                knowledge, ("crops", crop_id, "sources"), "source", word, list(knowledge.sources)
            )
    for remedy_id, remedy in knowledge.remedies.items():
        for word in remedy.cautions:
            yield from _unknown(
                knowledge, ("remedies", remedy_id), "caution", word, list(knowledge.cautions)
            )
    for rule_id, rule in knowledge.rules.items():
        if rule.source:
            yield from _unknown(
                knowledge, ("rules", rule_id), "source", rule.source, list(knowledge.sources)
            )


def evidence(knowledge: Knowledge) -> Iterator[Finding]:
    """unknown-id, evidence-over-full, none-alone: evidence lines that cannot be used as they are."""
    for cause_id, cause in knowledge.causes.items():
        for symptom_id, line in cause.evidence.items():
            at = ("causes", cause_id, "evidence", symptom_id)
            symptom = knowledge.symptoms.get(symptom_id)
            if symptom is None:
                yield _finding(
                    knowledge, at, "unknown-id",
                    unknown("symptom", symptom_id, list(knowledge.symptoms)),
                )  # fmt: skip
            elif isinstance(line, dict):
                allowed = [*(symptom.values or (PRESENT,)), NONE]
                for value in line:
                    yield from _unknown(
                        knowledge, (*at, value), f"value of {symptom_id}", value, allowed
                    )
                total = sum(figure(word, knowledge.likelihood.frequency) for word in line.values())
                if total > FULL + 0.15:
                    yield _finding(
                        knowledge, at, "evidence-over-full",
                        f"the values of one symptom exclude each other, but these add up to "
                        f"{total:.0%}; choose rarer words",
                    )  # fmt: skip
                if list(line) == [NONE]:
                    yield _finding(
                        knowledge, at, "none-alone",
                        "say how often the symptom is there instead: seldom, hardly ever or never",
                    )  # fmt: skip


def cause_without_evidence(knowledge: Knowledge) -> Iterator[Finding]:
    """too-little-evidence: a cause that hardly anything could point to."""
    for cause_id, cause in knowledge.causes.items():
        if len(cause.evidence) < FEWEST_EVIDENCE:
            yield _finding(
                knowledge, ("causes", cause_id, "evidence"), "too-little-evidence",
                f"{len(cause.evidence)} evidence lines; a cause needs {FEWEST_EVIDENCE} at least",
            )  # fmt: skip


def ladder(knowledge: Knowledge) -> Iterator[Finding]:
    """product-or-dose: a remedy names what is a pesticide in law, or doses it."""
    for remedy_id, remedy in knowledge.remedies.items():
        found = MOST_PRODUCTS.search(remedy.text)
        if found:
            yield _finding(
                knowledge, ("remedies", remedy_id, "text"), "product-or-dose",
                f"names {found.group()!r}; refer to the extension service instead",
            )  # fmt: skip


def windows(knowledge: Knowledge) -> Iterator[Finding]:
    """bad-season: a season whose moments cannot be read."""
    from diagnose.consultation import windows as parse

    seasons = [
        *((("causes", c, "season"), cause.season) for c, cause in knowledge.causes.items()),
        *((("seasons", "seasons", "stretches", s), v)
          for s, v in knowledge.seasons.stretches.items()),
        *((("crops", c, "season"), season) for c, crop in knowledge.crops.items()
          for season in (crop.season.sow, crop.season.harvest) if season),
    ]  # fmt: skip
    for at, season in seasons:
        try:
            parse(season)
        except ValueError as error:
            yield _finding(knowledge, at, "bad-season", str(error))


def _allowed_values(knowledge: Knowledge) -> dict[str, list[str]]:
    """Every fact name that is not free, with the values it may have."""
    crops = knowledge.crops.values()
    return {
        "crop": list(knowledge.crops),
        "family": sorted({crop.family for crop in crops}),
        "part": sorted({part for crop in crops for part in crop.parts}),
        "season": list(knowledge.seasons.stretches),
        "stage": ["sow", "harvest"],
        "day-length": [f"over {mark:g} h" for mark in knowledge.seasons.day_length_over],
        "cause": list(knowledge.causes),
        "cause-kind": sorted({cause.kind for cause in knowledge.causes.values()}),
        facts.RULE_OUT: list(knowledge.causes),
        facts.SKIP: list(knowledge.symptoms),
        facts.AVOID: list(knowledge.remedies),
        facts.PREFER: list(knowledge.remedies),
        facts.CAUTION: list(knowledge.cautions),
        facts.REFER: list(knowledge.referrals),
        facts.DECIDE: ["act", "watch", "leave", "refer"],
        **{s: _states(symptom) for s, symptom in knowledge.symptoms.items()},
    }


def _states(symptom: Symptom) -> list[str]:
    return [*symptom.values, PRESENT, ABSENT]


def rules(knowledge: Knowledge) -> Iterator[Finding]:
    """unknown-id, dead-rule, unused-conclusion, not-derived: rules that cannot do their work."""
    allowed = _allowed_values(knowledge)
    gives = {pair for rule in knowledge.rules.values() for pair in _pairs(rule.then)}
    needs = {pair for rule in knowledge.rules.values() for pair in _pairs(rule.when)}
    given = set(facts.GIVEN) | set(facts.ANSWER)
    for rule_id, rule in knowledge.rules.items():
        for name, value in _pairs(rule.when):
            at = ("rules", rule_id, "when", name)
            if name in allowed:
                yield from _unknown(knowledge, at, f"value of {name}", value, allowed[name])
            elif (name, value) not in gives:
                yield _finding(
                    knowledge, at, "dead-rule",
                    f"nothing gives {name}: {value}, so this rule can never fire",
                )  # fmt: skip
        for name, value in _pairs(rule.then):
            at = ("rules", rule_id, "then", name)
            if name in allowed:
                yield from _unknown(knowledge, at, f"value of {name}", value, allowed[name])
            symptom = knowledge.symptoms.get(name)
            if name in given or (symptom and not symptom.derived):
                yield _finding(
                    knowledge, at, "not-derived",
                    f"{name} is given or asked, so no rule may conclude it",
                )  # fmt: skip
            elif not symptom and name not in facts.ACTED_UPON and (name, value) not in needs:
                yield _finding(
                    knowledge, at, "unused-conclusion",
                    f"nothing uses {name}: {value}; use it in a rule or take it out",
                )  # fmt: skip


def _pairs(facts_: dict[str, str | list[str]]) -> list[tuple[str, str]]:
    return [
        (name, value)
        for name, values in facts_.items()
        for value in ([values] if isinstance(values, str) else values)
    ]


# What keeps the knowledge from being used.
ERRORS: tuple[Check, ...] = (
    references, evidence, cause_without_evidence, ladder, windows, rules,
)  # fmt: skip


def errors(knowledge: Knowledge) -> list[Finding]:
    """All that keeps the knowledge from being used, in order of file and line."""
    return sorted(finding for check in ERRORS for finding in check(knowledge))
