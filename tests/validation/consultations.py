"""Consultations on random knowledge folders."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from datetime import date
from itertools import pairwise
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb import load
from diagnose.reasoning import facts
from diagnose.reasoning.clips import ClipsEngine
from diagnose.reasoning.facts import Observation
from tests.validation import folders
from tests.validation.words import otherwise

SUMMER, WINTER = date(2026, 6, 15), date(2026, 12, 15)

some = settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def told_apart(found: Consultation) -> bool:
    """Whether no two observations that restate one another are equally rare, up to rounding."""
    knowledge = found.reasoner.knowledge
    groups: dict[str, list[float]] = {}
    for one in found.counted:
        if group := knowledge.symptoms[one.symptom].overlaps:
            groups.setdefault(group, []).append(otherwise(knowledge, one, found.given))
    return all(b - a > 1e-12 for rare in groups.values() for a, b in pairwise(sorted(rare)))


def consultation_of(
    files: Mapping[str, object], crop: str | None, day: date = SUMMER
) -> Consultation:
    """A consultation on the knowledge of a folder with these files."""
    with tempfile.TemporaryDirectory() as folder:
        gathered = load.read(folders.write_folder(Path(folder), files))
    assert not gathered.findings and gathered.knowledge, gathered.findings
    rules = facts.engine_rules(gathered.knowledge.rules)
    # CLIPS, since durable_rules keeps every set of rules for as long as the process lives
    reasoner = Reasoner(gathered.knowledge, ClipsEngine(rules))
    return Consultation(reasoner, day, reasoner.home(), crop)


@st.composite
def consultations(draw: st.DrawFn) -> Consultation:
    """A consultation with some symptoms told, by text, answers and a case."""
    files = draw(folders.folders())
    crop = draw(st.sampled_from([None, "kale", "potato"]))
    found = consultation_of(files, crop, draw(st.sampled_from([SUMMER, WINTER])))
    return found.observe(Observation(*one) for one in draw(folders.seen(files)))
