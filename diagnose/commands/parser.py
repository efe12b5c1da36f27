"""The command line: options that stand anywhere, and errors of one line with the nearest word."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any, NoReturn

from diagnose.errors import UsageError

Run = Callable[[argparse.Namespace], int]

# What an option holds where it is not given. They stand here, and not on the options, so that one
# before the command is not undone by the command's own.
DEFAULTS: dict[str, Any] = {
    "knowledge": None, "rounds": None, "plain": False, "version": False,
    "bed": None, "date": None, "latitude": None, "last_frost": None, "first_frost": None,
}  # fmt: skip


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong, the nearest thing that is right, and where help is."""
        raise UsageError(f"{self._plainly(message)}; see {self.prog} --help")

    def _plainly(self, message: str) -> str:
        wrong = re.fullmatch(r"argument .*invalid choice: '(?P<word>.*?)' \(.*\)", message)
        if wrong:
            return f"there is no command {wrong['word']!r}{self._near(wrong['word'])}"
        more = re.fullmatch(r"unrecognized arguments: (?P<words>.*)", message)
        if more:
            word = more["words"].split()[0].partition("=")[0]
            if word.startswith("-"):
                return f"there is no option {word!r} here{self._near(word)}"
            return f"{word!r} is one word too many; put a sentence in quotes"
        return message

    def _near(self, word: str) -> str:
        """The end of an error: the nearest command or option."""
        from rapidfuzz import fuzz, process

        option = word.startswith("-")
        known = [name for name in self._words() if name.startswith("-") == option]
        close = process.extractOne(word, known, scorer=fuzz.ratio, score_cutoff=60)
        return f"; did you mean {close[0]!r}?" if close else ""

    def _words(self) -> Iterator[str]:
        """The options and commands that can stand on the line."""
        for action in self._actions:
            yield from action.option_strings
            if isinstance(action, argparse._SubParsersAction):
                for name, parser in action.choices.items():
                    yield name
                    yield from parser._words()


class Commands:
    """The commands put on the command line, each by a module of its own."""

    def __init__(self) -> None:
        self.everywhere = _everywhere()
        self.top = Parser(
            prog="diagnose", parents=[self.everywhere], argument_default=argparse.SUPPRESS,
            description="Finds out, by asking, what is wrong in a vegetable bed, and what to do "
            "about it with the least harm. Without a command: the guided consultation.",
            epilog="Answers: a number or a word; unsure, why, back, so far, stop. "
            "Exit codes: 0 fine, 1 findings, 2 wrong use, 130 interrupted.",
        )  # fmt: skip
        self.top.add_argument(
            "--bed", metavar="BED", help="a consultation for this bed, kept in its record"
        )
        self._added = self.top.add_subparsers(title="commands", metavar="COMMAND", dest="name")

    def add(self, name: str, run: Run, about: str, example: str) -> argparse.ArgumentParser:
        """A command: what it does, in a line, and an example of its use."""
        made: argparse.ArgumentParser = self._added.add_parser(
            name, parents=[self.everywhere], argument_default=argparse.SUPPRESS,
            help=f"{about}  e.g. {example}",
            description=f"{about[:1].upper()}{about[1:]}. For example: {example}",
        )  # fmt: skip
        made.set_defaults(run=run)
        return made

    def parse(self, words: Sequence[str] | None) -> argparse.Namespace:
        """The options of a command line. Raises UsageError."""
        return self.top.parse_args(words, argparse.Namespace(**DEFAULTS))


def _everywhere() -> Parser:
    """The options that every command takes, before its name or after it."""
    made = Parser(add_help=False, argument_default=argparse.SUPPRESS)
    made.add_argument(
        "--knowledge", metavar="DIR", action="append",
        help="use another knowledge folder; one that is given after it lies over it, and so does a "
        "part of one over the knowledge in use",
    )  # fmt: skip
    made.add_argument("--rounds", metavar="FILE", help="use another file of gardens and visits")
    made.add_argument(
        "--version", action="store_true",
        help="version, engine in use and digest of the knowledge",
    )  # fmt: skip
    made.add_argument(
        "--plain", action="store_true",
        help="line by line, without color or redrawing (also good for screen readers)",
    )  # fmt: skip
    made.add_argument("--date", metavar="YYYY-MM-DD", help="the day of the visit (today)")
    made.add_argument("--latitude", metavar="D", help="degrees, south negative")
    made.add_argument("--last-frost", metavar="MM-DD", help="usual last frost in spring")
    made.add_argument("--first-frost", metavar="MM-DD", help="usual first frost in fall")
    return made
