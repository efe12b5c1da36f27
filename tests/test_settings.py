"""What is set once: kept, read back, told where it cannot be read, and never lost."""

from __future__ import annotations

import io
from datetime import date

import pytest

from diagnose import settings
from diagnose.commands import main
from diagnose.errors import UsageError
from diagnose.inputs import month_day_of
from diagnose.pages.sayings import day, length, warmth
from diagnose.seasons.calendar import MonthDay, Place
from diagnose.settings import Settings, in_use
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.form import ask_place
from diagnose.terminal.screen import PlainScreen

pytestmark = pytest.mark.quick
HOME = Place(42, MonthDay(5, 10), MonthDay(10, 5))
HILL = Settings("Hill beds", 44.5, "05-20", "09-28", "us", "month first")


@pytest.fixture(autouse=True)
def as_before():
    token = in_use.set(Settings())
    yield
    in_use.reset(token)


def told(text: str) -> None:
    settings.file().parent.mkdir(parents=True, exist_ok=True)
    settings.file().write_text(text, encoding="utf-8")


@pytest.mark.parametrize("made", [Settings(), HILL, Settings(place="no"), Settings(place='5" # é')])
def test_what_is_set_is_read_back(made: Settings) -> None:
    settings.write(made)
    assert settings.read() == (made, [])


def test_what_cannot_be_read_is_told_with_its_line_and_left_out() -> None:
    told("latitude: 44\nlast-frost: 02-31\nunits: feet\nplce: x\n")
    found, lost = settings.read()
    assert found == Settings(latitude=44)
    assert [line.split(": ")[0].rpartition(":")[2] for line in sorted(lost)] == ["2", "3", "4"]
    assert all(str(settings.file()) in line for line in lost)


@pytest.mark.parametrize("text", ["latitude: [\n", "- a\n", "\tlatitude: 4\n", "", "just words\n"])
def test_a_damaged_file_is_told_of_and_set_aside_when_written_anew(text: str) -> None:
    told(text)
    found, lost = settings.read()
    assert found == Settings()
    assert len(lost) == 1
    aside = settings.write(HILL)
    assert aside is not None
    assert aside.read_text(encoding="utf-8") == text
    told(text)
    assert settings.write(HILL) != aside
    assert settings.read() == (HILL, [])


def test_south_of_the_equator_the_frosts_are_mirrored() -> None:
    south = Settings(latitude=-38).at(HOME)
    assert south == Place(-38, MonthDay(11, 10), MonthDay(4, 5))
    own = Settings(latitude=-38, last_frost="10-01").at(HOME)
    assert (own.last_frost, own.first_frost) == (MonthDay(10, 1), MonthDay(4, 5))


@pytest.mark.parametrize("text", ["05-10", "10 May", "May 10", "may 10.", "10. may"])
def test_a_day_of_the_year_is_read_as_people_write_it(text: str) -> None:
    assert month_day_of(text) == "05-10"


@pytest.mark.parametrize("text", ["5/10", "Mai 10", "10", "ma 10", "10 10", ""])
def test_what_may_be_two_days_or_none_is_refused(text: str) -> None:
    with pytest.raises(UsageError):
        month_day_of(text)


def test_dates_and_units_are_written_as_set() -> None:
    assert day(date(2026, 6, 5)) == "5 June 2026"
    assert length([1, 2]) == "0.5 to 0.75 in (1 to 2 cm)"
    in_use.set(HILL)
    assert day(date(2026, 6, 5)) == "June 5, 2026"
    assert warmth([10, 20]) == "50 to 68 F"


def test_the_command_sets_shows_and_forgets(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["place", "--latitude", "-41", "--name", "Hill beds", "--last-frost", "1 Oct"]) == 0
    assert main(["place"]) == 0
    shown = capsys.readouterr().out
    assert "41 degrees south" in shown
    assert "Usual first frost: 5 April (assumed; not set)" in shown
    assert main(["place", "--forget"]) == 0
    assert not settings.file().exists()


def test_what_makes_no_sense_changes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["place", "--last-frost", "10-20"]) == 2
    assert "nothing was changed" in capsys.readouterr().err
    assert settings.read() == (Settings(), [])


def test_at_the_prompt_each_line_is_asked_until_it_makes_sense() -> None:
    out = io.StringIO()
    lines = ("Hill beds", "up north", "-41", "", "12-40", "20 April", "metric", "month")
    asker = LineAsker(io.StringIO("".join(f"{line}\n" for line in lines)), out)
    made = ask_place(PlainScreen(out), asker, Settings(), HOME)
    assert made == Settings("Hill beds", -41, None, "04-20", "metric", "month first")
    assert "[10 November]" in out.getvalue()
    assert "'up north' is no latitude" in out.getvalue()


def test_the_place_that_is_set_is_reckoned_with(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    main(["place", "--latitude", "-41"])
    capsys.readouterr()
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main(["--date", "2026-06-05"]) == 0
    assert "41 degrees south" in capsys.readouterr().out
