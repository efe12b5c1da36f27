"""Scenes that show what a rule does: what changes where the rule is taken away."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from datetime import date
from pathlib import Path
from typing import NamedTuple

import yaml

from diagnose.cases import start
from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import Case
from diagnose.reasoning import facts
from diagnose.reasoning.engines import make_engine
from diagnose.reasoning.facts import Observation

SCENES = Path(__file__).parent / "data" / "scenes.yaml"
TEACHING = ("pattern", "roots", "events", "weather", "sequence", "harvest-days")


class Scene(NamedTuple):
    """One bed on one day: the rule it shows, the crop, what is seen there, and the answer.

    `told` is the cause with a described case that brings the rule in.
    """

    rule: str
    crop: str | None
    day: date
    seen: Mapping[str, str]
    cause: str | None
    told: str

    def begin(self, reasoner: Reasoner) -> Consultation:
        """The consultation at which the scene stands."""
        told = [Observation(name, value) for name, value in self.seen.items()]
        return Consultation(reasoner, self.day, reasoner.home(), self.crop).observe(told)


class Outcome(NamedTuple):
    """What a scene leads to: causes ruled out, questions in their order, and the plan."""

    out: frozenset[str]
    asked: tuple[str, ...]
    plan: object


def scenes() -> list[Scene]:
    """Every scene of the file."""
    read = yaml.safe_load(SCENES.read_text(encoding="utf-8"))
    return [
        Scene(
            rule,
            s.get("crop"),
            date.fromisoformat(s["date"]),
            s["seen"],
            s.get("cause"),
            s["told"],
        )
        for rule, s in read.items()
    ]


def without(reasoner: Reasoner, rule: str) -> Reasoner:
    """The same knowledge, with one rule less."""
    rules = {r: v for r, v in reasoner.knowledge.rules.items() if r != rule}
    less = copy(reasoner)
    less.engine = make_engine(facts.engine_rules(rules))
    return less


def outcome(scene: Scene, reasoner: Reasoner, asked: int = 30) -> Outcome:
    """What the scene leads to, with the first questions that would be asked."""
    return leads_to(scene.begin(reasoner), scene.cause, asked)


def leads_to(seen: Consultation, cause: str | None, asked: int = 30) -> Outcome:
    """What a consultation leads to, with the plan where there is a cause."""
    best = tuple(q.symptom for q in seen.questions[:asked])
    return Outcome(frozenset(seen.ruled_out), best, seen.plan(cause) if cause else None)


def fires(scene: Scene, reasoner: Reasoner) -> bool:
    """Whether the rule fires on the scene, once there is an answer where it wants one."""
    return scene.rule in fired(scene.begin(reasoner), scene.cause)


def fired(seen: Consultation, cause: str | None) -> set[str]:
    """The rules that fire in a consultation, with a cause for the answer where there is one."""
    given = [*seen.given]
    if cause:
        kind = seen.reasoner.knowledge.causes[cause].kind
        given += [facts.fact("cause", cause), facts.fact("cause-kind", kind)]
    closed = seen.reasoner.engine.close(given)
    return {facts.rule_id(firing.rule) for firing in closed.firings}


def described(scene: Scene, reasoner: Reasoner, stated: bool) -> Consultation | None:
    """The consultation of a described case that brings the scene's rule in, if one does.

    With `stated`, the case's answers count as well; without, its words alone.
    """
    blank = Consultation(reasoner, scene.day, reasoner.home())
    for case in reasoner.knowledge.causes[scene.told].cases:
        told = case if stated else Case(text=case.text, crop=case.crop, date=case.date)
        seen = start(told, blank)
        if scene.rule in fired(seen, scene.told):
            return seen
    return None
