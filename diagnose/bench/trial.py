"""Which of all described texts a phrase would catch, and whether rightly, by what they state."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from diagnose.errors import UsageError
from diagnose.inputs import Said, clean
from diagnose.kb.described import own as cases
from diagnose.kb.model import ABSENT, PRESENT, UNSURE, Knowledge
from diagnose.kb.retired import translated
from diagnose.pages.blocks import Page, heading, item, note, title
from diagnose.reading import Lexicon, quoted
from diagnose.reading.apart import cut_up, tried

LEARN = "learn"  # the use of annotated texts that may be looked at
SHOWN = 12  # texts of each kind
STATED = 5  # signs that the caught texts state most


@dataclass(frozen=True, slots=True)
class Text:
    """A described text: what it states, what is a matter of taste, and whether that is all of it.

    Of an annotated text all is told; a case states what was seen, and may say more; a letter states
    nothing.
    """

    name: str
    text: Said
    crop: str | None
    states: dict[str, str]
    maybe: frozenset[str] = frozenset()
    all_told: bool = False


@dataclass(frozen=True, slots=True)
class Catch:
    """A text that the phrase catches, its words there; `right` is None where the text is silent."""

    text: Text
    words: str
    right: bool | None


def described(knowledge: Knowledge, readings: Path | None = None) -> list[Text]:
    """The cases, the letters, and the annotated texts of a file, each text once."""
    found = list(_annotated(knowledge, readings)) if readings else []
    known = {plain(text.text) for text in found}
    for case, (cause, number) in cases(knowledge):
        states = _today(knowledge, case.observations)
        found.append(Text(f"{cause}/{number + 1}", clean(case.text), case.crop, states))
    for name, letter in knowledge.letters.items():
        found.append(Text(f"letter {name}", clean(letter.text), letter.crop, {}))
    whole = [text for text in found if text.all_told]
    return whole + [t for t in found if not t.all_told and plain(t.text) not in known]


def plain(text: str) -> str:
    """A text by which its copies are known: its words, whatever stands between them."""
    return " ".join(text.split())


def _annotated(knowledge: Knowledge, path: Path) -> Iterator[Text]:
    try:
        rows = yaml.load(path.read_text(encoding="utf-8"), yaml.CSafeLoader)
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as error:
        raise UsageError(f"{path} cannot be read: {error}") from None
    for row in rows:
        if row.get("use") == LEARN:
            crop = row.get("crop")
            yield Text(
                row["id"],
                clean(row["text"]),
                crop if crop in knowledge.crops else None,
                _today(knowledge, row.get("says") or {}),
                frozenset(_today(knowledge, row.get("maybe") or {})),
                all_told=True,
            )


def _today(knowledge: Knowledge, stated: dict[str, Any]) -> dict[str, str]:
    """Statements with today's names, without those of which nobody was sure."""
    told = [(symptom, str(value)) for symptom, value in stated.items()]
    now = translated(knowledge.retired, knowledge.symptoms, told)
    return {symptom: value for symptom, value in now.items() if value != UNSURE}


def caught(
    lexicon: Lexicon, texts: Iterable[Text], phrase: str, symptom: str | None = None
) -> list[Catch]:
    """The texts that a phrase catches, whatever longer phrases there are."""
    cut = lexicon.phrase(clean(phrase), symptom or "", PRESENT)
    if not cut:
        raise UsageError(f"too little is left of {phrase!r} without its small words; say more")
    found = []
    for text in texts:
        there = {key for token in lexicon.tokens(text.text) for key in token.keys}
        if any(there.isdisjoint(element) for element in cut[0].elements if not _made(element)):
            continue
        whole = cut_up(lexicon, text.text, text.crop)
        says = next((f for f in tried(lexicon, whole, cut[0]) if f.value is not None), None)
        if says is not None and says.value is not None:
            words = quoted(text.text, whole.sentences[says.sentence].tokens, says.match)
            found.append(Catch(text, words, _right(text, symptom, says.value)))
    return found


def _made(element: Iterable[str]) -> bool:
    """Whether a word of a phrase is a class that is told only from the whole sentence."""
    return any(key[0] == "@" for key in element)


def _right(text: Text, symptom: str | None, value: str) -> bool | None:
    if symptom is None or symptom in text.maybe:
        return None
    if symptom in text.states:
        return (text.states[symptom] == ABSENT) == (value == ABSENT)
    return False if text.all_told else None


def page(knowledge: Knowledge, phrase: str, symptom: str | None, catches: list[Catch]) -> Page:
    """What a phrase catches, for a maintainer."""
    of = f" for {symptom}: {knowledge.symptoms[symptom].name}" if symptom else ""
    found: Page = [title(f"{phrase!r}{of}")]
    if symptom is None:
        stated = Counter(
            s for c in catches for s, value in c.text.states.items() if value != ABSENT
        )
        found.append(heading(f"It catches {len(catches)} texts; what they state most"))
        found += [item(f"{name}: {count}") for name, count in stated.most_common(STATED)]
        found += _listed(catches)
        return found
    for name, right in (("rightly", True), ("wrongly", False), ("where the text is silent", None)):
        some = [c for c in catches if c.right is right]
        found.append(heading(f"Caught {name}: {len(some)}"))
        found += _listed(some)
    return found


def _listed(catches: list[Catch]) -> Page:
    lines: Page = [item(f'{c.text.name}: "{plain(c.words)}"') for c in catches[:SHOWN]]
    more = len(catches) - SHOWN
    return [*lines, note(f"and {more} more")] if more > 0 else lines
