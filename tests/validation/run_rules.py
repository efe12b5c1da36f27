"""Rules under both engines, orders of observations and `back`, on every case of the knowledge.

python tests/validation/run_rules.py [--write]      (about two minutes)
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables
from tests.validation.agreement import (
    back_and_again,
    engines,
    fixpoint,
    given_with_answer,
    in_order,
    orders,
    outcome,
    told,
)

STEPS = 4  # answers given, taken back and given again


def main() -> None:
    """Check every case, and show the table."""
    write = tables.options(__doc__).parse_args().write
    knowledge = open_knowledge(shipped())
    both, chance = engines(knowledge), random.Random(1)
    closures = fired = tried = walks = cases = 0
    wrong = {"closures": 0, "orders": 0, "walks": 0}
    for cause, consultation in told(knowledge):
        cases += 1
        for start in (consultation.given, given_with_answer(consultation, cause)):
            expected = fixpoint(knowledge, start)
            closures += 1
            fired += len(expected.firings)
            wrong["closures"] += any(engine.close(start) != expected for engine in both)
        expected_outcome = outcome(consultation)
        for order in orders(consultation.observations, chance):
            tried += 1
            wrong["orders"] += outcome(in_order(consultation, order)) != expected_outcome
        walks += 1
        wrong["walks"] += not back_and_again(consultation, chance, STEPS)
    names = " and ".join(engine.name for engine in both)
    head = ["check", "tried", "differences"]
    lines = [
        [f"facts and firings by {names}, against the definition ({fired:,} firings)",
         f"{closures:,} closures of {cases:,} cases", wrong["closures"]],
        ["the same observations in another order: chances, questions, stop, reasons, plan",
         f"{tried:,} orders", wrong["orders"]],
        [f"an answer, back, another, back, the same answer: {STEPS} times over",
         f"{walks:,} consultations", wrong["walks"]],
    ]  # fmt: skip
    tables.show("rules", f"{tables.machine()}.\n\n{tables.table(head, lines)}", write)
    if any(wrong.values()):
        raise SystemExit("there are differences")


if __name__ == "__main__":
    main()
