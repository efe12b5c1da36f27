"""Other libraries doing our work, as kindly as their interfaces allow: for run_speed.py."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from importlib.metadata import version

import numpy as np
import pyagrum as gum
import rete

from diagnose.consultation import Consultation, Reasoner
from diagnose.reasoning.engine import Closure, EngineRule, conclude
from diagnose.reasoning.ranking import plogp


class PreteEngine:
    """The rules in prete, a Rete network in pure Python; a class per fact suits it best."""

    def __init__(self, rules: Sequence[EngineRule]) -> None:
        self.name = f"prete {version('prete')}"
        names = {fact for rule in rules for fact in (*rule.when, *rule.gives)}
        self.types = {name: type("F", (), {}) for name in names}
        self.engine = rete.InferenceEngine()
        self.known: dict[str, rete.Fact] = {}
        self.fired: list[EngineRule] = []
        for rule in rules:
            when = [rete.Pattern(self.types[name]) for name in dict.fromkeys(rule.when)]
            self.engine.add_production(rete.Production(lhs=when, rhs=self._action(rule)))

    def close(self, given: Iterable[str]) -> Closure:
        """Run the rules on facts, and take all facts out again."""
        given = list(given)
        for name in given:
            self._add(name)
        self.engine.run()
        closure = conclude(given, self.fired)
        for fact in self.known.values():
            self.engine.remove_fact(fact)
        self.known.clear()
        self.fired.clear()
        return closure

    def _action(self, rule: EngineRule):  # type: ignore[no-untyped-def]
        def act(_token: rete.Token) -> None:
            self.fired.append(rule)
            for name in rule.gives:
                self._add(name)

        return act

    def _add(self, name: str) -> None:
        if name in self.types and name not in self.known:
            self.known[name] = rete.Fact(self.types[name]())
            self.engine.add_fact(self.known[name])


class NetworkStep:
    """A step of ours with a Bayesian network for the arithmetic: chances, and bits of questions.

    One network for a crop, made once: its causes, and each symptom as it is told, straight below
    them. The rules stay ours; what they rule out, and the season, go in as evidence on the cause.
    """

    def __init__(self, reasoner: Reasoner, crop: str, engine: str) -> None:
        knowledge, tables = reasoner.knowledge, reasoner.tables
        family = knowledge.crops[crop].family
        at_home = [bool(c.commonness(crop, family)) for c in knowledge.causes.values()]
        self.rows = np.flatnonzero([*at_home, True])
        self.net = gum.BayesNet()
        self.net.add(gum.RangeVariable("cause", "", 0, len(self.rows) - 1))
        self.net.cpt("cause").fillWith(1 / len(self.rows))
        for symptom_id, symptom in knowledge.symptoms.items():
            self.net.add(gum.RangeVariable(symptom_id, "", 0, len(symptom.states) - 1))
            self.net.addArc("cause", symptom_id)
            self.net.cpt(symptom_id)[:] = tables.shares(symptom_id)[self.rows]
        self.engine = getattr(gum, engine)

    def step(self, consultation: Consultation) -> tuple[np.ndarray, dict[str, float]]:
        """The chances of the causes of this crop, and the bits of every open question."""
        reasoner = consultation.reasoner
        symptoms = [q.symptom for q in consultation.questions]
        inference = self.engine(self.net)
        evidence: dict[str, object] = {"cause": list(np.exp(consultation.prior[self.rows]))}
        for seen in reasoner.tables.counted(consultation.counted):
            states = reasoner.knowledge.symptoms[seen.symptom].states
            evidence[seen.symptom] = [
                float(s == seen.value or (seen.value not in states and s != "absent"))
                for s in states
            ]
        inference.setEvidence(evidence)
        for symptom in symptoms:
            inference.addJointTarget({"cause", symptom})
        inference.makeInference()
        chances = inference.posterior("cause").toarray()
        now = -plogp(chances).sum()
        bits = {}
        for symptom in symptoms:
            both = inference.jointPosterior({"cause", symptom})
            joint = both.toarray() if both.names[0] == symptom else both.toarray().T
            answers = joint.sum(axis=0)
            bits[symptom] = now + plogp(joint).sum() - plogp(answers).sum()
        return chances, bits
