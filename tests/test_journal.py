"""Steps of a consultation: taken, taken back, kept, and taken again."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from diagnose import kept
from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.journal import (
    Answered,
    Granted,
    Journal,
    Meant,
    Plant,
    Step,
    Struck,
    Ticked,
    Told,
    Where,
    first_words,
    line_name,
    replay,
    take,
    ticks,
)
from diagnose.kept import Keeper
from diagnose.reading import Reading
from diagnose.reasoning.facts import CONFIRMED, TEXT, Observation
from diagnose.reasoning.screens import Tick

SAID = "my tomato leaves have brown spots and there are holes in them"
STEPS: tuple[Step, ...] = (
    Told(SAID), Meant(), Answered("leaf-spots", "unsure"), Told("they wilt at noon"),
    Answered("wilting", "absent"), Plant("potato"),
)  # fmt: skip


@pytest.fixture
def journal(blank: Consultation) -> Journal:
    return Journal.begin(blank).then(*STEPS)


def told(state: Consultation) -> tuple[object, ...]:
    return state.crop, state.observations, state.unsure, state.said, state.asked


def test_back_is_exact(journal: Journal) -> None:
    for count in range(len(STEPS) + 3):
        back = journal.back(count)
        left = max(len(STEPS) - count, 0)
        assert back.steps == STEPS[:left]
        assert back.now is journal.states[left]


def test_back_goes_one_step_where_no_number_is_told(journal: Journal) -> None:
    assert journal.back().steps == STEPS[:-1]


def test_the_plant_and_the_parts_are_told(blank: Consultation) -> None:
    assert take(blank, Plant("potato")).crop == "potato"
    assert take(take(blank, Plant("potato")), Plant(None)).crop is None
    where = take(blank, Where(("leaf", "stem")))
    assert (where.parts, where.asked) == (("leaf", "stem"), blank.asked + 1)


def test_of_what_was_perhaps_meant_what_is_granted_counts(blank: Consultation) -> None:
    weak = [Observation(s, "present", TEXT, "limp", 0.3) for s in ("wilting", "stunted")]
    told = replace(blank, reading=Reading(None, [], [], perhaps=tuple(weak)))
    [seen] = take(told, Granted(("wilting",))).observations
    assert (seen.symptom, seen.source, seen.words) == ("wilting", CONFIRMED, "limp")


def test_old_names_of_answers_and_forms_are_taken_with_todays(blank: Consultation) -> None:
    """knowledge/retired.yaml: drought: soil-moisture/dry, how-fast/overnight-once: overnight."""

    def answered(symptom: str, value: str) -> list[tuple[str, str]]:
        seen = take(blank, Answered(symptom, value)).observations
        return [(o.symptom, o.value) for o in seen]

    def ticked(*names: str) -> list[tuple[str, str]]:
        return [(o.symptom, o.value) for o in take(blank, Ticked(names)).observations]

    assert answered("drought", "present") == ticked("drought") == [("soil-moisture", "dry")]
    assert answered("drought", "absent") == [("soil-moisture", "not-dry")]
    assert answered("how-fast", "overnight-once") == [("how-fast", "overnight")]
    assert ticked("how-fast/overnight-once") == [("how-fast", "overnight")]
    assert ticked("how-fast/weeks") == [("how-fast", "weeks")]
    assert ticked("how-fast/purple", "wilting/purple") == []


def test_a_line_to_tick_is_kept_by_its_name(blank: Consultation) -> None:
    knowledge = blank.reasoner.knowledge
    lines = [Tick("wilting", "present"), Tick("how-fast", "weeks")]
    names = [line_name(line) for line in lines]
    assert names == ["wilting", "how-fast/weeks"]
    assert ticks(knowledge, names) == lines


def test_what_is_kept_comes_to_the_same_and_keeps_the_words(journal: Journal) -> None:
    keeper = Keeper()
    assert keeper.save(journal, typed="and more", answer="nothing yet")
    _, left = kept.listed()[0][0]
    again = kept.opened(left, journal.now.reasoner)
    assert again.lost == []
    assert again.typed == "and more"
    assert [told(s) for s in again.journal.states] == [told(s) for s in journal.states]
    assert SAID in again.journal.now.said
    assert again.journal.now.chances.tolist() == journal.now.chances.tolist()
    assert (left.answer, left.state) == ("nothing yet", "unfinished")


def test_what_was_taken_back_to_nothing_is_not_offered_again(journal: Journal) -> None:
    keeper = Keeper()
    keeper.save(journal)
    keeper.save(journal.back(len(STEPS)))
    assert kept.listed() == ([], [])


def test_finished_is_not_offered_to_go_on_with(journal: Journal) -> None:
    keeper = Keeper()
    keeper.save(journal, finished=True)
    assert kept.unfinished() is None
    assert kept.named(keeper.name).state == "finished"
    kept.drop(keeper.name)
    with pytest.raises(UsageError, match="none is kept"):
        kept.drop(keeper.name)


def test_what_is_meant_is_confirmed_and_what_is_struck_is_gone(blank: Consultation) -> None:
    begun = Journal.begin(blank).then(Told(SAID))
    assert begun.now.observations
    meant = begun.then(Meant()).now.observations
    assert {o.source for o in meant} == {CONFIRMED}
    struck = begun.then(Struck(tuple(o.symptom for o in meant))).now
    assert (struck.observations, struck.said) == ((), SAID)


def test_put_right_is_no_question_asked(blank: Consultation) -> None:
    begun = Journal.begin(blank).then(Told(SAID)).now
    symptom = begun.observations[0].symptom
    right = take(begun, Answered(symptom, "absent", asked=False))
    assert (right.asked, right.observations[0].value) == (0, "absent")
    assert right.observations[0].words == begun.observations[0].words
    assert right.observations[0].source == "answer"
    assert take(begun, Answered(symptom, "absent")).asked == 1
    unread = take(begun, Answered("slugs-seen", "present", asked=False)).observations[-1]
    assert (unread.symptom, unread.words) == ("slugs-seen", "")


@pytest.mark.parametrize(
    "step", [Answered("dragons", "present"), Answered("wilting", "green"), Plant("mandrake"),
             Told("  ")],
)  # fmt: skip
def test_what_is_not_known_is_refused_and_left_out_of_a_replay(
    blank: Consultation, step: Step
) -> None:
    with pytest.raises(UsageError, match=r"'mandrake'|'green' to 'wilting'|'dragons'|empty"):
        take(blank, step)
    journal, lost = replay(blank, [Told(SAID), step, Meant()])
    assert journal.steps == (Told(SAID), Meant())
    assert len(lost) == 1
    with pytest.raises(UsageError, match=re.escape(lost[0])):
        take(blank, step)


def test_signs_not_known_are_not_ticked(blank: Consultation) -> None:
    assert [o.symptom for o in take(blank, Ticked(("wilting", "dragons"))).observations] == [
        "wilting"
    ]


def test_the_first_words(journal: Journal) -> None:
    assert first_words(journal.steps) == SAID
    assert first_words([Meant()]) == ""


def test_old_names_of_symptoms_are_taken_with_todays(blank: Consultation) -> None:
    knowledge = blank.reasoner.knowledge
    old, now = next(
        (o, n) for o, n in knowledge.retired.items() if not {*o, *n} & {"/"}
        and n in knowledge.symptoms
    )  # fmt: skip
    ticked = take(blank, Ticked((old,)))
    assert [o.symptom for o in ticked.observations] == [now]
    assert take(ticked, Struck((old,))).observations == ()
