"""Pages of the knowledge: what it says of a crop, a symptom, a cause or a danger."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from diagnose.errors import UsageError
from diagnose.kb import names
from diagnose.kb.model import PRESENT, Crop, DegreeDays, Helper, Knowledge, Season, Span, figure
from diagnose.pages import pictures
from diagnose.pages.blocks import Block, Page, figures, heading, item, note, text, title
from diagnose.pages.sayings import DECISIONS, day, length
from diagnose.pages.sayings import warmth as warmth_of
from diagnose.seasons.calendar import Moment, Place
from diagnose.seasons.degree_days import Day, reached, total

HELPERS: dict[Helper, str] = {
    "poison-center": "your poison center",
    "emergency-number": "the emergency number",
    "vet": "your veterinarian",
    "doctor": "a doctor",
    "extension": "your local extension service",
    "soil-lab": "a soil laboratory",
    "health-department": "your local health department",
    "pesticide-agency": "your state pesticide agency",
    "weed-office": "your local weed office",
    "state-agriculture": "your state department of agriculture",
    "site-manager": "the person in charge of the site",
    "wildlife-office": "your local wildlife office",
}

LIGHT = {"sun": "It wants full sun.", "bears": "It bears some shade."}


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
    eaten = ", ".join(crop.eaten) or "nothing of it"
    page.append(text(f"Family: {crop.family.replace('-family', '')}. Eaten: {eaten}."))
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
        depth, apart = length(crop.sowing.depth_cm), length(crop.sowing.apart_cm)
        page.append(text(f"Depth {depth}, {apart} apart in the row."))
    if crop.germination_c:
        warm = crop.germination_c
        bounds = [bound for bound in (warm.min, warm.max) if bound is not None]
        page.append(text(f"Comes up at {warmth_of(bounds)}, best at {warmth_of(warm.best)}."))
    if crop.growth_c and crop.growth_c.best:
        page.append(text(f"Grows best at {warmth_of(crop.growth_c.best)}."))
    page.append(text(LIGHT[crop.shade]))
    if crop.rotation:
        page.append(text(f"Group in the rotation: {crop.rotation}."))
    return page


def symptom_page(knowledge: Knowledge, symptom_id: str) -> Page:
    """What the knowledge says of a symptom."""
    symptom = knowledge.symptoms[symptom_id]
    page: Page = [title(symptom.name[:1].upper() + symptom.name[1:]), text(symptom.ask)]
    if symptom.look:
        page.append(text(symptom.look))
    if symptom.counts:
        page.append(text(f"What counts: {symptom.counts}"))
    for value, spec in symptom.values.items():
        look = "" if isinstance(spec, str) or not spec.look else f" {spec.look}"
        page.append(item(f"{symptom.value_name(value)}.{look}"))
    if drawn := pictures.of_symptom(knowledge, symptom_id):
        page.append(figures(drawn))
    page.append(heading("What it points to"))
    for cause in knowledge.causes.values():
        line = cause.evidence.get(symptom_id)
        if line is not None:
            page.append(item(f"{cause.name}: {_evidence(symptom_id, line, knowledge)}"))
    for where in symptom.background_where:
        named = "; ".join(", ".join(v.replace("-", " ") for v in vs) for vs in where.when.values())
        page.append(note(f"Otherwise ({named}): {where.is_}."))
    background = symptom.background
    page.append(note(f"Otherwise: {_evidence(symptom_id, background, knowledge)}."))
    return page


def _evidence(symptom_id: str, line: object, knowledge: Knowledge) -> str:
    if not isinstance(line, dict):
        return str(line)
    symptom = knowledge.symptoms[symptom_id]
    plain = {"none": "none of these", PRESENT: "yes"}
    return "; ".join(
        f"{plain.get(value) or symptom.value_name(value)}, {word}" for value, word in line.items()
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


def term_page(knowledge: Knowledge, term_id: str) -> Page:
    """What a word of the trade means."""
    term = knowledge.glossary[term_id]
    page: Page = [title(term.name[:1].upper() + term.name[1:]), text(term.text)]
    return [*page, text("Also: " + ", ".join(term.also) + ".")] if term.also else page


def what_is(knowledge: Knowledge, name: str) -> Page:
    """In short, what a word of the trade, a cause, a sign or a danger is; empty where unknown."""
    term_id = names.term(knowledge, name)
    if term_id is not None:
        term = knowledge.glossary[term_id]
        return [text(f"{term.name[:1].upper()}{term.name[1:]}: {term.text}")]
    page: Page = []
    for kind, ident in names.find(knowledge, name):
        match kind:
            case "causes":
                cause = knowledge.causes[ident]
                page.append(text(f"{cause.name}: {cause.summary}"))
            case "dangers":
                danger = knowledge.dangers[ident]
                page.append(Block("warning", f"{danger.name}: {danger.harm} {danger.first_aid}"))
            case "symptoms":
                symptom = knowledge.symptoms[ident]
                look = symptom.look or symptom.counts or symptom.ask
                page.append(text(f"{symptom.name[:1].upper()}{symptom.name[1:]}: {look}"))
            case "crops":
                crop = knowledge.crops[ident]
                page.append(text(f"{crop.name}: a plant of the {crop.family.replace('-', ' ')}."))
    return page


def danger_page(knowledge: Knowledge, danger_id: str) -> Page:
    """What the knowledge says of a danger: first aid first."""
    danger = knowledge.dangers[danger_id]
    page: Page = [title(danger.name)]
    if danger.also:
        page.append(text("Also called: " + ", ".join(danger.also) + "."))
    page += [heading("What to do first"), Block("warning", danger.first_aid)]
    page.append(text("Whom to ask: " + ", ".join(HELPERS[helper] for helper in danger.ask) + "."))
    parts = (
        ("How it looks", danger.look), ("How it harms", danger.harm),
        ("Until it is settled", danger.until_known), ("What may be eaten", danger.eat),
    )  # fmt: skip
    for label, words in parts:
        page += [heading(label), text(words)]
    if danger.doubles:
        page.append(heading("What it is taken for"))
        page += [item(f"{double.of}: {double.tell}") for double in danger.doubles]
        page.append(note("A sign like this only raises suspicion. It never makes a plant food."))
    page.append(heading("Sources"))
    return page + [text(source_line(knowledge, source)) for source in danger.sources]


def source_line(knowledge: Knowledge, source_id: str) -> str:
    """A source in one line."""
    source = knowledge.sources[source_id]
    parts = [source.title, source.publisher, str(source.year or ""), source.where]
    return ". ".join(p for p in parts if p) + f" ({source.seen})."


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
            found.append(("text", source_line(knowledge, source_id)))
    return found
