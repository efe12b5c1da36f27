"""Ten consultations, as recorded: what is said, and that it fits three widths."""

from __future__ import annotations

import pytest

from diagnose.consultation import Reasoner
from tests.terminal.recorded import FOLDER, NEXT_DAY, TEN, Played, transcript

PLAYED = pytest.mark.parametrize("played", TEN, ids=lambda played: played.name)
LINES = 10  # of the short answer, at 40 columns too (after what must be said first)


@pytest.fixture(autouse=True)
def heard(reasoner: Reasoner) -> None:
    if reasoner.listening is None:
        pytest.skip("recorded with the encoder")


@PLAYED
def test_it_reads_as_recorded(reasoner: Reasoner, played: Played) -> None:
    stored = (FOLDER / f"{played.name}.txt").read_text(encoding="utf-8")
    assert transcript(reasoner, played) == stored, "python -m tests.terminal.recorded --write"


@PLAYED
@pytest.mark.parametrize("width", [40, 120])
def test_it_fits_other_widths(reasoner: Reasoner, played: Played, width: int) -> None:
    typed = {*played.typed, *played.then}
    said = transcript(reasoner, played, width)
    wide = [
        line for line in said.splitlines()
        if len(line) > width and not any(line.endswith(f" {words}") for words in typed)
    ]  # fmt: skip
    assert wide == []


@PLAYED
def test_nothing_typed_is_lost_or_refused(reasoner: Reasoner, played: Played) -> None:
    said = transcript(reasoner, played)
    assert "I did not understand" not in said
    for part in ("Why I ask", "What speaks for what", "What would change it"):
        assert part in said
    assert "rather than" in said or "Why not" in said
    first, _, then = said.partition(NEXT_DAY)
    assert "I will offer to go on from here." in first
    assert "The answer" in then


@PLAYED
def test_the_short_answer_is_short(reasoner: Reasoner, played: Played) -> None:
    said = transcript(reasoner, played, 40)
    for part in said.split("The answer\n")[1:]:
        answer = part.partition("Type more,")[0].strip()
        assert len(answer.splitlines()) <= LINES + 4, answer
