"""diagnose visit: enter a visit to a bed; without more than its name, it asks."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from diagnose.commands.common import FINE, asker, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.consultation import Reasoner
    from diagnose.rounds.history import BedRecord
    from diagnose.rounds.model import Bed, Due, Finding
    from diagnose.rounds.store import Store

TOLD = ("note", "did", "found", "state", "due")


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "visit", run, "enter a visit to a bed: how it went on, what was done and found, notes",
        "diagnose visit North",
    )  # fmt: skip
    made.add_argument("names", metavar="BED", nargs="*", default=[])
    made.add_argument("--note", metavar="WORDS", default=None, help="a note")
    made.add_argument(
        "--did", metavar="MEASURE", action="append", default=None, help="what you did"
    )
    made.add_argument("--found", metavar="CAUSE", default=None, help="what you know you found")
    made.add_argument("--count", metavar="N", default=None, help="how many were counted")
    made.add_argument("--per", metavar="WORDS", default=None, help="on what, as 'on 10 plants'")
    made.add_argument(
        "--state", metavar="STATE", default=None,
        help="how the last finding stands: better, same, worse or gone",
    )  # fmt: skip
    made.add_argument("--due", metavar="YYYY-MM-DD", default=None, help="something is due then")
    made.add_argument(
        "--forget", action="store_true", default=False, help="take the visit of that day out again"
    )
    made.add_argument("--yes", action="store_true", default=False, help="do not ask before that")
    made.add_argument("--what", metavar="WORDS", default=None, help="what is due")


def run(options: argparse.Namespace) -> int:
    """Enter what is told; where nothing is, ask."""
    from diagnose.commands.round_common import garden_of, the_bed, the_day, the_store
    from diagnose.inputs import plain
    from diagnose.pages import rounds
    from diagnose.pages.blocks import note
    from diagnose.rounds.history import record_of
    from diagnose.rounds.visits import visit_on

    reasoner, day = the_reasoner(options), the_day(options)
    if day > date.today():
        screen(options).show([note(f"{day} lies ahead of this machine's clock; it is kept so.")])
    with the_store(options) as store:
        bed = the_bed(store, options, options.names)
        if options.forget:
            return _forget(options, store, bed, day)
        if any(getattr(options, name) is not None for name in TOLD):
            with store.changing():
                visit_on(store, bed, day, plain(options.note or ""))
                _enter(options, store, reasoner, bed, day)
        else:
            _ask(options, store, reasoner, bed, day)
        record = record_of(store, bed)
        at = rounds.AtGarden(
            reasoner, garden_of(store, bed), day, [record], due=_due(store, bed, day)
        )
        screen(options).show(rounds.report(at))
    return FINE


def _forget(options: argparse.Namespace, store: Store, bed: Bed, day: date) -> int:
    from diagnose.commands.round_common import yes
    from diagnose.rounds.model import Visit
    from diagnose.rounds.visits import forget

    there = store.all(Visit, bed=bed.id, day=day.isoformat())
    if not there:
        raise UsageError(f"no visit to {bed.name} on {day} is kept")
    question = f"Take out the visit to {bed.name} on {day}, with all that hangs on it?"
    if yes(options, question):
        print(f"{forget(store, there[0])} entries taken out")
    return FINE


def _due(store: Store, bed: Bed, day: date) -> list[Due]:
    from diagnose.rounds.visits import waiting

    return waiting(store, [bed.id], day)


def _enter(
    options: argparse.Namespace, store: Store, reasoner: Reasoner, bed: Bed, day: date
) -> None:
    """Enter what the options tell."""
    from diagnose.inputs import day_of, plain
    from diagnose.rounds.history import record_of
    from diagnose.rounds.model import Due, new_id
    from diagnose.rounds.visits import did, found, look_again, open_findings

    count = _count(options.count)
    finding: Finding | None = None
    if options.state is not None:
        still = open_findings(record_of(store, bed), day)
        if not still:
            raise UsageError(f"nothing was found in {bed.name} of late that could be "
                             f"{options.state}; say what with --found")  # fmt: skip
        finding = still[0]
        _went_on(store, reasoner, bed, finding, day, options.state, count)
    if options.found is not None:
        cause = _cause(reasoner, options.found, record_of(store, bed).growing(day))
        finding = found(store, bed, day, cause, count, plain(options.per or ""))
        look_again(store, reasoner, bed, finding, day)
    for words in options.did or ():
        latest = finding or next(iter(open_findings(record_of(store, bed), day)), None)
        did(store, bed, day, _measure(options, reasoner, words), latest)
    if options.due is not None:
        what = plain(options.what or "look again")
        store.put(Due(new_id(), bed.id, day_of(options.due).isoformat(), what))


def _went_on(
    store: Store, reasoner: Reasoner, bed: Bed, finding: Finding, day: date, said: str,
    count: float | None,
) -> None:  # fmt: skip
    from diagnose.rounds.model import STATES, State
    from diagnose.rounds.visits import went_on

    states: dict[str, State] = dict(zip(STATES, STATES, strict=True))
    state = states.get(said.strip().lower())
    if state is None:
        raise UsageError(f"{said!r} is none of {', '.join(STATES)}")
    went_on(store, reasoner, bed, finding, day, state, count)


def _count(text: str | None) -> float | None:
    if text is None or not text.strip():
        return None
    try:
        count = float(text.strip().replace(",", "."))
    except ValueError:
        count = -1.0
    if not 0 <= count < 1e9:
        raise UsageError(f"{text!r} is no count; give a number, as 12")
    return count


def _cause(reasoner: Reasoner, name: str, growing: Sequence[str]) -> str:
    """The id of a cause by any of its names; of several, the one that lives on what grows there."""
    from diagnose.kb import names

    knowledge = reasoner.knowledge
    found = [n.id for n in names.find(knowledge, name) if n.kind == "causes"]
    crops = [crop for crop in growing if crop in knowledge.crops]
    here = [
        cause
        for cause in found or [n for n in names.nearest(knowledge, name) if n in knowledge.causes]
        if any(
            knowledge.causes[cause].commonness(crop, knowledge.crops[crop].family) for crop in crops
        )
    ]
    if len(found) == 1:
        return found[0]
    if len(here) == 1:
        return here[0]
    near = here or found or names.nearest(knowledge, name)
    ending = f"; did you mean {', '.join(near)}?" if near else ""
    raise UsageError(f"no one cause is called {name!r}{ending}")


def _measure(options: argparse.Namespace, reasoner: Reasoner, words: str) -> str:
    """The measure that is meant, by its id or short name; else the words as they are."""
    from rapidfuzz import fuzz, process

    from diagnose.inputs import plain
    from diagnose.pages.blocks import note

    remedies = reasoner.knowledge.remedies
    said = plain(words)
    shorts = {(r.short or "").casefold(): name for name, r in remedies.items() if r.short}
    known = remedies.keys() & {said} or {shorts.get(said.casefold(), "")} - {""}
    if known:
        return next(iter(known))
    close = process.extract(
        said, {n: r.short for n, r in remedies.items() if r.short}, scorer=fuzz.token_set_ratio,
        limit=3, score_cutoff=70,
    )  # fmt: skip
    if close:
        near = "; ".join(f"{name} ({short})" for short, _, name in close)
        screen(options).show([note(f"Kept in your words. Near it, by their names: {near}.")])
    return said


def _ask(
    options: argparse.Namespace, store: Store, reasoner: Reasoner, bed: Bed, day: date
) -> None:
    """Go through a visit, question by question; each answer is kept at once."""
    from diagnose.commands.round_common import ask_for
    from diagnose.inputs import plain
    from diagnose.pages.blocks import heading, item, text
    from diagnose.pages.rounds import finding_name
    from diagnose.pages.sayings import day as in_words
    from diagnose.rounds.history import record_of
    from diagnose.rounds.model import STATES
    from diagnose.rounds.visits import did, open_findings, settle, visit_on, waiting

    shown = screen(options)
    record = record_of(store, bed)
    visit_on(store, bed, day)
    shown.show([heading(f"{bed.name}, {in_words(day)}"), text("Enter leaves a question out.")])
    still = open_findings(record, day)
    for finding in still:
        name, since = finding_name(reasoner.knowledge, finding), in_words(record.day_of(finding))
        while said := ask_for(
            options, f"{name}, found on {since}: better, same, worse or gone?", STATES, needed=False
        ):
            try:
                _went_on(store, reasoner, bed, finding, day, said, None)
                break
            except UsageError as error:
                shown.show([text(f"{error}.")])
    for due in waiting(store, [bed.id], day):
        if due.finding is None and due.day <= day.isoformat():
            said = ask_for(
                options, f"{plain(due.what)}: done? yes or no", ("yes", "no"), needed=False
            )
            if said.lower() in ("yes", "y"):
                settle(store, due, day)
    measures = _measures_at_hand(reasoner, record, still, day)
    if measures:
        shorts = (reasoner.knowledge.remedies[m].short or m for m in measures)
        shown.show([text("Of the plan:"), *(item(s, f"{n}.") for n, s in enumerate(shorts, 1))])
    while said := ask_for(options, "What did you do? Enter: nothing (more).", needed=False):
        number = int(said) - 1 if said.isdecimal() else -1
        known = measures[number] if 0 <= number < len(measures) else None
        measure = known or _measure(options, reasoner, said)
        did(store, bed, day, measure, still[0] if still else None)
    if said := ask_for(options, "Notes:", needed=False):
        visit_on(store, bed, day, said)
    if (
        ask_for(options, "Is something (else) wrong? yes or no", ("yes", "no"), needed=False)[
            :1
        ].lower()
        == "y"
    ):
        consult(options, store, reasoner, bed, day)


def _measures_at_hand(
    reasoner: Reasoner, record: BedRecord, still: Sequence[Finding], day: date
) -> list[str]:
    """The measures of the plan for the latest open finding, to be chosen by number."""
    from diagnose.rounds.history import begin

    if not still or still[0].cause not in reasoner.knowledge.causes:
        return []
    plan = begin(reasoner, record, day).plan(still[0].cause)
    return [step.remedy for step in plan.now]


def consult(
    options: argparse.Namespace, store: Store, reasoner: Reasoner, bed: Bed, day: date
) -> None:
    """A consultation for a bed, which knows its crops, place, weather and record, and is kept."""
    from diagnose.commands.round_common import garden_of
    from diagnose.journal import Journal
    from diagnose.kept import opened
    from diagnose.pages.blocks import item, note
    from diagnose.pages.rounds import crop_name
    from diagnose.pages.sayings import listed, observation
    from diagnose.rounds import warmth
    from diagnose.rounds.history import begin, record_of
    from diagnose.rounds.visits import BedKeeper, kept_of, unfinished
    from diagnose.terminal.dialogue import Dialogue, Leave
    from diagnose.terminal.typed import YES, plainly

    garden, record = garden_of(store, bed), record_of(store, bed)
    known = warmth.climate(store, garden, reasoner.knowledge.rounds.bridge)
    weather = warmth.observed(reasoner.knowledge.rounds.weather, known, day)
    blank = begin(reasoner, record, day, weather)
    crops = [crop_name(reasoner.knowledge, crop) for crop in record.growing(day)]
    shown, ask = screen(options), asker(options, "history")
    shown.show([note(f"{bed.name}, {garden.name}: {listed(crops, 'and') if crops else 'empty'}.")])
    shown.show([item(observation(reasoner.knowledge, seen)) for seen in blank.observations])
    left, kept, keeper = unfinished(record), None, BedKeeper(store, bed, garden)
    if left is not None:
        said = ask.ask("A consultation of this bed was left. Go on with it? yes or no: ",
                       ("yes", "no"), "yes or no")  # fmt: skip
        if plainly(said) in YES:
            kept = opened(kept_of(left), reasoner)
            keeper = BedKeeper(store, bed, garden, left)
    try:
        Dialogue(shown, ask, Journal.begin(blank), keeper).run(kept)
    except (Leave, EOFError):
        return
