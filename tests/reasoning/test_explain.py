"""What fired, what it ruled out, and what the leading cause leaves unexplained."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import msgspec
import pytest

from diagnose.consultation import Consultation
from diagnose.ready import open_knowledge, open_reasoner
from diagnose.reasoning.engine import Firing
from diagnose.reasoning.explain import Reason, reasons, ruled_out, unexplained
from diagnose.reasoning.facts import RULE_OUT, Observation, fact
from diagnose.reasoning.ranking import SOMETHING_ELSE, Tables


def reason(given: str, gives: str, because: str = "so it is") -> Reason:
    return Reason("a-rule", (given,), (gives,), because)


def test_what_a_rule_rules_out_has_its_reason() -> None:
    trace = [reason("crop: kale", fact(RULE_OUT, "greening"), "kale has no tubers")]
    assert ruled_out(trace) == {"greening": "kale has no tubers"}


def test_the_first_reason_is_told() -> None:
    out = fact(RULE_OUT, "greening")
    assert ruled_out([reason("a", out, "first"), reason("b", out, "second")]) == {
        "greening": "first"
    }


def test_what_rests_on_a_doubtful_fact_rules_nothing_out() -> None:
    chain = [reason("a", "b"), reason("b", "c"), reason("c", fact(RULE_OUT, "greening"))]
    assert ruled_out(chain) == {"greening": "so it is"}
    for doubtful in "abc":
        assert ruled_out(chain, [doubtful]) == {}
    assert ruled_out(chain, ["d"]) == {"greening": "so it is"}


@pytest.fixture
def kale(tiny: Path) -> Consultation:
    reasoner = open_reasoner(tiny)
    return Consultation(reasoner, date(2026, 6, 15), reasoner.home()).about("kale")


@pytest.mark.parametrize(
    ("cause", "seen", "left"),
    [
        ("caterpillar", ("droppings", "present"), False),
        ("flea-beetle", ("droppings", "present"), True),  # it never leaves any
        ("flea-beetle", ("droppings", "absent"), False),  # nothing seen asks for nothing
        ("flea-beetle", ("long-days", "present"), False),  # a condition
        ("greening", ("holes", "present"), False),  # no likelier with it, but common anyway
        (SOMETHING_ELSE, ("droppings", "present"), True),
    ],
)
def test_what_a_cause_leaves_unexplained(
    kale: Consultation, cause: str, seen: tuple[str, str], left: bool
) -> None:
    told = [Observation(*seen)]
    assert unexplained(kale.tables, cause, told) == (told if left else [])


def test_a_rule_that_fired_is_told_in_the_words_of_the_knowledge(kale: Consultation) -> None:
    rules = kale.reasoner.knowledge.rules
    fired = Firing("swallowed/2", ("concern=child-ate",), ("alert=swallowed",))  # the second way
    assert reasons(rules, [fired]) == [
        Reason("swallowed", fired.facts, fired.gives, "a child ate berries")
    ]


def test_a_sound_reason_counts_after_a_doubtful_one() -> None:
    trace = [reason("a", fact(RULE_OUT, "aphids")), reason("b", fact(RULE_OUT, "greening"))]
    assert ruled_out(trace, ["a"]) == {"greening": "so it is"}


@pytest.mark.parametrize("kind", ["condition", "pattern"])
def test_a_rare_condition_or_pattern_asks_for_no_explanation(tiny: Path, kind: str) -> None:
    knowledge = open_knowledge(tiny)
    for held, left in ((kind, False), ("symptom", True)):
        days = msgspec.structs.replace(
            knowledge.symptoms["long-days"], background="hardly ever", kind=held
        )
        tables = Tables(
            msgspec.structs.replace(knowledge, symptoms={**knowledge.symptoms, "long-days": days})
        )
        told = [Observation("long-days", "present")]
        assert bool(unexplained(tables, "greening", told)) is left


def test_one_thing_explained_hides_no_other(kale: Consultation) -> None:
    told = [Observation("droppings", "absent"), Observation("green-tuber", "present")]
    for cause in ("flea-beetle", SOMETHING_ELSE):
        assert unexplained(kale.tables, cause, told) == told[1:]
