"""Scenes that show what a rule does: what changes where the rule is taken away."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from datetime import date
from pathlib import Path
from typing import NamedTuple

import yaml

from diagnose.consultation import Consultation, Reasoner
from diagnose.reasoning import facts
from diagnose.reasoning.engines import make_engine
from diagnose.reasoning.facts import Observation

SCENES = Path(__file__).parent / "data" / "scenes.yaml"
TEACHING = ("pattern", "roots", "events", "weather", "sequence", "harvest-days")


class Scene(NamedTuple):
    """One bed on one day: the rule it shows, the crop, what is seen there, and the answer."""

    rule: str
    crop: str | None
    day: date
    seen: Mapping[str, str]
    cause: str | None

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
        Scene(rule, s.get("crop"), date.fromisoformat(s["date"]), s["seen"], s.get("cause"))
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
    seen = scene.begin(reasoner)
    best = tuple(q.symptom for q in seen.questions[:asked])
    plan = seen.plan(scene.cause) if scene.cause else None
    return Outcome(frozenset(seen.ruled_out), best, plan)


def fires(scene: Scene, reasoner: Reasoner) -> bool:
    """Whether the rule fires on the scene, once there is an answer where it wants one."""
    given = [*scene.begin(reasoner).given]
    if scene.cause:
        kind = reasoner.knowledge.causes[scene.cause].kind
        given += [facts.fact("cause", scene.cause), facts.fact("cause-kind", kind)]
    closed = reasoner.engine.close(given)
    return scene.rule in {facts.rule_id(firing.rule) for firing in closed.firings}
