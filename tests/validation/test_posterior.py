"""Chances and the worth of questions against an exact Bayesian network engine (pyagrum)."""

from __future__ import annotations

import warnings
from itertools import pairwise

import pytest
from hypothesis import given

from diagnose.consultation import Consultation
from diagnose.kb.model import Knowledge
from tests.validation.agreement import told
from tests.validation.consultations import consultations, some

try:
    import pyagrum  # noqa: F401
except ImportError:
    how = "pyagrum is not installed, so no chance was checked: pip install -e '.[validation]'"
    warnings.warn(how, stacklevel=1)
    pytest.skip(how, allow_module_level=True)

from tests.validation.network import ELSE, network_of, otherwise

EVERY = 40  # of the cases, one in so many; run_posterior.py takes them all


def told_apart(found: Consultation) -> bool:
    """Whether no two observations that restate one another are equally rare, up to rounding."""
    knowledge = found.reasoner.knowledge
    groups: dict[str, list[float]] = {}
    for one in found.counted:
        if group := knowledge.symptoms[one.symptom].overlaps:
            groups.setdefault(group, []).append(otherwise(knowledge, one))
    return all(b - a > 1e-12 for rare in groups.values() for a, b in pairwise(sorted(rare)))


def check_chances(found: Consultation) -> None:
    expected = network_of(found).posterior()
    chances = dict(zip([*found.reasoner.tables.causes, ELSE], found.chances, strict=True))
    assert chances == pytest.approx(expected, abs=1e-9)


def check_worth(found: Consultation) -> None:
    bits = {q.symptom: q.bits for q in found.questions}
    assert bits == pytest.approx(network_of(found, bits).gains(bits), abs=1e-9)


@some
@given(consultations().filter(told_apart))
def test_the_chances_are_those_of_the_network(found: Consultation) -> None:
    check_chances(found)


@some
@given(consultations().filter(told_apart))
def test_the_worth_of_a_question_is_its_definition(found: Consultation) -> None:
    check_worth(found)


def test_the_chances_of_the_shipped_knowledge(knowledge: Knowledge) -> None:
    for _, found in told(knowledge, EVERY):
        check_chances(found)


def test_the_worth_of_the_shipped_questions(knowledge: Knowledge) -> None:
    for _, found in told(knowledge, EVERY * 8):
        check_worth(found)
