"""Any text, however odd, is taken: the chances sum to 1, and what is kept of it can be read."""

from __future__ import annotations

import random
from collections.abc import Iterator

import msgspec
import numpy as np
import pytest

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.inputs import LONGEST
from diagnose.journal import Journal, Told
from diagnose.kb.model import Knowledge

SEED, COUNT = 11, 60
ODD = (
    "²③½Ⅷ፩٣", "\u202e\u200b\ufeff\u0301", "\x00\x1b[31m\x07\r\t\n", "ßſİıǅ", "🐌🥬",
    "\u2018\u2019\u201c\u201d—…", "\ud83d\udce9", "؟。\uff01\uff1f", "{}[]()<>&%$#@\\|`~^",
    "0123456789.,", "no not or nor ,",
)  # fmt: skip


def texts(knowledge: Knowledge) -> Iterator[str]:
    """Random texts: of odd characters, of words of the knowledge, of both, torn, doubled, long."""
    chance = random.Random(SEED)
    cases = [case.text for cause in knowledge.causes.values() for case in cause.cases]
    words = [w for text in chance.sample(cases, 200) for w in text.split()]
    for n in range(COUNT):
        size = chance.choice((1, 5, 40, 40, 200))
        odd = [chance.choice(chance.choice(ODD)) for _ in range(size)]
        known = [chance.choice(words) for _ in range(size)]
        mixed = chance.sample([*odd, *known], size)
        text = chance.choice((" ".join(known), "".join(odd), " ".join(mixed), "".join(mixed)))
        cut = chance.randrange(len(text) + 1)
        yield (text[cut:] + text[:cut] if n % 3 else text * chance.choice((1, 2, 50)))[:LONGEST]


def test_any_text_is_taken(blank: Consultation, knowledge: Knowledge) -> None:
    crops = [None, *knowledge.crops]
    refused = 0
    for number, text in enumerate(texts(knowledge)):
        begun = blank.about(crops[number % len(crops)])
        try:
            now = Journal.begin(begun).then(Told(text)).now
        except UsageError:
            refused += 1
            continue
        assert np.isfinite(now.chances).all(), text
        assert now.chances.sum() == pytest.approx(1), text
        assert now.verdict
        assert msgspec.json.encode(Told(now.said))
    assert refused < COUNT / 4
