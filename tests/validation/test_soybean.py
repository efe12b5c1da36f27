"""Field cases of another crop under the ordinary engine; source: data/README.md.

The floor is what a plain reference script reached (93.4 % first, 98 % in three, 7.1 questions); the
settings were chosen on the training rows (run_soybean.py).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.consultation import Consultation
from diagnose.kb.model import ABSENT, NONE
from tests.validation.run_soybean import end
from tests.validation.soybean import (
    CHOSEN,
    CLASS,
    CROP,
    OBSERVED,
    SPOT_DETAILS,
    best,
    consult,
    name,
    ready,
    rows,
    steps,
)


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Consultation:
    train, _ = rows()
    return ready(train, CHOSEN, tmp_path_factory.mktemp("soybean"))


def test_the_rows_are_those_of_the_source() -> None:
    train, test = rows()
    assert (len(train), len(test)) == (307, 376)
    assert len({row[CLASS] for row in train}) == 19
    assert set(train[0]) == {*OBSERVED, "split", CLASS}


def test_the_test_rows_are_diagnosed_at_the_floor_or_better(blank: Consultation) -> None:
    _, test = rows()
    first = three = questions = 0
    for row in test:
        done = consult(blank, row, CHOSEN)
        found = best(done)
        first += found[0] == name(row[CLASS])
        three += name(row[CLASS]) in found
        questions += done.asked
    assert first / len(test) > 0.933, "UCI Soybean (Large), test rows: right first"
    assert three / len(test) >= 0.98, "UCI Soybean (Large), test rows: in three"
    assert questions / len(test) <= 6, "UCI Soybean (Large), test rows: mean questions"


def test_numbers_stand_for_themselves(blank: Consultation) -> None:
    """Frequencies estimated from the rows come through the format unchanged."""
    train, _ = rows()
    own = [row for row in train if row[CLASS] == "brown-spot"]
    reasoner = blank.reasoner
    evidence = reasoner.knowledge.causes["brown-spot"].evidence["stem"]
    assert isinstance(evidence, dict)
    states = reasoner.knowledge.symptoms["stem"].states
    shares = reasoner.tables.shares("stem")[reasoner.tables.row["brown-spot"]]
    told = dict(zip(states, shares, strict=True))
    assert {NONE if s == ABSENT else s: p for s, p in told.items()} == pytest.approx(evidence)
    seen = sum(r["stem"] == "abnorm" for r in own) / len(own)
    assert told["abnorm"] == pytest.approx(seen, abs=0.01)
    assert reasoner.knowledge.causes["brown-spot"].hosts[CROP] == pytest.approx(41 / 326)


def test_no_spots_leave_nothing_to_ask_of_their_margins(blank: Consultation) -> None:
    without = blank.answer("leafspots-halo", ABSENT)
    assert not set(SPOT_DETAILS) & {q.symptom for q in without.questions}
    assert set(SPOT_DETAILS) <= {q.symptom for q in blank.questions}


def test_cross_validation_stops_where_the_engine_stops(blank: Consultation) -> None:
    _, test = rows()
    for row in test[::10]:
        trace = list(steps(blank, row, CHOSEN, 15))
        step, asked = end(trace, CHOSEN.clear, CHOSEN.least_bits)
        done = consult(blank, row, CHOSEN)
        assert asked == done.asked
        assert step.first_right == (best(done)[0] == name(row[CLASS]))


def test_the_knowledge_folder_is_made_of_the_training_rows_only(tmp_path: Path) -> None:
    train, _ = rows()
    fewer = ready([row for row in train if row[CLASS] != "charcoal-rot"], CHOSEN, tmp_path)
    assert "charcoal-rot" not in fewer.reasoner.knowledge.causes
