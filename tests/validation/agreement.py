"""What must be the same under any engine, in any order of answers, and after `back`."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations

from diagnose import cases
from diagnose.checking.worked import Bench, numbers
from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import Knowledge
from diagnose.reasoning import facts
from diagnose.reasoning.engine import Closure, Engine, Firing
from diagnose.reasoning.engines import make_engine
from diagnose.reasoning.facts import Observation, fact

ALL_ORDERS_TO = 4  # observations; of more, so many random orders
RANDOM_ORDERS = 20


def engines(knowledge: Knowledge) -> list[Engine]:
    """Both engines with the rules of a knowledge base."""
    rules = facts.engine_rules(knowledge.rules)
    return [make_engine(rules, "durable"), make_engine(rules, "clips")]


def fixpoint(knowledge: Knowledge, given: Sequence[str]) -> Closure:
    """The closure by definition: round after round, each rule whose conditions hold."""
    waiting = sorted(facts.engine_rules(knowledge.rules), key=lambda rule: rule.id)
    known, firings = set(given), list[Firing]()
    while ready := [rule for rule in waiting if known.issuperset(rule.when)]:
        waiting = [rule for rule in waiting if rule not in ready]
        firings += [Firing(rule.id, rule.when, rule.gives) for rule in ready]
        known.update(*(rule.gives for rule in ready))
    return Closure(frozenset(known), tuple(firings))


def told(knowledge: Knowledge, every: int = 1) -> Iterator[tuple[str, Consultation]]:
    """Each case of the knowledge, or every so manyth: its cause, and what its text tells."""
    bench = Bench.of(knowledge, Reasoner(knowledge, hears=False))
    for cause, index in numbers(knowledge)[::every]:
        case = knowledge.causes[cause].cases[index]
        yield cause, cases.start(case, bench.blank)


def given_with_answer(consultation: Consultation, cause: str) -> list[str]:
    """The facts of a case with its cause as the answer, as for a plan."""
    kind = consultation.reasoner.knowledge.causes[cause].kind
    return [*consultation.given, fact("cause", cause), fact("cause-kind", kind)]


def orders(seen: Sequence[Observation], chance: random.Random) -> list[tuple[Observation, ...]]:
    """All orders of a few observations, some random ones of more."""
    if len(seen) <= ALL_ORDERS_TO:
        return list(permutations(seen))
    return [tuple(chance.sample(seen, len(seen))) for _ in range(RANDOM_ORDERS)]


def outcome(consultation: Consultation) -> tuple[object, ...]:
    """All that a person would be told."""
    first = consultation.leading
    return (
        consultation.chances.tobytes(),
        consultation.standing,
        list(consultation.questions),
        consultation.stop,
        consultation.trace,
        consultation.second,
        consultation.plan(first.cause) if first else None,
    )


def in_order(consultation: Consultation, seen: Sequence[Observation]) -> Consultation:
    """The same consultation, told one observation after another."""
    found = replace(consultation, observations=())
    for one in seen:
        found = found.observe([one])
    return found


def back_and_again(consultation: Consultation, chance: random.Random, steps: int) -> bool:
    """Whether going back and giving the same answer changes nothing, all along a random walk."""
    for _ in range(steps):
        if not consultation.questions:
            break
        symptom = chance.choice(consultation.questions).symptom
        values = [*consultation.offered(symptom), "unsure"]
        after = consultation.answer(symptom, chance.choice(values))
        _ = outcome(consultation.answer(symptom, chance.choice(values)))  # then back
        value = next((o.value for o in after.observations if o.symptom == symptom), "unsure")
        again = consultation.answer(symptom, value)
        if again != after or outcome(again) != outcome(after):
            return False
        consultation = after
    return True
