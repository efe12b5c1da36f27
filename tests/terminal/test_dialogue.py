"""The guided consultation, scripted: lines in, exact text out."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest

from diagnose.consultation import Consultation, Reasoner
from diagnose.ready import open_knowledge
from diagnose.terminal import saved
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.dialogue import Dialogue, Leave, chosen
from diagnose.terminal.screen import PlainScreen

pytestmark = pytest.mark.quick


@pytest.fixture
def talk(tiny: Path):
    reasoner = Reasoner(open_knowledge(tiny))

    def run(*lines: str, kept: bool = False) -> str:
        out = io.StringIO()
        asker = LineAsker(io.StringIO("".join(line + "\n" for line in lines)), out)
        start = Consultation(reasoner, date(2026, 6, 15), reasoner.home())
        dialogue = Dialogue(
            PlainScreen(out, 80), asker, start
        )  # fmt: skip
        try:
            dialogue.run(saved.restore(reasoner) if kept else None)
        except Leave:
            out.write("[left]")
        return out.getvalue()

    return run


def test_from_a_sentence_to_a_plan(talk) -> None:
    said = talk("ragged holes in my kale", "yes", "1")
    assert "1. holes in the leaves: large ragged holes (you wrote: ragged holes)" in said
    assert "Are there green crumbs on the leaves?" in said
    assert "1. Caterpillar, 99 %" in said or "over 99 %" in said
    assert "Wash the leaves and eat them." in said
    assert "One cause is clear" in said


def test_without_words_it_asks(talk) -> None:
    said = talk("", "kale", "yes", "ragged")
    assert "Which crop is it?" in said
    assert "1. Caterpillar" in said


def test_an_unknown_crop_is_answered_with_the_nearest(talk) -> None:
    assert "Did you mean kale?" in talk("", "kail", "kale", "stop")


def test_a_wrong_line_can_be_struck_and_corrected(talk) -> None:
    said = talk("ragged holes in my kale", "1", "2", "yes", "no", "stop")
    assert "holes in the leaves: many tiny holes" in said
    struck = talk("ragged holes in my kale", "1", "", "stop")
    assert "I found nothing in those words" in struck


@pytest.mark.parametrize("odd", ["9", "purple", "[bold]x[/bold]", "\x1b[31m", "ja", "-1", "1.5"])
def test_an_answer_that_means_nothing_is_asked_again(talk, odd: str) -> None:
    said = talk("", "kale", odd, "yes", "ragged")
    assert "I did not understand" in said
    assert "1. Caterpillar" in said


def test_every_word_of_the_dialogue_works(talk) -> None:
    said = talk("", "kale", "why", "so far", "help", "unsure", "back", "stop")
    for expected in ("Why I ask", "So far", "What you can type", "You stopped here."):
        assert expected in said
    assert said.count("Question 1") == 2  # asked, and again after back


def test_back_at_the_first_question_says_so(talk) -> None:
    assert "nothing to go back to" in talk("", "kale", "back", "stop")


def test_the_end_of_input_keeps_everything_and_the_next_start_goes_on(talk) -> None:
    first = talk("holes in the leaves of my kale", "yes")
    assert "Kept." in first
    second = talk("yes", "stop", kept=True)
    assert "about kale of 15 June 2026, with 1 observation" in second
    assert "You stopped here." in second
    assert "You left" not in talk("", "kale", "stop", kept=True)  # finished, so forgotten


def test_words_not_confirmed_are_kept_too(talk) -> None:
    assert "Kept." in talk("ragged holes in my kale")
    assert "holes in the leaves: large ragged holes" in talk("yes", "yes", "yes", kept=True)


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
    start = Consultation(reasoner, date(2026, 6, 15), reasoner.home())
    with pytest.raises(Leave):
        Dialogue(PlainScreen(out), asker, start).run()
    assert out.getvalue().count("Stop here? Everything answered is kept.") == 2
    assert saved.restore(reasoner).consultation.observations[0].symptom == "holes"


def test_a_damaged_kept_file_is_no_obstacle(talk) -> None:
    saved.folder().mkdir(parents=True)
    (saved.folder() / "unfinished.json").write_text("{")
    assert "What is wrong?" in talk("", "kale", "stop", kept=True)


def test_forty_columns_hold_every_line(tiny: Path) -> None:
    reasoner = Reasoner(open_knowledge(tiny))
    out = io.StringIO()
    asker = LineAsker(io.StringIO(""), out)
    start = Consultation(reasoner, date(2026, 6, 15), reasoner.home(), "kale")
    dialogue = Dialogue(PlainScreen(out, 40), asker, start)
    dialogue._finish("Done.")
    assert max(len(line) for line in out.getvalue().splitlines()) <= 40


@pytest.fixture
def eager(tiny: Path) -> None:
    """Signs are listed after a single question that was not answered."""
    path = tiny / "likelihood.yaml"
    path.write_text(path.read_text().replace("after-unsure: 2", "after-unsure: 1"))


def test_a_gardener_who_cannot_tell_is_shown_a_list(eager: None, talk) -> None:
    said = talk("", "kale", "unsure", "why", "help", "7 up", "99", "1", "stop")
    assert "Let me ask the other way round." in said
    assert "You could not answer the last questions." in said
    assert "the numbers of those that are so" in said
    assert 'I did not understand "7 up".' in said
    assert 'I did not understand "99".' in said
    assert "Let me ask the other way round." in talk("", "kale", "unsure", "none", "stop")


def test_a_list_is_taken_back(eager: None, talk) -> None:
    said = talk("", "kale", "unsure", "none", "back", "none", "stop")
    assert said.count("Let me ask the other way round.") == 2


@pytest.mark.parametrize(
    ("line", "ticked"),
    [("1", [0]), ("1 3", [0, 2]), ("3,1", [0, 2]), ("1 and 2", [0, 1]), ("none", []),
     ("no", []), ("unsure", []), ("dro", [1]), ("4", None), ("0", None), ("s", None), ("-1", None),
     ("1 1", [0])],
)  # fmt: skip
def test_numbers_or_a_name_tick_the_signs(line: str, ticked: list[int] | None) -> None:
    assert chosen(line, ["holes", "droppings", "slime trails"]) == ticked
