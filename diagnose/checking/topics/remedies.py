"""Remedies and plans: the least-harm ladder, and what is never advised."""

from __future__ import annotations

import re
from collections.abc import Iterator

from diagnose.checking.subject import Subject
from diagnose.kb.load import Finding

PRODUCT = re.compile(
    r"\b(neem|bt|bacillus|pyrethrins?|pyrethrum|permethrin|spinosad|carbaryl|malathion"
    r"|imidacloprid|insecticidal soap|soap spray|horticultural oil|dormant oil|oil spray|copper"
    r"|sulfur|sulphur|diatomaceous|kaolin|glyphosate|metaldehyde|iron phosphate|boric acid"
    r"|fungicides?|insecticides?|herbicides?|pesticides?|miticides?|slug (?:bait|pellet)s?"
    r"|vinegar|baking soda|bleach|ammonia|epsom salts?|spray with|dust with|drench with)\b",
    re.IGNORECASE,
)
DOSE = re.compile(
    r"\b\d[\d./]*\s*(?:ml|millilit(?:er|re)s?|fl oz|oz|ounces?|tsp|tbsp|teaspoons?|tablespoons?"
    r"|grams?|g|lbs?|pounds?|cups?|ppm|%|parts?)(?!\w)"
    r"|\b(?:teaspoons?|tablespoons?|ounces?|grams?|cups?|pounds?) (?:of|per|to)\b"
    r"|\bper (?:gallon|lit(?:er|re)|quart|pint)\b",
    re.IGNORECASE,
)
GENTLEST = frozenset({"leave", "growing"})
NEEDS_NO_MEASURE = frozenset({"leave", "watch"})  # a decision that is the gentlest rung itself


def products(subject: Subject) -> Iterator[Finding]:
    """product-or-dose: a remedy names what is a pesticide in law, or doses something."""
    for remedy_id, remedy in subject.knowledge.remedies.items():
        for pattern, does in ((PRODUCT, "names"), (DOSE, "doses:")):
            found = pattern.search(remedy.text)
            if found:
                yield subject.finding(
                    ("remedies", remedy_id, "text"), "product-or-dose",
                    f"{does} {found.group()!r}; refer to the extension service instead",
                )  # fmt: skip


def ladder(subject: Subject) -> Iterator[Finding]:
    """skips-the-ladder, no-measure: plans that begin too high, or do nothing at all."""
    remedies = subject.knowledge.remedies
    for cause_id, cause in subject.knowledge.causes.items():
        if cause.matters.decision in NEEDS_NO_MEASURE:
            continue
        measures = [*cause.remedies, *cause.next_season]
        if not measures and cause.matters.decision == "act":
            yield subject.finding(
                ("causes", cause_id), "no-measure",
                "it is to be acted on, but no remedy says how; name some, or decide otherwise",
            )  # fmt: skip
        elif measures and all(remedies[r].rung not in GENTLEST for r in measures):
            rungs = sorted({remedies[r].rung for r in measures})
            yield subject.finding(
                ("causes", cause_id, "remedies"), "skips-the-ladder",
                f"only {' and '.join(rungs)}; put a growing practice or leaving alone first",
            )  # fmt: skip
