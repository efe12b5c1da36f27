"""The shipped knowledge: what it holds, that it is clean, and how far its cases come."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from diagnose.cases import start
from diagnose.checking.check import Report
from diagnose.kb.model import Case
from diagnose.kb.names import plainly
from tests.validation import resting

# Of the described cases, by phrases alone: no evidence and no phrase is there to fit one of them.
LATE = 0.025
FIRST, IN_THREE = 0.95, 0.99  # of the described cases, with everything told


def test_the_knowledge_is_as_large_as_it_is_said_to_be(knowledge) -> None:
    assert len(knowledge.crops) >= 45
    assert len(knowledge.causes) >= 200
    assert len(knowledge.symptoms) >= 300
    assert len(knowledge.rules) >= 150
    assert len(knowledge.remedies) >= 50
    assert sum(c.kind == "normal" for c in knowledge.causes.values()) >= 12
    assert {c.kind for c in knowledge.causes.values()} >= {"beneficial", "herbicide", "weed"}


def test_every_cause_is_whole(knowledge) -> None:
    for cause_id, cause in knowledge.causes.items():
        assert len(cause.evidence) >= 6, cause_id
        assert cause.remedies, cause_id
        assert len(cause.cases) >= 3, cause_id
        assert cause.look_again, cause_id
        assert cause.sources, cause_id


def test_at_most_a_fifth_rests_on_memory(knowledge) -> None:
    """Of the rules and of the decisions; docs/sources.md has the shares."""
    for found in (resting.rules(knowledge), resting.decisions(knowledge)):
        assert found[resting.MEMORY] <= found.total() / 5, found


def test_every_symptom_says_what_counts(knowledge) -> None:
    for symptom_id, symptom in knowledge.symptoms.items():
        assert symptom.counts and symptom.counts.endswith("."), symptom_id


def test_retired_ids_lead_to_what_is_there(knowledge) -> None:
    for old, now in knowledge.retired.items():
        symptom, _, value = now.partition("/")
        assert knowledge.symptoms[symptom].allows(value or "present"), old
        assert old.partition("/")[0] not in knowledge.symptoms or "/" in old, old


def test_kin_that_are_not_known_stand_once_and_are_no_crop(knowledge) -> None:
    kin = [plainly(name) for crop in knowledge.crops.values() for name in crop.kin]
    assert len(kin) == len(set(kin)) >= 100
    assert not [name for name in kin if knowledge.crop_named(name)]


def test_check_finds_nothing_but_some_late_cases(knowledge, report: Report) -> None:
    findings = report.findings
    late = [f for f in findings if f.code == "case-not-first"]
    others = [f for f in findings if f.code != "case-not-first"]
    assert not others, "\n".join(map(str, others))
    assert len(late) <= LATE * sum(len(cause.cases) for cause in knowledge.causes.values()), late


def test_the_described_cases_come_as_far_as_before(knowledge, report: Report) -> None:
    results = report.results
    assert len(results) == sum(len(cause.cases) for cause in knowledge.causes.values())
    first = sum(r.place == 1 for r in results) / len(results)
    three = sum(1 <= r.place <= 3 for r in results) / len(results)
    assert first >= FIRST, f"{first:.1%} come first"
    assert three >= IN_THREE, f"{three:.1%} come in the first three"


NAMED = [
    ("pale squiggly trails inside the leaves, some patches papery, no insects to be seen", "beet",
     "2026-06-05", "beet-leafminer", "watch"),
    ("ragged holes and green droppings on the leaves", "kale", "2026-06-20",
     "imported-cabbageworm", "act"),
    ("one of the potatoes is green", "potato", "2026-08-20", "greening-tubers", "act"),
    ("the spinach is sending up a stalk", "spinach", "2026-06-10", "spinach-bolting", "act"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "crop", "day", "cause", "decision"), NAMED)
def test_the_named_problems_come_first_with_their_plan(
    blank, text, crop, day, cause, decision
) -> None:
    done = start(Case(text=text, crop=crop, date=day), blank)
    assert cause in done.answers[0].causes  # kin that call for the same are one answer
    plan = done.plan(cause)
    assert plan.decision == decision
    today = [s for s in plan.now if done.reasoner.knowledge.remedies[s.remedy].season == "today"]
    assert list(plan.now[: len(today)]) == today
    rungs = [s.rung for s in plan.now if s not in today]
    assert rungs == sorted(rungs, key=("leave", "growing", "hands", "helpers").index)
    assert plan.harvest
    assert done.look_again(plan) > date.fromisoformat(day)


def test_greened_tubers_are_never_to_be_eaten(blank) -> None:
    done = start(Case(text="green potatoes", crop="potato"), blank)
    plan = done.plan("greening-tubers")
    assert "green-tubers" in plan.cautions
    assert "poison-centre" in plan.referrals


def test_no_cover_over_last_years_mines(blank) -> None:
    seen = replace(blank, crop="beet").answer("leaf-mines", "blotch")
    covered = seen.answer("same-family-last-year", "absent").plan("beet-leafminer")
    mined = seen.answer("same-family-last-year", "present").plan("beet-leafminer")
    assert "row-cover" in [s.remedy for s in covered.next_season]
    assert "row-cover" not in [s.remedy for s in (*mined.now, *mined.next_season)]
