"""Cases drawn from the knowledge itself, and how well anyone could do on them."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import ABSENT
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.questions import Question
from diagnose.reasoning.ranking import SOMETHING_ELSE, Floats, plogp, posterior

DAYS = (date(2026, 5, 15), date(2026, 7, 1), date(2026, 9, 1))
LOOKED_AHEAD = 12  # questions whose follow-ups are weighed
ROUNDS = 60  # of the capacity's iteration

Choice = Callable[[Consultation, Sequence[Question]], Question]


@dataclass(frozen=True)
class Drawn:
    """A case with its true cause and what can be answered.

    `blank` is told nothing, `start` what the gardener says at first, `whole` all of it.
    """

    cause: str
    blank: Consultation
    start: Consultation
    answers: Mapping[str, str]
    whole: Consultation


def draw(reasoner: Reasoner, chance: random.Random, told: int) -> Iterator[Drawn]:
    """Cases as the knowledge has them: a cause by its chance, answers by theirs under it.

    So many things that are there are told at first, picked at random, where there are as many.
    Of symptoms that restate one another only one can be answered. A case whose cause the rules
    would rule out is drawn anew, as the rules say that there is none such.
    """
    knowledge, tables = reasoner.knowledge, reasoner.tables
    names = [*tables.causes, SOMETHING_ELSE]
    crops = list(knowledge.crops)
    while True:
        crop, day = chance.choice(crops), chance.choice(DAYS)
        blank = Consultation(reasoner, day, reasoner.home(), crop)
        [row] = chance.choices(range(len(names)), blank.chances.tolist())
        answers: dict[str, str] = {}
        groups: set[str] = set()
        asked = blank.open_symptoms
        for symptom_id in chance.sample(asked, len(asked)):
            symptom = knowledge.symptoms[symptom_id]
            if symptom.overlaps in groups:
                continue
            groups |= {symptom.overlaps} - {None}
            shares = tables.shares(symptom_id)[row].tolist()
            [answers[symptom_id]] = chance.choices(symptom.states, shares)
        whole = blank.observe(Observation(s, value) for s, value in answers.items())
        if names[row] not in whole.ruled_out:
            there = [seen for seen in whole.observations if seen.value != ABSENT]
            start = blank.observe(there[:told])  # the answers are in random order
            yield Drawn(names[row], blank, start, answers, whole)


def ours(_: Consultation, questions: Sequence[Question]) -> Question:
    """The most bits for the effort."""
    return questions[0]


def greedy(_: Consultation, questions: Sequence[Question]) -> Question:
    """The most bits, whatever the effort."""
    return max(questions, key=lambda q: q.bits)


def two_ahead(consultation: Consultation, questions: Sequence[Question]) -> Question:
    """The most bits from a question and the best one after it."""
    tables = consultation.reasoner.tables
    best = sorted(questions, key=lambda q: -q.bits)[:LOOKED_AHEAD]
    open_ = {q.symptom for q in questions}

    def worth(question: Question) -> float:
        wanted = np.array([s in open_ and s != question.symptom for s in tables.symptoms])
        joint = consultation.chances[:, None] * tables.shares(question.symptom)
        follow = 0.0
        for column in joint.T:
            share = column.sum()
            if share > 0 and wanted.any():
                follow += share * tables.bits(column / share)[wanted].max()
        return question.bits + float(follow)

    return max(best, key=worth)


def consult(drawn: Drawn, choose: Choice, limited: bool) -> Consultation:
    """Ask until the engine stops, one question at a time, each as `choose` has it.

    Not `limited`, it may ask as many questions as it likes.
    """
    found = drawn.start
    while not (found if limited else replace(found, asked=0)).stop:
        left = [q for q in found.questions if q.symptom in drawn.answers]
        if not left:
            break
        symptom = choose(found, left).symptom
        found = found.answer(symptom, drawn.answers[symptom])
    return found


def best_possible(consultation: Consultation) -> Floats:
    """The chances by Bayes' rule as the case was drawn: what rules derive is no news."""
    prior = consultation.prior
    return posterior(prior, consultation.tables.lines(prior, consultation.observations))


def entropy(chances: Floats) -> float:
    """What is not known of the cause, in bits."""
    return float(-plogp(chances).sum())


def most_told(blank: Consultation) -> float:
    """No question can tell more than this of the causes possible here, in bits, at any time.

    The largest capacity of a question as a channel; from above, by the iteration of Blahut and
    Arimoto (IEEE Transactions on Information Theory 18, 1972).
    """
    live = blank.chances > 0
    tables = blank.reasoner.tables
    return max(_capacity(tables.shares(s)[live]) for s in blank.open_symptoms)


def _capacity(channel: Floats) -> float:
    """An upper bound, close to the capacity of a channel with these rows, in bits."""
    inputs = np.full(len(channel), 1 / len(channel))
    least = np.inf
    for _ in range(ROUNDS):
        told = (channel * np.log2(channel / (inputs @ channel))).sum(axis=1)
        least = min(least, float(told.max()))
        inputs *= np.exp2(told)
        inputs /= inputs.sum()
    return least
