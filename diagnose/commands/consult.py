"""diagnose: the guided consultation."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, asker, blank, the_reasoner


def run(options: argparse.Namespace) -> int:
    """From first words to a plan."""
    from diagnose.terminal import saved
    from diagnose.terminal.askers import LineAsker
    from diagnose.terminal.dialogue import Dialogue, Leave
    from diagnose.terminal.page import note
    from diagnose.terminal.screen import choose

    reasoner = the_reasoner(options)
    started = blank(reasoner, options)
    ask = asker(options, "history")
    screen = choose(options.plain or isinstance(ask, LineAsker))
    place = started.place
    screen.show(
        [note(f"Day {started.day}, latitude {place.latitude:g}, usual last frost "
              f"{place.last_frost}, first frost {place.first_frost} "
              f"(change them with --date, --latitude, --last-frost, --first-frost).")]
    )  # fmt: skip
    dialogue = Dialogue(screen, ask, started)
    try:
        dialogue.run(saved.restore(reasoner))
    except Leave:
        return FINE
    return FINE
