"""Whether the chances are right: of the answers given 70 to 80 %, are so many right?

Every case beside a cause is told in its own words alone, and left out of its cause's wording.
`python -m tests.validation.run_calibration [case files] [--write]` prints the table. The weight
of the wording is tried anew on one half of the cases, and reported on the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec
import numpy as np

from diagnose.cases import accepted, read_cases, start
from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import Case, Knowledge
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from diagnose.reasoning.ranking import Floats
from diagnose.reasoning.wording import Wording
from tests.validation import tables

BANDS = 10
TRIED = (0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6)
SEED = 1  # which half of the cases is which
LEAST = 1e-4  # a right answer that was ruled out counts as this likely


@dataclass(frozen=True)
class Told:
    """A case told in its own words, and which rows of the tables are right answers to it."""

    told: Consultation
    right: Floats  # 1 or 0 for every cause


@dataclass(frozen=True)
class Answers:
    """The first known cause for each case: its chance, whether it is right, the right one's."""

    chance: Floats
    right: Floats
    of_right: Floats

    def lines(self) -> Iterator[tuple[str, int, float, float]]:
        """For each band that was given: its name, the answers, mean chance, share right."""
        band = np.minimum((self.chance * BANDS).astype(int), BANDS - 1)
        for number in range(BANDS):
            here = band == number
            if here.any():
                low, high = (round(100 * n / BANDS) for n in (number, number + 1))
                chance, right = float(self.chance[here].mean()), float(self.right[here].mean())
                yield f"{low} to {high} %", int(here.sum()), chance, right

    @property
    def error(self) -> float:
        """The expected calibration error: how far chance and share right lie apart, on average."""
        total = len(self.chance)
        return sum(n * abs(chance - right) / total for _, n, chance, right in self.lines())

    @property
    def log_loss(self) -> float:
        """How much the right answers surprised, in nats on average."""
        return float(-np.log(np.maximum(self.of_right, LEAST)).mean())


def own_cases(knowledge: Knowledge) -> list[tuple[Case, set[str]]]:
    """Every case beside a cause, with the right answer."""
    return [(case, {c}) for c, cause in knowledge.causes.items() for case in cause.cases]


def cases_of(knowledge: Knowledge, path: Path) -> list[tuple[Case, set[str]]]:
    """The cases of a file, each with every cause that is a right answer."""
    return [
        (case, {c for c, cause in knowledge.causes.items() if accepted(case, c, cause)})
        for case in read_cases(path)
    ]


def tell(blank: Consultation, cases: Sequence[tuple[Case, set[str]]]) -> list[Told]:
    """The cases told in their words alone; one without words is left out."""
    row = blank.reasoner.tables.row
    found = []
    for case, right in cases:
        if not case.text:
            continue
        told = start(msgspec.structs.replace(case, observations={}), blank)
        rows = np.zeros(len(row))
        rows[[row[c] for c in right]] = 1
        found.append(Told(told, rows))
    return found


def answers(told: Sequence[Told], wording: Wording | None = None, known: bool = False) -> Answers:
    """The first answers; with another wording of the causes, where one is given.

    With `known`, the chances are shared among the known causes alone.
    """
    reasoner = told[0].told.reasoner
    wording = wording or reasoner.wording
    found = []
    for one in told:
        prior = one.told.prior + wording.weigh(one.told.said)
        chances = reasoner.tables.posterior(prior, one.told.counted)[:-1]
        if known:
            chances /= chances.sum()
        first = int(chances.argmax())
        found.append((chances[first], one.right[first], one.right @ chances))
    return Answers(*np.array(found).T)


def halves(told: Sequence[Told]) -> tuple[list[Told], list[Told]]:
    """The cases in two halves, at random but always the same."""
    order = np.random.default_rng(SEED).permutation(len(told))
    return [told[i] for i in order[::2]], [told[i] for i in order[1::2]]


def bands(found: Answers) -> str:
    """The table of bands."""
    head = ["chance given", "answers", "mean chance", "right"]
    lines = [[n, k, tables.percent(c), tables.percent(r)] for n, k, c, r in found.lines()]
    return tables.table(head, lines)


def error(told: Sequence[Told]) -> str:
    """The calibration errors of the program as it is, as a sentence."""
    with_else, known = answers(told), answers(told, known=True)
    return (
        f"{len(told)} answers, {tables.percent(with_else.right.mean())} right; expected "
        f"calibration error {with_else.error:.3f} with *something else*, {known.error:.3f} without."
    )


def weighing(reasoner: Reasoner, weight: float) -> Wording:
    """The wordings of the causes, where a word has another weight."""
    replace = msgspec.structs.replace
    likelihood = reasoner.knowledge.likelihood
    numbers = replace(likelihood.wording, weight=weight)
    knowledge = replace(reasoner.knowledge, likelihood=replace(likelihood, wording=numbers))
    return Wording(knowledge, reasoner.wording.keys)


def choosing(told: Sequence[Told]) -> str:
    """Each weight of the wording tried on one half, and the figures on the other."""
    chosen_on, other = halves(told)
    reasoner = told[0].told.reasoner
    tried = [
        (answers(chosen_on, wording), answers(other, wording), weight)
        for weight in TRIED
        for wording in [weighing(reasoner, weight)]
    ]
    best = min(tried, key=lambda three: three[0].log_loss)[2]
    lines = [
        [f"**{e:g}**" if e == best else f"{e:g}",
         *(cell for half in pair
           for cell in (f"{half.log_loss:.3f}", f"{half.error:.3f}",
                        tables.percent(half.right.mean())))]
        for *pair, e in tried
    ]  # fmt: skip
    figures = ("log loss", "error", "right first")
    return tables.table(["weight", *(f"half {h}: {f}" for h in "AB" for f in figures)], lines)


def report(files: Sequence[Path]) -> str:
    """The whole section."""
    knowledge = open_knowledge(shipped())
    blank = Bench.of(knowledge).blank
    own = tell(blank, own_cases(knowledge))
    parts = [f"The cases beside the causes: {error(own)}", bands(answers(own))]
    for path in files:
        told = tell(blank, cases_of(knowledge, path))
        parts += [f"`{path.name}`: {error(told)}", bands(answers(told))]
    parts += [
        "The weight of the wording, tried on one half of the cases beside the causes:",
        choosing(own),
    ]
    return "\n\n".join(parts)


if __name__ == "__main__":
    parser = tables.options(__doc__)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="more files of cases")
    given = parser.parse_args()
    tables.show("calibration", report(given.files), given.write)
