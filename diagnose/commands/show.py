"""diagnose show: what the knowledge says of a crop, a symptom or a cause."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINE, place, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "show", run, "what the knowledge says of a crop, symptom or cause, by any of its names",
        "diagnose show late blight",
    )  # fmt: skip
    made.add_argument("names", metavar="NAME", nargs="+")
    made.add_argument(
        "--weather", metavar="FILE", default=None,
        help="daily temperatures (CSV: date,min_c,max_c): when the cause comes, by warmth",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """A page of the knowledge, and the file in which it stands."""
    from diagnose.kb import names
    from diagnose.pages import entries
    from diagnose.pages.blocks import note

    reasoner = the_reasoner(options)
    knowledge = reasoner.knowledge
    wanted = " ".join(options.names).strip()
    found = names.find(knowledge, wanted)
    if not found:
        near = names.nearest(knowledge, wanted)
        ending = f"did you mean {', '.join(map(repr, near))}?" if near else "see diagnose crops"
        raise UsageError(f"no crop, symptom or cause is called {wanted!r}; {ending}")
    if len(found) > 1:
        ids = ", ".join(named.id for named in found)
        raise UsageError(f"{len(found)} entries are called {wanted!r}; name one: {ids}")
    kind, ident = found[0]
    pages = {
        "crops": entries.crop_page, "symptoms": entries.symptom_page, "causes": entries.cause_page,
    }  # fmt: skip
    page = pages[kind](knowledge, ident)
    if options.weather:
        from diagnose.seasons.weather import read_days

        if kind != "causes":
            raise UsageError(f"--weather is for causes; {ident} is none")
        days = read_days(Path(options.weather))
        page += entries.warmth(knowledge, ident, days, place(reasoner.home(), options))
    page.append(note(f"This stands in {knowledge.place(kind, ident).rpartition(':')[0]}"))
    screen(options).show(page)
    return FINE
