"""What the commands of the round share: the store, the day, names typed or asked for, files."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.commands.common import asker, screen
from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.kb.model import Knowledge
    from diagnose.pages.blocks import Page
    from diagnose.rounds.model import Bed, Garden
    from diagnose.rounds.store import Store


@contextmanager
def the_store(options: argparse.Namespace) -> Iterator[Store]:
    """The file of rounds, opened and closed."""
    from diagnose.rounds.store import Store

    with Store(Path(options.rounds).expanduser() if options.rounds else None) as store:
        yield store


def the_day(options: argparse.Namespace) -> date:
    """The day told, or today."""
    from diagnose.inputs import day_of

    return day_of(options.date) if options.date is not None else date.today()


def ask_for(
    options: argparse.Namespace, prompt: str, choices: Sequence[str] = (), needed: bool = True
) -> str:
    """A line asked for. Raises UsageError at the end of input, and where nothing is typed."""
    from diagnose.inputs import plain, whole

    try:
        line = plain(whole(asker(options, "rounds").ask(f"{prompt} ", choices, "")))
    except EOFError:
        line = ""
    if needed and not line:
        raise UsageError(f"nothing was typed for {prompt!r}, so nothing was done")
    return line


def asked_for(made: argparse.ArgumentParser, option: str, what: str, about: str) -> None:
    """An option whose value is asked for where none is given."""
    made.add_argument(option, metavar=what, nargs="?", const="", default=None, help=about)


def told(options: argparse.Namespace, value: str, question: str) -> str:
    """The value of such an option, or what is typed."""
    return named([value or ask_for(options, question)])


def named(words: Sequence[str]) -> str:
    """A name typed as one or several words, cleaned. Raises UsageError where it is too long."""
    from diagnose.inputs import plain

    name = " ".join(plain(" ".join(words)).split())
    if len(name) > 60:
        raise UsageError(f"{name[:20]!r}... has {len(name)} letters; a name has at most 60")
    return name


def the_bed(store: Store, options: argparse.Namespace, words: Sequence[str]) -> Bed:
    """The bed named, or the only one, or one asked for."""
    from diagnose.rounds.model import Bed

    if not words:
        beds = store.all(Bed)
        if len(beds) == 1:
            return beds[0]
        if not beds:
            raise UsageError("no bed is kept yet; begin with: diagnose beds --add NAME")
        words = [ask_for(options, "Which bed?", [bed.name for bed in beds])]
    return store.bed_named(named(words))


def the_garden(store: Store, options: argparse.Namespace, words: Sequence[str]) -> Garden:
    """The garden named, or the only one, or one asked for."""
    from diagnose.rounds.model import Garden

    if not words:
        gardens = store.all(Garden)
        if len(gardens) == 1:
            return gardens[0]
        if not gardens:
            raise UsageError("no garden is kept yet; begin with: diagnose gardens --add NAME")
        words = [ask_for(options, "Which garden?", [one.name for one in gardens])]
    return store.garden_named(named(words))


def garden_of(store: Store, bed: Bed) -> Garden:
    """The garden of a bed."""
    from diagnose.rounds.model import Garden

    [garden] = store.all(Garden, id=bed.garden)
    return garden


def the_crop(knowledge: Knowledge, name: str) -> str:
    """The id of a crop. Raises UsageError with the nearest name."""
    from diagnose.kb.names import unknown_crop

    crop = knowledge.crop_named(name)
    if crop is None:
        raise UsageError(unknown_crop(knowledge, name))
    return crop


def hand_out(options: argparse.Namespace, page: Page) -> None:
    """Show a page, or write it to the file that was named with --to."""
    from diagnose.documents.files import put
    from diagnose.documents.paper import forms

    if options.to is None:
        screen(options).show(page)
        return
    print(f"Wrote {put(options.to, forms([page]))}")


def write_new(path: Path, data: bytes) -> None:
    """Write a new file and say so. Raises UsageError where one is there, or it cannot be."""
    from diagnose.inputs import write_whole

    if path.exists():
        raise UsageError(f"{path} is there already; give another name")
    try:
        write_whole(path, data)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from None
    print(f"Wrote {path}")


def yes(options: argparse.Namespace, question: str) -> bool:
    """Whether a question is answered with yes; no where nothing can be asked."""
    from diagnose.terminal.typed import YES, plainly

    if getattr(options, "yes", False):
        return True
    if not sys.stdin.isatty():
        raise UsageError(f"{question} Give --yes, where that is so")
    return plainly(ask_for(options, f"{question} yes or no:", ("yes", "no"))) in YES
