"""Rounds of practice: hidden problems, looks, causes named, measures, and the score."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import msgspec
import pytest

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.kb.described import own
from diagnose.kb.model import ABSENT, Knowledge
from diagnose.teaching import asking, measures
from diagnose.teaching.hidden import (
    LEVELS,
    Wish,
    crops_named,
    hide,
    level_named,
    seasons_named,
    seed_of,
)
from diagnose.teaching.practice import GUESSES, Looked, Round, replayed
from diagnose.teaching.record import Record, record, reopened, teams_named
from diagnose.teaching.score import CAUSE, LOOKS, MEASURE, score
from tests.teaching.rounds import begin, played

SEEDS = range(12)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_seed_makes_the_same_problem(blank: Consultation, seed: int) -> None:
    one, other = begin(blank, seed).hidden, begin(blank, seed).hidden
    assert one == other
    assert one != begin(blank, seed + len(LEVELS) * 2).hidden


@pytest.mark.parametrize("seed", SEEDS)
def test_a_described_problem_is_left_out_of_the_wording(blank: Consultation, seed: int) -> None:
    hidden = hide(blank, Wish("easy"), seed)
    cases = {case_id: case for case, case_id in own(blank.reasoner.knowledge)}
    assert hidden.case is not None
    assert cases[hidden.case].text == hidden.story
    assert Round(blank, hidden, seed).start.without == hidden.case
    stated = cases[hidden.case].observations
    assert {s: v for s, v in hidden.truth.items() if s in stated and stated[s] != "unsure"} == {
        s: v for s, v in stated.items() if v != "unsure"
    }


@pytest.mark.parametrize("level", LEVELS)
def test_what_is_told_at_first_goes_by_the_level(blank: Consultation, level) -> None:
    for seed in range(6):
        hidden = hide(blank, Wish(level, drawn=True), seed)
        assert len(hidden.told) == {"easy": 2, "middle": 1, "hard": 0}[level]
        assert all(hidden.truth[s] != ABSENT for s in hidden.told)
        assert not hidden.words
    hidden = hide(blank, Wish(level), 3)
    assert bool(hidden.words) == (level == "easy")


def test_a_wish_is_kept_to(blank: Consultation, knowledge: Knowledge) -> None:
    for drawn in (False, True):
        wish = Wish("middle", seasons_named(knowledge, "fall"), ("kale", "leek"), drawn)
        for seed in range(5):
            hidden = hide(blank, wish, seed)
            assert hidden.crop in ("kale", "leek")
            assert date.fromisoformat(hidden.day).month in (9, 10, 11)


def test_the_hidden_cause_is_never_ruled_out_by_what_is_seen(blank: Consultation) -> None:
    for seed in SEEDS:
        found = played(blank, seed, looks=12)
        assert found.hidden.cause not in found.now.ruled_out


def test_the_score_adds_up_over_turns_and_teams(blank: Consultation) -> None:
    for seed in SEEDS:
        made = score(played(blank, seed, "Reds", "Blues", "Greens"))
        assert made.total == pytest.approx(sum(made.of(t) for t in ("Reds", "Blues", "Greens")))
        assert [points for _, points in made.named] == [0.0, CAUSE[1]]
        assert 0 <= sum(look.points for look in made.looks) <= LOOKS
        assert made.measure is not None
        assert made.measure[2] == MEASURE[made.measure[1].verdict]


def test_a_good_detective_gets_all_the_points(blank: Consultation) -> None:
    for seed in SEEDS:
        found = begin(blank, seed)
        for step in found.detective.steps:
            found = found.look(step.symptom)  # type: ignore[union-attr]
        found = found.name(found.hidden.cause)
        judged = {r: measures.judge(found.now, found.hidden.cause, r) for r in found.measures}
        good = next(r for r, one in judged.items() if one.verdict == "fits")
        made = score(found.choose(good))
        assert made.total == pytest.approx(100 if made.looks else 50)


def test_a_look_is_worth_what_it_could_tell_not_what_it_showed(blank: Consultation) -> None:
    found = begin(blank, 2)
    symptom = found.open[0]
    other = next(v for v in blank.reasoner.knowledge.symptoms[symptom].states
                 if v != found.hidden.truth[symptom])  # fmt: skip
    truth = {**found.hidden.truth, symptom: other}
    changed = replace(found, hidden=msgspec.structs.replace(found.hidden, truth=truth))
    assert score(found.look(symptom)).looks == score(changed.look(symptom)).looks


def test_a_look_that_shows_nothing_new_is_refused_and_costs_nothing(blank: Consultation) -> None:
    found = begin(blank, 2)
    found = found.look(found.open[0])
    seen = found.turns[0]
    assert isinstance(seen, Looked)
    with pytest.raises(UsageError, match="settles that"):
        found.look(seen.symptom)


def test_a_round_ends_after_three_names_or_when_given_up(blank: Consultation) -> None:
    found = begin(blank, 4)
    wrong = [c for c in blank.reasoner.knowledge.causes if not found.right(c)][:GUESSES]
    assert found.stage == "look"
    for cause in wrong:
        assert found.stage == "look"
        found = found.name(cause)
    assert found.stage == "choose"
    assert begin(blank, 4).name(None).stage == "choose"
    assert found.choose(found.measures[0]).stage == "over"


def test_measures_are_offered_good_and_bad(blank: Consultation) -> None:
    for seed in SEEDS:
        found = begin(blank, seed).name(None)
        judged = [measures.judge(found.now, found.hidden.cause, r) for r in found.measures]
        assert any(one.verdict == "fits" for one in judged)
        assert any(one.verdict in ("wrong", "needless") for one in judged)
        assert all(bool(one.because) == (one.verdict == "wrong") for one in judged)


def test_no_measure_says_nearly_what_one_of_the_plan_says(blank: Consultation) -> None:
    now = replace(blank, crop="chard")
    for seed in SEEDS:
        found = measures.offered(now, "beet-leafminer", seed)
        texts = [blank.reasoner.knowledge.remedies[r].text for r in found]
        assert sum("Pinch the mine" in words for words in texts) <= 1


def test_a_rule_says_why_a_measure_is_wrong(blank: Consultation) -> None:
    now = replace(blank, crop="chard").answer("same-family-last-year", "present")
    judged = measures.judge(now, "beet-leafminer", "row-cover")
    assert judged.verdict == "wrong"
    assert "soil" in judged.because or "cover" in judged.because


def test_a_kept_round_is_the_same_again(blank: Consultation) -> None:
    found = played(blank, 7, "Reds", "Blues")
    stored = msgspec.json.encode(record(found, "2026-06-15T10:00:00"))
    again, lost = reopened(msgspec.json.decode(stored, type=Record), blank.reasoner)
    assert lost == []
    assert again.turns == found.turns
    assert score(again) == score(found)
    assert again.measures == found.measures


def test_what_the_knowledge_no_longer_has_is_left_out_and_said(blank: Consultation) -> None:
    found = begin(blank, 7)
    again, lost = replayed(found, [Looked("no-such-thing"), Looked(found.open[0])])
    assert lost == ["the look at 'no-such-thing'"]
    assert len(again.turns) == 1


@pytest.mark.parametrize(
    ("words", "thing"),
    [
        ("any slime?", "slug-trails"), ("eggs", "eggs"), ("look for holes", "holes-in-leaves"),
        ("are the leaves wilting", "wilting"), ("is the soil wet", "soil-moisture"),
    ],
)  # fmt: skip
def test_what_to_look_at_is_understood_in_own_words(blank, words: str, thing: str) -> None:
    hidden = hide(blank, Wish("hard", crops=("kale",)), 1)
    found = Round(blank, hidden, 1)
    assert thing in asking.meant(found.now, words, found.askable)


def test_a_part_of_the_plant_lists_what_is_seen_there(blank: Consultation) -> None:
    found = begin(blank, 2)
    symptoms = blank.reasoner.knowledge.symptoms
    listed = asking.meant(found.now, "the leaves", found.open)
    assert listed
    assert all("leaf" in symptoms[s].parts for s in listed)
    assert asking.meant(found.now, "xyzzy", found.open) == []


@pytest.mark.parametrize(
    ("do", "said"),
    [
        (lambda k, b: seed_of("seven"), "'seven' is no seed; give a whole number"),
        (lambda k, b: seed_of("-1"), "is no seed"),
        (lambda k, b: seed_of("1e9"), "is no seed"),
        (lambda k, b: level_named("hardest"), "unknown level 'hardest'; did you mean 'hard'"),
        (lambda k, b: seasons_named(k, "monsoon"), "unknown season 'monsoon'"),
        (lambda k, b: crops_named(k, "kale, wheat"), 'a crop called "wheat"'),
        (lambda k, b: teams_named("Ana, Ben, ana"), "'ana' stands twice in the list"),
        (lambda k, b: teams_named("A" * 30), "is too long for a name"),
        (
            lambda k, b: hide(b, Wish(seasons=("winter",), crops=("sweet-corn",)), 1),
            "no described case about sweet-corn is of winter; try another season, or --drawn",
        ),
    ],
)
def test_bad_input_is_one_clear_line(knowledge, blank, do, said: str) -> None:
    with pytest.raises(UsageError) as raised:
        do(knowledge, blank)
    assert said in str(raised.value)
    assert "\n" not in str(raised.value)


def test_a_crop_without_cases_is_one_clear_line(blank: Consultation, monkeypatch) -> None:
    monkeypatch.setattr("diagnose.teaching.hidden.own", lambda _: [])
    with pytest.raises(UsageError, match=r"no described case is about kale; try other crops"):
        hide(blank, Wish(crops=("kale",)), 1)
