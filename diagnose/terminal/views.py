"""What a person reads: each view turns a consultation or the knowledge into a page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import inf

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.kb.model import ABSENT, PRESENT, Crop, DegreeDays, Knowledge, Season, Span, figure
from diagnose.reading import Reading
from diagnose.reasoning import facts
from diagnose.reasoning.advice import Plan
from diagnose.reasoning.explain import Reason
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import SOMETHING_ELSE, WORDS, Ranked, Weight
from diagnose.seasons.calendar import Moment, Place
from diagnose.seasons.degree_days import Day, reached, total
from diagnose.terminal.page import Block, Page, entry, heading, item, note, text, title, warning

DECISIONS = {
    "act": "Worth acting on now.",
    "watch": "Keep an eye on it.",
    "leave": "Nothing needs doing.",
    "refer": "This one is for someone who can test or treat it: ask before you act.",
}
RUNGS = {
    "leave": "leave and watch",
    "growing": "growing practice",
    "hands": "hands and barriers",
    "helpers": "living helpers",
}
SHOWN = 5  # causes in a ranking
SLIGHT = 0.5  # decibans: lighter weights are not worth a line


def day(when: date) -> str:
    """A date as a person writes it: 5 June 2026."""
    return f"{when.day} {when:%B %Y}"


def percent(chance: float) -> str:
    """A chance in words and figures that do not pretend to be exact."""
    if chance < 0.01:
        return "under 1 %"
    return "over 99 %" if chance > 0.99 else f"{round(chance * 100)} %"


def cause_name(knowledge: Knowledge, cause: str) -> str:
    """A cause's name; 'something else' for what is not known."""
    return "something else" if cause == SOMETHING_ELSE else knowledge.causes[cause].name


def said(knowledge: Knowledge, symptom: str, value: str) -> str:
    """An observation as a person would say it."""
    if symptom == WORDS:
        return "your wording, beside its described cases"
    found = knowledge.symptoms[symptom]
    if value == ABSENT:
        return f"not: {found.name}"
    if value == PRESENT:
        return found.name
    return f"{found.name}: {found.value_name(value)}"


def observation(knowledge: Knowledge, seen: Observation) -> str:
    """An observation, with the gardener's own words where there are any."""
    line = said(knowledge, seen.symptom, seen.value)
    if seen.words:
        line += f" (you wrote: {seen.words})"
    return line + (" (from the date and place)" if seen.source == "rule" else "")


def what_was_read(knowledge: Knowledge, reading: Reading) -> Page:
    """What a text was understood to say, for a yes or a correction."""
    page: Page = []
    if reading.observations:
        page.append(heading("This is what I understood"))
        page += [
            item(observation(knowledge, seen), f"{number}.")
            for number, seen in enumerate(reading.observations, 1)
        ]
    else:
        page.append(text("I found nothing in those words that I know how to use."))
    if reading.guesses:
        names = ", ".join(knowledge.causes[g].name for g in reading.guesses[:4])
        page.append(note(f"You named {names}. I keep that in mind, but go by what is seen."))
    if reading.unread:
        page.append(note("Not used: " + "; ".join(f'"{part}"' for part in reading.unread)))
    if reading.foreign:
        page.append(note("Most of those words are strange to me. I read English only."))
    return page


def weights(knowledge: Knowledge, found: Sequence[Weight], level: int = 1) -> Page:
    """The points for and against, in decibans, heaviest first."""
    return [
        item(f"{said(knowledge, w.symptom, w.value)}", f"{w.decibans:+.0f}", level)
        for w in found
        if abs(w.decibans) >= SLIGHT
    ]


def ranking(consultation: Consultation, shown: int = SHOWN) -> Page:
    """The likeliest causes with their points."""
    knowledge = consultation.reasoner.knowledge
    page: Page = [heading("What it may be")]
    for number, ranked in enumerate(consultation.ranked[:shown], 1):
        if number > 1 and ranked.chance < 0.01:
            break
        page.append(entry(_named(knowledge, ranked), f"{number}."))
        if ranked.cause == SOMETHING_ELSE:
            page.append(note("none of the problems I know", 1))
        page += weights(knowledge, ranked.weights)
    return page


def _named(knowledge: Knowledge, ranked: Ranked) -> str:
    return f"{cause_name(knowledge, ranked.cause)}, {percent(ranked.chance)}"


def what_it_is_not(consultation: Consultation, most: int = 3) -> Page:
    """Look-alikes of the leading cause and what tells them apart; what a rule ruled out."""
    knowledge = consultation.reasoner.knowledge
    page: Page = []
    if consultation.leading:
        cause = knowledge.causes[consultation.leading.cause]
        likely = {r.cause: r.chance for r in consultation.ranked}
        alike = sorted(
            (other for other in cause.looks_like if other in likely),
            key=lambda other: -likely[other],
        )
        page += [
            item(f"{knowledge.causes[other].name} ({percent(likely[other])}). "
                 f"{cause.looks_like[other]}")
            for other in alike[:most]
        ]  # fmt: skip
    for other, because in consultation.ruled_out.items():
        page.append(item(f"{knowledge.causes[other].name}: ruled out, because {because}."))
    return [heading("What it is easily taken for"), *page] if page else []


def loose_ends(consultation: Consultation) -> Page:
    """What the leading cause leaves unexplained, and a second cause that would explain it."""
    knowledge = consultation.reasoner.knowledge
    if not consultation.unexplained or consultation.leading is None:
        return []
    left = "; ".join(said(knowledge, o.symptom, o.value) for o in consultation.unexplained)
    page: Page = [heading("Not explained by this"), text(left)]
    if consultation.second:
        page.append(
            text(f"A second problem at the same time could be: "
                 f"{knowledge.causes[consultation.second[0]].name}.")
        )  # fmt: skip
    return page


def plan(consultation: Consultation, chosen: Plan) -> Page:
    """The plan, in the order in which it is of use."""
    knowledge = consultation.reasoner.knowledge
    cause = knowledge.causes[chosen.cause]
    page: Page = [
        heading(f"What to do, if it is {cause.name.lower()}"),
        text(cause.summary),
        text(f"{DECISIONS[chosen.decision]} {chosen.matters}"),
    ]
    if chosen.threshold:
        page.append(text(f"When to act: {chosen.threshold}"))
    if chosen.now:
        page.append(heading("Now, gentlest first"))
        page += [item(f"{s.text} ({RUNGS[s.rung]})", f"{n}.") for n, s in enumerate(chosen.now, 1)]
    page += [heading("What may be eaten"), text(chosen.harvest)]
    if chosen.next_season:
        page.append(heading("Next season"))
        page += [item(s.text) for s in chosen.next_season]
    page += [
        heading("Look again"),
        text(f"On {day(consultation.look_again(chosen))}, for {chosen.look_again_for}."),
    ]
    page += [warning(knowledge.cautions[c].text) for c in chosen.cautions]
    if chosen.referrals:
        page.append(heading("Whom to ask"))
        page += [text(knowledge.referrals[r].text) for r in chosen.referrals]
    return page


def nothing_fits() -> Page:
    """Where something else is likelier than anything known."""
    return [
        heading("None of what I know fits well"),
        text(
            "Take clear photographs, of the whole plant and of the damage, and ask your local "
            "extension service or plant clinic. Until then do nothing drastic, and eat nothing "
            "that looks or smells wrong."
        ),
    ]


def outcome(consultation: Consultation) -> Page:
    """The whole answer: ranking, look-alikes, loose ends, plan."""
    page = ranking(consultation)
    page += what_it_is_not(consultation)
    page += loose_ends(consultation)
    if consultation.leading is None:
        return page + nothing_fits()
    return page + plan(consultation, consultation.plan(consultation.leading.cause))


def so_far(consultation: Consultation) -> Page:
    """What is known at this point, and where it points."""
    knowledge = consultation.reasoner.knowledge
    page: Page = [heading("So far")]
    if consultation.crop:
        page.append(text(f"Crop: {knowledge.crops[consultation.crop].name}."))
    page += [item(observation(knowledge, seen)) for seen in consultation.counted]
    page += [item(f"not sure: {knowledge.symptoms[s].name}") for s in consultation.unsure]
    return page + ranking(consultation, 3)


def why_asked(consultation: Consultation, symptom: str) -> Page:
    """Why a question is asked: what each answer would do to the likeliest causes."""
    knowledge = consultation.reasoner.knowledge
    found = knowledge.symptoms[symptom]
    page: Page = [heading("Why I ask")]
    if found.look:
        page.append(text(f"How to look: {found.look}"))
    page.append(text("Each answer would make these the likeliest:"))
    for value in consultation.offered(symptom):
        after = consultation.answer(symptom, value).ranked[:2]
        names = ", ".join(_named(knowledge, r) for r in after)
        page.append(item(f"{found.value_name(value)}: {names}"))
    page += trace(consultation.trace)
    return page


def trace(reasons: Sequence[Reason]) -> Page:
    """The rules that fired and what they concluded, in order."""
    if not reasons:
        return []
    page: Page = [heading("What I concluded by rule")]
    for reason in reasons:
        skipped = facts.concluded(reason.gives, facts.SKIP)
        gives = [_fact(f) for f in reason.gives if facts.split(f)[0] != facts.SKIP]
        if skipped:
            gives.append("no need to ask of " + ", ".join(s.replace("-", " ") for s in skipped))
        since = ", ".join(_fact(f) for f in reason.facts)
        page.append(
            item(f"{'; '.join(gives)}, because {reason.because} (from {since}; rule {reason.rule})")
        )
    return page


def _fact(found: str) -> str:
    name, value = facts.split(found)
    return f"{name.replace('-', ' ')}: {value.replace('-', ' ')}"


def season_words(season: Season) -> str:
    """A season as a person reads it."""
    if isinstance(season, str):
        return season
    spans = [season] if isinstance(season, Span) else season
    return "; ".join(f"{span.from_} to {span.to}" for span in spans)


def crops(knowledge: Knowledge) -> Page:
    """The crops that are known, by family."""
    families: dict[str, list[str]] = {}
    for crop in knowledge.crops.values():
        families.setdefault(crop.family, []).append(crop.name.lower())
    page: Page = [title(f"{len(knowledge.crops)} crops")]
    for family, found in sorted(families.items()):
        page.append(item(f"{family.replace('-', ' ')}: {', '.join(sorted(found))}"))
    return page


def crop_page(knowledge: Knowledge, crop_id: str) -> Page:
    """What the knowledge says of a crop."""
    crop = knowledge.crops[crop_id]
    page: Page = [title(crop.name)]
    if crop.also:
        page.append(text("Also called: " + ", ".join(crop.also) + "."))
    page.append(
        text(f"Family: {crop.family.replace('-family', '')}. Eaten: {', '.join(crop.eaten)}.")
    )
    page += [
        text(f"{label}: {season_words(season)}.")
        for label, season in (("Sow or set out", crop.season.sow), ("Harvest", crop.season.harvest))
        if season
    ]
    page += _sowing(crop)
    if crop.normal:
        page.append(heading("What is normal"))
        page += [item(f"{stage}: {words}") for stage, words in crop.normal.items()]
    if crop.limits:
        page.append(heading("Limits"))
        page += [item(f"{what.replace('-', ' ')}: {words}") for what, words in crop.limits.items()]
    page.append(heading("What troubles it"))
    scale = knowledge.likelihood.commonness
    found = [
        (-figure(common, scale), common, cause.name, cause_id)
        for cause_id, cause in knowledge.causes.items()
        if (common := cause.commonness(crop_id, crop.family))
    ]
    page += [item(f"{name} ({common}; {cause_id})") for _, common, name, cause_id in sorted(found)]
    return page


def _sowing(crop: Crop) -> Page:
    page: Page = []
    if crop.sowing:
        depth, apart = (
            "-".join(f"{bound:g}" for bound in dict.fromkeys(bounds))
            for bounds in (crop.sowing.depth_cm, crop.sowing.apart_cm)
        )
        page.append(text(f"Depth {depth} cm, {apart} cm apart in the row."))
    if crop.germination_c:
        warm = crop.germination_c
        best = " to ".join(f"{bound:g}" for bound in warm.best)
        page.append(text(f"Comes up at {warm.min:g} to {warm.max:g} C, best at {best} C."))
    return page


def symptom_page(knowledge: Knowledge, symptom_id: str) -> Page:
    """What the knowledge says of a symptom."""
    symptom = knowledge.symptoms[symptom_id]
    page: Page = [title(symptom.name[:1].upper() + symptom.name[1:]), text(symptom.ask)]
    if symptom.look:
        page.append(text(symptom.look))
    for value, spec in symptom.values.items():
        look = "" if isinstance(spec, str) or not spec.look else f" {spec.look}"
        page.append(item(f"{symptom.value_name(value)}.{look}"))
    page.append(heading("What it points to"))
    for cause in knowledge.causes.values():
        line = cause.evidence.get(symptom_id)
        if line is not None:
            page.append(item(f"{cause.name}: {_evidence(symptom_id, line, knowledge)}"))
    background = symptom.background
    page.append(note(f"Otherwise: {_evidence(symptom_id, background, knowledge)}."))
    return page


def _evidence(symptom_id: str, line: object, knowledge: Knowledge) -> str:
    if not isinstance(line, dict):
        return str(line)
    symptom = knowledge.symptoms[symptom_id]
    names = {"none": "none of these", PRESENT: "yes"}
    return "; ".join(
        f"{names.get(value) or symptom.value_name(value)}, {word}" for value, word in line.items()
    )


def cause_page(knowledge: Knowledge, cause_id: str) -> Page:
    """What the knowledge says of a cause."""
    cause = knowledge.causes[cause_id]
    page: Page = [title(cause.name)]
    if cause.also:
        page.append(text("Also called: " + ", ".join(cause.also) + "."))
    code = f" EPPO code {cause.code}." if cause.code else ""
    page.append(text(f"{cause.summary} ({cause.kind}.{code})"))
    hosts = ", ".join(f"{host} ({common})" for host, common in cause.hosts.items())
    page += [text(f"On: {hosts}."), text(f"Season: {season_words(cause.season)}.")]
    if cause.degree_days:
        page += _degree_days(cause.degree_days)
    page.append(heading("What is seen"))
    for symptom_id, line in cause.evidence.items():
        name = knowledge.symptoms[symptom_id].name
        page.append(item(f"{name}: {_evidence(symptom_id, line, knowledge)}"))
    if cause.looks_like:
        page.append(heading("Easily taken for"))
        page += [
            item(f"{knowledge.causes[other].name}: {tell}")
            for other, tell in cause.looks_like.items()
        ]
    page += [
        Block("heading", label) if kind == "heading" else text(label)
        for kind, label in _cause_prose(knowledge, cause_id)
    ]
    return page


def _degree_days(model: DegreeDays) -> Page:
    upper = f" and up to {model.upper_c:g}" if model.upper_c is not None else ""
    method = model.method or "the source does not say how they are reckoned"
    start = f"counted from {model.start}" if model.start else "the source names no first day"
    page: Page = [
        heading("When it comes, by warmth"),
        text(f"Degree-days above {model.lower_c:g}{upper} C ({method}; {start}):"),
    ]
    return page + [item(f"{event}: {needed:.0f}") for event, needed in model.events.items()]


def warmth(knowledge: Knowledge, cause_id: str, days: Sequence[Day], place: Place) -> Page:
    """When each event of a cause's degree-day model came in a table of daily temperatures.

    Raises UsageError where the cause has no model to reckon by, or the table begins too late.
    """
    model = knowledge.causes[cause_id].degree_days
    if model is None or model.method is None or model.start is None:
        able = [
            other
            for other, cause in knowledge.causes.items()
            if cause.degree_days and cause.degree_days.method and cause.degree_days.start
        ]
        raise UsageError(
            f"no degree-days can be reckoned for {cause_id}; they can for {', '.join(able)}"
        )
    last = days[-1].date
    moment = Moment.parse(model.start)
    start = max(
        begins
        for year in (last.year - 1, last.year)
        if (begins := moment.find(year, place)) <= last
    )
    if days[0].date > start:
        raise UsageError(f"the weather begins on {days[0].date}; it is needed from {start} on")
    counted = [one for one in days if one.date >= start]
    upper = inf if model.upper_c is None else model.upper_c
    so_far = total(counted, model.method, model.lower_c, upper)
    found = reached(counted, model.events, model.method, model.lower_c, upper)
    return [
        heading(f"By this weather, from {day(start)} to {day(last)}"),
        text(f"{so_far:.0f} degree-days so far."),
        *(
            item(f"{event}: {day(found[event]) if event in found else 'not yet'}")
            for event in model.events
        ),
    ]


def _cause_prose(knowledge: Knowledge, cause_id: str) -> list[tuple[str, str]]:
    cause = knowledge.causes[cause_id]
    found = [("heading", "How it works")]
    found += [("text", words) for words in (cause.mechanism, cause.spread) if words]
    found += [
        ("heading", "Whether it matters"),
        ("text", f"{DECISIONS[cause.matters.decision]} {cause.matters.text}"),
    ]
    if cause.matters.threshold:
        found.append(("text", cause.matters.threshold))
    found += [("heading", "What to do")]
    found += [("text", knowledge.remedies[r].text) for r in (*cause.remedies, *cause.next_season)]
    found += [("heading", "What may be eaten"), ("text", cause.harvest)]
    if cause.sources:
        found.append(("heading", "Sources"))
        more = cause.degree_days.sources if cause.degree_days else ()
        for source_id in dict.fromkeys((*cause.sources, *more)):
            source = knowledge.sources[source_id]
            parts = [source.title, source.publisher, str(source.year or ""), source.where]
            found.append(("text", ". ".join(p for p in parts if p) + f" ({source.seen})."))
    return found
