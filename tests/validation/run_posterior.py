"""Chances and the worth of questions on every case, against an exact Bayesian network engine.

python tests/validation/run_posterior.py [--write]      (about six minutes)
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from hypothesis import given, settings

from diagnose.consultation import Consultation
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables
from tests.validation.agreement import told
from tests.validation.consultations import consultations, some, told_apart
from tests.validation.network import differences

RANDOM = 500
ALLOWED = 1e-9


@dataclass(frozen=True, slots=True)
class Compared:
    """The largest differences over some consultations."""

    what: str
    consultations: int
    chances: int
    chance: float
    questions: int
    bits: float

    def cells(self) -> list[str]:
        """As cells of a table."""
        return [
            self.what, f"{self.consultations:,}", f"{self.chances:,}", f"{self.chance:.1e}",
            f"{self.questions:,}", f"{self.bits:.1e}",
        ]  # fmt: skip


def compare(what: str, found: Iterable[Consultation]) -> Compared:
    """Every chance and every question of some consultations against the network."""
    pairs = [differences(consultation) for consultation in found]
    chances = [difference for chance, _ in pairs for difference in chance]
    bits = [difference for _, worth in pairs for difference in worth]
    return Compared(what, len(pairs), len(chances), max(chances), len(bits), max(bits, default=0.0))


def at_random() -> Iterator[Consultation]:
    """Consultations on random small knowledge folders, always the same ones."""
    found: list[Consultation] = []

    @settings(some, max_examples=RANDOM, derandomize=True, database=None)
    @given(consultations().filter(told_apart))
    def gather(consultation: Consultation) -> None:
        found.append(consultation)

    gather()
    yield from found


def main() -> None:
    """Compare, and show the table."""
    write = tables.options(__doc__).parse_args().write
    knowledge = open_knowledge(shipped())
    rows = [
        compare("random small folders", at_random()),
        compare("the shipped knowledge, its cases", (c for _, c in told(knowledge))),
    ]
    worst = max(max(row.chance, row.bits) for row in rows)
    head = [
        "knowledge", "consultations", "chances", "largest difference",
        "questions", "largest difference, bits",
    ]  # fmt: skip
    by = f"pyagrum {version('pyagrum')}, exact inference; {tables.machine()}."
    tables.show("posterior", f"{by}\n\n{tables.table(head, [r.cells() for r in rows])}", write)
    if worst > ALLOWED:
        raise SystemExit(f"a difference of {worst:.1e} is over {ALLOWED:g}")


if __name__ == "__main__":
    main()
