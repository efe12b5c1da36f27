"""Chances and the worth of questions against an exact Bayesian network engine (pyagrum)."""

from __future__ import annotations

import warnings

import pytest
from hypothesis import given

from diagnose.consultation import Consultation
from diagnose.kb.model import Knowledge
from tests.validation.agreement import told
from tests.validation.consultations import consultations, some, told_apart

try:
    import pyagrum  # noqa: F401
except ImportError:
    how = "pyagrum is not installed, so no chance was checked: pip install -e '.[validation]'"
    warnings.warn(how, stacklevel=1)
    pytest.skip(how, allow_module_level=True)

from tests.validation.network import differences

EVERY = 40  # of the cases, one in so many; run_posterior.py takes them all


def check_chances(found: Consultation) -> None:
    chances, _ = differences(found, worth=False)
    assert max(chances) <= 1e-9


def check_worth(found: Consultation) -> None:
    _, bits = differences(found)
    assert max(bits, default=0) <= 1e-9


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
