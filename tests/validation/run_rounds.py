"""The score of fifty rounds of practice against its definition, by an exact network engine.

python tests/validation/run_rounds.py [--write]      (about two minutes)
"""

from __future__ import annotations

import sys
from datetime import date
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables
from tests.validation.rounds import difference, some

ROUNDS = 50
ALLOWED = 1e-7  # of a point


def main() -> None:
    """Compare, and show the table."""
    write = tables.options(__doc__).parse_args().write
    reasoner = Reasoner(open_knowledge(shipped()), hears=False)
    blank = Consultation(reasoner, date(2026, 6, 15), reasoner.home())
    found = [(len(one.looks), difference(one)) for one in some(reasoner, blank, ROUNDS)]
    worst = max(most for _, most in found)
    rows = [[str(len(found)), str(sum(looks for looks, _ in found)), f"{worst:.1e}"]]
    by = f"pyagrum {version('pyagrum')}, exact inference; {tables.machine()}."
    head = ["rounds", "looks", "largest difference, points"]
    tables.show("rounds", f"{by}\n\n{tables.table(head, rows)}", write)
    if worst > ALLOWED:
        raise SystemExit(f"a difference of {worst:.1e} is over {ALLOWED:g}")


if __name__ == "__main__":
    main()
