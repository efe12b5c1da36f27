"""Two seasons of a garden of our own invention, played through by the commands themselves.

`python -m tests.rounds.season --write` makes diagnose/rounds/example.json anew, which is shipped;
docs/round.md holds what is said on the way (tests/documents.py).
"""

from __future__ import annotations

import contextlib
import io
import math
import os
import random
import shlex
import sys
import tempfile
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from unittest import mock

from diagnose.commands import main
from diagnose.ready import open_reasoner

EXAMPLE = Path(__file__).resolve().parents[2] / "diagnose" / "rounds" / "example.json"
GARDEN = "Quince Lane School"
STATION = "station.csv"

# The year before, told in short; nothing of it is shown.
BEFORE = """\
gardens --add 'Quince Lane School' --latitude 43 --last-frost 05-12 --first-frost 10-02
beds --add North
beds --add Long
beds --add Corner
beds --add South
beds North --plant chard --date 2025-05-06
beds Long --plant cabbage --date 2025-05-02
beds South --plant potato --date 2025-05-10
visit North --found beet-leafminer --count 9 --per 'of 20 leaves' --date 2025-06-11
visit North --state better --count 3 --date 2025-06-20
visit Long --found cabbage-root-maggot --note 'four plants lost' --date 2025-06-18
visit South --found colorado-potato-beetle --did handpick --date 2025-06-25
visit South --state gone --date 2025-07-09
beds North --clear chard --date 2025-10-04
beds Long --clear cabbage --date 2025-09-20
beds South --clear potato --date 2025-08-30
""".splitlines()

# The season: a heading, the command, the lines typed at its prompts.
SEASON: list[tuple[str, str, tuple[str, ...]]] = [
    ("", "beds Corner --plant onion --date 2026-04-18", ()),
    ("", "beds Long --plant kale --date 2026-04-25", ()),
    ("", "beds North --plant beet --date 2026-05-04", ()),
    ("", "beds South --plant tomato --date 2026-05-26", ()),
    ("The weather up to now, from the station's file", f"weather {STATION} --yes", ()),
    ("What to look for in late May", "lookout North --date 2026-05-27", ()),
    (
        "A visit, entered at the prompt, and a consultation in it",
        "visit North --date 2026-06-04",
        (
            "hoed along the rows", "", "the class counted ladybugs", "yes",
            "pale papery blotches in the leaves, small maggots inside", "yes", "stop", "reasons",
            "leave",
        ),
    ),
    ("", "visit Long --note 'all well' --did insect-netting --date 2026-06-04", ()),
    ("The next visit begins with the last one's record", "visit North --date 2026-06-12",
     ("same", "pick-mined-leaves", "", "", "no")),
    ("What was there before counts", "visit Long --found imported-cabbageworm --count 14 "
     "--per 'on 10 plants' --did handpick --date 2026-06-26", ()),
    ("", "visit Long --state better --count 3 --date 2026-07-03", ()),
    ("", "visit North --state gone --date 2026-07-03", ()),
    ("", "visit South --found early-blight --note 'lowest leaves only' "
     "--did pick-off-leaves --date 2026-07-17", ()),
    ("", "visit South --state same --date 2026-07-31 --due 2026-09-25 --what 'clear the old vines'",
     ()),
    ("", "visit Long --state gone --date 2026-07-17", ()),
    ("The sheet for the next visit", "sheet --date 2026-08-14", ()),
    ("", "visit South --state worse --did clear-debris --date 2026-08-14", ()),
    ("", "visit Corner --note 'tops down, pulled and laid out to dry' --date 2026-08-21", ()),
    ("", "beds Corner --clear onion --date 2026-08-21", ()),
    ("", "beds North --clear beet --date 2026-09-18", ()),
    ("", "visit South --state gone --did clear-debris --note 'vines out' --date 2026-09-25", ()),
    ("", "beds South --clear tomato --date 2026-09-25", ()),
    ("The report of a day", "report --date 2026-08-14", ()),
    ("The year's report", "report --year 2026 --date 2026-11-01", ()),
]  # fmt: skip


def station() -> str:
    """Daily weather that nobody measured: a year's curve with chance upon it, as a station has it.

    Degrees Fahrenheit, inches, month first; some days are missing, one has its ends exchanged.
    """
    chance, lines, mood = random.Random(43), ["Date,TMax (F),TMin (F),Rain (in)"], 0.0
    day = date(2025, 1, 1)
    while day <= date(2026, 10, 31):
        mood = 0.7 * mood + chance.gauss(0, 3.5)
        turn = 2 * math.pi * ((day - date(day.year, 1, 1)).days - 21) / 365
        mean = 48 - 24 * math.cos(turn) + mood
        swing = chance.uniform(6, 12)
        rain = chance.expovariate(3.2) if chance.random() < 0.3 else 0
        low, high = mean - swing, mean + swing
        if day == date(2026, 3, 3):
            low, high = high, low
        missing = day.month == 2 and 10 <= day.day <= 11
        if not missing:
            lines.append(f"{day.month}/{day.day}/{day.year},{high:.1f},{low:.1f},{rain:.2f}")
        day += timedelta(1)
    return "\n".join(lines) + "\n"


@contextlib.contextmanager
def elsewhere(folder: Path) -> Iterator[None]:
    """With folders of its own, ids that count up, and a clock that stands."""
    numbers = iter(range(1, 100_000))
    homes = {f"XDG_{what}_HOME": str(folder / what.lower()) for what in ("DATA", "STATE", "CONFIG")}
    opened, before = cache(open_reasoner), Path.cwd()
    clock = mock.Mock(wraps=__import__("datetime").datetime)
    clock.now.return_value = __import__("datetime").datetime(2026, 12, 1, 9, 0)
    with (
        mock.patch.dict(os.environ, {**homes, "COLUMNS": "88"}),
        mock.patch("diagnose.rounds.visits.new_id", lambda: f"{next(numbers):06d}"),
        mock.patch("diagnose.rounds.model.new_id", lambda: f"{next(numbers):06d}"),
        mock.patch("diagnose.rounds.visits.datetime", clock),
        mock.patch("diagnose.ready.open_reasoner", opened),
    ):
        (folder / STATION).write_text(station(), encoding="utf-8")
        os.chdir(folder)
        try:
            yield
        finally:
            os.chdir(before)


def typed(line: str, answers: tuple[str, ...] = ()) -> str:
    """What a command says, with these lines typed at its prompts."""
    out, stdin = io.StringIO(), io.StringIO("".join(f"{answer}\n" for answer in answers))
    with (
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(out),
        mock.patch("sys.stdin", stdin),
    ):
        code = main([*shlex.split(line), "--plain"])
    assert code == 0, (line, out.getvalue())
    return out.getvalue()


def play() -> list[tuple[str, str, str]]:
    """The season, in the folders at hand: heading, command and what it said."""
    for line in BEFORE:
        typed(line)
    return [(heading, line, typed(line, answers)) for heading, line, answers in SEASON]


def as_page(played: list[tuple[str, str, str]]) -> str:
    """What docs/round.md shows of it."""
    parts = []
    for heading, line, said in played:
        if heading:
            parts.append(f"### {heading}\n\n```\n$ diagnose {line}\n{said.strip()}\n```")
    return "\n\n".join(parts)


def played() -> tuple[str, bytes]:
    """The page, and the example that the season leaves behind."""
    with tempfile.TemporaryDirectory() as name, elsewhere(Path(name)):
        page = as_page(play())
        typed("records export example.json")
        return page, Path("example.json").read_bytes()


if __name__ == "__main__":
    page, example = played()
    if "--write" in sys.argv:
        EXAMPLE.write_bytes(example)
    print(page)
    print(len(example))
