"""Measures to choose from, and what each would do here: it fits, it is needless, or it is wrong."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.consultation import Consultation
from diagnose.kb.fits import NOT_FOR_IT
from diagnose.reasoning import advice, explain, facts
from diagnose.reasoning.ranking import SOMETHING_ELSE

Verdict = Literal["fits", "later", "needless", "wrong"]

GOOD, OTHERS = 2, 4  # measures offered: of the plan, and beside it
LOOK_ALIKES = 8  # causes whose measures are mixed in
NEARLY = 70.0  # of 100: how like two measures' words are that say the same to a class


@dataclass(frozen=True, slots=True)
class Judged:
    """What a measure would do here, and why where a rule or another measure speaks against it."""

    verdict: Verdict
    because: str = ""


def judge(consultation: Consultation, cause: str, remedy: str) -> Judged:
    """Whether a measure is right for a cause after what was seen.

    It *fits* where it is in the plan for now, and is for *later* where it is for next season. It is
    *wrong* where a rule, what keeps people safe, whom to ask, or a measure of the plan speaks
    against it, and *needless* where nothing does: the plan does without.
    """
    knowledge = consultation.reasoner.knowledge
    closure = consultation.closure_if(cause)
    plan = advice.make_plan(knowledge, cause, closure)
    if any(step.remedy == remedy for step in plan.now):
        return Judged("fits")
    if any(step.remedy == remedy for step in plan.next_season):
        return Judged("later")
    for reason in explain.reasons(knowledge.rules, closure.firings):
        against = remedy in facts.concluded(reason.gives, facts.AVOID)
        if against and reason.because != NOT_FOR_IT:
            return Judged("wrong", reason.because)
    if remedy in advice.forbidden(knowledge, cause):
        return Judged("wrong", "it is not safe with this trouble")
    for name in plan.referrals:
        if remedy in knowledge.referrals[name].excludes:
            return Judged(
                "wrong", f"it must wait until {knowledge.referrals[name].to} has answered"
            )
    for step in plan.now:
        if advice.contradict(knowledge, remedy, step.remedy):
            return Judged("wrong", f"it works against this: {step.text}")
    return Judged("needless")


def offered(consultation: Consultation, cause: str, seed: int) -> tuple[str, ...]:
    """Measures to choose from, by their text: some of the plan, and some that look as good.

    Those beside the plan are what the likeliest other causes call for, wrong ones first, but none
    that says nearly what one of the plan says.
    """
    knowledge, chance = consultation.reasoner.knowledge, random.Random(seed)
    plan = consultation.plan(cause)
    good = [step.remedy for step in plan.now]
    likely = [c for c, _ in consultation.standing if c not in (cause, SOMETHING_ELSE)]
    alike = dict.fromkeys((*knowledge.causes[cause].looks_like, *likely[:LOOK_ALIKES]))
    planned = [step.text for step in (*plan.now, *plan.next_season)]
    beside = dict.fromkeys(
        remedy
        for name in (cause, *alike)
        for remedy in knowledge.causes[name].remedies
        if not _said(knowledge.remedies[remedy].text, planned)
    )
    judged = {remedy: judge(consultation, cause, remedy).verdict for remedy in beside}
    others = chance.sample(list(judged), len(judged))
    others.sort(key=lambda r: judged[r] != "wrong")
    wrong = [r for r in others if judged[r] == "wrong"][: OTHERS // 2]
    rest = [r for r in others if r not in wrong][: OTHERS - len(wrong)]
    mixed = [*chance.sample(good, min(GOOD, len(good))), *wrong, *rest]
    return tuple(sorted(mixed, key=lambda r: knowledge.remedies[r].text))


def _said(words: str, others: Sequence[str]) -> bool:
    """Whether one of some texts says it too, or nearly so."""
    from rapidfuzz import fuzz

    return any(fuzz.token_set_ratio(words, other) >= NEARLY for other in others)
