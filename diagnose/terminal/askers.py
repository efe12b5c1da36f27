"""Ways to ask for a line: with completion on a terminal, or plainly, line by line."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import IO, Protocol

HIGH = 24  # lines of a terminal in which room is kept for the words that complete a line


class Asker(Protocol):
    """Asks for one line. Raises EOFError at the end of input, KeyboardInterrupt on Ctrl-C."""

    def ask(self, prompt: str, choices: Sequence[str], hint: str) -> str:
        """One line; `choices` complete it, `hint` says what may be typed."""
        ...

    def waiting(self) -> list[str]:
        """Lines that were pasted together with the last one, and wait to be used."""
        ...


class LineAsker:
    """Reads lines from a stream and echoes nothing; the prompt ends the line before."""

    def __init__(self, stream: IO[str] | None = None, out: IO[str] | None = None) -> None:
        self.stream = stream or sys.stdin
        self.out = out or sys.stdout

    def ask(self, prompt: str, choices: Sequence[str], hint: str) -> str:
        """One line of the stream."""
        print(prompt, end="", file=self.out, flush=True)
        line = self.stream.readline()
        if not line:
            print(file=self.out)
            raise EOFError
        if not self.stream.isatty():
            print(line.rstrip("\n"), file=self.out)
        return line.strip()

    def waiting(self) -> list[str]:
        """None: a stream hands out one line at a time."""
        return []


class PromptAsker:
    """prompt_toolkit: completion, history kept in a file, and a bottom line with the hint."""

    def __init__(self, history: Path) -> None:
        from prompt_toolkit import PromptSession
        from prompt_toolkit.history import FileHistory, History, InMemoryHistory

        kept: History
        try:
            history.parent.mkdir(parents=True, exist_ok=True)
            with history.open("a"):
                pass
            kept = FileHistory(str(history))
        except OSError:
            kept = InMemoryHistory()
        self.session: PromptSession[str] = PromptSession(history=kept)
        self.pasted: list[str] = []

    def ask(self, prompt: str, choices: Sequence[str], hint: str) -> str:
        """One line; a paste of several lines is handed out one at a time, first line first."""
        from prompt_toolkit.completion import FuzzyWordCompleter

        line = self.session.prompt(
            prompt,
            completer=FuzzyWordCompleter(list(choices)),
            complete_while_typing=True,
            bottom_toolbar=hint,
            reserve_space_for_menu=5 if shutil.get_terminal_size().lines >= HIGH else 0,
        )
        first, *rest = [part.strip() for part in line.splitlines()] or [""]
        self.pasted = [part for part in rest if part]
        return first

    def waiting(self) -> list[str]:
        """The other lines of the last paste."""
        lines, self.pasted = self.pasted, []
        return lines
