"""Rounds of practice played at random, for tests: always the same by their seed."""

from __future__ import annotations

import random

from diagnose.consultation import Consultation
from diagnose.teaching.hidden import LEVELS, Wish, hide
from diagnose.teaching.practice import Round


def begin(blank: Consultation, seed: int, *teams: str) -> Round:
    """A round of some level, described or drawn, by its seed."""
    wish = Wish(LEVELS[seed % len(LEVELS)], drawn=seed % 2 == 1)
    return Round(blank, hide(blank, wish, seed), seed, teams)


def played(blank: Consultation, seed: int, *teams: str, looks: int = 5) -> Round:
    """A round with some looks at random, a wrong cause, the right one, and a measure."""
    chance = random.Random(seed)
    found = begin(blank, seed, *teams)
    for _ in range(looks):
        if found.open:
            found = found.look(chance.choice(found.open[:40]))
    causes = blank.reasoner.knowledge.causes
    wrong = [c for c, _ in found.now.standing if c in causes and not found.right(c)]
    found = found.name(wrong[0]).name(found.hidden.cause)
    return found.choose(chance.choice(found.measures))
