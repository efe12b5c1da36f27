"""How a text was read: taken apart, with what was found in it and what became of that."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.consultation import Consultation
from diagnose.inputs import Said
from diagnose.kb.model import ABSENT
from diagnose.pages.blocks import Page, heading, item, note, text
from diagnose.pages.sayings import percent
from diagnose.reading import Reading, quoted
from diagnose.reading.apart import INSIDE, Apart, Sentence, taken_apart
from diagnose.reading.keys import SELF
from diagnose.reading.words import Token


def how_read(consultation: Consultation, said: Said) -> Page:
    """A text sentence by sentence: clauses, the keys of words, phrases, trust and reasons."""
    reading = consultation.reading
    apart = taken_apart(consultation.reasoner.lexicon, said, consultation.crop)
    named = ", ".join(apart.named) or "none"
    page: Page = [
        heading("How it was read"),
        text(f"Crops named: {named}. About: {apart.crop or 'none'}."),
    ]
    for number, sentence in enumerate(apart.sentences):
        page += _sentence(apart, number, sentence, said, reading)
    page += [note(f'Heard beside the plant: {h.concern} ("{h.words}")') for h in apart.concerns]
    if reading is not None:
        page += _beside_phrases(apart, reading)
        page += [note(f'Not used: "{clause}"') for clause in reading.unread]
    return page


def _sentence(
    apart: Apart, number: int, sentence: Sentence, said: Said, reading: Reading | None
) -> Page:
    tokens = sentence.tokens
    page: Page = [heading(f"Sentence {number + 1}")]
    for clause in sentence.clauses:
        page.append(item(" ".join(map(_with_keys, (tokens[i] for i in clause))), "clause"))
    for finding in apart.findings:
        kind, ident, *_ = finding.match.phrase.target
        if finding.sentence != number or (kind == "cause" and finding.why == INSIDE):
            continue
        words = " ".join(quoted(said, tokens, finding.match).split())
        phrase = finding.match.phrase.text
        if finding.value is None:
            end = f"no: {finding.why}"
        else:
            end = f"{finding.value}; {_became(ident, finding.value, reading)}"
        name = ident if kind == "symptom" else f"cause {ident}"
        page.append(item(f'"{words}" holds "{phrase}" -> {name}: {end}', level=1))
    return page


def _with_keys(token: Token) -> str:
    """A word with what it can be found by, beside its very self."""
    keys = sorted(key for key in token.keys if key[0] != SELF)
    mark = "NOT " if token.negated else "(no) " if token.negator else ""
    return f"{mark}{token.text}[{' '.join(keys)}]" if keys else f"{mark}{token.text}"


def _became(symptom: str, value: str, reading: Reading | None) -> str:
    """What became of a reading: understood, offered, or left."""
    if reading is None:
        return "not kept"
    for shown, how in ((reading.observations, "understood"), (reading.perhaps, "offered")):
        for seen in shown:
            if seen.symptom == symptom:
                same = (seen.value == ABSENT) == (value == ABSENT)
                trust = "" if seen.trust is None else f", trust {percent(seen.trust)}"
                return f"{how}{trust}" if same else f"outdone by {seen.value}"
    return "left, as too little to be trusted"


def _beside_phrases(apart: Apart, reading: Reading) -> Page:
    """What was heard without a phrase."""
    by_phrase = {f.match.phrase.target[1] for f in apart.findings if f.value is not None}
    shown: Sequence[tuple[str, tuple[str, str, float | None]]] = [
        (how, (seen.symptom, seen.value, seen.trust))
        for how, some in (("understood", reading.observations), ("offered", reading.perhaps))
        for seen in some
        if seen.symptom not in by_phrase
    ]
    if not shown:
        return []
    page: Page = [heading("Heard without a phrase")]
    for how, (symptom, value, trust) in shown:
        sure = "" if trust is None else f", trust {percent(trust)}"
        page.append(item(f"{symptom}: {value}; {how}{sure}"))
    return page
