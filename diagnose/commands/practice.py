"""diagnose practice: a hidden problem for a class, with a score."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from diagnose.commands.common import FINE, asker, blank, screen, the_reasoner
from diagnose.commands.parser import Commands

if TYPE_CHECKING:
    from diagnose.consultation import Reasoner
    from diagnose.pages.blocks import Page
    from diagnose.shelf import Shelf
    from diagnose.teaching.practice import Round
    from diagnose.teaching.record import Record


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "practice", run, "a hidden problem to find by looking, for a class or teams, with a score",
        "diagnose practice --crops kale,beet --teams Reds,Blues --seed 7",
    )  # fmt: skip
    made.add_argument("round", metavar="ROUND", nargs="?", default=None,
                      help="a round that was kept: go on with it, or see its score")  # fmt: skip
    made.add_argument("--season", metavar="NAMES", default="", help="as in spring,early-summer")
    made.add_argument("--crops", metavar="NAMES", default="", help="as in kale,beet")
    made.add_argument("--level", metavar="WORD", default="easy",
                      help="easy: the gardener's words; middle: one sign; hard: none")  # fmt: skip
    made.add_argument("--seed", metavar="N", default=None, help="the same number: the same problem")
    made.add_argument("--teams", metavar="NAMES", default="", help="who plays in turn: Reds,Blues")
    made.add_argument(
        "--drawn", action="store_true", default=False,
        help="a problem drawn from the knowledge's own chances, not a described case",
    )  # fmt: skip
    made.add_argument("--list", action="store_true", default=False, help="the rounds kept")
    made.add_argument("--to", metavar="FILE", default=None, help="write a kept round, as .html")


def shelf() -> Shelf[Record]:
    """Where rounds are kept."""
    from diagnose.kept import folder
    from diagnose.shelf import Shelf
    from diagnose.teaching.record import Record, place_of

    return Shelf(lambda: folder() / "practice", Record, "round of practice", place_of)


def run(options: argparse.Namespace) -> int:
    """Play a round, go on with one, or list them."""
    from diagnose.terminal.practising import Left, Practising

    reasoner = the_reasoner(options)
    view = screen(options)
    if options.list:
        view.show(_kept(reasoner))
        return FINE
    name, begun, played = _round(options, reasoner)
    if options.to:
        from diagnose.documents.files import put
        from diagnose.documents.paper import practice

        print(f"Wrote {put(options.to, practice(played))}")
        return FINE
    keep = _keeping(name, begun) if options.round or sys.stdin.isatty() else None
    try:
        Practising(view, asker(options, "practice-history"), played, name, keep).run()
    except Left:
        return FINE
    return FINE


def _kept(reasoner: Reasoner) -> Page:
    """The rounds that were kept, newest first."""
    from diagnose.pages.blocks import item, note, text, title
    from diagnose.pages.practice import kept_line

    found, aside = shelf().listed()
    page = [title("Rounds of practice")]
    page += [item(kept_line(name, kept, reasoner.knowledge)) for name, kept in found]
    page += [note(f"{name} could not be read; it is set aside.") for name in aside]
    return page if len(page) > 1 else [text("None is kept.")]


def _keeping(name: str, begun: str) -> Callable[[Round], bool]:
    from diagnose.teaching.record import record

    return lambda played: shelf().put(name, record(played, begun))


def _round(options: argparse.Namespace, reasoner: Reasoner) -> tuple[str, str, Round]:
    """The round to play, with its name and when it began. Raises UsageError."""
    from diagnose.shelf import new_name
    from diagnose.teaching.record import reopened

    if options.round is None:
        begun = datetime.now().isoformat(timespec="seconds")
        return new_name(), begun, _fresh(options, reasoner)
    kept = shelf().named(options.round)
    played, lost = reopened(kept, reasoner)
    for line in lost:
        print(f"left out: {line}, which the knowledge no longer has", file=sys.stderr)
    return options.round, kept.begun, played


def _fresh(options: argparse.Namespace, reasoner: Reasoner) -> Round:
    """A new round, as the options wish. Raises UsageError."""
    import secrets

    from diagnose.teaching.hidden import (
        Wish,
        crops_named,
        hide,
        level_named,
        seasons_named,
        seed_of,
    )
    from diagnose.teaching.practice import Round
    from diagnose.teaching.record import teams_named

    knowledge = reasoner.knowledge
    seed = seed_of(options.seed) if options.seed is not None else secrets.randbelow(10_000)
    wish = Wish(
        level_named(options.level),
        seasons_named(knowledge, options.season),
        crops_named(knowledge, options.crops),
        options.drawn,
    )
    teams = teams_named(options.teams)
    started = blank(reasoner, options)
    return Round(started, hide(started, wish, seed), seed, teams)
