"""Pages for a class on paper: the plan of a lesson, a sheet to fill in, and its key."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diagnose.journal import Journal
from diagnose.kb.model import NONE, PRESENT, Frequency, Knowledge, figure
from diagnose.pages import answer, first, practice
from diagnose.pages.blocks import (
    Figure,
    Page,
    box,
    entry,
    figures,
    heading,
    item,
    note,
    room,
    text,
    title,
    warning,
)
from diagnose.pages.demonstration import trail
from diagnose.pages.pictures import of_answers, of_found
from diagnose.pages.sayings import DECISIONS, cause_name, day, finding, plant_name
from diagnose.reasoning.advice import Plan
from diagnose.teaching.lesson import MINUTES, Lesson, Portion
from diagnose.teaching.practice import Round
from diagnose.teaching.score import score

NAMES: dict[Portion, str] = {
    "story": "The story",
    "look": "Look, and write down",
    "steps": "One step at a time",
    "alike": "What else could it be?",
    "do": "What to do",
    "end": "To end with",
}
CAREFUL = (
    "Nobody tastes what has not been named. Hands are washed after plants and soil, and before "
    "eating."
)
SHOWN_FROM: Frequency = "sometimes"  # what is rarer is left off a page to hand out
SIGNS, ALIKE = 12, 6  # lines on it
COMPARED = 5  # pictures to compare: a row
TIMES = "The minutes are common practice, without a source; change them as you need."
LOOKS, DRAWING = 8, 5  # rows to write what was looked at, lines to draw in


def plan(made: Lesson) -> Page:
    """The plan of a lesson of 25 minutes, with what to bring."""
    knowledge = made.end.reasoner.knowledge
    about = plant_name(made.end)
    page: Page = [
        title(f"A lesson of {sum(MINUTES.values())} minutes: what is wrong with the {about}?"),
        heading("What to bring"),
        *(item(thing) for thing in made.bring),
        item("a copy of the sheet for each pair, and something to write with"),
        warning(CAREFUL),
        *(warning(knowledge.cautions[c].text) for c in made.plan.cautions),
    ]
    at = 0
    for portion, minutes in MINUTES.items():
        page.append(heading(f"{NAMES[portion]}: minute {at} to {at + minutes}"))
        page += _portion(made, portion)
        at += minutes
    return [*page, note(TIMES)]


def _portion(made: Lesson, portion: Portion) -> Page:
    knowledge = made.end.reasoner.knowledge
    symptoms = knowledge.symptoms
    match portion:
        case "story":
            return [text("Read it aloud. Ask nobody yet what it is."),
                    text(f'"{made.case.text}"')]  # fmt: skip
        case "look":
            return [
                text("In pairs, at the bed or with what you brought. Write what is seen, not what "
                     "it may be:"),
                *(item(symptoms[step.symptom].ask) for step in made.asked),
            ]  # fmt: skip
        case "steps":
            return [text("Show the demonstration. Before each answer the class says which bar will "
                         "grow, and one child says why.")]  # fmt: skip
        case "alike":
            return [
                item(f"{knowledge.causes[cause].name}: {tell}") for cause, tell in made.alike
            ] or [text("Nothing known is easily taken for it.")]
        case "do":
            return [
                text("First each pair says what it would do. Then:"),
                text(DECISIONS[made.plan.decision]),
                *(item(step.text) for step in made.plan.now[: answer.MEASURES]),
            ]
        case "end":
            return [
                text(f"May it be eaten? {made.plan.harvest}"),
                text(f"Look again on {day(made.end.look_again(made.plan))}. Wash hands."),
            ]


def sheet(
    about: str = "", story: str = "", looks: Iterable[str] = (), compare: Sequence[Figure] = ()
) -> Page:
    """An observation sheet to fill in; empty, or for a story, things to look at and to compare."""
    named = f" of the {about}" if about else ""
    page: Page = [title(f"Observation sheet{named}"), room("Names:", 1), room("Day and bed:", 1)]
    if story:
        page.append(text(f'"{story}"'))
    asked = list(looks)
    page.append(heading("What we looked at, and what we saw"))
    page += [room(ask, 1) for ask in asked] or [room("", LOOKS)]
    if compare:
        page += [heading("Which is most like it?"), figures(compare)]
    page += [
        heading("A drawing of what we saw"), box("", DRAWING),
        heading("What we think"),
        room("It may be:", 1), room("Because:", 2), room("What would show that we are wrong:", 1),
        heading("What we would do"), room("The gentlest thing that helps:", 2),
        warning(CAREFUL),
    ]  # fmt: skip
    return page


def lesson_sheet(made: Lesson) -> Page:
    """The sheet of a lesson, for its story."""
    symptoms = made.end.reasoner.knowledge.symptoms
    looks = (symptoms[step.symptom].ask for step in made.asked)
    return sheet(plant_name(made.end), made.case.text, looks, _to_compare(made))


def _to_compare(made: Lesson) -> list[Figure]:
    """Pictures of one sign to choose from, the right one among them: of the first with two."""
    knowledge = made.end.reasoner.knowledge
    for step in made.asked:
        symptom = knowledge.symptoms[step.symptom]
        drawn = of_answers(knowledge, step.symptom, list(symptom.values))
        right = [f for f in drawn if f.drawing.form in symptom.forms(step.value)]
        if symptom.kind in ("symptom", "sign") and right and len(drawn) >= 2:
            some = [*right, *(f for f in drawn if f not in right)][:COMPARED]
            return [Figure(f.name, f.drawing) for f in drawn if f in some]
    return []


def key(made: Lesson) -> Page:
    """The answers to the sheet of a lesson, for who teaches it."""
    knowledge = made.end.reasoner.knowledge
    page: Page = [title("Key: for who teaches"), entry(cause_name(knowledge, made.cause), "It is:")]
    page.append(text(knowledge.causes[made.cause].summary))
    page.append(heading("What is seen, and what it tells"))
    page += [item(line, f"{n}.") for n, line in enumerate(trail(made.journal), 1)]
    page += _figures(of_found(knowledge, ((step.symptom, step.value) for step in made.asked)))
    return page + _do(knowledge, made.plan)


def _do(knowledge: Knowledge, made: Plan) -> Page:
    """Whether it matters, what to do, what may be eaten, and what to mind."""
    page: Page = [heading("What to do"), text(f"{DECISIONS[made.decision]} {made.matters}")]
    page += [item(step.text, f"{n}.") for n, step in enumerate(made.now, 1)]
    page.append(text(f"To eat: {made.harvest}"))
    return page + [warning(knowledge.cautions[c].text) for c in made.cautions]


def demonstration(journal: Journal, story: str, expected: str) -> Page:
    """A demonstration on paper: the steps with their reasons, the answer, the plan."""
    now = journal.now
    about = plant_name(now)
    page: Page = [title(f"{about[:1].upper()}{about[1:]}, {day(now.day)}: step by step")]
    if story:
        page.append(text(f'"{story}"'))
    page += first.alerts(now.alerts)
    page.append(heading("What was seen, and what it told"))
    page += [item(line, f"{n}.") for n, line in enumerate(trail(journal), 1)]
    seen = ((o.symptom, o.value) for o in now.observations)
    page += _figures(of_found(now.reasoner.knowledge, seen))
    page += [heading("Where that leads"), *answer.short(now)]
    if expected:
        page.append(note(f"The case was written of: {expected}."))
    if now.verdict in ("clear", "likely"):
        page += answer.whole_plan(now, now.plan(now.answers[0].first))
    return page


def problem(played: Round) -> Page:
    """The problem of a round as a sheet to fill in."""
    start, hidden = played.start, played.hidden
    known = [finding(start.reasoner.knowledge, s, hidden.truth[s]) for s in hidden.told]
    made = sheet(plant_name(start), hidden.words)
    return made[:3] + [item(line) for line in known] + made[3:]


def round_key(played: Round) -> Page:
    """The key of a round: the score as far as it was played, and what is right."""
    knowledge = played.now.reasoner.knowledge
    page: Page = [title("Key: for who teaches")]
    if played.turns:
        page += practice.result(played, score(played))
    else:
        name = cause_name(knowledge, played.hidden.cause)
        page += [entry(name, "It is:"), *practice.detective(played)]
    return page + _do(knowledge, played.now.plan(played.hidden.cause))


def cause(knowledge: Knowledge, cause_id: str) -> Page:
    """A cause as a page to hand out: how it shows, what it is taken for, what to do, eating."""
    found = knowledge.causes[cause_id]
    page: Page = [title(found.name), text(found.summary), heading("How it shows")]
    signs = _signs(knowledge, cause_id)
    page += [item(_name(knowledge, *sign)) for sign in signs]
    page += _figures(of_found(knowledge, signs))
    if found.looks_like:
        page.append(heading("Easily taken for"))
        alike = list(found.looks_like.items())[:ALIKE]
        page += [item(f"{knowledge.causes[other].name}: {tell}") for other, tell in alike]
    page.append(heading("How it works"))
    page += [text(words) for words in (found.mechanism, found.spread) if words]
    page.append(heading("Whether it matters"))
    page.append(text(f"{DECISIONS[found.matters.decision]} {found.matters.text}"))
    if found.referral:
        page += [heading("Whom to ask"), text(knowledge.referrals[found.referral].text)]
    page += [
        heading("What to do"),
        *(item(knowledge.remedies[r].text) for r in (*found.remedies, *found.next_season)),
        heading("What may be eaten"), text(found.harvest),
        *(warning(knowledge.cautions[c].text) for c in found.cautions),
    ]  # fmt: skip
    titles = (knowledge.sources[source].title for source in found.sources)
    return [*page, note(f"Sources: {'; '.join(titles)}.")]


def _signs(knowledge: Knowledge, cause_id: str) -> list[tuple[str, str]]:
    """The symptoms and signs, with their forms, by which a cause shows, most frequent first."""
    scale = knowledge.likelihood.frequency
    often: list[tuple[float, str, str]] = []
    for symptom_id, line in knowledge.causes[cause_id].evidence.items():
        if knowledge.symptoms[symptom_id].kind not in ("symptom", "sign"):
            continue
        words = line if isinstance(line, dict) else {PRESENT: line}
        often += [
            (-figure(word, scale), symptom_id, form)
            for form, word in words.items()
            if form != NONE and figure(word, scale) >= scale[SHOWN_FROM]
        ]
    return [(symptom, form) for _, symptom, form in sorted(often)[:SIGNS]]


def _name(knowledge: Knowledge, symptom: str, form: str) -> str:
    if form == PRESENT:
        return knowledge.symptoms[symptom].name
    return finding(knowledge, symptom, form)


def _figures(found: Sequence[Figure]) -> Page:
    return [figures(found)] if found else []
