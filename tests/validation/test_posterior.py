"""Chances and the worth of questions against an exact Bayesian network engine (pyagrum)."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb import load
from diagnose.reasoning import facts
from diagnose.reasoning.clips import ClipsEngine
from diagnose.reasoning.facts import Observation
from tests.validation import folders

pytest.importorskip(
    "pyagrum", reason="pyagrum is not installed: pip install -e '.[validation]' to check chances"
)
from tests.validation.network import ELSE, Network, otherwise, prior, rarest

SUMMER, WINTER = date(2026, 6, 15), date(2026, 12, 15)


def consultation(files: Mapping[str, object], crop: str | None, day: date) -> Consultation:
    with tempfile.TemporaryDirectory() as folder:
        gathered = load.read(folders.write_folder(Path(folder), files))
    assert not gathered.findings and gathered.knowledge
    rules = facts.engine_rules(gathered.knowledge.rules)
    # CLIPS, since durable_rules keeps every set of rules for as long as the process lives
    reasoner = Reasoner(gathered.knowledge, ClipsEngine(rules))
    return Consultation(reasoner, day, reasoner.home(), crop)


def network_of(found: Consultation, also: list[tuple[str, str]]) -> Network:
    knowledge = found.reasoner.knowledge
    out = facts.concluded(found.closure.facts, facts.RULE_OUT)
    before = prior(knowledge, found.crop, found.reasoner.days_outside(found.day, found.place), out)
    counted = rarest(knowledge, found.counted)
    network = Network(knowledge, before, [*((o.symptom, o.source) for o in counted), *also])
    network.given(counted)
    return network


def told_apart(found: Consultation) -> bool:
    """Whether no two observations that restate one another are equally rare, up to rounding."""
    knowledge = found.reasoner.knowledge
    groups: dict[str, list[float]] = {}
    for one in found.counted:
        if group := knowledge.symptoms[one.symptom].overlaps:
            groups.setdefault(group, []).append(otherwise(knowledge, one))
    return all(b - a > 1e-12 for rare in map(sorted, groups.values()) for a, b in pairwise(rare))


@st.composite
def consultations(draw: st.DrawFn) -> Consultation:
    files = draw(folders.folders())
    found = consultation(
        files,
        draw(st.sampled_from([None, "kale", "potato"])),
        draw(st.sampled_from([SUMMER, WINTER])),
    )
    told = [Observation(*one) for one in draw(folders.seen(files))]
    return found.observe(told)


some = settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@some
@given(consultations().filter(told_apart))
def test_the_chances_are_those_of_the_network(found: Consultation) -> None:
    expected = network_of(found, []).posterior()
    chances = dict(zip([*found.reasoner.tables.causes, ELSE], found.chances, strict=True))
    assert chances == pytest.approx(expected, abs=1e-9)


@some
@given(consultations().filter(told_apart))
def test_the_worth_of_a_question_is_its_definition(found: Consultation) -> None:
    bits = {q.symptom: q.bits for q in found.questions}
    expected = network_of(found, [(s, "answer") for s in bits]).gains(bits)
    assert bits == pytest.approx(expected, abs=1e-9)
