"""A consultation shown step by step: slides, reasons, and what fits on a screen."""

from __future__ import annotations

import io
import itertools

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from diagnose.consultation import Consultation
from diagnose.journal import Answered, Granted, Journal, Meant, Plant, Struck, Ticked, Told
from diagnose.pages.demonstration import OTHERS, reason, slides
from diagnose.pages.slide import Bar, Slide
from diagnose.teaching.demonstration import case_journal, in_view, moved, moves, times
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.screen import PlainScreen
from diagnose.terminal.slides import KEYS, Shape, Show, laid_out, told

CAUSES = ("beet-leafminer", "slugs", "late-blight", "greening-tubers", "powdery-mildew-flowers")


@pytest.fixture(params=CAUSES)
def journal(request, blank: Consultation) -> Journal:
    known = blank.reasoner.knowledge.causes
    return case_journal(known[request.param].cases[0], blank)


def test_a_case_is_shown_by_what_it_states(blank: Consultation, journal: Journal) -> None:
    assert journal.steps
    assert all(isinstance(step, Answered) for step in journal.steps)
    assert not journal.now.said  # its words are the story, and do not count


def test_bars_keep_their_places_and_make_a_whole(journal: Journal) -> None:
    shown = [s for s in slides(journal, "a story", "its cause") if s.bars]
    names = [[bar.name for bar in slide.bars] for slide in shown]
    assert all(found == names[0] for found in names)
    assert names[0][-1] == OTHERS
    for slide in shown:
        assert sum(bar.now for bar in slide.bars) == pytest.approx(1)


def test_each_step_says_why_in_one_sentence(journal: Journal) -> None:
    for move in moves(journal):
        said = reason(move)
        assert said.endswith(".")
        assert "\n" not in said
        assert len(said) < 260


def test_the_times_are_the_odds_that_a_step_multiplies(journal: Journal) -> None:
    """Odds after = odds before x likelihood ratio (Bayes' rule), where no rule comes in."""
    for move in moves(journal):
        if move.before.given != move.after.given[: len(move.before.given)]:
            continue
        before, after = dict(move.before.standing), dict(move.after.standing)
        else_before, else_after = move.before.chances[-1], move.after.chances[-1]
        ruled = set(move.after.ruled_out) != set(move.before.ruled_out)
        derived = len(move.after.counted) != len(move.before.counted) + 1
        if ruled or derived:
            continue
        for cause in itertools.islice(before, 5):
            if cause in after and cause != "something-else":
                odds = (after[cause] / else_after) / (before[cause] / else_before)
                assert times(move, cause) == pytest.approx(odds, rel=1e-6)


def test_moved_is_in_the_order_of_what_was_gained(journal: Journal) -> None:
    for move in moves(journal):
        gains = [one.gain for one in moved(move)]
        assert gains == sorted(gains, reverse=True)


def test_the_likeliest_at_the_end_is_in_view(journal: Journal) -> None:
    first = journal.now.leading
    assert first is None or first.cause in in_view(journal.states, 6)


def test_every_kind_of_step_can_be_shown(blank: Consultation) -> None:
    steps = (
        Told("ragged holes in the kale leaves and green droppings"), Plant("kale"),
        Struck(("droppings",)), Granted(("plant-healthy",)), Meant(),
        Answered("leaf-spots", "unsure"), Ticked(("slug-trails",)),
    )  # fmt: skip
    journal = Journal.begin(blank).then(*steps)
    shown = slides(journal)
    words = " ".join(block.text for slide in shown for block in slide.page)
    assert "nobody can tell" in words
    assert "ragged holes" in words
    assert "slime trails" in words


def test_what_could_hurt_someone_is_shown_where_it_arises(blank: Consultation) -> None:
    journal = Journal.begin(blank).then(Told("a child ate black berries from a weed by the kale"))
    shown = slides(journal)
    at = [slide.title for slide in shown].index("Before we go on")
    assert "poison" in " ".join(block.text for block in shown[at].page).lower()
    assert at == 1


SIZES = [(40, 16), (40, 20), (60, 24), (80, 24), (100, 40), (120, 45), (200, 60)]


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("unicode", [True, False])
def test_nothing_scrolls_and_nothing_is_lost(journal, width: int, height: int, unicode) -> None:
    made = slides(journal, "a story of some words " * 8, "its cause")
    screens = laid_out(made, Shape(width, height, unicode))
    assert all(len(screen) == height for screen in screens)
    assert all(len(line) <= width for screen in screens for line in screen)
    assert all(screen[-1].strip() == KEYS for screen in screens)
    if not unicode:
        assert all(line.isascii() for screen in screens for line in screen)
    together = "".join("".join(line for line in screen) for screen in screens)
    shown = "".join(together.split())
    for slide in made:
        for block in slide.page:
            assert "".join(block.text.split())[:20] in shown


def test_a_step_lays_nothing_out_anew(blank: Consultation, monkeypatch) -> None:
    known = blank.reasoner.knowledge.causes
    show = Show(slides(case_journal(known["slugs"].cases[0], blank)))
    first = show.screens(Shape(80, 24))
    monkeypatch.setattr("diagnose.terminal.slides.laid_out", None)
    assert show.screens(Shape(80, 24)) is first


def test_a_small_terminal_is_told_in_one_line() -> None:
    assert Shape(40, 16).too_small == ""
    assert Shape(30, 24).too_small == (
        "the terminal has 30 columns and 24 lines; this needs 40 and 16, or --plain"
    )


SLIDES = [Slide(f"Slide {n}", bars=(Bar("Slugs", n / 4, None),)) for n in range(1, 4)]


def test_line_by_line_forth_and_back() -> None:
    out = io.StringIO()
    told(SLIDES, PlainScreen(out, 40), LineAsker(io.StringIO("\nback\n\nleave\n"), out))
    titles = [line for line in out.getvalue().splitlines() if "Slide" in line]
    assert titles == ["1 of 3: Slide 1", "2 of 3: Slide 2", "1 of 3: Slide 1", "2 of 3: Slide 2"]


def test_a_pipe_gets_all_of_it() -> None:
    out = io.StringIO()
    told(SLIDES, PlainScreen(out, 40), LineAsker(io.StringIO(""), out))
    assert out.getvalue().count("Slugs:") == 3


@pytest.mark.parametrize(
    ("keys", "at"), [("  bq", 1), ("nnq", 2), ("bbq", 0), ("   ", 3), ("\x03", 0)]
)
def test_a_key_is_a_step(keys: str, at: int) -> None:
    with create_pipe_input() as typed, create_app_session(input=typed, output=DummyOutput()):
        typed.send_text(keys)
        show = Show(SLIDES)
        show.run()
    assert show.at == at
