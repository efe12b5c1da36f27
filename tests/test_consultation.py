"""What a consultation keeps from the one before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from diagnose.consultation import FOLLOWS, Consultation
from diagnose.inputs import clean
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.screens import Tick

LATER = ("questions", "screen", "next_symptom", "stop")


def looked_at(consultation: Consultation) -> dict[str, object]:
    """Everything that is worked out, in values that can be compared."""
    found = {name: plainly(getattr(consultation, name)) for name in (*FOLLOWS, *LATER)}
    return found | {"questions": list(consultation.questions)}


def plainly(value: object) -> object:
    """Arrays as lists, alone and in tuples and lists."""
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, list | tuple):
        return [plainly(inner) for inner in value]
    return value


def states(blank: Consultation) -> Iterator[Consultation]:
    """A consultation that goes through every way of changing one."""
    state = blank.told(clean("my tomato leaves have brown spots and are yellow"))
    yield state
    yield (state := state.confirmed())
    for value in ("unsure", "present", "unsure", "unsure", "absent"):
        symptom = state.next_symptom
        assert symptom is not None
        yield (state := state.answer(symptom, value))
    lines = [Tick(name, "present") for name in state.questions.symptoms[:3]]
    yield (state := state.tick(lines[:1], lines[1:]))
    yield (state := state.tick([], unknown=[Tick(state.questions[0].symptom, "present")]))
    yield (state := state.but(parts=("leaf",)))
    yield (state := state.strike(state.observations[0].symptom))
    yield (state := state.observe([Observation("leaf-spots", "absent")]))
    yield (state := state.about("potato"))
    yield state.told(clean("and the stems are black"))


def test_what_is_kept_is_what_would_be_worked_out_anew(blank: Consultation) -> None:
    for state in states(blank):
        assert looked_at(state) == looked_at(replace(state))


def test_not_knowing_keeps_what_follows(
    blank: Consultation, monkeypatch: pytest.MonkeyPatch
) -> None:
    state = blank.about("tomato").told(clean("brown spots"))
    looked_at(state)
    monkeypatch.setattr(type(blank.reasoner.engine), "close", None)
    for weighs in ("weigh", "by_sentence"):
        monkeypatch.setattr(type(blank.reasoner.wording), weighs, None, raising=False)
    looked_at(state.answer("leaf-spots", "unsure"))
