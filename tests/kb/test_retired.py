"""Old names of symptoms, and what they are now."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from diagnose.cases import checked_observations, retired_names
from diagnose.checking.check import errors
from diagnose.commands import main
from diagnose.consultation import Consultation, Reasoner
from diagnose.journal import Answered, Struck, Ticked, take
from diagnose.kb import load
from diagnose.kb.model import Case, Symptom
from diagnose.kb.retired import successor, translated
from diagnose.ready import open_knowledge
from diagnose.reasoning.facts import TICK, Observation
from tests.conftest import write

pytestmark = pytest.mark.quick

RETIRED = {
    "pellets": "droppings",
    "pinholes": "holes/tiny",
    "clean-leaves": "holes/absent",
    "holes/huge": "holes/ragged",
    "lace": "holes/ragged",
    "lace/absent": "holes/absent",
}
HOLES = Symptom("holes", "leaf", "?", "sometimes", values={"ragged": "a", "tiny": "b"}, many=True)


@pytest.mark.parametrize(
    ("old", "now"),
    [
        (("pellets", "present"), ("droppings", "present")),
        (("pellets", "absent"), ("droppings", "absent")),
        (("pinholes", "present"), ("holes", "tiny")),
        (("pinholes", "absent"), ("holes", "not-tiny")),
        (("pinholes", "unsure"), ("holes", "unsure")),
        (("clean-leaves", "present"), ("holes", "absent")),
        (("clean-leaves", "absent"), ("holes", "present")),
        (("holes", "huge"), ("holes", "ragged")),
        (("holes", "not-huge"), ("holes", "not-ragged")),
        (("holes", "tiny"), None),
        (("lace", "present"), ("holes", "ragged")),
        (("lace", "absent"), ("holes", "absent")),
    ],
)
def test_each_old_statement_has_one_successor(old, now) -> None:
    assert successor(RETIRED, *old) == now


@pytest.mark.parametrize(
    ("stated", "now"),
    [
        ([("pinholes", "absent"), ("holes", "ragged")], "ragged"),
        ([("holes", "absent"), ("pinholes", "present")], "tiny"),
        ([("holes", "present"), ("pinholes", "absent")], "present"),
        ([("pinholes", "present"), ("holes", "huge")], "ragged+tiny"),
    ],
)
def test_of_two_that_fall_together_the_one_that_says_more_stays(stated, now) -> None:
    assert translated(RETIRED, {"holes": HOLES}, stated) == {"holes": now}


@pytest.fixture
def blank(tiny: Path) -> Consultation:
    lines = "".join(f"{old}: {now}\n" for old, now in RETIRED.items())
    reasoner = Reasoner(open_knowledge(write(tiny, {"retired.yaml": lines})))
    return Consultation(reasoner, date(2026, 6, 15), reasoner.home(), "kale")


def test_stored_cases_are_read_with_todays_names(blank: Consultation) -> None:
    case = Case(observations={"pinholes": "present", "pellets": "absent"})
    knowledge = blank.reasoner.knowledge
    assert checked_observations(case, knowledge) == [
        Observation("holes", "tiny", "case"), Observation("droppings", "absent", "case")
    ]  # fmt: skip
    assert retired_names(case, knowledge) == [
        "pinholes, now holes: tiny", "pellets, now droppings: absent"
    ]  # fmt: skip


def test_kept_steps_are_taken_with_todays_names(blank: Consultation) -> None:
    answered = take(blank, Answered("pinholes", "absent"))
    assert answered.observations == (Observation("holes", "not-tiny"),)
    assert take(answered, Struck(("pinholes",))).observations == ()
    assert take(blank, Ticked(("pellets",))).observations == (
        Observation("droppings", "present", TICK),
    )


def test_the_command_names_what_it_put_into_todays_names(blank, tiny: Path, capsys) -> None:
    write(tiny, {"../old.yaml": "- {observations: {pinholes: present}, crop: kale}\n"})
    assert main(["case", str(tiny.parent / "old.yaml"), "--knowledge", str(tiny)]) == 0
    assert "pinholes, now holes: tiny" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "code"),
    [("holes: droppings", "duplicate-id"), ("holes/tiny: droppings", "duplicate-id"),
     ("pellets: dropings", "unknown-id"), ("pellets: holes/huge", "unknown-id")],
)  # fmt: skip
def test_what_is_wrong_in_the_table_is_found(line: str, code: str, tiny: Path) -> None:
    gathered = load.read(write(tiny, {"retired.yaml": line + "\n"}))
    assert [(f.file, f.code) for f in errors(gathered.readable)] == [("retired.yaml", code)]


def test_an_entry_that_is_no_id(tiny: Path) -> None:
    gathered = load.read(write(tiny, {"retired.yaml": "Pellets!: droppings\n"}))
    assert [(f.file, f.code) for f in gathered.findings] == [("retired.yaml", "bad-id")]


@pytest.mark.parametrize(
    ("content", "now"),
    [
        ("- {rule: x, when: {pinholes: absent}, then: {skip: holes}, because: s}",
         "write holes: not-tiny"),
        ("- {rule: x, when: {crop: kale}, then: {skip: pellets}, because: so}",
         "write droppings: present"),
        ("- {rule: x, when: {holes: huge}, then: {skip: droppings}, because: so}",
         "write holes: ragged"),
    ],
)  # fmt: skip
def test_rules_that_name_an_old_id_are_told_the_new(
    blank: Consultation, tiny: Path, content: str, now: str
) -> None:
    [finding] = errors(load.read(write(tiny, {"rules/old.yaml": content + "\n"})).readable)
    assert finding.code == "retired-id"
    assert finding.message.endswith(now)
