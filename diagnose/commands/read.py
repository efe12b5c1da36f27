"""diagnose read: one shot, no questions asked."""

from __future__ import annotations

import argparse

from diagnose.commands.common import FINE, blank, print_json, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError
from diagnose.kb.garbage import uncollected


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "read", run, "one shot: read a sentence and rank the causes, no questions asked",
        'diagnose read "pale squiggles in the leaves" --crop beet',
    )  # fmt: skip
    made.add_argument("text", metavar="TEXT")
    made.add_argument("--crop", metavar="C", help="the crop it is about", default=None)
    made.add_argument(
        "--explain", action="store_true", default=False,
        help="with the reasons: what speaks for what, and what would change it",
    )  # fmt: skip
    made.add_argument(
        "--to", metavar="FILE", default=None,
        help="write it down, as .md, .html (to print) or .json, by the ending of its name",
    )  # fmt: skip
    made.add_argument(
        "--show-reading", action="store_true", default=False,
        help="how it was read: clauses, keys, phrases found, and what became of each",
    )  # fmt: skip
    made.add_argument("--json", action="store_true", help="as JSON (docs/json.md)", default=False)


@uncollected()
def run(options: argparse.Namespace) -> int:
    """Read, rank, plan."""
    from diagnose.inputs import clean
    from diagnose.kb.names import placed, unknown_crop

    said = clean(options.text)
    reasoner = the_reasoner(options)
    started = blank(reasoner, options)
    crop, place = None, None
    if options.crop:
        crop = reasoner.knowledge.crop_named(options.crop)
        place = None if crop else placed(reasoner.knowledge, clean(options.crop))
        if place is not None:
            crop = place.crop
        elif crop is None:
            raise UsageError(unknown_crop(reasoner.knowledge, options.crop))
    consultation = started.about(crop).told(said)
    if options.show_reading:
        from diagnose.pages.readings import how_read

        screen(options).show(how_read(consultation, said))
        return FINE
    if options.json:
        from diagnose.documents.as_json import document

        print_json(document(consultation))
        return FINE
    from diagnose.pages import answer, first, reasons
    from diagnose.pages.blocks import note, text

    if options.to:
        from diagnose.documents.files import write

        written = text(f"Wrote {write(consultation, options.to)}.")
        screen(options).show([*first.alerts(consultation.alerts), written])
        return FINE

    page = first.alerts(consultation.alerts) + answer.understood(consultation)
    if place is not None:
        page.append(note(place.said))
    if consultation.crop is None:
        page.append(note("No plant named: give one with --crop for a better answer."))
    page += answer.one_shot(consultation)
    if options.explain:
        page += reasons.all_of_them(consultation)
    screen(options).show(page)
    return FINE
