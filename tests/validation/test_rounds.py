"""The score of a round of practice equals its definition, computed by an exact engine (pyagrum)."""

from __future__ import annotations

import warnings
from datetime import date

import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import Knowledge

try:
    import pyagrum  # noqa: F401
except ImportError:
    how = "pyagrum is not installed, so no score was checked: pip install -e '.[validation]'"
    warnings.warn(how, stacklevel=1)
    pytest.skip(how, allow_module_level=True)

from tests.validation.rounds import difference, some

FEW = 4  # rounds; run_rounds.py takes fifty


def test_the_score_is_its_definition(knowledge: Knowledge) -> None:
    reasoner = Reasoner(knowledge, hears=False)
    blank = Consultation(reasoner, date(2026, 6, 15), reasoner.home())
    for found in some(reasoner, blank, FEW):
        assert difference(found) <= 1e-7
