"""Rules that follow from the vocabulary: what a sign settles and goes with, what a cause needs."""

from __future__ import annotations

from datetime import date

from diagnose.consultation import Consultation
from diagnose.kb import follows
from diagnose.kb.model import ABSENT, PRESENT, Cause, Knowledge, Matters, Symptom


def sign(name: str, **more: list[str]) -> Symptom:
    return Symptom(name, "leaf", "Is it there?", "seldom", **more)  # type: ignore[arg-type]


def cause(*needs: str) -> Cause:
    return Cause("it", "It is.", {"any": "rare"}, {}, Matters("leave", "No."), "", needs=[*needs])


def test_each_kind_of_tie_makes_its_rule() -> None:
    symptoms = {
        "holes": sign("holes", settles=["acid-soil"]),
        "skins": sign("cast skins", only_with=["aphids"]),
        "mummies": sign("mummies", only_with=["aphids"]),
        "aphids": sign("aphids"),
    }
    made = dict(follows.rules(symptoms, {"frosted": cause("frost", "cold"), "other": cause()}))
    assert {rule.rule: (rule.when, rule.then) for rule in made.values()} == {
        "settled-by-holes": ({"holes": PRESENT}, {"skip": ["acid-soil"]}),
        "only-with-aphids": ({"aphids": ABSENT}, {"skip": ["skins", "mummies"]}),
        "needs-frost-or-cold": ({"frost": ABSENT, "cold": ABSENT}, {"rule-out": ["frosted"]}),
    }
    assert made["symptoms", "skins"].because.endswith("which is not there: aphids")


def test_what_nobody_described_is_named_by_its_id() -> None:
    ((_, rule),) = follows.rules({}, {"frosted": cause("frost")})
    assert rule.because.endswith(": frost")


def test_a_cause_without_what_it_needs_is_ruled_out(blank: Consultation) -> None:
    seen = blank.about("tomato").answer("hail-wind", ABSENT)
    assert "hail-injury" in seen.ruled_out
    assert "hail-injury" not in blank.about("tomato").ruled_out


def test_what_a_sign_settles_is_not_asked(blank: Consultation) -> None:
    on_kale = blank.about("kale").but(day=date(2026, 6, 20))
    asked = {q.symptom for q in on_kale.questions}
    left = {q.symptom for q in on_kale.answer("holes-in-leaves", "ragged").questions}
    assert "acid-soil" in asked - left


def test_what_goes_with_a_sign_that_is_denied_is_not_asked(blank: Consultation) -> None:
    left = {q.symptom for q in blank.about("kale").answer("aphids", ABSENT).questions}
    assert not left & {"mummies", "aphid-skins"}


def test_what_a_rule_asks_for_comes_sooner(blank: Consultation, knowledge: Knowledge) -> None:
    """Lifting a plant takes effort, but a plant limp in wet soil is worth it."""
    limp = blank.about("squash").answer("wilting", "wet-soil")
    efforts = {q.symptom: q.effort for q in limp.questions}
    assert efforts["root-rot"] == knowledge.likelihood.sooner
    assert efforts["root-galls"] < {q.symptom: q.effort for q in blank.questions}["root-galls"]
