"""The commands, one small module each."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from diagnose.errors import DiagnoseError, UsageError

if TYPE_CHECKING:
    from diagnose.commands.parser import Commands

NAMES = (
    "read", "case", "kept", "round", "gardens", "beds", "visit", "lookout", "season", "sheet",
    "report", "weather", "records", "place", "crops", "show", "drawings", "demonstrate",
    "practice", "lesson", "check", "baseline", "confusion", "coverage", "try_phrase",
    "compare", "new", "schema", "tidy", "migrate",
)  # fmt: skip


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is 0 fine, 1 findings, 2 wrong use, 130 interrupted."""
    from diagnose.commands.common import FINE, INTERRUPTED, WRONG_USE

    try:
        _streams()
        code = _run(words)
        sys.stdout.flush()
        return code
    except DiagnoseError as error:
        _complain(str(error))
        return WRONG_USE
    except KeyboardInterrupt:
        _complain("")
        return INTERRUPTED
    except BrokenPipeError:  # the reader of a pipe has gone
        _nowhere()
        return FINE
    except OSError as error:
        _nowhere()
        _complain(f"the output cannot be written: {error.strerror}")
        return WRONG_USE


def command_line() -> Commands:
    """The command line, with every command on it."""
    from importlib import import_module

    from diagnose.commands import consult
    from diagnose.commands.parser import Commands
    from diagnose.kb.garbage import uncollected

    commands = Commands()
    commands.top.set_defaults(run=consult.run)
    with uncollected():
        for name in NAMES:
            import_module(f"diagnose.commands.{name}").register(commands)
    return commands


def _run(words: Sequence[str] | None) -> int:
    from diagnose.commands import version

    commands = command_line()
    if "_ARGCOMPLETE" in os.environ:  # the shell asks what could follow
        import argcomplete

        argcomplete.autocomplete(commands.top)
    options = commands.parse(words)
    _set_up()
    run = version.run if options.version else options.run
    code: int = run(options)
    return code


def _set_up() -> None:
    """What was set once holds from here on; what of it cannot be read is told."""
    from diagnose import settings

    found, lost = settings.read()
    settings.in_use.set(found)
    for line in lost:
        _complain(line)


def _streams() -> None:
    """Make odd bytes no reason to fail; raise UsageError where a stream is closed."""
    for name in ("stdin", "stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            if name == "stdout":
                raise UsageError("there is nowhere to print to: the output is closed")
            setattr(sys, name, open(os.devnull, "w" if name == "stderr" else "r"))  # noqa: SIM115
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _complain(text: str) -> None:
    if sys.stderr is not None:
        print(f"diagnose: {text}" if text else "", file=sys.stderr)


def _nowhere() -> None:
    """Let what is still to be printed go nowhere, so that leaving is quiet."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
