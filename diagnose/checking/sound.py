"""The part of a knowledge base that can be used: without what names nothing, or makes no sense."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

import msgspec

from diagnose.checking.subject import readable
from diagnose.kb.model import NONE, PRESENT, Cause, CropSeason, Knowledge


def sound(knowledge: Knowledge, mended: Collection[str] = ()) -> Knowledge:
    """The knowledge without dangling ids, and without the rules that `mended` names.

    What comes out can be reasoned with, so that one slip leaves the rest checked.
    """
    replace = msgspec.structs.replace
    crops = {
        crop_id: replace(
            crop,
            season=CropSeason(
                *(s if s is None or readable(s) else None
                  for s in (crop.season.sow, crop.season.harvest))
            ),
        )
        for crop_id, crop in knowledge.crops.items()
    }  # fmt: skip
    remedies = {
        remedy_id: replace(
            remedy,
            cautions=_known(remedy.cautions, knowledge.cautions),
            excludes=_known(remedy.excludes, knowledge.remedies),
        )
        for remedy_id, remedy in knowledge.remedies.items()
    }
    stretches = {s: v for s, v in knowledge.seasons.stretches.items() if readable(v)}
    return replace(
        knowledge,
        crops=crops,
        remedies=remedies,
        causes={cause_id: _cause(knowledge, cause) for cause_id, cause in knowledge.causes.items()},
        rules={r: rule for r, rule in knowledge.rules.items() if r not in mended},
        seasons=replace(knowledge.seasons, stretches=stretches),
        kin={
            k: msgspec.structs.replace(v, members=[m for m in v.members if m in knowledge.causes])
            for k, v in knowledge.kin.items()
        },
        letters={k: v for k, v in knowledge.letters.items() if v.cause in knowledge.causes},
    )


def _cause(knowledge: Knowledge, cause: Cause) -> Cause:
    return msgspec.structs.replace(
        cause,
        evidence=_evidence(knowledge, cause),
        season=cause.season if readable(cause.season) else "all year",
        looks_like={c: text for c, text in cause.looks_like.items() if c in knowledge.causes},
        remedies=_known(cause.remedies, knowledge.remedies),
        next_season=_known(cause.next_season, knowledge.remedies),
        cautions=_known(cause.cautions, knowledge.cautions),
        sources=_known(cause.sources, knowledge.sources),
        referral=cause.referral if cause.referral in knowledge.referrals else None,
    )


def _evidence(knowledge: Knowledge, cause: Cause) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for symptom_id, line in cause.evidence.items():
        symptom = knowledge.symptoms.get(symptom_id)
        if symptom is None:
            continue
        if isinstance(line, dict):
            allowed = {*(symptom.values or (PRESENT,)), NONE}
            line = {value: word for value, word in line.items() if value in allowed}
        if line:
            found[symptom_id] = line
    return found


def _known(words: list[str], allowed: Mapping[str, object]) -> list[str]:
    return [word for word in words if word in allowed]
