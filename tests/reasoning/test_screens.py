"""Several things on one screen: against the definitions, written out anew."""

from __future__ import annotations

import math
import random
from itertools import islice, product

import numpy as np
import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import ABSENT, PRESENT
from diagnose.reasoning.facts import TICK, Observation
from diagnose.reasoning.ranking import ANSWER, UNTICKED
from diagnose.reasoning.screens import Tick, best_choices, whether, which
from tests.validation.bound import draw
from tests.validation.screens import played


def entropy(shares) -> float:
    return -sum(p * math.log2(p) for p in shares if p > 0)


def test_the_bits_of_a_screen_are_what_its_ticks_tell_together(blank: Consultation) -> None:
    """Lines of their own and forms of one thing, every outcome of all of them together."""
    kale = blank.about("kale")
    numbers = kale.reasoner.knowledge.likelihood.screens
    alone = [whether(kale.tables, name, 1.0) for name in ("wilting", "aphids", "holes-in-leaves")]
    forms = [which(kale.tables, name, 1.0, False) for name in ("how-fast", "yellow-leaves")]
    chosen, bits = best_choices(kale.chances, [*alone, *forms], numbers, numbers.lines)
    assert len(chosen) == 5
    told = [np.column_stack([1 - c.ticked.sum(axis=1), c.ticked]) for c in chosen]
    before, left = entropy(kale.chances), 0.0
    for outcome in product(*(range(found.shape[1]) for found in told)):
        joint = kale.chances.copy()
        for found, at in zip(told, outcome, strict=True):
            joint = joint * found[:, at]
        left += joint.sum() * entropy(joint / joint.sum())
    assert bits == pytest.approx(before - left, abs=0.01)  # the unlikeliest outcomes count as one


def test_a_screen_is_no_longer_than_it_may_be(blank: Consultation) -> None:
    kale = blank.about("kale").observe([Observation("wilting", PRESENT)])
    numbers, screen = kale.reasoner.knowledge.likelihood.screens, kale.screen
    assert screen is not None
    assert len(screen.lines) <= numbers.lines
    assert len({line.symptom for line in screen.lines}) <= numbers.signs
    assert screen.bits > max(q.bits for q in kale.questions)


def test_nothing_told_opens_in_the_order_of_the_trade(blank: Consultation) -> None:
    """Which part (asked before any screen), which plants and where, since when, then by worth."""
    screen = blank.about("kale").but(parts=("leaf",), asked=1).screen
    assert screen is not None
    order = list(dict.fromkeys(line.symptom for line in screen.lines))
    assert order[:3] == ["where-in-bed", "many-species", "how-fast"]
    assert len(order) > 3


def test_what_is_left_unticked_may_have_been_overlooked(blank: Consultation) -> None:
    kale = blank.about("kale")
    noticed = kale.reasoner.knowledge.likelihood.screens.noticed
    there = 1 - kale.tables.shares("aphids", ANSWER)[:, 0]
    left = np.exp(kale.tables.column(Observation("aphids", ABSENT, TICK)))
    np.testing.assert_allclose(left, 1 - noticed * there)
    ticked = kale.tables.column(Observation("aphids", PRESENT, TICK))
    np.testing.assert_allclose(ticked - ticked[-1], np.log(there / there[-1]))


def test_unticked_lines_are_one_weight_and_no_fact(blank: Consultation) -> None:
    lines = [Tick(name, PRESENT) for name in ("aphids", "wilting", "leaf-spots")]
    left = blank.about("kale").tick([], lines)
    assert [line.symptom for line in left.lines if line.symptom == UNTICKED] == [UNTICKED]
    assert not any(given.startswith(("aphids", "wilting", "leaf-spots")) for given in left.given)
    assert left.verdict == "nothing understood"
    assert left.stated == ()


def test_a_pattern_or_a_form_left_unticked_says_nothing(blank: Consultation) -> None:
    kale = blank.about("kale")
    left = kale.tick([], [Tick("how-fast", "weeks"), Tick("how-fast", "days")])
    np.testing.assert_allclose(left.chances, kale.chances)
    holes = kale.tick([Tick("holes-in-leaves", PRESENT)])
    forms = [Tick("holes-in-leaves", "ragged"), Tick("holes-in-leaves", "tiny")]
    np.testing.assert_allclose(holes.tick([], forms).chances, holes.chances)


def test_forms_that_go_together_are_kept_together(blank: Consultation) -> None:
    two = [Tick("leaf-spots", "target"), Tick("leaf-spots", "yellow-halo")]
    assert blank.tick(two).observations == (
        Observation("leaf-spots", "target+yellow-halo", TICK),
    )  # fmt: skip
    apart = [Tick("how-fast", "weeks"), Tick("how-fast", "days")]
    assert blank.tick(apart).observations == (Observation("how-fast", PRESENT, TICK),)


def test_the_part_speaks_for_what_shows_there(blank: Consultation) -> None:
    kale = blank.about("kale")
    root, leaf = kale.but(parts=("root",)), kale.but(parts=("leaf",))
    chance = lambda c, cause: dict(c.standing)[cause]  # noqa: E731
    assert chance(root, "clubroot") > chance(kale, "clubroot") > chance(leaf, "clubroot")
    assert all(chance(root, c) > 0 for c, _ in kale.standing)


def test_creatures_are_asked_of_only_where_something_speaks_for_them(blank: Consultation) -> None:
    """Found: toads, mantids and spiders were asked of for a sick lettuce."""
    kale = blank.about("kale")
    symptoms = kale.reasoner.knowledge.symptoms
    assert {symptoms[q].kind for q in kale.questions.symptoms} <= {
        "symptom", "pattern", "condition",
    }  # fmt: skip
    bitten = kale.observe([Observation("holes-in-leaves", "ragged")])
    assert {"caterpillar", "slug-trails"} <= set(bitten.questions.symptoms)
    assert not {"toad-snake", "mantis", "spiders"} & set(bitten.questions.symptoms)


def test_nothing_is_asked_twice_and_each_run_ends(reasoner: Reasoner) -> None:
    """Whatever was told, denied, left unticked or not known; but the form of what was ticked."""
    for case in islice(draw(reasoner, random.Random(5), 1), 8):
        seen: set[str] = {o.symptom for o in case.start.observations}
        last = case.start
        for found in played(case, random.Random(2), 16):
            formless = last._formless
            if last.stop is None and found is not last:
                asked = (
                    {line.symptom for line in last.screen.lines}
                    if last.screen
                    else {last.next_symptom}
                )
                assert not (asked - formless) & seen
                seen |= asked
            last = found
