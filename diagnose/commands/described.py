"""Which described case a command is about: one of a file, or one beside a cause."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.kb.model import Case, Knowledge


class Described(NamedTuple):
    """A case, and its cause: that beside which it stands, or that it expects; None for no known."""

    case: Case
    cause: str | None


def which(parser: argparse.ArgumentParser, needed: bool = True) -> None:
    """The words on the command line that name a case."""
    parser.add_argument(
        "names", metavar="NAME", nargs="+" if needed else "*", default=[],
        help="a cause, or a file of cases",
    )  # fmt: skip
    parser.add_argument("--case", metavar="N", default="1", help="which of its cases (1)")


def described(options: argparse.Namespace, knowledge: Knowledge) -> Described:
    """The case that is named. Raises UsageError where there is none."""
    from diagnose.cases import accepted, read_cases

    wanted = " ".join(options.names).strip()
    path = Path(wanted)
    if path.suffix in (".yaml", ".yml"):
        case = _numbered(read_cases(path), options.case, wanted)
        right = (c for c, known in knowledge.causes.items() if accepted(case, c, known))
        return Described(case, next(right, None))
    cause = cause_named(knowledge, wanted)
    return Described(_numbered(knowledge.causes[cause].cases, options.case, wanted), cause)


def cause_named(knowledge: Knowledge, wanted: str) -> str:
    """The id of the cause of that name. Raises UsageError where there is none, or are several."""
    from diagnose.kb import names

    found = [named.id for named in names.find(knowledge, wanted) if named.kind == "causes"]
    if len(found) == 1:
        return found[0]
    if found:
        raise UsageError(f"{len(found)} causes are called {wanted!r}; name one: {', '.join(found)}")
    near = names.nearest(knowledge, wanted)
    ending = f"; did you mean {', '.join(map(repr, near))}?" if near else ""
    raise UsageError(f"no cause or file of cases (.yaml) is called {wanted!r}{ending}")


def _numbered(cases: Sequence[Case], number: str, wanted: str) -> Case:
    if number.isascii() and number.isdecimal() and len(number) < 5:
        if 1 <= int(number) <= len(cases):
            return cases[int(number) - 1]
        raise UsageError(f"{wanted} has {len(cases)} cases; there is no number {number}")
    raise UsageError(f"{number!r} is no number of a case, as in --case 2")
