"""Cases drawn from the knowledge, put through the screens and questions as they are shown.

python tests/validation/run_screens.py [--write]      (some minutes)
"""

from __future__ import annotations

import random
import sys
from itertools import islice
from pathlib import Path
from statistics import mean

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables
from tests.validation.bound import Drawn, draw
from tests.validation.screens import played

CASES = 300
SCREENS = 10
TOLD = (0, 2)


def place(case: Drawn, found: Consultation) -> int:
    """Where the true cause stands, from 1."""
    return [cause for cause, _ in found.standing].index(case.cause) + 1


def main() -> None:
    """Draw the cases, play them, and show the table."""
    write = tables.options(__doc__).parse_args().write
    reasoner = Reasoner(open_knowledge(shipped()))
    lines, asked = [], []
    for told in TOLD:
        cases = list(islice(draw(reasoner, random.Random(7), told), CASES))
        chance = random.Random(3)
        runs = [list(played(case, chance, SCREENS)) for case in cases]
        places = [[place(c, f) for f in run] for c, run in zip(cases, runs, strict=True)]
        for most in (1, 3):
            shares = [mean(run[i] <= most for run in places) for i in range(SCREENS)]
            name = f"{told or 'nothing'} told, {'right first' if most == 1 else 'in three'}"
            lines.append([name, *(f"{100 * share:.0f} %" for share in shares)])
        ended = [sum(not f.stop for f in run) + 1 for run in runs]
        asked.append(f"{mean(min(e, SCREENS) for e in ended):.1f}")
    head = ["after so many screens", *map(str, range(1, SCREENS + 1))]
    text = (
        f"Cases drawn from the knowledge, {CASES} each; {tables.machine()}.\n\n"
        f"{tables.table(head, lines)}\n\nScreens until it stops by itself, at most {SCREENS}: "
        f"{asked[0]} with nothing told, {asked[1]} with two things told."
    )
    tables.show("screens", text, write)


if __name__ == "__main__":
    main()
