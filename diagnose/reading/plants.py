"""Which plants a text tells of, where it tells a trouble of its own of each."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.inputs import Said
from diagnose.kb.model import ABSENT, DENIED
from diagnose.reading import read
from diagnose.reading.apart import Cut, cut_up
from diagnose.reading.words import Lexicon


def troubled(lexicon: Lexicon, text: Said) -> Mapping[str, Said]:
    """The crops of which a text tells a symptom or a sign of its own, each with its words.

    A piece of a sentence is of the crop that it names first, or of the one before it.
    """
    cut = cut_up(lexicon, text)
    if len(cut.named) < 2:
        return {}
    return {crop: words for crop, words in _words(cut, text).items() if _ill(lexicon, crop, words)}


def _words(cut: Cut, text: Said) -> dict[str, Said]:
    """The words of each crop that is named, in its own order."""
    found: dict[str, str] = {}
    owner: str | None = None
    for sentence in cut.sentences:
        between = ". "
        for piece in sentence.pieces:
            tokens = [sentence.tokens[i] for i in piece]
            owner = next((t.crop for t in tokens if t.crop in cut.named), owner)
            if owner and tokens:
                words = text[tokens[0].start : tokens[-1].end]
                found[owner] = f"{found[owner]}{between}{words}" if owner in found else words
                between = ", "
    return {crop: Said(words) for crop, words in found.items()}


def _ill(lexicon: Lexicon, crop: str, words: Said) -> bool:
    """Whether words tell a symptom or a sign of a crop."""
    symptoms = lexicon.knowledge.symptoms
    return any(
        symptoms[seen.symptom].kind in ("symptom", "sign")
        and seen.value != ABSENT
        and not seen.value.startswith(DENIED)
        for seen in read(lexicon, words, crop).observations
    )
