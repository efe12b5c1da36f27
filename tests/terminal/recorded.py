"""Ten consultations as they are played, each with why, why not, what would change it, and back.

`python -m tests.terminal.recorded --write` plays them anew; a test fails where they read otherwise.
The second part of each is the next day: it goes on where the first was left.
"""

from __future__ import annotations

import contextlib
import io
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from unittest.mock import patch

from diagnose import kept
from diagnose.consultation import Consultation, Reasoner
from diagnose.journal import Journal
from diagnose.kb.store import shipped
from diagnose.kept import Keeper
from diagnose.ready import open_reasoner
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.dialogue import Dialogue, Leave
from diagnose.terminal.screen import PlainScreen

FOLDER = Path(__file__).parent / "recorded"
WIDTH = 80
NEXT_DAY = "\n\nThe next day:\n"


@dataclass(frozen=True)
class Played:
    """What is typed on a day, up to leaving, and on the next."""

    name: str
    day: date
    typed: tuple[str, ...]
    then: tuple[str, ...]


TEN = (
    Played("leaf-miner", date(2026, 6, 5), (
        "My beets look odd. Pale squiggly trails inside the leaves, no bugs on them",
        "yes", "why", "3", "stop", "reasons", "not flea beetles", "change", "more", "back", "leave",
    ), ("so far", "all of them", "stop", "leave")),
    Played("caterpillar", date(2026, 6, 20), (
        "ragged holes in my kale, and green crumbs deep in the middle", "yes", "why",
        "velvety green", "reasons", "not cabbage looper", "change", "more", "back", "leave",
    ), ("what is frass?", "1", "leave")),
    Played("green-potatoes", date(2026, 9, 10), (
        "some of the potatoes we dug are green, is it safe to eat?", "yes", "why", "yes", "eat",
        "reasons", "not common scab", "change", "back", "leave",
    ), ("yes", "leave")),
    Played("bolting", date(2026, 6, 10), (
        "my spinach is shooting up, the leaves got small and pointed", "yes", "why", "3",
        "reasons", "not aphids", "change", "more", "back", "leave",
    ), ("all of them", "leave")),
    Played("blight", date(2026, 8, 15), (
        "big greasy brown blotches on the tomato leaves after all the rain, white fuzz underneath, "
        "it spreads fast",
        "yes", "why", "1", "reasons", "not early blight", "change", "more", "back", "leave",
    ), ("dark patches", "leave")),
    Played("slugs", date(2026, 5, 28), (
        "something eats our lettuce at night, big ragged holes and shiny slime on the leaves",
        "yes", "why", "5", "reasons", "not earwigs", "change", "more", "back", "leave",
    ), ("wettest spot", "leave")),
    Played("mildew", date(2026, 8, 10), (
        "white powder on the squash leaves that rubs off", "yes", "why", "the older ones",
        "reasons", "not squash bug", "change", "more", "back", "leave",
    ), ("1", "leave")),
    Played("healthy", date(2026, 7, 5), (
        "carrots look fine, green tops, nothing wrong", "yes", "ask", "why", "no", "reasons",
        "not carrot rust fly", "change", "more", "back", "back", "leave",
    ), ("yes", "leave")),
    Played("weed", date(2026, 7, 20), (
        "a vine with white trumpet flowers winds up all over the beans", "yes", "why", "none",
        "stop", "reasons", "not dodder", "change", "more", "back", "leave",
    ), ("none", "stop", "leave")),
    Played("peas", date(2026, 6, 25), (
        "my peas look bad", "1", "3 9 14", "why", "unsure", "stop", "reasons",
        "not pea aphids", "change", "more", "back", "leave",
    ), ("when do I pick them?", "unsure", "stop", "leave")),
)  # fmt: skip


@contextmanager
def own_state() -> Iterator[None]:
    """With a state folder of its own."""
    with (
        tempfile.TemporaryDirectory() as folder,
        patch.object(kept, "folder", lambda: Path(folder)),
    ):
        yield


def transcript(reasoner: Reasoner, played: Played, width: int = WIDTH) -> str:
    """Both days as they stand on the screen, the typed lines after their prompts."""
    with own_state():
        begun = Journal.begin(Consultation(reasoner, played.day, reasoner.home()))
        first = _talk(begun, Keeper(), played.typed, width)
        left = kept.unfinished()
        assert left is not None, f"{played.name} was not left before its end"
        opened = kept.opened(left[1], reasoner)
        keeper = kept.keeper_of(*left)
        return first + NEXT_DAY + _talk(opened.journal, keeper, played.then, width, opened)


def _talk(
    journal: Journal, keeper: Keeper, lines: Sequence[str], width: int,
    opened: kept.Opened | None = None,
) -> str:  # fmt: skip
    out = io.StringIO()
    asker = LineAsker(io.StringIO("".join(f"{line}\n" for line in lines)), out)
    with contextlib.suppress(Leave):
        Dialogue(PlainScreen(out, width), asker, journal, keeper).run(opened)
    return out.getvalue().strip() + "\n"


def main() -> None:
    """Show the transcripts, or with --write store them."""
    reasoner = open_reasoner(shipped())
    for played in TEN:
        text = transcript(reasoner, played)
        if "--write" in sys.argv:
            FOLDER.mkdir(exist_ok=True)
            (FOLDER / f"{played.name}.txt").write_text(text, encoding="utf-8")
        else:
            print(text)


if __name__ == "__main__":
    main()
