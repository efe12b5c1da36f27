"""A plan from what the rules conclude, in the tiny knowledge."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from diagnose.kb.model import Knowledge, LookAgain
from diagnose.ready import open_knowledge
from diagnose.reasoning.advice import Plan, Step, calls_for, make_plan, same_for_gardener
from diagnose.reasoning.engine import Closure, Firing
from tests.conftest import TINY, write


@pytest.fixture
def small(tiny: Path) -> Knowledge:
    write(tiny, {
        "remedies.yaml": TINY["remedies.yaml"]
        + "bag: {rung: growing, season: today, text: Bag it., excludes: [pick]}\n"
        + "net: {rung: helpers, text: Put a net on it., cautions: [net]}\n",
        "referrals.yaml": "extension: {to: your office, text: Ask., excludes: [hill]}\n",
    })  # fmt: skip
    return open_knowledge(tiny)


def plan(knowledge: Knowledge, cause: str, *facts: str) -> Plan:
    """The plan where a rule has concluded these facts."""
    return make_plan(knowledge, cause, Closure(frozenset(facts), (Firing("swallowed", (), facts),)))


def now(found: Plan) -> list[str]:
    return [step.remedy for step in found.now]


@pytest.mark.parametrize(
    ("decided", "holds"),
    [((), "watch"), (("leave",), "leave"), (("leave", "act"), "act"), (("watch", "leave"), "watch"),
     (("act", "refer", "leave"), "refer"), (("watch", "act"), "act")],
)  # fmt: skip
def test_the_most_careful_decision_holds(small, decided, holds: str) -> None:
    assert plan(small, "caterpillar", *(f"decide={d}" for d in decided)).decision == holds


def test_why_it_matters(small) -> None:
    assert plan(small, "caterpillar").matters == "It matters on small plants."
    graver = plan(small, "caterpillar", "decide=act").matters
    assert graver == "A child ate berries. It matters on small plants."
    assert plan(small, "caterpillar", "decide=leave").matters == "A child ate berries."


def test_measures_that_rules_prefer_come_and_those_to_avoid_go(small) -> None:
    assert now(plan(small, "caterpillar")) == ["pick"]
    assert now(plan(small, "caterpillar", "prefer=net")) == ["pick", "net"]  # gentlest first
    assert now(plan(small, "caterpillar", "prefer=net", "avoid=pick")) == ["net"]
    assert now(plan(small, "caterpillar", "avoid=pick")) == []


def test_what_is_for_today_stands_first_and_what_contradicts_it_goes(small) -> None:
    assert now(plan(small, "caterpillar", "prefer=bag", "prefer=net")) == ["bag", "net"]


def test_a_referral_has_its_measures_wait(small) -> None:
    found = plan(small, "greening", "refer=extension")
    assert (now(found), found.referrals) == ([], ("extension",))
    assert now(plan(small, "greening")) == ["hill"]


def test_leaving_it_alone_is_no_way_to_act(small) -> None:
    assert now(plan(small, "flea-beetle")) == ["wait"]
    assert now(plan(small, "flea-beetle", "decide=act", "prefer=net")) == ["net"]


def test_next_season_is_not_now(small) -> None:
    found = plan(small, "flea-beetle")
    assert [step.remedy for step in found.next_season] == ["cover"]
    assert [s.remedy for s in plan(small, "flea-beetle", "avoid=cover").next_season] == []


def test_cautions_of_the_measures_and_of_the_rules_each_once(small) -> None:
    found = plan(small, "caterpillar", "prefer=net", "caution=wash", "caution=net")
    assert sorted(found.cautions) == ["net", "wash"]
    assert plan(small, "caterpillar", "prefer=net", "caution=wash").cautions == ("net", "wash")
    assert plan(small, "caterpillar").cautions == ()


def test_one_plan_for_the_gardener_is_the_same_in_all_that_matters(small) -> None:
    plain = same_for_gardener(plan(small, "caterpillar"))
    assert plain == same_for_gardener(plan(small, "caterpillar", "prefer=pick"))
    for fact in ("caution=wash", "refer=extension", "decide=act", "prefer=net"):
        assert plain != same_for_gardener(plan(small, "caterpillar", fact)), fact


def test_when_to_look_again_where_the_cause_does_not_say(small) -> None:
    found = plan(small, "caterpillar")
    assert (found.look_again_days, found.look_again_for) == (7, "any change")


def test_what_the_cause_itself_says_comes_into_the_plan(small) -> None:
    cause = small.causes["caterpillar"]
    told = msgspec.structs.replace(
        cause,
        matters=msgspec.structs.replace(cause.matters, threshold="One on three plants."),
        look_again=LookAgain(days=3, for_="fresh holes"),
        cautions=["wash"],
        remedies=["pick", "cover"],
        next_season=["wait"],
    )
    knowledge = msgspec.structs.replace(small, causes={**small.causes, "caterpillar": told})
    found = plan(knowledge, "caterpillar", "prefer=net")
    assert found.threshold == "One on three plants."
    assert (found.look_again_days, found.look_again_for) == (3, "fresh holes")
    assert found.cautions == ("wash", "net")
    assert now(found) == ["pick", "net"]
    assert [step.remedy for step in found.next_season] == ["cover", "wait"]


def test_what_is_for_today_stays_where_all_is_left_alone(small) -> None:
    assert now(plan(small, "caterpillar", "decide=leave", "prefer=bag")) == ["bag"]


def test_what_rules_leave_alone_keeps_only_what_is_no_work_now(small) -> None:
    left = plan(small, "caterpillar", "decide=leave", "prefer=wait")
    assert now(left) == ["wait"]
    assert now(plan(small, "caterpillar", "decide=leave", "prefer=net", "prefer=wait")) == [
        "wait", "net",
    ]  # fmt: skip


def having(knowledge: Knowledge, cause_id: str, *remedies: str) -> Knowledge:
    """The knowledge with these measures for a cause."""
    cause = msgspec.structs.replace(knowledge.causes[cause_id], remedies=list(remedies))
    return msgspec.structs.replace(knowledge, causes={**knowledge.causes, cause_id: cause})


def test_a_plan_is_of_its_cause_and_says_what_may_be_eaten(small) -> None:
    found, cause = plan(small, "caterpillar"), small.causes["caterpillar"]
    assert (found.cause, found.harvest, found.eat) == ("caterpillar", cause.harvest, cause.eat)
    assert found.now == (Step("pick", "hands", "Pick them off."),)


def test_where_rules_leave_a_cause_alone_its_measures_of_work_go(small) -> None:
    more = having(small, "caterpillar", "pick", "wait", "cover", "bag")
    left = plan(more, "caterpillar", "decide=leave")
    assert now(left) == ["bag", "wait"]  # what is for today stays, before the gentlest
    assert [step.remedy for step in left.next_season] == ["cover"]


def test_of_two_that_contradict_one_another_what_is_for_today_stays(small) -> None:
    assert now(plan(having(small, "caterpillar", "pick", "bag"), "caterpillar")) == ["bag"]


def test_what_is_left_alone_by_itself_keeps_its_measures(small) -> None:
    assert now(plan(having(small, "flea-beetle", "wait", "net"), "flea-beetle")) == ["wait", "net"]


def test_kinds_of_one_pest_call_for_the_same_by_decision_eating_and_cautions(small) -> None:
    one = calls_for(plan(small, "caterpillar"))
    assert one == calls_for(plan(small, "caterpillar", "prefer=net", "avoid=net"))
    for fact in ("decide=act", "caution=wash", "refer=extension"):
        assert one != calls_for(plan(small, "caterpillar", fact)), fact
