"""Chances against the definition, written out anew here with plain fractions."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.kb.model import ABSENT, Symptom
from diagnose.ready import open_knowledge
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.questions import rank_questions
from diagnose.reasoning.ranking import SOMETHING_ELSE, background, distribution, moved
from tests.conftest import write

pytestmark = pytest.mark.quick

JUNE = date(2026, 6, 15)


@pytest.fixture
def small(tiny: Path) -> Consultation:
    reasoner = Reasoner(open_knowledge(tiny))
    return Consultation(reasoner, JUNE, reasoner.home(), "kale")


def chance(consultation: Consultation, cause: str) -> float:
    return next(r.chance for r in consultation.ranked if r.cause == cause)


def test_a_distribution_sums_to_one_and_says_what_its_words_say() -> None:
    numbers = {"always": 0.97, "usually": 0.77, "often": 0.6, "sometimes": 0.28, "seldom": 0.07}
    symptom = Symptom("holes", "leaf", "?", "sometimes", values={"a": "a", "b": "b"})
    assert background(symptom, numbers) == pytest.approx({ABSENT: 0.72, "a": 0.14, "b": 0.14})
    found = distribution(symptom, {"a": "usually"}, numbers)
    # the 0.23 left is shared by absent and b as 0.72 to 0.14
    expected = {ABSENT: 0.23 * 0.72 / 0.86, "a": 0.77, "b": 0.23 * 0.14 / 0.86}
    assert found == pytest.approx(expected)
    whole = distribution(symptom, {"a": "usually", "b": "often"}, numbers)
    assert sum(whole.values()) == pytest.approx(1)
    assert whole["a"] / whole["b"] == pytest.approx(0.77 / 0.6)
    assert distribution(symptom, "often", numbers) == pytest.approx(
        {ABSENT: 0.4, "a": 0.3, "b": 0.3}
    )


def test_a_background_of_forms_says_what_each_says() -> None:
    numbers = {"always": 0.97, "often": 0.6, "sometimes": 0.28, "never": 0.005}
    holes = Symptom("holes", "leaf", "?", {"a": "sometimes"}, values={"a": "a", "b": "b"})
    assert background(holes, numbers) == pytest.approx({ABSENT: 0.715, "a": 0.28, "b": 0.005})
    full = Symptom("holes", "leaf", "?", {"a": "always", "b": "often"}, values={"a": "a", "b": "b"})
    there = {"a": 0.98 * 0.97 / 1.57, "b": 0.98 * 0.6 / 1.57}  # never more than 0.98 together
    assert background(full, numbers) == pytest.approx({ABSENT: 0.02, **there})


def test_where_every_state_is_named_the_words_are_shares() -> None:
    numbers = {"always": 0.97, "often": 0.6, "sometimes": 0.28, "seldom": 0.07}
    symptom = Symptom("holes", "leaf", "?", "sometimes", values={"a": "a", "b": "b"})
    for words in (("often", "sometimes", "seldom"), ("seldom", "seldom", "sometimes")):
        said = dict(zip(("a", "b", "none"), words, strict=True))
        shares = {ABSENT if v == "none" else v: numbers[word] for v, word in said.items()}
        whole = sum(shares.values())
        found = distribution(symptom, said, numbers)
        assert found == pytest.approx({v: share / whole for v, share in shares.items()})
    crowded = distribution(symptom, {"a": "always", "b": "often"}, numbers)
    assert crowded == pytest.approx({ABSENT: 0.02, "a": 0.98 * 0.97 / 1.57, "b": 0.98 * 0.6 / 1.57})


def test_a_reading_is_trusted_as_far_as_it_says_itself(small: Consultation) -> None:
    """The form mistaken as often as `text` has it; here never."""
    tables = small.tables
    for trust in (0.3, 0.9):
        told = np.exp(tables.column(Observation("holes", "ragged", "text", "", trust)))
        usual = 0.28 / 2
        assert told[tables.row["caterpillar"]] == pytest.approx(trust * 0.6 + (1 - trust) * usual)
        assert told[-1] == pytest.approx(usual)


def test_the_chances_are_bayes_rule_by_hand(small: Consultation) -> None:
    """docs/reasoning.md works the same example."""
    seen = small.observe([Observation("holes", "ragged"), Observation("droppings", "present")])
    # long days hold on 15 June, and count as the rule concludes them; they are alike for both
    caterpillar = 0.97 / 2 * 0.60 * 0.60  # holes: ragged often; droppings: often
    flea_beetle = 0.97 / 2 * 0.28 * 0.005  # holes: ragged sometimes; droppings: never
    else_ = 0.03 * 0.14 * 0.02  # backgrounds: half of sometimes; hardly ever
    total = caterpillar + flea_beetle + else_
    assert chance(seen, "caterpillar") == pytest.approx(caterpillar / total, abs=1e-9)
    assert chance(seen, "flea-beetle") == pytest.approx(flea_beetle / total, abs=1e-9)
    assert chance(seen, SOMETHING_ELSE) == pytest.approx(else_ / total, abs=1e-9)


def test_what_is_told_can_be_wrong(tiny: Path) -> None:
    """Each told state by hand: the form mistaken, then the whole of it."""
    path = tiny / "likelihood.yaml"
    text = path.read_text().replace("answer: {seen: 1, form: 1}", "answer: {seen: 0.9, form: 0.6}")
    write(tiny, {"likelihood.yaml": text})
    tables = Reasoner(open_knowledge(tiny)).tables
    found = np.exp(tables.column(Observation("holes", "tiny"))[tables.row["caterpillar"]])
    there = 0.60 + 0.07  # ragged often, tiny seldom; absent takes the rest
    told = 0.6 * 0.07 + 0.4 * there / 2  # in the background the two forms are alike
    assert found == pytest.approx(0.9 * told + 0.1 * 0.14)


def test_a_weight_is_ten_log_ten_of_the_likelihood_ratio(small: Consultation) -> None:
    seen = small.observe([Observation("droppings", "present")])
    [first] = [r for r in seen.ranked if r.cause == "caterpillar"]
    weight = next(w for w in first.weights if w.symptom == "droppings")
    assert weight.decibans == pytest.approx(10 * math.log10(0.6 / 0.02))


def test_the_order_of_answers_does_not_matter(small: Consultation) -> None:
    answers = [("holes", "tiny"), ("droppings", ABSENT), ("green-tuber", ABSENT)]
    results = []
    for order in permutations(answers):
        consultation = small
        for symptom, value in order:
            consultation = consultation.answer(symptom, value)
        results.append(consultation.chances)
    for other in results[1:]:
        np.testing.assert_allclose(other, results[0], rtol=0, atol=1e-12)


def test_a_cause_that_is_not_at_home_on_the_crop_is_no_candidate(small: Consultation) -> None:
    assert "greening" not in [r.cause for r in small.ranked]


def test_a_rule_can_rule_out(tiny: Path) -> None:
    reasoner = Reasoner(open_knowledge(tiny))
    potato = Consultation(reasoner, JUNE, reasoner.home(), "potato")
    assert chance(potato, "greening") > 0
    without = potato.answer("green-tuber", ABSENT)
    assert "greening" not in [r.cause for r in without.ranked]
    assert without.trace[-1].rule == "only-greening-if-green"


def test_out_of_season_is_less_likely(small: Consultation) -> None:
    reasoner = small.reasoner
    winter = Consultation(reasoner, date(2026, 1, 15), reasoner.home(), "kale")
    odds = reasoner.knowledge.likelihood.season
    assert chance(winter, "caterpillar") / chance(winter, "flea-beetle") == pytest.approx(odds.out)


def test_of_symptoms_that_restate_one_another_the_rarest_counts(tiny: Path) -> None:
    path = tiny / "symptoms/all.yaml"
    text = path.read_text()
    for name in ("holes", "droppings"):
        text = text.replace(f"{name}:\n", f"{name}:\n  overlaps: chewed\n", 1)
    write(tiny, {"symptoms/all.yaml": text})
    reasoner = Reasoner(open_knowledge(tiny))
    kale = Consultation(reasoner, JUNE, reasoner.home(), "kale")
    both = kale.observe([Observation("holes", "ragged"), Observation("droppings", "present")])
    alone = kale.observe([Observation("droppings", "present")])
    np.testing.assert_allclose(both.chances, alone.chances)
    assert "holes" not in [q.symptom for q in alone.questions]


def test_the_bits_of_a_question_are_their_definition(small: Consultation) -> None:
    """Entropy now less mean entropy after the answer, with plain loops."""

    def entropy(chances: np.ndarray) -> float:
        return -sum(p * math.log2(p) for p in chances if p > 0)

    tables = small.reasoner.tables
    for question in rank_questions(tables, small.chances, ["holes", "droppings"]):
        after = 0.0
        symptom = small.reasoner.knowledge.symptoms[question.symptom]
        for state in symptom.states:
            joint = small.chances * np.exp(tables.column(Observation(question.symptom, state)))
            after += joint.sum() * entropy(joint / joint.sum())
        assert question.bits == pytest.approx(entropy(small.chances) - after, abs=1e-9)


def test_back_and_the_same_answer_change_nothing(small: Consultation) -> None:
    once = small.answer("holes", "ragged")
    again = small.answer("holes", "ragged")
    assert once == again
    assert [r.chance for r in once.ranked] == [r.chance for r in again.ranked]


def test_unsure_is_no_evidence_but_is_not_asked_again(small: Consultation) -> None:
    unsure = small.answer("holes", "unsure")
    np.testing.assert_allclose(unsure.chances, small.chances)
    assert "holes" not in [q.symptom for q in unsure.questions]
    assert unsure.asked == 1


def test_words_that_nobody_has_confirmed_rule_nothing_out(tiny: Path) -> None:
    reasoner = Reasoner(open_knowledge(tiny))
    potato = Consultation(reasoner, JUNE, reasoner.home(), "potato")
    read = potato.observe([Observation("green-tuber", ABSENT, "text")])
    assert "greening" in [r.cause for r in read.ranked]
    assert read.ruled_out == {}
    assert potato.answer("green-tuber", ABSENT).ruled_out == {"greening": "no tuber is green"}


def told(small: Consultation, value: str) -> np.ndarray:
    return np.exp(small.reasoner.tables.column(Observation("holes", value)))


def test_a_denied_form_is_as_likely_as_that_it_is_none_of_this(small: Consultation) -> None:
    assert told(small, "not-tiny") == pytest.approx(1 - told(small, "tiny"))
    assert told(small, "not-tiny") == pytest.approx(told(small, "absent") + told(small, "ragged"))


def test_forms_that_hold_together_are_looks_at_one_that_is_there(small: Consultation) -> None:
    there = 1 - told(small, "absent")
    both = told(small, "ragged") * told(small, "tiny") / there
    assert told(small, "ragged+tiny") == pytest.approx(both)
    pairs = sum(told(small, f"{a}+{b}") for a in ("ragged", "tiny") for b in ("ragged", "tiny")
                if a != b)  # fmt: skip
    twice = (told(small, "ragged") ** 2 + told(small, "tiny") ** 2) / there
    assert pairs + twice == pytest.approx(there)  # two looks at it, in every way


def test_a_denied_form_leaves_its_question_open(small: Consultation) -> None:
    assert "holes" in [q.symptom for q in small.answer("holes", "not-tiny").questions]
    assert "holes" not in [q.symptom for q in small.answer("holes", "absent").questions]


def doubting(tiny: Path, channel: str) -> Consultation:
    """On kale in June, where a description is believed as far as `channel` says."""
    path = tiny / "likelihood.yaml"
    was = "channel: {read: 1, slip: 0.000001}"
    assert was in path.read_text()
    path.write_text(path.read_text().replace(was, f"channel: {{{channel}}}"))
    reasoner = Reasoner(open_knowledge(tiny))
    return Consultation(reasoner, JUNE, reasoner.home(), "kale")


def test_what_is_read_counts_less_than_what_is_answered(tiny: Path) -> None:
    kale = doubting(tiny, "read: 0.5, slip: 0.000001")
    odds = []
    for source in ("text", "confirmed", "answer"):
        seen = kale.observe([Observation("droppings", "present", source)])
        odds.append(chance(seen, "caterpillar") / chance(seen, "flea-beetle"))
    ratio = 0.6 / 0.005  # droppings: often, never; the odds before are even
    np.testing.assert_allclose(odds, [ratio**0.5, ratio**0.5, ratio], rtol=1e-3)


def test_with_chance_slip_a_description_says_nothing(tiny: Path) -> None:
    kale = doubting(tiny, "read: 1, slip: 0.2")
    read = [Observation("droppings", "present", "text")]
    sure = 0.485 * 0.6, 0.485 * 0.005, 0.03 * 0.02
    for cause, before, whole in zip(
        ("caterpillar", "flea-beetle", SOMETHING_ELSE), (0.485, 0.485, 0.03), sure, strict=True
    ):
        expected = 0.8 * whole / sum(sure) + 0.2 * before
        assert chance(kale.observe(read), cause) == pytest.approx(expected, abs=1e-9)


def test_what_is_ruled_out_stays_out_whatever_is_told(tiny: Path) -> None:
    kale = doubting(tiny, "read: 0.5, slip: 0.2")
    potato = replace(kale, crop="potato").answer("green-tuber", ABSENT)
    told = potato.observe([Observation("holes", "tiny", "text")])
    assert told.chances[told.tables.row["greening"]] == 0
    assert told.chances.sum() == pytest.approx(1)


def test_what_moves_a_cause_adds_up(tiny: Path) -> None:
    """The start is the odds before anything is told, and the lines lead to the order shown."""
    kale = doubting(tiny, "read: 0.6, slip: 0.1")
    told = kale.told(clean("ragged holes and green droppings")).answer("holes", "ragged")
    for ranked in told.ranked:
        if ranked.cause != SOMETHING_ELSE:
            start = told.prior[told.tables.row[ranked.cause]] - told.prior[-1]
            assert ranked.start == pytest.approx(10 / math.log(10) * start)
        expected = 10 * math.log10(ranked.chance / told.chances[-1])
        assert ranked.total == pytest.approx(expected)


def test_none_of_these_to_a_pattern_is_no_evidence(tiny: Path) -> None:
    path = tiny / "symptoms/all.yaml"
    text = path.read_text().replace("holes:\n", "holes:\n  kind: pattern\n", 1)
    write(tiny, {"symptoms/all.yaml": text})
    reasoner = Reasoner(open_knowledge(tiny))
    kale = Consultation(reasoner, JUNE, reasoner.home(), "kale")
    np.testing.assert_allclose(kale.answer("holes", ABSENT).chances, kale.chances)
    assert chance(kale.answer("holes", "ragged"), "caterpillar") > chance(kale, "caterpillar")


def test_a_background_depends_on_crop_and_season(tiny: Path) -> None:
    path = tiny / "symptoms/all.yaml"
    where = "background-where: [{season: spring, crop: kale, is: often}]"
    text = path.read_text().replace("droppings:\n", f"droppings:\n  {where}\n", 1)
    write(tiny, {"symptoms/all.yaml": text})
    reasoner = Reasoner(open_knowledge(tiny))
    june, may = JUNE, date(2026, 5, 15)
    for crop, day, there in (("kale", may, 0.6), ("kale", june, 0.02), ("potato", may, 0.02)):
        found = Consultation(reasoner, day, reasoner.home(), crop)
        shares = found.tables.shares("droppings")
        assert 1 - shares[-1, 0] == pytest.approx(there)
        # it adds to what is there anyway: often, 0.6, beside hardly ever, 0.02
        adds = 1 - (1 - 0.6) * (1 - there) / 0.98
        assert 1 - shares[found.tables.row["caterpillar"], 0] == pytest.approx(adds)
        # what is never there is rarer in the same proportion
        assert 1 - shares[found.tables.row["flea-beetle"], 0] == pytest.approx(0.005 * there / 0.02)
        fresh = found.tables.bits(found.chances)[found.tables.place["droppings"]]
        answers = [found.answer("droppings", state) for state in ("present", ABSENT)]
        told = found.chances @ shares
        gain = -(found.chances[found.chances > 0] * np.log2(found.chances[found.chances > 0])).sum()
        for share, after in zip(told[::-1], answers, strict=True):
            left = after.chances[after.chances > 0]
            gain += share * (left * np.log2(left)).sum()
        assert fresh == pytest.approx(gain)


def test_forms_keep_their_shares_in_another_setting() -> None:
    line = moved(np.array([0.4, 0.45, 0.15]), np.array([0.9, 0.05, 0.05]), 0.5)
    assert line.sum() == pytest.approx(1)
    assert line[0] == pytest.approx(0.4 * 0.5 / 0.9)
    assert line[1] / line[2] == pytest.approx(3)


def test_what_cannot_be_seen_is_neither_asked_nor_counted(tiny: Path) -> None:
    path = tiny / "rules/all.yaml"
    rule = (
        "- rule: in-hand\n  when: {crop: potato}\n  then: {hidden: holes}\n  because: it is dug\n"
    )
    write(tiny, {"rules/all.yaml": path.read_text() + rule})
    reasoner = Reasoner(open_knowledge(tiny))
    potato = Consultation(reasoner, JUNE, reasoner.home(), "potato")
    assert "holes" not in [q.symptom for q in potato.questions]
    np.testing.assert_allclose(potato.answer("holes", ABSENT).chances, potato.chances)
    assert (potato.answer("holes", "tiny").chances != potato.chances).any()


def test_out_of_season_is_known(small: Consultation) -> None:
    seen = [Observation("droppings", "present")]
    assert not small.observe(seen).out_of_season
    winter = replace(small, day=date(2026, 1, 15)).observe(seen)
    assert winter.leading and winter.leading.cause == "caterpillar"
    assert winter.out_of_season
