"""diagnose show: what the knowledge says of a crop, symptom, cause, danger or word."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINE, place, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "show", run,
        "what the knowledge says of a crop, symptom, cause, danger or word, by any of its names",
        "diagnose show late blight",
    )  # fmt: skip
    made.add_argument("names", metavar="NAME", nargs="+")
    made.add_argument(
        "--weather", metavar="FILE", default=None,
        help="daily temperatures (CSV: date,min_c,max_c): when the cause comes, by warmth",
    )  # fmt: skip
    made.add_argument("--to", metavar="FILE", default=None, help="write it, as .html or .md")


def run(options: argparse.Namespace) -> int:
    """A page of the knowledge, and the file in which it stands."""
    from diagnose.kb import names
    from diagnose.pages import entries
    from diagnose.pages.blocks import Page, note
    from diagnose.pages.sayings import whose

    reasoner = the_reasoner(options)
    knowledge = reasoner.knowledge
    wanted = " ".join(options.names).strip()
    found = names.find(knowledge, wanted)
    term = names.term(knowledge, wanted)
    if term is not None and not found:
        screen(options).show(entries.term_page(knowledge, term))
        return FINE
    if not found:
        near = names.nearest(knowledge, wanted)
        ending = f"did you mean {', '.join(map(repr, near))}?" if near else "see diagnose crops"
        raise UsageError(f"no crop, symptom, cause, danger or word is called {wanted!r}; {ending}")
    warned = [named for named in found if named.kind == "dangers"]
    meant = [named for named in found if named.kind != "dangers"]
    if len(meant) > 1:
        ids = ", ".join(named.id for named in meant)
        raise UsageError(f"{len(meant)} entries are called {wanted!r}; name one: {ids}")
    pages = {
        "crops": entries.crop_page, "symptoms": entries.symptom_page, "causes": entries.cause_page,
        "dangers": entries.danger_page,
    }  # fmt: skip
    page: Page = entries.term_page(knowledge, term) if term is not None else []
    for kind, ident in (*warned, *meant):
        page += pages[kind](knowledge, ident)
    kind, ident = found[-1]
    if options.weather:
        from diagnose.seasons.weather import days_of, read

        if kind != "causes":
            raise UsageError(f"--weather is for causes; {ident} is none")
        table = read(Path(options.weather))
        if table.guessed:
            page.append(note(f"The weather is read so: {'; '.join(table.taken)}."))
        days = days_of(table, options.weather)
        page += entries.warmth(knowledge, ident, days, place(reasoner.home(), options))
    files = dict.fromkeys(knowledge.place(*named).rpartition(":")[0] for named in found)
    own = " ".join(dict.fromkeys(filter(None, (whose(knowledge, *named) for named in found))))
    page.append(note(f"This stands in {' and '.join(files)} {own}".rstrip()))
    if options.to:
        from diagnose.documents import paper
        from diagnose.documents.files import put

        alone = kind == "causes" and not (warned or options.weather)
        made = paper.cause(knowledge, ident) if alone else paper.forms([page])
        print(f"Wrote {put(options.to, made)}")
        return FINE
    screen(options).show(page)
    return FINE
