"""Whether the chances are right: of the answers given 70 to 80 %, are so many right?

Every text is told in its own words alone, on the path that a gardener takes, and a text that lends
its words to a cause is left out of that cause's wording. The numbers of the channel are chosen on
published questions, in five folds, and on second-hand and described cases; `published_unseen.yaml`
and the files that are named are only reported.

`python -m tests.validation.run_calibration [case files] [--write]` prints the tables.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

import msgspec
import numpy as np

from diagnose.cases import accepted, read_cases, start
from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation
from diagnose.kb.described import CaseId, own, published
from diagnose.kb.model import Case, Knowledge
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from diagnose.reasoning.ranking import READ, Floats, posterior
from tests.validation import tables

DATA = Path(__file__).parent / "data"
BANDS = 10
FOLDS = 5
SEED = 1  # which text is in which fold
LEAST = 1e-4  # a right answer that was ruled out counts as this likely
SURE = 0.9
READS, SLIPS, WORDINGS = (0.6, 0.75, 0.9, 1.0), (0.001, 0.03, 0.08, 0.11), (0.7, 0.85, 1.0, 1.15)

Known = tuple[Case, set[str], CaseId | None]
"""A case, the causes that are right answers to it, and the described text that it is."""


@dataclass(frozen=True)
class Told:
    """A case told in its own words, and which rows of the tables are right answers to it."""

    told: Consultation
    right: Floats  # 1 or 0 for every cause


@dataclass(frozen=True)
class Moves:
    """What moves the causes of some texts: log prior, what was read, the wording, what follows.

    Texts down; causes across and, last, something else. `right` has the causes alone.
    """

    prior: Floats
    read: Floats
    words: Floats
    concluded: Floats
    right: Floats

    def of(self, rows: Floats) -> Moves:
        """Of some of the texts."""
        return Moves(*(part[rows] for part in vars(self).values()))

    def chances(self, read: float, words: float, slip: float) -> Floats:
        """The chances with other numbers; `words` in proportion to the weight that stands."""
        before = self.prior + self.concluded
        whole = before + read * self.read + words * self.words
        return (1 - slip) * _shares(whole) + slip * _shares(before)


@dataclass(frozen=True)
class Answers:
    """The first known cause for each case: its chance, whether it is right, the right one's."""

    chance: Floats
    right: Floats
    in_three: Floats
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


def own_cases(knowledge: Knowledge) -> list[Known]:
    """Every case beside a cause, with the right answer."""
    return [(case, {out[0]}, out) for case, out in own(knowledge)]


def letters(knowledge: Knowledge) -> list[Known]:
    """Every published question, with every cause that is a right answer."""
    return [(case, _right(knowledge, case) | {out[0]}, out) for case, out in published(knowledge)]


def cases_of(knowledge: Knowledge, path: Path) -> list[Known]:
    """The cases of a file, each with every cause that is a right answer."""
    return [(case, _right(knowledge, case), None) for case in read_cases(path)]


def _right(knowledge: Knowledge, case: Case) -> set[str]:
    return {c for c, cause in knowledge.causes.items() if accepted(case, c, cause)}


def tell(blank: Consultation, cases: Sequence[Known]) -> list[Told]:
    """The cases told in their words alone; one without words is left out."""
    row = blank.reasoner.tables.row
    found = []
    for case, right, without in cases:
        if not case.text:
            continue
        words = msgspec.structs.replace(case, observations={})
        told = start(words, replace(blank, without=without))
        rows = np.zeros(len(row))
        rows[[row[c] for c in right]] = 1
        found.append(Told(told, rows))
    return found


def answers(chances: Floats, right: Floats) -> Answers:
    """The first answers, from chances with something else last."""
    known = chances[:, :-1]
    order = np.argsort(-known, axis=1, kind="stable")[:, :3]
    placed = np.take_along_axis(right, order, axis=1)
    first = np.take_along_axis(known, order[:, :1], axis=1)[:, 0]
    return Answers(first, placed[:, 0], placed.max(axis=1), (known * right).sum(axis=1))


def as_told(told: Sequence[Told]) -> Answers:
    """The first answers of the program as it is."""
    return answers(np.array([one.told.chances for one in told]), _rights(told))


def _rights(told: Sequence[Told]) -> Floats:
    return np.array([one.right for one in told])


def unknown(told: Sequence[Told]) -> Floats:
    """The chances where the right causes are not in the knowledge."""
    found = []
    for one in told:
        odds = np.exp(one.told.prior[:-1]) * (1 - one.right)
        prior = one.told.tables.prior(np.append(odds, 0), ())
        lines = one.told.tables.lines(prior, one.told.counted, one.told.heard)
        found.append(posterior(prior, lines))
    return np.array(found)


def moves(told: Sequence[Told]) -> Moves:
    """What moves the causes of some texts."""
    parts: list[list[Floats]] = [[], [], [], []]
    for one in told:
        read, words, concluded = (np.zeros_like(one.told.prior) for _ in range(3))
        for seen in one.told.tables.counted(one.told.counted):
            column = one.told.tables.column(seen)
            into = read if seen.source in READ else concluded
            into += column
        if one.told.heard is not None:
            words += one.told.heard
        for part, array in zip(parts, (one.told.prior, read, words, concluded), strict=True):
            part.append(array)
    return Moves(*map(np.array, parts), _rights(told))  # type: ignore[arg-type]


def _shares(standing: Floats) -> Floats:
    found = np.exp(standing - standing.max(axis=1, keepdims=True))
    chances: Floats = found / found.sum(axis=1, keepdims=True)
    return chances


def line(name: str, told: Sequence[Told]) -> list[object]:
    """The figures of a set of texts."""
    found, without = as_told(told), unknown(told)
    sure = found.chance >= SURE
    wrong = without[:, :-1].max(axis=1)
    return [
        name, len(told), *map(tables.percent, (found.right.mean(), found.in_three.mean())),
        tables.percent(found.chance.mean()), f"{found.error:.3f}", f"{found.log_loss:.3f}",
        f"{sure.sum()}, {tables.percent(found.right[sure].mean()) if sure.any() else 'none'}",
        tables.percent(found.chance.max()),
        *(tables.percent((wrong >= least).mean()) for least in (SURE, 0.8)),
    ]  # fmt: skip


def bands(found: Answers) -> str:
    """The table of bands."""
    head = ["chance given", "answers", "mean chance", "right"]
    lines = [[n, k, tables.percent(c), tables.percent(r)] for n, k, c, r in found.lines()]
    return tables.table(head, lines)


def folds(texts: Moves) -> str:
    """Read, slip and weight of the wording, chosen by log loss on four folds, told of the fifth.

    Then some other ways on the same texts.
    """
    where = np.random.default_rng(SEED).permutation(len(texts.prior)) % FOLDS
    tried = list(product(READS, WORDINGS, SLIPS))
    losses = np.array(
        [-np.log(np.maximum((texts.chances(*n)[:, :-1] * texts.right).sum(axis=1), LEAST))
         for n in tried]
    )  # fmt: skip
    lines = []
    for fold in range(FOLDS):
        best = int(losses[:, where != fold].mean(axis=1).argmin())
        other = texts.of(where == fold)
        found = answers(other.chances(*tried[best]), other.right)
        lines.append([f"fold {fold + 1}", *_row(tried[best], found)])
    channel = open_knowledge(shipped()).likelihood.channel
    ways = {
        "as it stands": (channel.read, 1.0, channel.slip),
        "what is read in full": (1.0, 1.0, channel.slip),
        "no slip": (channel.read, 1.0, 0.0),
        "read 0.6, slip 0.03": (0.6, 1.0, 0.03),
        "the wording as half": (channel.read, 0.5, channel.slip),
    }
    lines += [[w, *_row(n, answers(texts.chances(*n), texts.right))] for w, n in ways.items()]
    head = ["chosen on the others", "read", "wording", "slip", "log loss", "error", "right first"]
    return tables.table(head, lines)


def _row(numbers: tuple[float, float, float], found: Answers) -> list[str]:
    figures = f"{found.log_loss:.3f}", f"{found.error:.3f}", tables.percent(found.right.mean())
    return [*(f"{number:g}" for number in numbers), *figures]


HEAD = [
    "texts, told alone", "texts", "right first", "in three", "mean chance", "error", "log loss",
    "90 % or more: answers, right", "highest chance",
    "right cause unknown: a wrong one at 90 %", "at 80 %",
]  # fmt: skip


def report(files: Sequence[Path]) -> str:
    """The whole section."""
    knowledge = open_knowledge(shipped())
    blank = Bench.of(knowledge).blank
    sets = {
        "beside the causes": own_cases(knowledge),
        "`knowledge/letters.yaml`": letters(knowledge),
    }
    for path in (DATA / "second_hand.yaml", DATA / "published_unseen.yaml", *files):
        sets[f"`{path.name}`"] = cases_of(knowledge, path)
    told = {name: tell(blank, cases) for name, cases in sets.items()}
    parts = [tables.table(HEAD, [line(name, found) for name, found in told.items()])]
    for name in ("`knowledge/letters.yaml`", "`second_hand.yaml`", "`published_unseen.yaml`"):
        parts += [f"{name}:", bands(as_told(told[name]))]
    parts += [
        "The numbers of the channel, on the published questions (the weight of the wording in "
        "proportion to what stands):",
        folds(moves(told["`knowledge/letters.yaml`"])),
    ]
    return "\n\n".join(parts)


if __name__ == "__main__":
    parser = tables.options(__doc__)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="more files of cases")
    given = parser.parse_args()
    tables.show("calibration", report(given.files), given.write)
