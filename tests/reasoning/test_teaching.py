"""Rules that reason as a plant doctor does: each changes what is possible, asked or advised.

The sequence is published: Ohio State University Extension, 20 Questions on Plant Diagnosis
(PLPATH-GEN-3), and the University of Arizona's Master Gardener manual, chapter 3; each rule names
its own source.
"""

from __future__ import annotations

import re

import pytest

from diagnose.consultation import Reasoner
from diagnose.kb.model import Knowledge
from diagnose.pages.reasons import rules as rules_page
from diagnose.pages.reasons import why_asked
from tests.reasoning.teaching import (
    TEACHING,
    Scene,
    described,
    fires,
    leads_to,
    outcome,
    scenes,
    without,
)

AT_LEAST = 60
CHANGE_MUCH = 20


@pytest.mark.parametrize("scene", scenes(), ids=lambda scene: scene.rule)
def test_without_its_rule_a_scene_ends_otherwise(reasoner: Reasoner, scene: Scene) -> None:
    assert fires(scene, reasoner)
    assert outcome(scene, reasoner) != outcome(scene, without(reasoner, scene.rule))


def test_every_rule_of_these_files_has_its_scene(knowledge: Knowledge) -> None:
    names = {f"rules/{name}.yaml" for name in TEACHING}
    told = {r for r in knowledge.rules if knowledge.place("rules", r).partition(":")[0] in names}
    assert told == {scene.rule for scene in scenes()}
    assert len(told) >= AT_LEAST


def test_many_change_the_next_question_or_the_plan(reasoner: Reasoner) -> None:
    """Not somewhere down the list: the very next questions, or what is to be done."""
    found = 0
    for scene in scenes():
        now = outcome(scene, reasoner, asked=3)
        before = outcome(scene, without(reasoner, scene.rule), asked=3)
        found += (now.asked, now.plan) != (before.asked, before.plan)
    assert found >= CHANGE_MUCH


@pytest.mark.parametrize("scene", scenes(), ids=lambda scene: scene.rule)
def test_a_described_case_brings_the_rule_in(reasoner: Reasoner, scene: Scene) -> None:
    assert described(scene, reasoner, stated=True)


def test_most_come_in_from_the_words_alone_and_many_of_these_change_much(
    reasoner: Reasoner,
) -> None:
    """What a gardener writes, with no answer given: the next questions or the plan are others."""
    heard = changed = 0
    for scene in scenes():
        seen = described(scene, reasoner, stated=False)
        if seen is None:
            continue
        heard += 1
        less = seen.but(reasoner=without(reasoner, scene.rule))
        now, before = (leads_to(one, scene.told, asked=3) for one in (seen, less))
        changed += (now.asked, now.plan) != (before.asked, before.plan)
    assert heard >= AT_LEAST
    assert changed >= CHANGE_MUCH


def test_a_reason_reads_as_a_sentence(knowledge: Knowledge) -> None:
    for scene in scenes():
        because = knowledge.rules[scene.rule].because
        assert not re.search(r"[=_]|\w-\w+-\w", because), because
        assert len(because.split()) >= 7, because


def test_the_reason_stands_among_the_rules_used(reasoner: Reasoner) -> None:
    scene = next(s for s in scenes() if s.rule == "limp-in-wet-soil-look-at-roots")
    said = str(rules_page(scene.begin(reasoner).trace))
    assert "does not lack water but roots that work" in said
    assert "look first for bad smell, root galls, root rot, roots gone" in said


def test_why_a_look_is_asked_is_told_as_a_teacher_would(reasoner: Reasoner) -> None:
    scene = next(s for s in scenes() if s.rule == "limp-in-wet-soil-look-at-roots")
    told = [line.text for line in why_asked(scene.begin(reasoner), "root-rot")]
    assert any(line.startswith("A plant limp in wet soil does not lack water") for line in told)
