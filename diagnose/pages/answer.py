"""The answer: short first, then whatever of it is asked for."""

from __future__ import annotations

from diagnose.consultation import MENTIONED, Consultation
from diagnose.kb.model import Knowledge
from diagnose.pages.blocks import Page, entry, heading, item, note, text, warning
from diagnose.pages.sayings import (
    DECISIONS,
    answer_name,
    chance_words,
    day,
    first_sentence,
    listed,
    observation,
    plant_name,
    said,
    small,
    whose,
)
from diagnose.reasoning.advice import Plan
from diagnose.reasoning.pairs import Second
from diagnose.reasoning.ranking import SOMETHING_ELSE

NO_SIGN = "I found no sign in those words that I know how to use."
MEASURES = 3  # in the short answer
NATURAL = 2  # things that are natural, where all is well
LONG = 80  # characters: more is two lines and over on any screen
UNSEEN = 0.9  # words alone are never said to be almost certain
CLASSES = {
    "leave": "leave it",
    "growing": "how you grow it",
    "hands": "hands and barriers",
    "helpers": "good insects and other helpers",
}


def understood(consultation: Consultation) -> Page:
    """What was understood so far, for a yes or a correction: the plant first, then line by line."""
    knowledge, reading = consultation.reasoner.knowledge, consultation.reading
    page: Page = [heading("This is what I understood"), text(f"Plant: {_plant(consultation)}")]
    page += _other_plants(consultation)
    page += [
        item(observation(knowledge, seen), f"{number}.")
        for number, seen in enumerate(consultation.stated, 1)
    ]
    page += perhaps(consultation)
    if not consultation.stated:
        sure = "I am sure of none of these yet." if consultation.weak else NO_SIGN
        page.append(text(sure))
    if reading and reading.guesses:
        names = listed((knowledge.causes[g].name for g in reading.guesses[:4]), "and")
        page.append(note(f"You named {names}. I keep that in mind, but go by what is seen."))
    if reading and reading.unread:
        page.append(note("Not used: " + "; ".join(f'"{part}"' for part in reading.unread)))
    if reading and reading.foreign:
        page.append(note("Most of those words are strange to me. I read English only."))
    return page


def perhaps(consultation: Consultation) -> Page:
    """What the words may say as well, numbered on after what was understood."""
    knowledge, offered = consultation.reasoner.knowledge, consultation.weak
    if not offered:
        return []
    first = len(consultation.stated) + 1
    return [
        text("Perhaps also (type a number if it is so):"),
        *(
            item(observation(knowledge, seen), f"{number}.", 1)
            for number, seen in enumerate(offered, first)
        ),
    ]


def _plant(consultation: Consultation) -> str:
    if consultation.crop is None:
        return "not told"
    return plant_name(consultation)


def _other_plants(consultation: Consultation) -> Page:
    """The plants that are named beside the one that all is taken to be of."""
    knowledge, reading, crop = (
        consultation.reasoner.knowledge, consultation.reading, consultation.crop,
    )  # fmt: skip
    others = [c for c in reading.named if c != crop] if reading and crop else []
    if not others:
        return []
    names = listed((small(knowledge.crops[c].name) for c in others), "and")
    kept = "; ".join(f'"{clause}"' for clause in reading.of_others) if reading else ""
    told = f"Kept for later, as not of {plant_name(consultation)}: {kept}. " if kept else ""
    return [
        note(f"You name {names} too. {told}Name another plant, and I read it all for that one.")
    ]


def short(consultation: Consultation) -> Page:
    """The answer in about ten lines."""
    if consultation.well:
        return _well(consultation)
    match consultation.verdict:
        case "clear" | "likely":
            return _named(consultation)
        case "open":
            return _open(consultation)
        case "nothing understood":
            return _nothing(consultation)


def _named(consultation: Consultation) -> Page:
    knowledge = consultation.reasoner.knowledge
    first = consultation.answers[0]
    plan = consultation.plan(first.first)
    surest = first.chance if consultation.verdict == "clear" else min(first.chance, UNSEEN)
    words = chance_words(knowledge, surest)
    page: Page = [
        entry(answer_name(knowledge, first), f"{words[:1].upper()}{words[1:]}:"),
        text(DECISIONS[plan.decision]),
        *_in_short(knowledge, plan),
    ]
    own = whose(knowledge, "causes", *first.causes)
    page += [note(f"What I know of it is in part yours {own}.")] if own else []
    page.append(text(f"Look again on {day(consultation.look_again(plan))}."))
    if consultation.out_of_season:
        page.append(text("Unusual at this date: look twice before you believe it."))
    check = sure_sign(consultation)
    if check:
        page.append(text(f"To be surer: {check}"))
    return page


def sure_sign(consultation: Consultation) -> str | None:
    """The question that would settle it, else that tells most; None where none is open."""
    symptom = consultation.decisive or consultation.next_symptom
    return consultation.reasoner.knowledge.symptoms[symptom].ask if symptom else None


def _open(consultation: Consultation) -> Page:
    """Two or three to keep in mind, how to tell them apart, what does no harm meanwhile."""
    knowledge = consultation.reasoner.knowledge
    known = consultation.in_mind
    if not known:
        return nothing_fits()
    page: Page = [text("I cannot tell yet. Keep in mind:")]
    for answer in known:
        page.append(item(answer_name(knowledge, answer)))
    if known[0].joint:
        page.append(text("These may all share in it; it need not be one alone."))
    check = sure_sign(consultation)
    if check:
        page.append(text(f"To tell them apart: {check}"))
    page.append(text(HARMLESS))
    return page


def _well(consultation: Consultation) -> Page:
    """Where nothing that was told is a trouble: what is natural, and what to look at."""
    knowledge = consultation.reasoner.knowledge
    page: Page = [text("Nothing that I understood is a trouble: by what you tell, it is well.")]
    crop = knowledge.crops.get(consultation.crop or "")
    normal = crop.normal if crop else {}
    told = [first_sentence(words) for part, words in normal.items() if part != "seedling"]
    natural = told[:NATURAL]
    if natural:
        page += [text("Natural on this plant:"), *(item(words) for words in natural)]
    page.append(text(ONCE_A_WEEK))
    symptoms = (knowledge.symptoms[q.symptom] for q in consultation.questions)
    check = next((s.ask for s in symptoms if s.kind == "symptom"), None)
    return [*page, text(f"To be surer: {check}")] if check else page


ONCE_A_WEEK = (
    "Once a week look at the newest leaves, under a few old ones and at the foot of the stem, and "
    "feel the soil a finger deep."
)
HARMLESS = (
    "Until you know: water only if the soil is dry a finger deep, pull nothing up, and eat nothing "
    "that looks or smells wrong. If it spreads fast, take photographs to your extension service."
)


def _nothing(consultation: Consultation) -> Page:
    unsure = "I am not sure of any of that, so I name no cause."
    nothing = "I understood nothing of that which I know how to use, so I name no cause."
    return [
        text(unsure if consultation.weak else nothing),
        text("Tell me which plant it is, which part, and what you see on it; or press Enter, and "
             "I will ask."),
    ]  # fmt: skip


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


def _in_short(knowledge: Knowledge, plan: Plan) -> Page:
    """What may be eaten, and the first measures as one would call them out."""
    remedies = knowledge.remedies
    called = (remedies[s.remedy].short or first_sentence(s.text) for s in plan.now[:MEASURES])
    page: Page = [text(f"To eat: {_to_eat(plan)}")]
    return page + [item(words, f"{n}.") for n, words in enumerate(called, 1)]


def _to_eat(plan: Plan) -> str:
    """The first sentence; a long one that forbids is "no", any other is never cut short."""
    words = first_sentence(plan.harvest)
    return "no." if plan.eat == "never" and len(words) > LONG else words


def whole_plan(consultation: Consultation, plan: Plan) -> Page:
    """All there is to say of what to do, in the order in which it is of use."""
    knowledge = consultation.reasoner.knowledge
    cause = knowledge.causes[plan.cause]
    page: Page = [
        heading(f"What to do, if it is {small(cause.name)}"),
        text(cause.summary),
        text(f"{DECISIONS[plan.decision]} {plan.matters}"),
    ]
    if plan.threshold:
        page.append(text(f"When to act: {plan.threshold}"))
    if plan.now:
        page.append(heading("Now, gentlest first"))
        page += [item(f"{s.text} ({CLASSES[s.rung]})", f"{n}.") for n, s in enumerate(plan.now, 1)]
    page += [heading("What may be eaten"), text(plan.harvest)]
    if plan.next_season:
        page.append(heading("Next season"))
        page += [item(s.text) for s in plan.next_season]
    page += [
        heading("Look again"),
        text(f"On {day(consultation.look_again(plan))}, for {plan.look_again_for}."),
    ]
    page += [warning(knowledge.cautions[c].text) for c in plan.cautions]
    if plan.referrals:
        page.append(heading("Whom to ask"))
        page += [
            text(f"{knowledge.referrals[r].text} {whose(knowledge, 'referrals', r)}".strip())
            for r in plan.referrals
        ]
    return page


def possible(consultation: Consultation, most: int = 5) -> Page:
    """The answers that are possible, with their chances in words."""
    knowledge = consultation.reasoner.knowledge
    page: Page = [heading("What it may be")]
    for number, answer in enumerate(consultation.answers[:most], 1):
        words = chance_words(knowledge, answer.chance)
        page.append(entry(f"{answer_name(knowledge, answer)}, {words}", f"{number}."))
        if answer.first == SOMETHING_ELSE:
            page.append(note("none of the problems I know", 1))
        elif answer.kin is not None:
            names = listed(small(knowledge.causes[c].name) for c in answer.causes)
            page.append(text(names, 1))
    return page


def loose_ends(consultation: Consultation) -> Page:
    """What the first answer leaves unexplained, and a second trouble that would explain it."""
    knowledge = consultation.reasoner.knowledge
    if consultation.leading is None:
        return []
    page: Page = []
    if consultation.unexplained:
        left = "; ".join(said(knowledge, o.symptom, o.value) for o in consultation.unexplained)
        page += [heading("Not explained by this"), text(left)]
    if consultation.second:
        return page + second_plan(consultation, consultation.second)
    told = {*consultation.named, *(found.cause for found in consultation.ranked[:MENTIONED])}
    beside = [small(knowledge.causes[c].name) for c in consultation.three if c not in told]
    if beside:
        page.append(text(f"If there are two troubles, the other may be {listed(beside)}."))
    return page


def second_plan(consultation: Consultation, second: Second) -> Page:
    """A second trouble at the same time: why it is proposed, and what to do about it, in short."""
    knowledge = consultation.reasoner.knowledge
    plan = consultation.plan(second.cause)
    return [
        heading("There may be two troubles"),
        text(f"The other could be: {_one_or_else(knowledge, second)}."),
        text("It would explain: " + "; ".join(observation(knowledge, o) for o in second.why)),
        text(DECISIONS[plan.decision]),
        *_in_short(knowledge, plan),
    ]


def _one_or_else(knowledge: Knowledge, second: Second) -> str:
    """The second trouble, and the next likeliest."""
    name = knowledge.causes[second.cause].name
    return f"{name}; if not, {small(knowledge.causes[second.else_].name)}" if second.else_ else name


def so_far(consultation: Consultation) -> Page:
    """What is known at this point, and where it points."""
    knowledge = consultation.reasoner.knowledge
    page: Page = [heading("So far"), text(f"Plant: {_plant(consultation)}")]
    page += [item(observation(knowledge, o)) for o in consultation.counted if not o.unticked]
    for label, symptoms in (
        ("left unticked", [o.symptom for o in consultation.counted if o.unticked]),
        ("not known", consultation.unsure),
    ):
        names = [knowledge.symptoms[s].name for s in symptoms]
        page += [item(f"{label}: {'; '.join(names)}")] if names else []
    understood = consultation.verdict != "nothing understood"
    return page + (possible(consultation, 3) if understood else _nothing(consultation))


def one_shot(consultation: Consultation) -> Page:
    """All at once: short answer, what it may be, and the plan where there are grounds."""
    page = short(consultation)
    if consultation.well or consultation.verdict == "nothing understood":
        return page
    page += possible(consultation) + loose_ends(consultation)
    if consultation.verdict in ("clear", "likely"):
        page += whole_plan(consultation, consultation.plan(consultation.answers[0].first))
    return page


__all__ = [
    "loose_ends", "nothing_fits", "one_shot", "possible", "short", "so_far", "sure_sign",
    "understood", "whole_plan",
]  # fmt: skip
