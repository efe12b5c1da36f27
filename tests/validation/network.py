"""The model as a Bayesian network, for the exact engine of pyagrum.

Written from docs/reasoning.md and the words of the files, not from diagnose.reasoning.ranking: a
node for the cause, for each symptom how it truly is (a child of the cause), and for each
answer what is told of it (a child of how it is, and wrong as often as `trust` has it). A
description is evidence on the cause itself: what is read in it, to the power `read`, and its
wording; and with chance `slip` nothing.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence

import numpy as np
import pyagrum as gum

from diagnose.consultation import Consultation
from diagnose.kb.model import AND, DENIED, Knowledge, Symptom
from diagnose.reasoning.facts import Observation
from tests.validation.words import MOST_NAMED, chance, commonly, ordinary, otherwise

ELSE = "something-else"
CAUSE = "cause"
READ = ("text", "confirmed")  # sources of what was read in a description


def under(
    symptom: Symptom,
    line: str | float | Mapping[str, str | float] | None,
    scale: Mapping[str, float],
    setting: Collection[str] = (),
) -> dict[str, float]:
    """How the symptom is under a cause that has this evidence line, or none, in a setting."""
    now = ordinary(symptom, scale, setting)
    if line is None:
        return now
    usual, found = commonly(symptom, scale), elsewhere(symptom, line, scale)
    if now == usual:
        return found
    here, there, anyway = (1 - p["absent"] for p in (now, found, usual))
    if there >= anyway:  # the cause brings it where nothing else has
        brings = 1 - (1 - there) / (1 - anyway)
        shown = here + (1 - here) * brings
    else:
        shown = here * there / anyway
    return {s: 1 - shown if s == "absent" else shown * p / there for s, p in found.items()}


def elsewhere(
    symptom: Symptom,
    line: str | float | Mapping[str, str | float],
    scale: Mapping[str, float],
) -> dict[str, float]:
    """How it is under such a cause wherever and whenever the symptom's file says nothing more."""
    usual = commonly(symptom, scale)
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
    knowledge, setting = found.reasoner.knowledge, found.given
    outside = found.reasoner.days_outside(found.day, found.place)
    counted = rarest(knowledge, found.counted, setting)
    answered = [one for one in counted if one.source not in READ]
    told = [*(one.symptom for one in answered), *questions]
    before = prior(knowledge, found.crop, outside, found.ruled_out)
    network = Network(knowledge, before, told, setting)
    network.given([one for one in answered if one.source == "rule"])
    weight = network.described(
        network.posterior(), [one for one in counted if one.source in READ], found.heard
    )
    several = [one for one in answered if AND in one.value]
    for one in several:  # no state of a node: told of the cause itself
        weight = network.says(one, "answer") * (1.0 if weight is None else weight)
    network.given([one for one in answered if one not in several], weight)
    return network


def differences(found: Consultation, worth: bool = True) -> tuple[list[float], list[float]]:
    """How far each chance, and the worth of each question, is from the network's; both >= 0."""
    told = {one.symptom for one in found.counted}  # a denied form leaves a question open
    bits = {q.symptom: q.bits for q in found.questions if worth and q.symptom not in told}
    network = network_of(found, bits)
    chances = dict(zip([*found.reasoner.tables.causes, ELSE], found.chances, strict=True))
    expected, gains = network.posterior(), network.gains(bits)
    return (
        [abs(chances[cause] - expected[cause]) for cause in chances],
        [abs(bits[symptom] - gains[symptom]) for symptom in bits],
    )


class Network:
    """The network of a knowledge base with some prior, and nodes for what is answered of symptoms.

    `setting` are the facts of crop and season on which backgrounds depend.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        prior: Mapping[str, float],
        told: Iterable[str],
        setting: Collection[str] = (),
    ) -> None:
        self.knowledge, self.prior, self.setting = knowledge, prior, setting
        self.causes = [cause for cause, chance in prior.items() if chance]
        self.net = gum.BayesNet()
        self.net.add(gum.LabelizedVariable(CAUSE, "", self.causes))
        self.net.cpt(CAUSE).fillWith([prior[cause] for cause in self.causes])
        for symptom in dict.fromkeys(told):
            self._add(symptom)
        self.engine = gum.ShaferShenoyInference(self.net)  # the quickest of its exact engines here

    def _add(self, symptom_id: str) -> None:
        symptom = self.knowledge.symptoms[symptom_id]
        node = self.node(symptom_id)
        self.net.add(gum.LabelizedVariable(symptom_id, "", list(symptom.states)))
        self.net.addArc(CAUSE, symptom_id)
        self.net.cpt(symptom_id)[:] = self._truly(symptom_id)
        self.net.add(gum.LabelizedVariable(node, "", list(symptom.states)))
        self.net.addArc(symptom_id, node)
        self.net.cpt(node)[:] = self._telling(symptom, "answer")

    def _truly(self, symptom_id: str) -> np.ndarray:
        """P(how it is | cause): rows for the causes."""
        symptom = self.knowledge.symptoms[symptom_id]
        scale: Mapping[str, float] = self.knowledge.likelihood.frequency  # type: ignore[assignment]
        lines = [
            None if cause == ELSE else self.knowledge.causes[cause].evidence.get(symptom_id)
            for cause in self.causes
        ]
        rows = {
            repr(line): list(under(symptom, line, scale, self.setting).values()) for line in lines
        }
        return np.array([rows[repr(line)] for line in lines])

    def _telling(self, symptom: Symptom, source: str) -> np.ndarray:
        """P(told | how it is): rows for how it is."""
        likelihood = self.knowledge.likelihood
        trust = likelihood.trust["text" if source == "text" else "answer"]
        usual = np.array(list(ordinary(symptom, likelihood.frequency, self.setting).values()))  # type: ignore[arg-type]
        size = len(usual)
        any_form = np.append(0.0, usual[1:]) / usual[1:].sum()
        right = np.eye(size)
        for row in range(1, size):
            right[row] = trust.form * right[row] + (1 - trust.form) * any_form
        found: np.ndarray = trust.seen * right + (1 - trust.seen) * usual
        return found

    @staticmethod
    def node(symptom: str) -> str:
        """The name of the node for what is answered of a symptom."""
        return f"{symptom} as told"

    def described(
        self,
        before: Mapping[str, float],
        read: Sequence[Observation],
        heard: np.ndarray | None,
    ) -> np.ndarray | None:
        """The likelihood of a description under each cause; None where there is none.

        `before` are the chances of the causes without it, `heard` the log weight of its wording.
        """
        if not read and heard is None:
            return None
        channel = self.knowledge.likelihood.channel
        weight = np.zeros(len(self.causes))
        if heard is not None:
            of = dict(zip(self.prior, heard, strict=True))
            weight += [of[cause] for cause in self.causes]
        for one in read:
            weight += channel.read * np.log(self.says(one, "text"))
        says = np.exp(weight - weight.max())
        says /= sum(before[cause] * p for cause, p in zip(self.causes, says, strict=True))
        found: np.ndarray = (1 - channel.slip) * says + channel.slip
        return found

    def says(self, one: Observation, source: str) -> np.ndarray:
        """P(what is told | cause), by the causes. Several forms are several looks at one thing."""
        symptom = self.knowledge.symptoms[one.symptom]
        told = self._truly(one.symptom) @ self._telling(symptom, source)
        if AND not in one.value:
            found: np.ndarray = told @ self._holds(one)
            return found
        there = 1 - told[:, 0]
        forms = [told[:, symptom.states.index(form)] / there for form in one.value.split(AND)]
        looks: np.ndarray = there * np.prod(forms, axis=0)
        return looks

    def _holds(self, one: Observation) -> list[float]:
        """1 for each state that an observation may stand for; 'present' is any one of the forms."""
        states = self.knowledge.symptoms[one.symptom].states
        if one.value.startswith(DENIED):
            return [float(s != one.value.removeprefix(DENIED)) for s in states]
        any_form = one.value == "present"
        return [float(s == one.value or (any_form and s != "absent")) for s in states]

    def given(self, answered: Sequence[Observation], weight: np.ndarray | None = None) -> None:
        """Set the evidence; `weight` is the likelihood of the description under each cause."""
        evidence = {self.node(one.symptom): self._holds(one) for one in answered}
        if weight is not None:
            evidence[CAUSE] = (weight / weight.max()).tolist()
        self.engine.setEvidence(evidence)

    def posterior(self) -> dict[str, float]:
        """The chances of the causes."""
        self.engine.makeInference()
        found = self.engine.posterior(CAUSE).toarray()
        chances = dict(zip(self.causes, map(float, found), strict=True))
        return {cause: chances.get(cause, 0.0) for cause in self.prior}

    def gains(self, symptoms: Iterable[str]) -> dict[str, float]:
        """What the answer to each question is worth: how far it moves the chances, on average.

        In bits; over all answers it is the entropy now less its mean afterwards. "None of these" to
        a pattern does not count, and moves nothing.
        """
        nodes = {s: self.node(s) for s in symptoms}
        self.engine.eraseAllTargets()
        self.engine.addTarget(CAUSE)
        for node in nodes.values():
            self.engine.addJointTarget({CAUSE, node})
        self.engine.makeInference()
        now = self.engine.posterior(CAUSE).toarray()
        found = {}
        for symptom, node in nodes.items():
            both = self.engine.jointPosterior({CAUSE, node})
            joint = both.toarray()
            if both.names[0] == CAUSE:
                joint = joint.T
            pattern = self.knowledge.symptoms[symptom].kind == "pattern"
            answers = joint.T[1:] if pattern else joint.T  # the first state is 'absent'
            found[symptom] = sum(row.sum() * moved(row / row.sum(), now) for row in answers)
        return found


def moved(after: np.ndarray, before: np.ndarray) -> float:
    """How far chances have moved, in bits (Kullback and Leibler)."""
    pairs = zip(map(float, after.ravel()), map(float, before.ravel()), strict=True)
    return math.fsum(p * math.log2(p / q) for p, q in pairs if p > 0)


def rarest(
    knowledge: Knowledge, seen: Sequence[Observation], setting: Collection[str]
) -> list[Observation]:
    """Of observations that restate one another, the one that something else would least give.

    "None of these" to a pattern is no evidence.
    """
    groups: dict[str, list[Observation]] = {}
    for one in sorted(seen, key=lambda o: (o.symptom, o.value)):
        if one.value == "absent" and knowledge.symptoms[one.symptom].kind == "pattern":
            continue
        group = knowledge.symptoms[one.symptom].overlaps
        groups.setdefault(f"group {group}" if group else one.symptom, []).append(one)
    return [
        min(group, key=lambda one: otherwise(knowledge, one, setting))
        if len(group) > 1
        else group[0]
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
