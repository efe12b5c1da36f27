"""A round of practice at the prompt, scripted, and the commands for a class."""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path

import pytest

from diagnose.commands import main
from diagnose.commands.practice import shelf
from diagnose.consultation import Consultation
from diagnose.journal import Answered, Journal, Meant, Told
from diagnose.kept import Keeper
from diagnose.teaching.hidden import Wish, hide
from diagnose.teaching.practice import Round
from diagnose.teaching.record import record, reopened
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.practising import Left, Practising
from diagnose.terminal.screen import PlainScreen

NOW = "2026-06-15T10:00:00"


@pytest.fixture
def play(blank: Consultation):
    """Plays a round with typed lines; gives what is shown, and the round at its end."""

    def run(*lines: str, teams: tuple[str, ...] = (), name: str = "", width: int = 80, keep=None):
        out = io.StringIO()
        asker = LineAsker(io.StringIO("".join(line + "\n" for line in lines)), out)
        if name:
            found = reopened(shelf().named(name), blank.reasoner)[0]
        else:
            found = Round(blank, hide(blank, Wish("middle", crops=("kale",)), 3), 3, teams)
        game = Practising(PlainScreen(out, width), asker, found, name or "one", keep)
        try:
            game.run()
        except Left:
            out.write("[left]")
        return out.getvalue(), game.round

    return run


def put(played: Round) -> bool:
    return shelf().put("one", record(played, NOW))


def test_a_round_from_the_problem_to_the_score(play) -> None:
    said, played = play("list", "1", "eggs", "so far", "give up", "1", teams=("Reds", "Blues"))
    assert "Something is wrong with the kale" in said
    assert "In turn: Reds, Blues." in said
    assert "Reds, what do you look at?" in said
    assert "You see:" in said
    assert "What a good detective would have looked at" in said
    assert re.search(r"In all: -?\d+ of 100", said)
    assert played.stage == "over"


def test_a_cause_is_named_and_told_right_or_wrong(play, blank: Consultation) -> None:
    _, played = play("leave")
    name = blank.reasoner.knowledge.causes[played.hidden.cause].name
    said, played = play("name gryphons", "name late blight", "name late blight",
                        f"we think it is {name}", "1")  # fmt: skip
    assert 'I know no cause called "gryphons".' in said
    assert "No, it is not late blight. You may name a cause twice more." in " ".join(said.split())
    assert "That was named already, and it is not it." in said
    assert f"Yes, it is: {name}" in said
    assert len(played.named) == 2


def test_what_is_not_understood_is_said_and_costs_nothing(play) -> None:
    said, played = play("xyzzy", "7", "", "clubroot", "list", "99", "leave")
    assert 'I do not know what to look at for "xyzzy"' in said
    assert "Nothing is listed" in said
    assert "What you can type" in said
    assert "There is no number 99" in said
    assert played.turns == ()


def test_a_round_is_left_and_gone_on_with(play) -> None:
    said, played = play("list", "1", "leave", keep=put)
    assert "Kept. To go on, type: diagnose practice one" in " ".join(said.split())
    kept = shelf().named("one")
    assert kept.turns == played.turns
    assert kept.state == "unfinished"
    said, _ = play("give up", "1", name="one", keep=put)
    assert "Seen so far" in said
    assert shelf().named("one").state == "finished"


def test_the_end_of_input_keeps_the_round(play) -> None:
    play("list", "1", keep=put)
    assert len(shelf().named("one").turns) == 1


def test_a_round_that_cannot_be_kept_is_said_once_and_goes_on(play) -> None:
    said, played = play("list", "1", "list", "1", "give up", "1", keep=lambda _: False)
    assert said.count("this round is not kept") == 1
    assert played.stage == "over"


def test_a_damaged_round_is_set_aside_and_lost_to_nobody(play) -> None:
    play("list", "1", "leave", keep=put)
    file = shelf().folder() / "one.json"
    file.write_text("{", encoding="utf-8")
    assert shelf().listed() == ([], ["one.json"])
    assert file.with_name("one.json.damaged").read_text(encoding="utf-8") == "{"


@pytest.mark.parametrize("width", [40, 60, 80])
def test_no_line_is_wider_than_the_screen(play, width: int) -> None:
    said, _ = play("list", "1", "causes", "leaf", "2", "help", "give up", "1", width=width)
    prompts = ("what do you look at?", "our measure:")
    lines = [line for line in said.splitlines() if not any(p in line for p in prompts)]
    assert max(map(len, lines)) <= width


# the commands


def run(capsys, *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    captured = capsys.readouterr()
    return code, captured.out, captured.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("practice", "--seed", "x"), "'x' is no seed; give a whole number from 0 to 999999"),
        (("practice", "--crops", "wheat"), 'a crop called "wheat"'),
        (("practice", "--teams", "Ana,Ben,Ana"), "'Ana' stands twice in the list"),
        (("practice", "--level", "x"), "unknown level 'x'"),
        (("practice", "no-such-round"), "no round of practice 'no-such-round' is kept"),
        (("demonstrate", "gryphons"), "no cause or file of cases (.yaml) is called 'gryphons'"),
        (("demonstrate", "slugs", "--case", "999"), "cases; there is no number 999"),
        (("demonstrate", "slugs", "--case", "two"), "'two' is no number of a case"),
        (("demonstrate", "20260101-000000-abcd"), "no consultation '20260101-000000-abcd' is kept"),
        (("lesson", "slugs", "--to", "x.pdf"), "'x.pdf' must end in .html or .md"),
        (("lesson", "--to", "/dev/null/x.html"), "cannot be written"),
    ],
)
def test_a_mistake_is_one_clear_line(capsys, words, said: str) -> None:
    code, _, err = run(capsys, *words)
    assert code == 2
    assert said in err
    assert len(err.splitlines()) == 1


def test_a_demonstration_in_a_pipe(capsys, monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    code, out, _ = run(capsys, "demonstrate", "beet leafminer", "--case", "2", "--plain")
    assert code == 0
    assert "Where that leads" in out
    assert "up from" in out


def test_a_kept_consultation_is_shown_with_its_words(capsys, monkeypatch, blank) -> None:
    keeper = Keeper()
    told = Told("pale trails inside the beet leaves")
    keeper.save(Journal.begin(blank).then(told, Meant(), Answered("eggs", "white-rows")))
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    code, out, _ = run(capsys, "demonstrate", keeper.name)
    assert code == 0
    assert '"pale trails inside the beet leaves"' in out
    assert "Eggs on the leaf: small white eggs in rows under the leaf." in " ".join(out.split())


def test_practice_in_a_pipe_keeps_nothing(capsys, monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("give up\n1\n"))
    code, out, _ = run(capsys, "practice", "--seed", "1", "--drawn")
    assert code == 0
    assert "of 100" in out
    assert run(capsys, "practice", "--list")[1].strip() == "None is kept."


def test_a_kept_round_is_listed_and_written(play, capsys, tmp_path: Path) -> None:
    play("list", "1", "leave", keep=put)
    assert "kale, middle, 1 turns, to go on with" in run(capsys, "practice", "--list")[1]
    file = tmp_path / "round.html"
    assert run(capsys, "practice", "one", "--to", str(file))[0] == 0
    assert "Key: for who teaches" in file.read_text(encoding="utf-8")


def test_the_history_of_lines_and_the_rounds_lie_apart(play, monkeypatch) -> None:
    """They once shared a name, and no round could be kept."""
    from diagnose.commands import practice

    asked: list[str] = []

    def noted(_: object, history: str) -> LineAsker:
        asked.append(history)
        return LineAsker(io.StringIO(""))

    monkeypatch.setattr(practice, "asker", noted)
    assert main(["practice", "--seed", "1"]) == 0
    assert asked
    assert shelf().folder().name not in asked
