"""The JSON of a consultation. docs/json.md describes it; raise FORMAT when a key changes."""

from __future__ import annotations

from typing import Any

from diagnose.consultation import Consultation
from diagnose.kb.model import AND
from diagnose.pages.sayings import answer_name, chance_words
from diagnose.reasoning.advice import Plan
from diagnose.reasoning.facts import CONFIRMED, TEXT, Observation
from diagnose.reasoning.ranking import SOMETHING_ELSE

FORMAT = "diagnose/2"
MOST_QUESTIONS = 5


def document(consultation: Consultation) -> dict[str, Any]:
    """Everything known at this point, as plain values for `json.dumps`."""
    reading = consultation.reading
    knowledge = consultation.reasoner.knowledge
    verdict = consultation.verdict
    understood = verdict != "nothing understood"
    grounds = verdict in ("clear", "likely")
    plan = consultation.plan(consultation.answers[0].first) if grounds else None
    return {
        "format": FORMAT,
        "knowledge": knowledge.digest,
        "alerts": [
            {"kind": a.kind, "text": a.text, "because": a.because} for a in consultation.alerts
        ],
        "crop": consultation.crop,
        "date": consultation.day.isoformat(),
        "observations": [
            {
                "symptom": o.symptom,
                "value": value,
                "from": _source(o),
                "words": o.words,
            }
            for o in consultation.counted
            for value in o.value.split(AND)
        ],
        "perhaps": [
            {"symptom": o.symptom, "value": o.value, "words": o.words, "trust": o.trust}
            for o in consultation.perhaps
        ],
        "guesses": reading.guesses if reading else [],
        "not_used": reading.unread if reading else [],
        "verdict": verdict,
        "answers": _answers(consultation) if understood else [],
        "causes": _causes(consultation) if understood else [],
        "something_else": float(consultation.chances[-1]),
        "would_change": [
            {"symptom": o.symptom, "value": o.value}
            for o in (consultation.would_change if understood else ())
        ],
        "unexplained": [
            {"symptom": o.symptom, "value": o.value, "words": o.words}
            for o in consultation.unexplained
        ],
        "second_cause": consultation.second.cause if consultation.second else None,
        "next_questions": [
            {
                "symptom": q.symptom,
                "ask": knowledge.symptoms[q.symptom].ask,
                "bits": q.bits,
                "effort": q.effort,
            }
            for q in consultation.questions[:MOST_QUESTIONS]
        ],
        "next_screen": [
            {"symptom": line.symptom, "value": line.value}
            for line in (consultation.screen.lines if consultation.screen else ())
        ],
        "plan": _plan(consultation, plan) if plan else None,
        "cautions": [knowledge.cautions[c].text for c in plan.cautions] if plan else [],
        "referral": [
            {"to": knowledge.referrals[r].to, "text": knowledge.referrals[r].text}
            for r in (plan.referrals if plan else ("extension",))
            if r in knowledge.referrals
        ],
        "trace": [
            {"rule": r.rule, "from": list(r.facts), "gives": list(r.gives), "because": r.because}
            for r in consultation.trace
        ],
    }


def _source(seen: Observation) -> str:
    return TEXT if seen.source == CONFIRMED else seen.source


def _answers(consultation: Consultation) -> list[dict[str, Any]]:
    """The answers with a chance worth a word, likeliest first."""
    knowledge = consultation.reasoner.knowledge
    return [
        {
            "causes": list(answer.causes),
            "name": answer_name(knowledge, answer),
            "chance": answer.chance,
            "words": chance_words(knowledge, answer.chance),
            "joint": answer.joint,
        }
        for answer in consultation.answers
    ]


def _causes(consultation: Consultation) -> list[dict[str, Any]]:
    """Every possible cause, likeliest first."""
    causes = consultation.reasoner.knowledge.causes
    return [
        {
            "id": r.cause,
            "name": causes[r.cause].name,
            "also": causes[r.cause].also,
            "code": causes[r.cause].code,
            "kind": causes[r.cause].kind,
            "chance": r.chance,
            "start": r.start,
            "weights": [
                {"symptom": w.symptom, "value": w.value, "weight": w.decibans} for w in r.weights
            ],
        }
        for r in consultation.ranked
        if r.cause != SOMETHING_ELSE
    ]


def _plan(consultation: Consultation, plan: Plan) -> dict[str, Any]:
    return {
        "for": plan.cause,
        "decision": plan.decision,
        "matters": plan.matters,
        "threshold": plan.threshold,
        "now": [{"rung": s.rung, "text": s.text} for s in plan.now],
        "harvest": plan.harvest,
        "next_season": [s.text for s in plan.next_season],
        "look_again": {
            "date": consultation.look_again(plan).isoformat(),
            "for": plan.look_again_for,
        },
    }
