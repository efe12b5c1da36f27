"""Cases drawn from the knowledge itself: our answers and questions against what is possible.

python tests/validation/run_bound.py [--write]      (about five minutes)
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from functools import cache
from itertools import islice
from pathlib import Path
from statistics import mean

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.store import open_knowledge, shipped
from tests.validation import tables
from tests.validation.bound import (
    Choice,
    Drawn,
    consult,
    draw,
    entropy,
    greedy,
    most_told,
    ours,
    two_ahead,
)

CASES = 2000
CHOICES: dict[str, Choice] = {
    "ours: most bits for the effort": ours,
    "a full greedy tree: most bits": greedy,
    "greedy over two questions": two_ahead,
}


def right(cases: Sequence[Drawn], ends: Sequence[Consultation], places: int) -> float:
    """The share of cases whose cause is among the first so many."""
    return mean(
        case.cause in [cause for cause, _ in end.standing[:places]]
        for case, end in zip(cases, ends, strict=True)
    )


def row(name: str, cases: Sequence[Drawn], ends: Sequence[Consultation]) -> list[str]:
    """A way of asking, as cells of a table."""
    return [
        name,
        tables.percent(right(cases, ends, 1)),
        tables.percent(right(cases, ends, 3)),
        tables.percent(mean(end.standing[0][1] for end in ends)),
        f"{mean(end.asked for end in ends):.2f}",
        f"{mean(entropy(end) for end in ends):.2f}",
    ]


def main() -> None:
    """Draw the cases, ask, and show the table."""
    write = tables.options(__doc__).parse_args().write
    reasoner = Reasoner(open_knowledge(shipped()))
    cases = list(islice(draw(reasoner, random.Random(7)), CASES))
    asked = {name: [consult(c, choice) for c in cases] for name, choice in CHOICES.items()}
    lines = [row(name, cases, ends) for name, ends in asked.items()]
    whole = [case.whole for case in cases]
    lines.append([*row("the best answer with every question answered", cases, whole)])
    lines[-1][4] = f"{mean(len(case.answers) for case in cases):.0f}"
    head = [
        "asked", "right first", "in three", "its own chance for the first", "questions",
        "bits left",
    ]  # fmt: skip

    @cache
    def capacity(crop: str) -> float:
        return most_told(Consultation(reasoner, cases[0].blank.day, reasoner.home(), crop))

    ends = asked["ours: most bits for the effort"]
    gained = [entropy(c.blank) - entropy(end) for c, end in zip(cases, ends, strict=True)]
    limits = [capacity(str(case.blank.crop)) for case in cases]
    least = mean(g / limit for g, limit in zip(gained, limits, strict=True))
    text = "\n\n".join(
        [
            f"{CASES:,} cases drawn from the knowledge; {tables.machine()}.",
            tables.table(head, lines),
            f"The entropy bound: before any question {mean(entropy(c.blank) for c in cases):.2f} "
            f"bits are not known; our questions took {mean(gained):.2f} of them away. No question "
            f"can tell more than {max(limits):.2f} bits ({mean(limits):.2f} on average over the "
            f"crops), so that nobody could do that with fewer than {least:.2f} questions on "
            f"average; ours asked {mean(end.asked for end in ends):.2f}.",
        ]
    )
    tables.show("bound", text, write)


if __name__ == "__main__":
    main()
