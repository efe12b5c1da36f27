"""A consultation as slides: a question to predict, the answer, and the bars that it moves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diagnose.consultation import Consultation
from diagnose.journal import (
    Answered,
    Granted,
    Journal,
    Meant,
    Plant,
    Struck,
    Ticked,
    Told,
    Where,
    ticks,
)
from diagnose.pages import answer, first
from diagnose.pages.blocks import Block, Figure, Page, entry, figures, item, note, text
from diagnose.pages.pictures import of_answers, of_found, unnamed
from diagnose.pages.sayings import (
    cause_name,
    day,
    finding,
    listed,
    percent,
    plant_name,
    said,
    small,
)
from diagnose.pages.slide import Bar, Slide
from diagnose.teaching.demonstration import Move, Moved, in_view, moved, moves, newly_ruled_out

SHOWN = 6  # causes with a bar of their own
OTHERS = "everything else"
CLEARLY = 1.25  # times likelier: less is next to nothing


def slides(
    journal: Journal, story: str = "", expected: str = "", predict: bool = True
) -> list[Slide]:
    """A consultation as slides, from before anything is seen to the answer.

    `story` are words that were not counted, `expected` the known cause's name. With `predict` each
    question stands on a slide of its own before its answer.
    """
    view = in_view(journal.states, SHOWN)  # each cause with its highest chance
    found = [_beginning(journal.states[0], story, view)]
    told: set[str] = set()
    asked = 0
    for move in moves(journal):
        if isinstance(move.step, Answered) and move.step.asked:
            asked += 1
            if predict:
                found.append(_question(move, asked, view))
        new = [alert for alert in move.after.alerts if alert.id not in told]
        told |= {alert.id for alert in new}
        if new:
            found.append(Slide("Before we go on", tuple(first.alerts(new))))
        moved_bars = bars(move.after, view, move.before)
        found.append(Slide(_title(move), _seen(move), moved_bars, _drawn(move)))
    return [*found, _end(journal.now, expected, view)]


def bars(
    now: Consultation, view: Mapping[str, float], before: Consultation | None = None
) -> tuple[Bar, ...]:
    """The bars of the causes in view, each in its place, and one for everything else."""
    knowledge = now.reasoner.knowledge
    here, earlier = dict(now.standing), dict(before.standing) if before else None

    def bar(name: str, causes: Iterable[str], peak: float) -> Bar:
        was = sum(earlier.get(c, 0.0) for c in causes) if earlier is not None else None
        return Bar(name, sum(here.get(c, 0.0) for c in causes), was, peak)

    others = [c for c in {**here, **(earlier or {})} if c not in view]
    known = (bar(cause_name(knowledge, c), [c], peak) for c, peak in view.items())
    return (*known, bar(OTHERS, others, 1.0))


def bar_words(bar: Bar) -> str:
    """A bar in words: its name, its chance, and whether it rose or fell."""
    words, way = f"{bar.name}: {percent(bar.now)}", direction(bar)
    return f"{words}, {way} from {percent(bar.before or 0.0)}" if way else words


def direction(bar: Bar) -> str:
    """Where a bar went, up or down; nothing where its figure is the same."""
    if bar.before is None or percent(bar.now) == percent(bar.before):
        return ""
    return "up" if bar.now > bar.before else "down"


def as_page(shown: Slide) -> Page:
    """A slide line by line, its bars in words."""
    drawn = [figures(shown.figures, aside=len(shown.figures) > 1)] if shown.figures else []
    return [
        Block("heading", shown.title), *shown.page, *drawn,
        *(item(bar_words(bar)) for bar in shown.bars),
    ]  # fmt: skip


def _beginning(start: Consultation, story: str, view: Mapping[str, float]) -> Slide:
    about = plant_name(start)
    page: Page = [text(f'"{story}"')] if story else []
    page.append(
        text(f"It is {day(start.day)}. Before anything is seen, by plant and season alone:")
    )
    return Slide(f"What is wrong with {_the(about)}?", tuple(page), bars(start, view))


def _the(about: str) -> str:
    return about if about.startswith("the ") else f"the {about}"


def _question(move: Move, number: int, view: Mapping[str, float]) -> Slide:
    assert isinstance(move.step, Answered)
    symptom = move.before.reasoner.knowledge.symptoms[move.step.symptom]
    offered = move.before.offered(move.step.symptom)
    choices = [symptom.value_name(state) for state in offered]
    page = [text(symptom.ask), *(item(name, f"{n}.") for n, name in enumerate(choices, 1)),
            note("What do you expect? Which bar would then grow?")]  # fmt: skip
    drawn = of_answers(move.before.reasoner.knowledge, move.step.symptom, offered)
    return Slide(f"Question {number}", tuple(page), bars(move.before, view), tuple(drawn))


def _drawn(move: Move) -> tuple[Figure, ...]:
    """The picture of what an answer says is there."""
    if not isinstance(move.step, Answered):
        return ()
    answered = [(move.step.symptom, move.step.value)]
    return tuple(unnamed(of_found(move.after.reasoner.knowledge, answered)))


def _title(move: Move) -> str:
    match move.step:
        case Told():
            return "In the gardener's words"
        case Plant():
            return "The plant"
        case Meant() | Struck() | Granted():
            return "What was understood"
    return "What is seen"


def _seen(move: Move) -> tuple[Block, ...]:
    """What a step brought, and the reason in one sentence."""
    return (entry(_what(move), ""), text(reason(move)))


def _what(move: Move) -> str:
    knowledge = move.after.reasoner.knowledge
    match move.step:
        case Told(words):
            return f'"{words}"'
        case Plant():
            return f"It is {plant_name(move.after)}."
        case Meant():
            return "Yes, that was meant."
        case Struck(symptoms):
            return f"Not meant: {listed((knowledge.symptoms[s].name for s in symptoms), 'and')}."
        case Granted(symptoms):
            return f"Also so: {listed((knowledge.symptoms[s].name for s in symptoms), 'and')}."
        case Answered(symptom, value):
            return f"{_capital(finding(knowledge, symptom, value))}."
        case Where(parts):
            return f"It shows on the {listed(parts, 'and')}." if parts else "Nobody knows where."
        case Ticked(there):
            names = [said(knowledge, one.symptom, one.value) for one in ticks(knowledge, there)]
            return f"Of a list: {listed(names, 'and') if names else 'none of these'}."


def reason(move: Move) -> str:
    """Why the bars moved as they did, in one sentence."""
    knowledge = move.after.reasoner.knowledge
    for cause, because in newly_ruled_out(move).items():
        return f"{cause_name(knowledge, cause)} is ruled out, because {because}."
    found = moved(move)
    up, down = found[0], found[-1]
    rises, falls = (_goes(move, one) for one in (up, down))
    if not (rises or falls):
        return "That tells us next to nothing: no bar moves."
    if rises and up.times >= CLEARLY:
        name = small(cause_name(knowledge, up.cause))
        why = f"With {name} this is seen {_often(up.times)}"
        return f"{why}, so it {_way(up)}{f', and {small(falls)}' if falls else ''}."
    if falls and down.times <= 1 / CLEARLY:
        name = small(cause_name(knowledge, down.cause))
        why = f"With {name} this is seen {_often(down.times)}"
        return f"{why}, so it {_way(down)}{f', and {small(rises)}' if rises else ''}."
    went = [part for part in (rises, falls) if part]
    return f"{listed([went[0], *map(small, went[1:])], 'and')}: {_because(move)}."


def _goes(move: Move, found: Moved) -> str:
    """Where a cause went, as part of a sentence; nothing where its figure is the same."""
    name, way = cause_name(move.after.reasoner.knowledge, found.cause), _way(found)
    return f"{name} {way}" if way else ""


def _way(found: Moved) -> str:
    before, after = percent(found.before), percent(found.after)
    if before == after:
        return ""
    return f"goes {'up' if found.gain > 0 else 'down'} from {before} to {after}"


def _because(move: Move) -> str:
    match move.step:
        case Told():
            return "the words tell of signs, and sound like those of people who had it"
        case Plant():
            return "each plant has troubles of its own"
        case Meant() | Struck() | Granted():
            return "only what was meant counts"
    return "it fits one a little better than the other"


def _often(times: float) -> str:
    """How often something is seen beside elsewhere, in plain words."""
    if times >= CLEARLY:
        return f"about {_figure(times)} times as often as elsewhere"
    return f"about {_figure(1 / times)} times as seldom as elsewhere"


def _figure(times: float) -> str:
    if times < 3:
        return f"{times:.1f}".removesuffix(".0")
    return f"{times:.0f}" if times < 20 else f"{round(times, -1):.0f}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _end(now: Consultation, expected: str, view: Mapping[str, float]) -> Slide:
    page = answer.short(now)
    if expected:
        page.append(note(f"The case was written of: {expected}."))
    return Slide("Where that leads", tuple(page), bars(now, view))


def trail(journal: Journal) -> Iterator[str]:
    """The steps of a consultation in a line each: what it brought, and why the bars moved."""
    for move in moves(journal):
        yield f"{_what(move)} {reason(move)}"
