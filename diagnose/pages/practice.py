"""A round of practice as pages: the problem, what is seen, the measures, the score."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.consultation import Consultation
from diagnose.journal import Answered
from diagnose.kb.model import Knowledge
from diagnose.pages import answer, reasons
from diagnose.pages.blocks import Page, entry, figures, heading, item, note, text
from diagnose.pages.pictures import of_found, unnamed
from diagnose.pages.sayings import (
    DECISIONS,
    cause_name,
    day,
    finding,
    percent,
    plant_name,
    small,
)
from diagnose.reasoning.facts import Observation
from diagnose.teaching.measures import Verdict
from diagnose.teaching.practice import GUESSES, Round
from diagnose.teaching.record import Record
from diagnose.teaching.score import CAUSE, LOOKS, MEASURE, Look, Score

HOW = (
    "Say what you want to look at, in your own words or by a number; list shows some things. When "
    "you dare, name the cause, as in: name slugs. Then choose a measure."
)
BITS = "One bit: on average the answer halves what it may still be."
NEARLY = 0.995  # of the best look's bits: as good as the best
JUDGED: dict[Verdict, str] = {
    "fits": "it fits",
    "later": "right, but for next season",
    "needless": "needless here: it does no harm, and no good",
    "wrong": "wrong here",
}


def opening(played: Round) -> Page:
    """The problem as it is told at first, and how to play."""
    start, hidden = played.start, played.hidden
    about = plant_name(start)
    page: Page = [heading(f"Something is wrong with the {about}"), text(f"{day(start.day)}.")]
    if hidden.words:
        page.append(text(f'The gardener says: "{hidden.words}"'))
    page += [item(_seen(start, s, hidden.truth[s])) for s in hidden.told]
    if not (hidden.words or hidden.told):
        page.append(text("More is not told."))
    if played.teams:
        page.append(text(f"In turn: {', '.join(played.teams)}."))
    return [*page, note(HOW)]


def _seen(now: Consultation, symptom: str, value: str) -> str:
    return finding(now.reasoner.knowledge, symptom, value)


def things(now: Consultation, found: Sequence[str]) -> Page:
    """Things to look at, numbered."""
    symptoms = now.reasoner.knowledge.symptoms
    return [item(symptoms[s].name, f"{n}.") for n, s in enumerate(found, 1)]


def look(played: Round) -> Page:
    """What is seen where they looked last."""
    last = played.seen[-1]
    spec, value = played.now.reasoner.knowledge.symptoms[last.symptom], last.value
    drawn = unnamed(of_found(played.now.reasoner.knowledge, [(last.symptom, value)]))
    page: Page = [text(spec.ask), entry(f"{spec.value_name(value)}.", "You see:")]
    return [*page, figures(drawn)] if drawn else page


def so_far(played: Round) -> Page:
    """What has been seen up to now."""
    now = played.now
    page: Page = [heading("Seen so far"), text(f"Plant: {plant_name(now)}, {day(now.day)}")]
    if played.hidden.words:
        page.append(text(f'"{played.hidden.words}"'))
    page += [item(_seen(now, o.symptom, o.value)) for o in told_and_seen(played)]
    left = GUESSES - len(played.named)
    return [*page, text(f"You may name a cause {_times(left)}.")]


def told_and_seen(played: Round) -> list[Observation]:
    """What was told at first and seen since."""
    told = [Observation(s, played.hidden.truth[s]) for s in played.hidden.told]
    return [*told, *played.seen]


def _times(left: int) -> str:
    return {1: "once more", 2: "twice more"}.get(left, f"{left} times")


def wrong(played: Round, cause: str) -> Page:
    """That a cause named is not it, and how often one may be named yet."""
    now = played.now
    name = cause_name(now.reasoner.knowledge, cause)
    left = GUESSES - len(played.named)
    ends = f"You may name a cause {_times(left)}." if left else "That was the last name."
    return [text(f"No, it is not {small(name)}. {ends}")]


def right(played: Round) -> Page:
    """That the cause was found."""
    name = cause_name(played.now.reasoner.knowledge, played.hidden.cause)
    return [entry(name, "Yes, it is:")]


def gave_up(played: Round) -> Page:
    """What it was."""
    name = cause_name(played.now.reasoner.knowledge, played.hidden.cause)
    return [entry(name, "It was:")]


def measures(played: Round) -> Page:
    """The measures to choose from."""
    remedies = played.now.reasoner.knowledge.remedies
    page: Page = [heading("What would you do?")]
    return page + [item(remedies[r].text, f"{n}.") for n, r in enumerate(played.measures, 1)]


def result(played: Round, made: Score) -> Page:
    """The score, turn by turn, and what a good detective would have asked."""
    now = played.now
    page: Page = [heading("The score"), entry(f"{made.total:.0f} of 100", "In all:")]
    page += [item(f"{team}: {made.of(team):.0f}") for team in played.teams]
    page += _looks(now, made) + _causes(played, made) + _measure(played, made)
    page += detective(played)
    page += [heading("What it was"), *_case(played)]
    return page


def _looks(now: Consultation, made: Score) -> Page:
    points = sum(one.points for one in made.looks)
    page: Page = [heading(f"The looks: {points:.0f} of {LOOKS:.0f}")]
    if not made.looks:
        return [*page, text("Nothing was looked at, so there is nothing to count.")]
    symptoms = now.reasoner.knowledge.symptoms
    for number, one in enumerate(made.looks, 1):
        name = f"{_by(one.turn.team)}{symptoms[one.turn.symptom].name}"
        page.append(item(f"{name}: {_worth(now, one)}", f"{number}."))
    return [*page, note(BITS)]


def _worth(now: Consultation, one: Look) -> str:
    if one.best_bits < now.reasoner.knowledge.likelihood.stop.least_bits:
        return f"{one.bits:.2f} bits; nothing was left to learn by looking"
    if one.turn.symptom == one.best or one.share > NEARLY:
        return f"{one.bits:.2f} bits; nothing could tell more"
    best = now.reasoner.knowledge.symptoms[one.best].name
    return f"{one.bits:.2f} bits; best was {best}, {one.best_bits:.2f}"


def _by(team: str) -> str:
    return f"{team}, " if team else ""


def _causes(played: Round, made: Score) -> Page:
    points = sum(p for _, p in made.named)
    page: Page = [heading(f"The cause: {points:.0f} of {CAUSE[0]:.0f}")]
    if not made.named:
        return [*page, text("No cause was named.")]
    for turn, got in made.named:
        name = cause_name(played.now.reasoner.knowledge, turn.cause) if turn.cause else "given up"
        page.append(item(f"{_by(turn.team)}{small(name)}: {'right' if got else 'not it'}"))
    first = next((t.cause for t, got in made.named if t.cause and not got), None)
    if first is not None:
        page += reasons.rather(played.now, played.hidden.cause, first)
    return page


def _measure(played: Round, made: Score) -> Page:
    if made.measure is None:
        return [heading("The measure"), text("None was chosen.")]
    turn, judged, points = made.measure
    chosen = played.now.reasoner.knowledge.remedies[turn.remedy].text
    why = f", because {judged.because}" if judged.because else ""
    return [
        heading(f"The measure: {points:.0f} of {MEASURE['fits']:.0f}"),
        item(f"{_by(turn.team)}{chosen}"),
        entry(f"{JUDGED[judged.verdict]}{why}.".replace("..", "."), "Here:"),
    ]


def detective(played: Round) -> Page:
    """What a good detective would have asked: each time what tells most."""
    journal, cause = played.detective, played.hidden.cause
    page: Page = [heading("What a good detective would have looked at")]
    for number, (step, after) in enumerate(zip(journal.steps, journal.states[1:], strict=True), 1):
        assert isinstance(step, Answered)
        words = finding(after.reasoner.knowledge, step.symptom, step.value)
        chance = percent(dict(after.standing).get(cause, 0.0))
        page.append(item(f"{words} (then {chance})", f"{number}."))
    if not journal.steps:
        page.append(text("Nothing more: what was told is enough."))
    return page


def _case(played: Round) -> Page:
    """The cause, whether it matters, what may be eaten, and the case's own words."""
    now, knowledge = played.now, played.now.reasoner.knowledge
    plan = now.plan(played.hidden.cause)
    page: Page = [
        entry(cause_name(knowledge, played.hidden.cause), ""),
        text(f"{DECISIONS[plan.decision]} {plan.matters}"),
        text(f"To eat: {plan.harvest}"),
    ]
    if played.hidden.story and not played.hidden.words:
        page.append(text(f'In the gardener\'s words: "{played.hidden.story}"'))
    return page


def plan(played: Round) -> Page:
    """The whole plan for the hidden cause, after what was seen."""
    return answer.whole_plan(played.now, played.now.plan(played.hidden.cause))


def kept_line(name: str, kept: Record, knowledge: Knowledge) -> str:
    """One line on a kept round: its name, plant, level, and whether it is over."""
    crop = knowledge.crops.get(kept.hidden.crop)
    about = small(crop.name) if crop else kept.hidden.crop
    looks = len(kept.turns)
    ended = "over" if kept.state == "finished" else "to go on with"
    when = kept.begun.replace("T", " ")[:16]
    return f"{name}: {when}, {about}, {kept.hidden.level}, {looks} turns, {ended}"
