"""diagnose demonstrate: a consultation shown step by step, for a class and a projector."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from diagnose.commands.common import FINE, asker, blank, screen, the_reasoner
from diagnose.commands.described import described, which
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.consultation import Consultation
    from diagnose.journal import Journal
    from diagnose.pages.slide import Slide

KEPT = re.compile(r"\d{8}-\d{6}-[0-9a-f]{4}")  # the name of a kept consultation


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "demonstrate", run, "a kept consultation or a described case, step by step for a class",
        "diagnose demonstrate beet leafminer --case 2",
    )  # fmt: skip
    which(made)
    made.add_argument(
        "--straight", action="store_true", default=False,
        help="without a slide before each answer on which to predict it",
    )  # fmt: skip
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .html or .md")


class Shown(NamedTuple):
    """What is shown: the steps, words that were not counted, and the known cause's name."""

    journal: Journal
    story: str = ""
    expected: str = ""


def run(options: argparse.Namespace) -> int:
    """Show it, or write it to a file."""
    from diagnose.pages.demonstration import slides

    reasoner = the_reasoner(options)
    shown = _shown(options, blank(reasoner, options))
    if options.to:
        from diagnose.documents.files import put
        from diagnose.documents.paper import demonstration

        print(f"Wrote {put(options.to, demonstration(*shown))}")
        return FINE
    _show(options, slides(*shown, predict=not options.straight))
    return FINE


def _shown(options: argparse.Namespace, started: Consultation) -> Shown:
    """What is to be shown. Raises UsageError where there is no such thing."""
    from diagnose import kept
    from diagnose.teaching.demonstration import case_journal

    knowledge = started.reasoner.knowledge
    if len(options.names) == 1 and KEPT.fullmatch(options.names[0]):
        return Shown(kept.opened(kept.named(options.names[0]), started.reasoner).journal)
    case, cause = described(options, knowledge)
    expected = knowledge.causes[cause].name if cause else ""
    return Shown(case_journal(case, started), case.text, expected)


def _show(options: argparse.Namespace, made: Sequence[Slide]) -> None:
    """On the whole screen of a terminal; line by line elsewhere. Raises UsageError if too small."""
    import shutil

    from diagnose.terminal.screen import is_terminal
    from diagnose.terminal.slides import Shape, Show, told

    if not is_terminal() or options.plain:
        told(made, screen(options), asker(options, "history"))
        return
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    shape = Shape(*shutil.get_terminal_size(), unicode)
    if shape.too_small:
        raise UsageError(shape.too_small)
    Show(made, unicode).run()
