"""diagnose: the guided consultation."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from diagnose.commands.common import FINE, asker, blank, the_reasoner

if TYPE_CHECKING:
    from diagnose.consultation import Reasoner
    from diagnose.kept import Keeper, Opened
    from diagnose.terminal.askers import Asker
    from diagnose.terminal.screen import Screen


def run(options: argparse.Namespace) -> int:
    """From first words to a plan."""
    from diagnose.journal import Journal
    from diagnose.kept import remove_leftovers
    from diagnose.pages import places
    from diagnose.settings import in_use
    from diagnose.terminal.askers import LineAsker
    from diagnose.terminal.dialogue import Dialogue, Leave
    from diagnose.terminal.screen import choose

    reasoner = the_reasoner(options)
    if options.bed is not None:
        return _for_a_bed(options, reasoner)
    started = blank(reasoner, options)
    ask = asker(options, "history")
    screen = choose(options.plain or isinstance(ask, LineAsker))
    screen.show([places.today(started.day, started.place, in_use.get())])
    keeper: Keeper | None = None
    kept: Opened | None = None
    try:
        if sys.stdin.isatty():  # a pipe keeps nothing and is offered nothing
            remove_leftovers()
            kept, keeper = _offer(screen, ask, reasoner)
        Dialogue(screen, ask, Journal.begin(started), keeper).run(kept)
    except (Leave, EOFError):
        return FINE
    return FINE


def _for_a_bed(options: argparse.Namespace, reasoner: Reasoner) -> int:
    """A consultation that knows a bed of the round, and is kept in its record."""
    from diagnose.commands.round_common import the_bed, the_day, the_store
    from diagnose.commands.visit import consult

    with the_store(options) as store:
        consult(options, store, reasoner, the_bed(store, options, [options.bed]), the_day(options))
    return FINE


def _offer(screen: Screen, ask: Asker, reasoner: Reasoner) -> tuple[Opened | None, Keeper]:
    """The consultation that was left, where the gardener wants to go on with it."""
    from diagnose.kept import Keeper, keeper_of, listed, opened
    from diagnose.pages.blocks import text
    from diagnose.pages.sayings import kept_line
    from diagnose.terminal.typed import NO, YES, plainly

    found, aside = listed()
    for name in aside:
        screen.show([text(f"{name} could not be read; it is set aside beside the others.")])
    left = next(((n, k) for n, k in found if k.state == "unfinished"), None)
    if left is None:
        return None, Keeper()
    name, kept = left
    screen.show([text(f"You left a consultation: {kept_line(name, kept, reasoner.knowledge)}")])
    while True:
        line = plainly(ask.ask("Go on with it? yes or no: ", ("yes", "no"), "yes or no"))
        if line in YES:
            return opened(kept, reasoner), keeper_of(name, kept)
        if line in NO:
            return None, Keeper()
        screen.show([text(f"I did not understand {line!r}. Please say yes or no.")])
