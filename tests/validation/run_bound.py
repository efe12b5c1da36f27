"""Cases drawn from the knowledge itself: our answers and questions against what is possible.

python tests/validation/run_bound.py [--write]      (about five minutes)
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from itertools import islice
from pathlib import Path
from statistics import mean

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from diagnose.reasoning.ranking import SOMETHING_ELSE, Floats
from tests.validation import tables
from tests.validation.bound import (
    Choice,
    Drawn,
    best_possible,
    consult,
    draw,
    entropy,
    greedy,
    most_told,
    ours,
    two_ahead,
)

CASES = 500
TOLD = (0, 2)  # things told at first
OURS = "ours: most bits for the effort"
CHOICES: dict[str, tuple[Choice, bool]] = {
    OURS: (ours, True),
    "a full greedy tree: most bits": (greedy, True),
    "greedy over two questions": (two_ahead, True),
    "ours, with no most number of questions": (ours, False),
    "a full greedy tree, with none either": (greedy, False),
}


def right(case: Drawn, chances: Floats, places: int) -> bool:
    """Whether the true cause is among the first so many."""
    names = [*case.blank.reasoner.tables.causes, SOMETHING_ELSE]
    return case.cause in [names[row] for row in np.argsort(-chances, kind="stable")[:places]]


def row(name: str, cases: Sequence[Drawn], ends: Sequence[Floats], asked: float) -> list[str]:
    """A way of asking and answering, as cells of a table."""
    pairs = list(zip(cases, ends, strict=True))
    return [
        name,
        tables.percent(mean(right(*pair, 1) for pair in pairs)),
        tables.percent(mean(right(*pair, 3) for pair in pairs)),
        tables.percent(mean(float(end.max()) for end in ends)),
        f"{asked:.2f}",
        f"{mean(entropy(end) for end in ends):.2f}",
    ]


def ways(cases: Sequence[Drawn], asked: dict[str, list[Consultation]]) -> str:
    """Each way of asking, and what every question answered gives."""
    lines = [
        row(name, cases, [end.chances for end in ends], mean(end.asked for end in ends))
        for name, ends in asked.items()
    ]
    best = [best_possible(end) for end in asked[OURS]]
    lines.append(row("our questions, the Bayes-optimal answer", cases, best, float(lines[0][4])))
    every = mean(len(case.answers) for case in cases)
    told = [case.whole.chances for case in cases]
    lines.append(row("every question answered, our answer", cases, told, every))
    best = [best_possible(case.whole) for case in cases]
    lines.append(row("every question answered, the Bayes-optimal answer", cases, best, every))
    head = [
        "asked", "right first", "in three", "its own chance for the first", "questions",
        "bits left",
    ]  # fmt: skip
    return tables.table(head, lines)


def limit(cases: Sequence[Drawn], ends: Sequence[Consultation]) -> str:
    """The fewest questions that could tell as much, by entropy."""
    limits = {blank: most_told(blank) for blank in {case.blank for case in cases}}
    most = [limits[case.blank] for case in cases]
    before = [entropy(best_possible(case.start)) for case in cases]
    gained = [b - entropy(best_possible(end)) for b, end in zip(before, ends, strict=True)]
    least = mean(g / m for g, m in zip(gained, most, strict=True))
    asked = mean(end.asked for end in ends)
    return (
        f"The entropy bound: before any question {mean(before):.2f} bits are not known; our "
        f"questions took {mean(gained):.2f} of them away. No question can tell more than "
        f"{max(most):.2f} bits ({mean(most):.2f} on average), so that nobody could do that with "
        f"fewer than {least:.2f} questions on average; ours asked {asked:.2f}, "
        f"{asked / least:.1f} times as many."
    )


def main() -> None:
    """Draw the cases, ask, and show the table."""
    write = tables.options(__doc__).parse_args().write
    reasoner = Reasoner(open_knowledge(shipped()))
    parts = [f"Cases drawn from the knowledge; {tables.machine()}."]
    for told in TOLD:
        cases = list(islice(draw(reasoner, random.Random(7), told), CASES))
        asked = {name: [consult(c, *way) for c in cases] for name, way in CHOICES.items()}
        begun = f"{told} things told at first" if told else "Nothing told at first"
        parts += [f"{begun}, {CASES:,} cases:", ways(cases, asked), limit(cases, asked[OURS])]
    tables.show("bound", "\n\n".join(parts), write)


if __name__ == "__main__":
    main()
