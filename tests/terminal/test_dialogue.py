"""The guided consultation, scripted: lines in, exact text out."""

from __future__ import annotations

import contextlib
import io
from datetime import date
from pathlib import Path

import pytest

from diagnose import kept
from diagnose.consultation import Consultation, Reasoner
from diagnose.journal import Journal, Ticked
from diagnose.kept import Keeper
from diagnose.ready import open_knowledge
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.dialogue import Dialogue, Leave
from diagnose.terminal.screen import PlainScreen

pytestmark = pytest.mark.quick


@pytest.fixture
def talk(tiny: Path):
    reasoner = Reasoner(open_knowledge(tiny))

    def run(*lines: str, go_on: bool = False, width: int = 80) -> str:
        out = io.StringIO()
        asker = LineAsker(io.StringIO("".join(line + "\n" for line in lines)), out)
        journal = Journal.begin(Consultation(reasoner, date(2026, 6, 15), reasoner.home()))
        left = kept.unfinished() if go_on else None
        keeper = kept.keeper_of(*left) if left else Keeper()
        dialogue = Dialogue(PlainScreen(out, width), asker, journal, keeper)
        try:
            dialogue.run(kept.opened(left[1], reasoner) if left else None)
        except Leave:
            out.write("[left]")
        return out.getvalue()

    return run


def test_from_a_sentence_to_a_plan(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "1", "more", "leave")
    assert "Plant: kale" in said
    assert "1. holes in the leaves: large ragged holes (you wrote: ragged holes)" in said
    assert "Are there green crumbs on the leaves?" in said
    assert "I take: green droppings." in said
    assert "Caterpillar" in said
    assert "To eat: Wash the leaves and eat them." in said
    assert "What to do, if it is caterpillar" in said


def test_the_answer_takes_ten_lines_at_forty_columns(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "1", "leave", width=40)
    answer = said.partition("The answer")[2].partition("Type more")[0]
    assert len(answer.strip().splitlines()) <= 10
    assert max(map(len, said.splitlines())) <= 40


def test_without_words_it_asks(talk) -> None:
    said = talk("", "kale", "unsure", "ragged", "yes", "leave")
    assert "Which plant is it?" in said
    assert "Caterpillar" in said


def test_an_unknown_crop_is_answered_with_the_nearest(talk) -> None:
    assert "Did you mean kale?" in talk("", "kail", "kale", "stop")


def test_a_plant_that_is_not_listed_has_a_way_on(knowledge) -> None:
    out = io.StringIO()
    reasoner = Reasoner(knowledge)
    asker = LineAsker(io.StringIO("\ntulip\nstop\n"), out)
    journal = Journal.begin(Consultation(reasoner, date(2026, 6, 15), reasoner.home()))
    with contextlib.suppress(Leave):
        Dialogue(PlainScreen(out, 80), asker, journal, Keeper()).run(None)
    assert "I do not know tulip nor kin of it." in out.getvalue()


@pytest.mark.parametrize("line", ["1", "not 1", "1 is wrong", "no 1", "strike 1"])
def test_a_wrong_line_is_struck(talk, line: str) -> None:
    said = talk("ragged holes in my kale", line, "stop")
    assert "I found no sign in those words" in said


def test_several_lines_are_struck_at_once(talk) -> None:
    said = talk("ragged holes and green droppings on my kale", "1 2", "stop")
    assert "I found no sign in those words" in said


@pytest.mark.parametrize("line", ["potato", "plant: potato"])
def test_another_plant_has_the_words_read_again(talk, line: str) -> None:
    said = talk("ragged holes and green potatoes on my kale", line, "yes", "stop")
    assert "Plant: potato" in said
    assert "green tubers" in said.partition("Plant: potato")[2]


def test_more_words_are_added(talk) -> None:
    said = talk("ragged holes in my kale", "and green droppings", "yes", "stop")
    assert "I take: green droppings." in said


@pytest.mark.parametrize("odd", ["9", "purple", "[bold]x[/bold]", "\x1b[31m", "ja", "-1", "1.5"])
def test_an_answer_that_means_nothing_is_asked_again(talk, odd: str) -> None:
    said = talk("", "kale", "unsure", odd, "ragged", "yes", "leave")
    assert "I did not understand" in said
    assert "Caterpillar" in said


def test_words_at_a_question_count(talk) -> None:
    said = talk("", "kale", "unsure", "there are ragged holes in the leaves", "yes", "leave")
    assert "I take: holes in the leaves: large ragged holes." in said


def test_a_yes_that_names_no_form_is_asked_again(talk) -> None:
    said = talk("", "kale", "unsure", "yes", "stop")
    assert "I did not understand" in said


def test_every_word_of_the_dialogue_works(talk) -> None:
    said = talk("", "kale", "unsure", "why", "so far", "help", "unsure", "back", "stop")
    for expected in ("Why I ask", "So far", "What you can type", "The answer"):
        assert expected in said
    assert said.count("Question 2") == 2  # asked, and again after back


@pytest.mark.parametrize("word", ["help", "so far", "back", "stop"])
@pytest.mark.parametrize("before", [(), ("",), ("ragged holes in my kale",)])
def test_the_common_words_work_at_every_prompt(talk, before: tuple[str, ...], word: str) -> None:
    said = talk(*before, word, "leave")
    assert "I do not know" not in said
    assert "I did not understand" not in said


@pytest.mark.parametrize(
    "word", ["unsure", "idk", "don't know", "I don\u2019t know", "skip", "dunno"]
)
def test_not_knowing_is_an_answer(talk, word: str) -> None:
    assert "I take: not sure." in talk("", "kale", "unsure", word, "stop")


def test_back_goes_up_to_the_description_and_past_the_answer(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "1", "back", "back", "back", "leave")
    assert said.count("What is wrong?") == 2
    assert "nothing to take back" in talk("back", "leave")


def test_the_reasons_add_up(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "1", "reasons", "not flea beetle", "change",
                "others", "rules", "leave")  # fmt: skip
    assert "common on kale, in season" in said
    assert "Caterpillar rather than flea beetle" in said
    assert "What would change it" in said
    assert "What it may be" in said
    assert "rule long-days" in said


def test_the_next_plant_begins_anew(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "1", "next", "green potatoes", "yes", "leave")
    assert said.count("What is wrong?") == 2
    assert sorted(k.state for _, k in kept.listed()[0]) == ["finished", "finished"]
    assert len(kept.listed()[0]) == 2


def test_the_end_of_input_keeps_everything_and_the_next_start_goes_on(talk) -> None:
    first = talk("holes in the leaves of my kale", "yes")
    assert "Kept." in first
    second = talk("stop", "leave", go_on=True)
    assert "The answer" in second
    assert "Question" in second


def test_back_works_after_going_on(talk) -> None:
    talk("holes in the leaves of my kale", "yes")
    assert "This is what I understood" in talk("back", go_on=True)


def test_words_not_confirmed_are_kept_too(talk) -> None:
    assert "Kept." in talk("ragged holes in my kale")
    assert "holes in the leaves: large ragged holes" in talk("yes", go_on=True)


def test_what_was_said_counts_after_going_on(talk, tiny: Path) -> None:
    talk("ragged holes in my kale", "yes")
    left = kept.unfinished()
    assert left is not None
    reasoner = Reasoner(open_knowledge(tiny))
    assert kept.opened(left[1], reasoner).journal.now.said == "ragged holes in my kale"


def test_ctrl_c_asks_first(tiny: Path) -> None:
    class Interrupting(LineAsker):
        def ask(self, prompt, choices, hint):
            line = super().ask(prompt, choices, hint)
            if line == "^C":
                raise KeyboardInterrupt
            return line

    reasoner = Reasoner(open_knowledge(tiny))
    out = io.StringIO()
    asker = Interrupting(io.StringIO("holes in the leaves of my kale\nyes\n^C\nno\n^C\nyes\n"), out)
    journal = Journal.begin(Consultation(reasoner, date(2026, 6, 15), reasoner.home()))
    with pytest.raises(Leave):
        Dialogue(PlainScreen(out), asker, journal, Keeper()).run()
    assert out.getvalue().count("Leave here? Everything answered is kept.") == 2
    left = kept.unfinished()
    assert left is not None
    assert kept.opened(left[1], reasoner).journal.now.observations[0].symptom == "holes"


@pytest.fixture
def many(tiny: Path) -> None:
    """Enough signs for a screen of several, and a pattern to begin with."""
    more = "".join(
        f"{name}:\n  name: {name} leaves\n  part: leaf\n  ask: Are leaves {name}?\n"
        "  background: seldom\n"
        for name in ("pale", "limp", "sticky")
    )
    where = (
        "where:\n  name: where in the bed\n  kind: pattern\n  part: whole\n  ask: Which have it?\n"
        "  background: usually\n  values: {one: one plant, all: all of them}\n"
    )
    symptoms = tiny / "symptoms" / "all.yaml"
    symptoms.write_text(symptoms.read_text() + more + where)
    for name, line in (("caterpillar", "pale: often"), ("flea-beetle", "limp: often")):
        cause = tiny / "causes" / "insect" / f"{name}.yaml"
        cause.write_text(cause.read_text().replace("evidence:\n", f"evidence:\n  {line}\n"))
    numbers = tiny / "likelihood.yaml"
    text = numbers.read_text().replace("after-unsure: 2", "after-unsure: 1")
    numbers.write_text(text.replace("first: []", "first: [where]"))


def test_with_nothing_told_it_goes_in_the_order_of_the_trade(many: None, talk) -> None:
    said = talk("", "kale", "1", "why", "help", "7 up", "99", "2", "stop")
    part = said.index("Where does it look wrong?")
    assert said.index("Which plant is it?") < part < said.index("Which have it?")
    assert "1. the leaves" in said
    assert "I take: the leaves." in said
    assert "I take: all of them." in said
    assert "Which of these do you see" in said
    assert "Why I ask of these together" in said
    assert 'I did not understand "7 up".' in said
    assert 'I did not understand "99".' in said


def test_what_is_left_unticked_is_told_apart_from_what_was_said(many: None, talk) -> None:
    said = talk("", "kale", "1", "none", "so far", "stop")
    told = said.partition("So far")[2]
    assert "- left unticked: " in told
    assert "- no " not in told.partition("What it may be")[0]


def test_a_screen_is_taken_back(many: None, talk) -> None:
    said = talk("", "kale", "unsure", "none", "back", "none", "stop")
    assert said.count("Which of these do you see") == 2


def test_a_screen_is_kept_with_what_was_left(many: None, talk) -> None:
    talk("", "kale", "1", "2 3")
    [(_, found)] = kept.listed()[0]
    ticked = [step for step in found.steps if isinstance(step, Ticked)]
    assert ticked[0].there[0] == "where/all"
    assert len(ticked[0].there) == 2
    assert ticked[0].left


@pytest.fixture
def worded(tiny: Path) -> None:
    """With a word of the trade."""
    (tiny / "glossary.yaml").write_text(
        "frass: {name: frass, also: [crumbs], text: Droppings of caterpillars.}\n"
    )


HOLES = "ragged holes in my kale"
ASKED = ("what is frass?", "What's frass", "what are crumbs", "what does frass mean?")


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize("before", [(), ("",), (HOLES,), (HOLES, "yes"), (HOLES, "yes", "1")])
def test_a_word_is_explained_at_every_prompt(worded: None, talk, before, asked: str) -> None:
    said = talk(*before, asked, "leave")
    assert "Frass: Droppings of caterpillars." in said
    assert "I did not understand" not in said


@pytest.mark.parametrize("before", [("", "kale"), ("ragged holes in my kale", "yes"),
                                    ("ragged holes in my kale", "yes", "1")])  # fmt: skip
def test_a_question_beyond_it_is_said_to_be_so(talk, before: tuple[str, ...]) -> None:
    said = talk(*before, "when should I sow beets?", "leave")
    assert "That I cannot answer." in said
    assert "I did not understand" not in said


def test_a_file_is_written_once(talk, tmp_path: Path) -> None:
    file = tmp_path / "plan.md"
    said = talk("ragged holes in my kale", "yes", "1", f"keep {file}", f"keep {file}", "leave")
    assert f"Wrote {file}." in " ".join(said.split())
    assert "is there already" in " ".join(said.split())
    assert file.read_text().startswith("# Kale, 15 June 2026")


def test_an_emergency_is_told_before_the_plant_is_asked_for(talk) -> None:
    """Found: a child's berry was asked through eight questions, and help came on line 152."""
    said = talk("a child ate a black berry", "perhaps", "yes", "kale", "stop", "leave")
    told = said.index("Call for help.")
    assert told < said.index("Shall I go on about the plants?") < said.index("Which plant is it?")
    assert 'you wrote "child ate a black berry"' in said
    assert 'I did not understand "perhaps". Please say yes or no.' in said


def test_after_an_emergency_one_may_leave_and_is_told_it_again(talk) -> None:
    said = talk("a child ate a black berry", "no")
    assert said.rstrip().endswith("[left]")
    assert "Which plant is it?" not in said
    assert "Call for help." in talk("no", go_on=True)


def test_an_emergency_is_told_at_any_prompt(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "a child ate a berry", "yes", "leave")
    assert said.index("Question") < said.index("Call for help.")
    assert "I did not understand" not in said


def test_what_may_be_eaten_is_told_at_any_prompt(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "eat", "leave")
    assert "If it is caterpillar: Wash the leaves and eat them." in said
    nothing = talk("", "eat", "kale", "leave")
    assert "do not eat it until a person who knows has seen it" in " ".join(nothing.split())


def test_the_nearest_described_case_is_shown_as_no_reason_by_itself(knowledge) -> None:
    out = io.StringIO()
    lines = "a mottled leaf, light and dark green, on my squash\nyes\nstop\nreasons\nleave\n"
    journal = Journal.begin(
        Consultation(reasoner := Reasoner(knowledge), date(2026, 7, 15), reasoner.home())
    )
    with contextlib.suppress(Leave):
        Dialogue(PlainScreen(out, 200), LineAsker(io.StringIO(lines), out), journal).run()
    said = out.getvalue()
    if reasoner.listening is None:
        assert "A case described like yours" not in said
    else:
        assert "A case described like yours, in our words (by itself it proves nothing):" in said


BOTH = "holes in the leaves of my kale. My potatoes have holes in the leaves too"


def test_of_two_plants_the_other_is_kept_and_offered_after_the_answer(
    talk, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = {
        "kale": "holes in the leaves of my kale",
        "potato": "holes in the leaves of my potatoes",
    }
    monkeypatch.setattr(
        "diagnose.reading.plants.troubled",
        lambda _, words: told if "My potatoes" in words else {},
    )
    said = talk(BOTH, "perhaps", "potato", "yes", "next", "yes", "leave")
    assert "You tell of kale and potato" in said
    first, _, second = said.partition("Then there is the kale")
    assert "Plant: potato" in first
    assert "Plant: kale" not in first
    assert 'Now this: "holes in the leaves of my kale"' in second
    assert "Plant: kale" in second


def test_the_other_plant_is_kept_though_one_leaves(talk, monkeypatch: pytest.MonkeyPatch) -> None:
    told = {
        "kale": "holes in the leaves of my kale",
        "potato": "holes in the leaves of my potatoes",
    }
    monkeypatch.setattr("diagnose.reading.plants.troubled", lambda _, words: told)
    talk(BOTH, "1", "leave")
    words = {found.typed for _, found in kept.listed()[0]}
    assert "holes in the leaves of my potatoes" in words


def test_one_trouble_of_two_plants_is_told_whole(talk, monkeypatch: pytest.MonkeyPatch) -> None:
    told = {
        "kale": "holes in the leaves of my kale",
        "potato": "holes in the leaves of my potatoes",
    }
    monkeypatch.setattr("diagnose.reading.plants.troubled", lambda _, words: told)
    said = talk(BOTH, "both", "yes", "stop", "leave")
    assert "Plant: kale" in said
    assert "Then there is" not in said
