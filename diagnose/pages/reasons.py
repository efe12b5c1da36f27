"""The reasons, as a teacher would give them: why this question, this cause, and not that."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.consultation import Consultation
from diagnose.kb.model import ABSENT, PRESENT
from diagnose.pages.blocks import Page, entry, heading, item, note, text
from diagnose.pages.sayings import (
    cause_name,
    chance_words,
    listed,
    percent,
    plant_name,
    said,
    small,
    tick_line,
)
from diagnose.reasoning import facts
from diagnose.reasoning.explain import Reason
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import DOUBT, SOMETHING_ELSE, WORDS, Ranked
from diagnose.reasoning.screens import TickScreen

SLIGHT = 0.5  # decibans: lighter weights are not worth a line
TELLING = 2.0  # decibans: what differs less between two causes does not tell them apart
LEFT = (
    "One look answers them all, and together they tell more than one question. What you leave "
    "unticked counts a little against what would show it."
)
NAMED = 2  # answers that are named where several speak for one cause
LIKE_YOURS = "A case described like yours, in our words (by itself it proves nothing)"
POINTS = "Ten points: ten times likelier with this than without; three points: twice."


def why_asked(consultation: Consultation, symptom: str) -> Page:
    """Why a question is asked, in two to four lines, and how to look."""
    knowledge = consultation.reasoner.knowledge
    found = knowledge.symptoms[symptom]
    page: Page = [heading("Why I ask")]
    speaks: dict[str, list[str]] = {}
    for value in consultation.offered(symptom):
        first = _gains(consultation, symptom, value)
        if first is not None:
            speaks.setdefault(first, []).append(_answer(consultation, symptom, value))
    lines = [
        f"{_quoted(values)} would speak for {small(cause_name(knowledge, cause))}"
        for cause, values in speaks.items()
    ]
    taught = _rules_that_ask(consultation, symptom)
    page += [text(f"{because[0].upper()}{because[1:]}.") for because in taught]
    if lines:
        page += [text(f"{line}.") for line in lines[: 3 - len(taught)]]
    elif not taught:
        page.append(text("It would help a little with several causes at once."))
    if found.look:
        page.append(text(f"How to look: {found.look}"))
    return page


def why_screen(consultation: Consultation, screen: TickScreen) -> Page:
    """Why these things are asked of together: for what each would speak, and the unticked."""
    knowledge = consultation.reasoner.knowledge
    page: Page = [heading("Why I ask of these together")]
    for line in screen.lines:
        after = dict(consultation.tick([line]).standing)
        first = _gaining(consultation, after)
        if first is not None:
            cause = small(cause_name(knowledge, first))
            page.append(item(f"{tick_line(knowledge, line)}: would speak for {cause}"))
    return [*page, text(LEFT)]


def _quoted(values: Sequence[str]) -> str:
    """Answers as they stand on the screen, a few of them in full."""
    named = [f'"{value}"' for value in values[:NAMED]]
    more = len(values) - NAMED
    return listed([*named, f"{more} more of them"] if more > 0 else named)


def _rules_that_ask(consultation: Consultation, symptom: str) -> list[str]:
    """What the first rule that asks for a look at it has to say; none where none asks."""
    wanted = facts.fact(facts.ASK, symptom)
    return [r.because for r in consultation.trace if wanted in r.gives][:1]


def _answer(consultation: Consultation, symptom: str, value: str) -> str:
    return consultation.reasoner.knowledge.symptoms[symptom].value_name(value)


def _gains(consultation: Consultation, symptom: str, value: str) -> str | None:
    """The cause for which an answer speaks most; None where it moves none."""
    return _gaining(consultation, dict(consultation.answer(symptom, value).standing))


def _gaining(consultation: Consultation, after: Mapping[str, float]) -> str | None:
    """The cause that gains most by what would be known then; None where none gains a percent."""
    before = dict(consultation.standing)
    gains = {c: after.get(c, 0.0) - p for c, p in before.items() if c != SOMETHING_ELSE}
    best = max(gains, key=lambda c: gains[c], default=None)
    return best if best is not None and gains[best] > 0.01 else None


def why_cause(consultation: Consultation, cause: str) -> Page:
    """What speaks for and against a cause, beginning with where it starts; the lines add up."""
    account = consultation.account(cause)
    chance = dict(consultation.standing).get(cause, 0.0)
    knowledge = consultation.reasoner.knowledge
    words = chance_words(knowledge, chance)
    page: Page = [entry(f"{cause_name(knowledge, cause)}: {words} ({percent(chance)})", "")]
    page += _lines(consultation, account)
    return [*page, text(f"In all {account.total:+.0f}.", 1)]


def why_first(consultation: Consultation) -> Page:
    """Why the first cause leads, and what makes it likelier than each of the next two."""
    causes = [c for c, _ in consultation.standing if c != SOMETHING_ELSE]
    page: Page = [heading("What speaks for what")]
    for first in causes[:1]:
        page += why_cause(consultation, first) + described(consultation, first)
        for rival in causes[1:3]:
            page += rather(consultation, first, rival)
    return [*page, note(POINTS)]


def described(consultation: Consultation, cause: str) -> Page:
    """The described case most like the gardener's words, where these speak for the cause."""
    speaks = any(
        weight.symptom == WORDS and weight.decibans >= TELLING
        for weight in consultation.account(cause).weights
    )
    words = consultation.alike(cause) if speaks else None
    return [text(f'{LIKE_YOURS}: "{words}"', 1)] if words else []


def all_of_them(consultation: Consultation) -> Page:
    """Every reason at once, for `read --explain`."""
    if consultation.verdict == "nothing understood":
        return rules(consultation.trace)
    return why_first(consultation) + what_would_change(consultation) + rules(consultation.trace)


def _lines(consultation: Consultation, account: Ranked) -> Page:
    knowledge = consultation.reasoner.knowledge
    page: Page = [item(starting_point(consultation, account.cause), _points(account.start), 1)]
    for weight in sorted(account.weights, key=lambda w: w.symptom == DOUBT):  # that one last
        if abs(weight.decibans) >= SLIGHT:
            words = said(knowledge, weight.symptom, weight.value)
            page.append(item(words, _points(weight.decibans), 1))
    return page


def _points(decibans: float) -> str:
    side = "for" if decibans >= 0 else "against"
    return f"{decibans:+.0f} {side}:"


def starting_point(consultation: Consultation, cause: str) -> str:
    """Where a cause starts: how common it is on this plant, and whether it is its season."""
    knowledge = consultation.reasoner.knowledge
    found, crop = knowledge.causes[cause], consultation.crop
    if crop:
        common = found.commonness(crop, knowledge.crops[crop].family)
        how = (
            f"{common} on {plant_name(consultation)}" if isinstance(common, str) else "found there"
        )
    else:
        how = "how common it is on the plants that it lives on"
    days = consultation.reasoner.days_outside(consultation.day, consultation.place)[cause]
    start = f"{how}, {'in season' if days == 0 else 'out of season at this date'}"
    return "; ".join([start, *from_record(consultation, cause)])


def from_record(consultation: Consultation, cause: str) -> list[str]:
    """How the bed's record moves a cause, and why."""
    words = {facts.LIKELIER: "likelier", facts.LESS_LIKELY: "less likely"}
    return [
        f"{said} in this bed, because {reason.because}"
        for reason in consultation.trace
        for name, said in words.items()
        if cause in facts.concluded(reason.gives, name)
    ]


def rather(consultation: Consultation, this: str, that: str) -> Page:
    """This rather than that: only what differs between two causes; the lines add up.

    For and against are those of the first of the two.
    """
    knowledge = consultation.reasoner.knowledge
    for cause in (this, that):
        if because := _impossible(consultation, cause):
            return [entry(f"{cause_name(knowledge, cause)}: not here", ""), text(because, 1)]
    one, two = consultation.account(this), consultation.account(that)
    name, other = cause_name(knowledge, this), small(cause_name(knowledge, that))
    chances = dict(consultation.standing)
    words = f"{chance_words(knowledge, chances[that])}, {percent(chances[that])}"
    page: Page = [entry(f"{name} rather than {other} ({words})", "")]
    start = one.start - two.start
    if abs(start) >= SLIGHT:
        began = starting_point(consultation, this), starting_point(consultation, that)
        page.append(item(f"{began[0]}; the other {began[1]}", _points(start), 1))
    differs = _differences(one, two)
    for (symptom, value), more in sorted(differs.items(), key=lambda d: d[0][0] == DOUBT):
        if abs(more) >= SLIGHT:
            page.append(item(said(knowledge, symptom, value), _points(more), 1))
    if len(page) == 1:
        page.append(text("Nothing that was seen tells these two apart.", 1))
    else:
        page.append(text(f"In all {one.total - two.total:+.0f}.", 1))
    tell = knowledge.causes[this].looks_like.get(that) or knowledge.causes[that].looks_like.get(
        this
    )
    return [*page, text(f"How to tell them apart: {tell}", 1)] if tell else page


def _differences(one: Ranked, two: Ranked) -> dict[tuple[str, str], float]:
    """How much more each thing speaks for one cause than for another, in decibans."""
    found: dict[tuple[str, str], float] = {}
    for account, sign in ((one, 1), (two, -1)):
        for weight in account.weights:
            at = (weight.symptom, weight.value)
            found[at] = found.get(at, 0.0) + sign * weight.decibans
    return dict(sorted(found.items(), key=lambda d: -abs(d[1])))


def _impossible(consultation: Consultation, cause: str) -> str | None:
    """Why a cause cannot be at work here at all; None where it can."""
    if cause in consultation.ruled_out:
        return f"Because {consultation.ruled_out[cause]}."
    if cause not in dict(consultation.standing):
        return f"I know it on other plants than {plant_name(consultation)} only."
    return None


def why_not(consultation: Consultation, cause: str) -> Page:
    """Why a cause does not come first."""
    knowledge = consultation.reasoner.knowledge
    name = cause_name(knowledge, cause)
    if because := _impossible(consultation, cause):
        return [heading(f"Why not {small(name)}"), text(because)]
    first = next((c for c, _ in consultation.standing if c != SOMETHING_ELSE), cause)
    if first == cause:
        return [text(f"{name} does come first. Type reasons to see why.")]
    return rather(consultation, first, cause)


def what_would_change(consultation: Consultation) -> Page:
    """The fewest things not looked at yet that would put another cause first."""
    knowledge = consultation.reasoner.knowledge
    found = consultation.would_change
    page: Page = [heading("What would change it")]
    if not found or consultation.leading is None:
        page.append(text("No three things that can still be looked at would put another first."))
        return page
    after = consultation.observe(found).standing[0][0]
    seen = [asked(consultation, o) for o in found]
    page.append(text(f"If this were found: {'; and '.join(seen)}. Then I would think of "
                     f"{small(cause_name(knowledge, after))} first."))  # fmt: skip
    looks = [knowledge.symptoms[o.symptom].look for o in found]
    page += [text(f"How to look: {look}") for look in looks if look]
    return page


def asked(consultation: Consultation, seen: Observation) -> str:
    """Something that could be found, as part of a sentence."""
    knowledge = consultation.reasoner.knowledge
    if seen.value in (ABSENT, PRESENT):
        return said(knowledge, seen.symptom, seen.value)
    symptom = knowledge.symptoms[seen.symptom]
    return f"{symptom.name} ({symptom.value_name(seen.value)})"


def rules(found: Sequence[Reason]) -> Page:
    """The rules that were used and what they concluded, in order; for who wants to know exactly."""
    page: Page = [heading("The rules that were used")]
    for reason in found:
        unasked = (facts.SKIP, facts.HIDDEN)
        skipped = [s for name in unasked for s in facts.concluded(reason.gives, name)]
        told = (*unasked, facts.ASK)
        gives = [_fact(f) for f in reason.gives if facts.split(f)[0] not in told]
        if sooner := facts.concluded(reason.gives, facts.ASK):
            gives.append("look first for " + ", ".join(s.replace("-", " ") for s in sooner))
        if skipped:
            gives.append("no need to ask of " + ", ".join(s.replace("-", " ") for s in skipped))
        since = ", ".join(_fact(f) for f in reason.facts)
        page.append(
            item(f"{'; '.join(gives)}, because {reason.because} (from {since}; rule {reason.rule})")
        )
    return page if len(page) > 1 else [*page, text("None yet.")]


def _fact(found: str) -> str:
    name, value = facts.split(found)
    return f"{name.replace('-', ' ')}: {value.replace('-', ' ')}"
