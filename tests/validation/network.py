"""The model as a Bayesian network, for the exact engine of pyagrum.

Written from docs/reasoning.md and the words of the files, not from diagnose.reasoning.ranking: a
node for the cause, for each symptom how it truly is (a child of the cause), and for each
observation what is told of it (a child of how it is, and wrong as often as `trust` has it).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import pyagrum as gum

from diagnose.consultation import Consultation
from diagnose.kb.model import Knowledge, Symptom
from diagnose.reasoning.facts import Observation
from tests.validation.words import MOST_NAMED, chance, ordinary, otherwise

ELSE = "something-else"
CAUSE = "cause"


def under(
    symptom: Symptom,
    line: str | float | Mapping[str, str | float] | None,
    scale: Mapping[str, float],
) -> dict[str, float]:
    """How the symptom is under a cause that has this evidence line, or none."""
    usual = ordinary(symptom, scale)
    if line is None:
        return usual
    if not isinstance(line, Mapping):
        there = chance(line, scale)
        return {
            state: 1 - there if state == "absent" else there * p / (1 - usual["absent"])
            for state, p in usual.items()
        }
    said = {"absent" if v == "none" else v: chance(word, scale) for v, word in line.items()}
    silent = sum(p for state, p in usual.items() if state not in said)
    if not silent:
        return {state: said[state] / sum(said.values()) for state in usual}
    if sum(said.values()) > MOST_NAMED:
        said = {state: p * MOST_NAMED / sum(said.values()) for state, p in said.items()}
    left = 1 - sum(said.values())
    return {state: said.get(state, left * p / silent) for state, p in usual.items()}


def network_of(found: Consultation, questions: Iterable[str] = ()) -> Network:
    """The network of a consultation, given what it counts, with nodes for some questions."""
    knowledge = found.reasoner.knowledge
    outside = found.reasoner.days_outside(found.day, found.place)
    out = found.ruled_out
    counted = rarest(knowledge, found.counted)
    told = [*((o.symptom, o.source) for o in counted), *((s, "answer") for s in questions)]
    network = Network(knowledge, prior(knowledge, found.crop, outside, out), told)
    network.given(counted, found.heard)
    return network


def differences(found: Consultation, worth: bool = True) -> tuple[list[float], list[float]]:
    """How far each chance, and the worth of each question, is from the network's; both >= 0."""
    bits = {q.symptom: q.bits for q in found.questions} if worth else {}
    network = network_of(found, bits)
    chances = dict(zip([*found.reasoner.tables.causes, ELSE], found.chances, strict=True))
    expected, gains = network.posterior(), network.gains(bits)
    return (
        [abs(chances[cause] - expected[cause]) for cause in chances],
        [abs(bits[symptom] - gains[symptom]) for symptom in bits],
    )


class Network:
    """The network of a knowledge base with some prior, and nodes for what is told of symptoms.

    `told` are pairs of a symptom and the source that tells of it.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        prior: Mapping[str, float],
        told: Iterable[tuple[str, str]],
    ) -> None:
        self.knowledge, self.prior = knowledge, prior
        self.causes = [cause for cause, chance in prior.items() if chance]
        self.net = gum.BayesNet()
        self.net.add(gum.LabelizedVariable(CAUSE, "", self.causes))
        self.net.cpt(CAUSE).fillWith([prior[cause] for cause in self.causes])
        for symptom, source in told:
            self._add(symptom, source)
        self.engine = gum.ShaferShenoyInference(self.net)  # the quickest of its exact engines here

    def _add(self, symptom_id: str, source: str) -> None:
        symptom = self.knowledge.symptoms[symptom_id]
        scale: Mapping[str, float] = self.knowledge.likelihood.frequency  # type: ignore[assignment]
        node = self.node(symptom_id, source)
        if symptom_id not in self.net.names():
            self.net.add(gum.LabelizedVariable(symptom_id, "", list(symptom.states)))
            self.net.addArc(CAUSE, symptom_id)
            lines = [
                None if cause == ELSE else self.knowledge.causes[cause].evidence.get(symptom_id)
                for cause in self.causes
            ]
            rows = {repr(line): list(under(symptom, line, scale).values()) for line in lines}
            self.net.cpt(symptom_id)[:] = np.array([rows[repr(line)] for line in lines])
        if node not in self.net.names():
            self.net.add(gum.LabelizedVariable(node, "", list(symptom.states)))
            self.net.addArc(symptom_id, node)
            self.net.cpt(node)[:] = self._telling(symptom, source)

    def _telling(self, symptom: Symptom, source: str) -> np.ndarray:
        """P(told | how it is): rows for how it is."""
        likelihood = self.knowledge.likelihood
        trust = likelihood.trust["text" if source == "text" else "answer"]
        usual = np.array(list(ordinary(symptom, likelihood.frequency).values()))  # type: ignore[arg-type]
        size = len(usual)
        any_form = np.append(0.0, usual[1:]) / usual[1:].sum()
        right = np.eye(size)
        for row in range(1, size):
            right[row] = trust.form * right[row] + (1 - trust.form) * any_form
        found: np.ndarray = trust.seen * right + (1 - trust.seen) * usual
        return found

    @staticmethod
    def node(symptom: str, source: str) -> str:
        """The name of the node for what a source tells of a symptom."""
        return f"{symptom} as {'text' if source == 'text' else 'answer'}"

    def given(self, seen: Sequence[Observation], heard: np.ndarray | None = None) -> None:
        """Set the evidence; 'present' on a symptom with forms is any one of them.

        `heard` is the log weight of the gardener's wording on each cause.
        """
        evidence: dict[str, list[float]] = {}
        for one in seen:
            states = self.knowledge.symptoms[one.symptom].states
            holds = [s == one.value or (one.value == "present" and s != "absent") for s in states]
            evidence[self.node(one.symptom, one.source)] = [float(h) for h in holds]
        if heard is not None:
            of = dict(zip(self.prior, heard, strict=True))
            weight = np.array([of[cause] for cause in self.causes])
            evidence[CAUSE] = np.exp(weight - weight.max()).tolist()
        self.engine.setEvidence(evidence)

    def posterior(self) -> dict[str, float]:
        """The chances of the causes."""
        self.engine.makeInference()
        found = self.engine.posterior(CAUSE).toarray()
        chances = dict(zip(self.causes, map(float, found), strict=True))
        return {cause: chances.get(cause, 0.0) for cause in self.prior}

    def gains(self, symptoms: Iterable[str]) -> dict[str, float]:
        """What the answer to each question is worth: the entropy now less its mean afterwards."""
        nodes = {s: self.node(s, "answer") for s in symptoms}
        self.engine.eraseAllTargets()
        self.engine.addTarget(CAUSE)
        for node in nodes.values():
            self.engine.addJointTarget({CAUSE, node})
        self.engine.makeInference()
        now = entropy(self.engine.posterior(CAUSE).toarray())
        found = {}
        for symptom, node in nodes.items():
            both = self.engine.jointPosterior({CAUSE, node})
            joint = both.toarray()
            if both.names[0] == CAUSE:
                joint = joint.T
            found[symptom] = now - sum(
                column.sum() * entropy(column / column.sum()) for column in joint.T if column.sum()
            )
        return found


def entropy(chances: np.ndarray) -> float:
    """In bits."""
    return -math.fsum(p * math.log2(p) for p in map(float, chances.ravel()) if p > 0)


def rarest(knowledge: Knowledge, seen: Sequence[Observation]) -> list[Observation]:
    """Of observations that restate one another, the one that something else would least give."""
    groups: dict[str, list[Observation]] = {}
    for one in sorted(seen, key=lambda o: (o.symptom, o.value)):
        group = knowledge.symptoms[one.symptom].overlaps
        groups.setdefault(f"group {group}" if group else one.symptom, []).append(one)
    return [
        min(group, key=lambda one: otherwise(knowledge, one)) if len(group) > 1 else group[0]
        for group in groups.values()
    ]


def prior(
    knowledge: Knowledge, crop: str | None, outside: Mapping[str, int], ruled_out: Iterable[str]
) -> dict[str, float]:
    """The prior: commonness by season, those not at home here and those ruled out at nothing."""
    scale, out = knowledge.likelihood, set(ruled_out)
    odds: dict[str, float] = {}
    for cause_id, cause in knowledge.causes.items():
        if crop is None:
            words = list(cause.hosts.values())
        else:
            family = knowledge.crops[crop].family
            words = [cause.hosts[h] for h in (crop, family, "any") if h in cause.hosts][:1]
        days = outside[cause_id]
        season = scale.season.out if days > 21 else scale.season.near if days else scale.season.in_
        common = max((chance(w, scale.commonness) for w in words), default=0.0)  # type: ignore[arg-type]
        odds[cause_id] = 0.0 if cause_id in out else common * season
    whole = sum(odds.values())
    if not whole:
        return {**dict.fromkeys(odds, 0.0), ELSE: 1.0}
    share = scale.something_else
    return {**{c: o * (1 - share) / whole for c, o in odds.items()}, ELSE: share}
