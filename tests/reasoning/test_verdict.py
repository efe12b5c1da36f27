"""How sure an answer is, and which causes are one answer."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.kb.model import Kin, VerdictNumbers
from diagnose.reasoning.ranking import SOMETHING_ELSE
from diagnose.reasoning.verdict import Answer, Grounds, answers, in_words, judge

NUMBERS = VerdictNumbers(clear=0.9, likely=0.6, named=0.05, words={})
FULL = Grounds(understood=True, asked=True, speaks=True, unexplained=False)
KIN = {"worms": Kin(name="worms", members=["a", "b", "c"])}


@pytest.mark.parametrize(
    ("chance", "grounds", "verdict"),
    [(0.9, FULL, "clear"), (0.899, FULL, "likely"), (0.6, FULL, "likely"), (0.599, FULL, "open"),
     (0.99, replace(FULL, asked=False), "likely"),
     (0.99, replace(FULL, unexplained=True), "likely"),
     (0.99, replace(FULL, speaks=False), "open"),
     (0.99, replace(FULL, understood=False), "nothing understood")],
)  # fmt: skip
def test_a_verdict_needs_chance_and_grounds(chance: float, grounds: Grounds, verdict: str) -> None:
    assert judge(Answer(("a",), chance), grounds, NUMBERS) == verdict


def test_no_verdict_on_what_has_no_one_plan() -> None:
    assert judge(None, FULL, NUMBERS) == "open"
    assert judge(Answer((SOMETHING_ELSE,), 0.99), FULL, NUMBERS) == "open"
    assert judge(Answer(("a", "b"), 0.99, "worms", joint=True), FULL, NUMBERS) == "open"


def test_kin_of_one_plan_are_one_answer() -> None:
    standing = [("a", 0.4), (SOMETHING_ELSE, 0.3), ("b", 0.2), ("c", 0.06), ("d", 0.04)]
    found = answers(standing, KIN, {"a": 1, "b": 1, "c": 2}, 0.05)
    assert [(f.causes, round(f.chance, 3), f.kin) for f in found] == [
        (("a", "b"), 0.6, "worms"), ((SOMETHING_ELSE,), 0.3, None), (("c",), 0.06, None),
    ]  # fmt: skip


def test_kin_without_a_plan_are_one_answer_only_where_they_share_the_trouble() -> None:
    standing = [("a", 0.5), ("b", 0.4)]
    assert [f.causes for f in answers(standing, KIN, {}, 0.05)] == [("a",), ("b",)]
    joint = {"worms": Kin(name="worms", members=["a", "b"], joint=True)}
    [one] = answers(standing, joint, {}, 0.05)
    assert (one.causes, one.joint, one.first) == (("a", "b"), True, "a")
    [alone] = answers([("a", 0.5)], joint, {}, 0.05)
    assert (alone.joint, alone.kin) == (False, None)  # nothing to share the trouble with
    assert not answers(standing, KIN, {"a": 1, "b": 1}, 0.05)[0].joint


def test_what_just_reaches_the_least_chance_is_an_answer() -> None:
    assert [f.causes for f in answers([("a", 0.5), ("d", 0.05)], {}, {}, 0.05)] == [("a",), ("d",)]


def test_together_they_may_come_before_the_likeliest() -> None:
    standing = [("d", 0.4), ("a", 0.35), ("b", 0.25)]
    assert answers(standing, KIN, {"a": 1, "b": 1}, 0.05)[0].causes == ("a", "b")


def test_words_of_a_scale() -> None:
    scale = {"sure": 0.9, "likely": 0.5, "hardly": 0.0}
    assert [in_words(p, scale) for p in (0.95, 0.9, 0.89, 0.5, 0.1)] == [
        "sure", "sure", "likely", "likely", "hardly",
    ]  # fmt: skip


def test_no_chance_is_without_a_word() -> None:
    assert in_words(0, {"sure": 0.9, "likely": 0.5, "hardly": 0.1}) == "hardly"
