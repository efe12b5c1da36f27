"""Whether the chances are right: of the answers given 70 to 80 %, are so many right?

Every text is told in its own words alone, on the path that a gardener takes, with the encoder as
judge and voice, and a text that lends its words to a cause is left out of that cause's wording. The
numbers are chosen on texts for learning, each heard by a run of the encoder that had not seen it
(`diagnose.tuning.held`), in five folds. The texts for scoring, which no run saw, and the files
that are named are only reported.

`python -m tests.validation.run_calibration [case files] [--write]` prints the tables.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from typing import NamedTuple

import msgspec
import numpy as np

from diagnose.cases import accepted, guided, read_cases, start
from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation
from diagnose.kb.described import CaseId, published
from diagnose.kb.model import Case, Knowledge, Likelihood
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from diagnose.reasoning.ranking import READ, SOMETHING_ELSE, Floats, posterior
from diagnose.tuning.calibrate import held_back, numbered
from diagnose.tuning.held import Held
from diagnose.tuning.prepare import ANNOTATED, CASES, of_yaml
from tests.validation import tables

BANDS = 10
FOLDS = 5
SEED = 1  # which text is in which fold
LEAST = 1e-4  # a right answer that was ruled out counts as this likely
SURE = 0.9
ALMOST = 0.98
TRIED = (
    (0.3, 0.45, 0.6, 0.9),  # read
    (0.3, 0.5, 0.7),  # wording
    (0.75, 0.9, 1.1, 1.3),  # voice
    (0.001, 0.03, 0.08, 0.11),  # slip
)
SECOND_HAND = "second-hand:"

Known = tuple[Case, set[str], CaseId | None]
"""A case, the causes that are right answers to it, and the described text that it is."""


@dataclass(frozen=True)
class Told:
    """A case told in its own words, and which rows of the tables are right answers to it."""

    told: Consultation
    right: Floats  # 1 or 0 for every cause


class Numbers(NamedTuple):
    """How often what is read, the wording and the voice count, and the chance of a slip."""

    read: float
    wording: float
    voice: float
    slip: float


@dataclass(frozen=True)
class Moves:
    """What moves the causes of some texts: log prior, what was read, wording, voice, what follows.

    Texts down; causes across and, last, something else. `right` has the causes alone.
    """

    prior: Floats
    read: Floats
    words: Floats
    voice: Floats
    concluded: Floats
    right: Floats

    def of(self, rows: Floats) -> Moves:
        """Of some of the texts."""
        return Moves(*(part[rows] for part in vars(self).values()))

    def chances(self, n: Numbers) -> Floats:
        """The chances with other numbers."""
        before = self.prior + self.concluded
        whole = before + n.read * self.read + n.wording * self.words + n.voice * self.voice
        return (1 - n.slip) * _shares(whole) + n.slip * _shares(before)


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


def letters(knowledge: Knowledge, use: str) -> list[Known]:
    """The published questions that are for learning, or for scoring, with every right answer."""
    ids = {number: ident for ident, number in numbered(knowledge).items()}
    wanted = _ids(use)
    return [
        (case, _right(knowledge, case) | {out[0]}, out)
        for case, out in published(knowledge)
        if ids[out] in wanted
    ]


def second_hand(knowledge: Knowledge, use: str) -> list[Known]:
    """The second-hand texts whose words the reader learned from, or those it never saw."""
    learned = _ids("learn")
    return [
        known
        for known in cases_of(knowledge, CASES)
        if (f"{SECOND_HAND}{known[0].id}" in learned) == (use == "learn")
    ]


def _ids(use: str) -> set[str]:
    rows = of_yaml(ANNOTATED)
    learned = {row["id"] for row in rows if row["use"] == "learn"}
    return learned if use == "learn" else {row["id"] for row in rows} - learned


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
        found.append(posterior(prior, one.told.lines_from(prior)))
    return np.array(found)


def moves(told: Sequence[Told]) -> Moves:
    """What moves the causes of some texts."""
    parts: list[list[Floats]] = [[], [], [], [], []]
    for one in told:
        now, (read, concluded) = one.told, (np.zeros_like(one.told.prior) for _ in range(2))
        for seen in now.tables.counted([*now.counted, *now.perhaps]):
            into = read if seen.source in READ else concluded
            into += now.tables.column(seen)
        assert now.heard is not None and now.voice is not None
        voice = now.voice / now.reasoner.knowledge.likelihood.reading.voice
        for part, array in zip(parts, (now.prior, read, now.heard, voice, concluded), strict=True):
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


def folds(texts: Moves, numbers: Likelihood) -> str:
    """The numbers chosen by log loss on four folds, told of the fifth; then some other ways."""
    where = np.random.default_rng(SEED).permutation(len(texts.prior)) % FOLDS
    tried = [Numbers(*n) for n in product(*TRIED)]
    losses = np.array(
        [-np.log(np.maximum((texts.chances(n)[:, :-1] * texts.right).sum(axis=1), LEAST))
         for n in tried]
    )  # fmt: skip
    lines = []
    for fold in range(FOLDS):
        best = int(losses[:, where != fold].mean(axis=1).argmin())
        other = texts.of(where == fold)
        found = answers(other.chances(tried[best]), other.right)
        lines.append([f"fold {fold + 1}", *_row(tried[best], found)])
    beside = numbers.reading
    stands = Numbers(
        numbers.channel.read * beside.read, beside.wording, beside.voice, numbers.channel.slip
    )
    ways = {
        "as it stands": stands,
        "no slip": stands._replace(slip=0.0),
        "a slip of 0.03": stands._replace(slip=0.03),
        "what is read as before": stands._replace(read=numbers.channel.read),
        "no voice, the wording in full": Numbers(numbers.channel.read, 1.0, 0.0, stands.slip),
        "no wording": stands._replace(wording=0.0),
        "nothing read": stands._replace(read=0.0),
    }
    lines += [[w, *_row(n, answers(texts.chances(n), texts.right))] for w, n in ways.items()]
    head = ["chosen on the others", "read", "wording", "voice", "slip", "log loss", "error",
            "right first"]  # fmt: skip
    return tables.table(head, lines)


def _row(numbers: Numbers, found: Answers) -> list[str]:
    figures = f"{found.log_loss:.3f}", f"{found.error:.3f}", tables.percent(found.right.mean())
    return [*(f"{number:g}" for number in numbers), *figures]


def asked(name: str, blank: Consultation, cases: Sequence[Known]) -> list[object]:
    """The answers after the guided questions, answered from what the cases state."""
    chances, right = [], []
    for case, names, without in cases:
        found = guided(start(case, replace(blank, without=without)))
        cause, chance = next((c, p) for c, p in found.standing if c != SOMETHING_ELSE)
        chances.append(chance)
        right.append(cause in names)
    given, hit = np.array(chances), np.array(right)
    parts = [(given >= ALMOST), (given >= SURE) & (given < ALMOST), given < SURE]
    shares = (f"{p.sum()}, {tables.percent(hit[p].mean()) if p.any() else 'none'}" for p in parts)
    return [name, len(cases), tables.percent(hit.mean()), *shares]


HEAD = [
    "texts, told alone", "texts", "right first", "in three", "mean chance", "error", "log loss",
    "90 % or more: answers, right", "highest chance",
    "right cause unknown: a wrong one at 90 %", "at 80 %",
]  # fmt: skip


def report(files: Sequence[Path]) -> str:
    """The whole section."""
    knowledge, held = open_knowledge(shipped()), Held()
    blank, back = Bench.of(knowledge).blank, held_back(knowledge, held)
    learn = {
        "letters for learning": letters(knowledge, "learn"),
        "second-hand for learning": second_hand(knowledge, "learn"),
    }
    scored = {
        "letters for scoring": letters(knowledge, "scored"),
        "second-hand for scoring": second_hand(knowledge, "scored"),
    } | {f"`{path.name}`": cases_of(knowledge, path) for path in files}
    told = {name: tell(back, cases) for name, cases in learn.items()}
    told |= {name: tell(blank, cases) for name, cases in scored.items()}
    parts = [tables.table(HEAD, [line(name, found) for name, found in told.items()])]
    for name in scored:
        parts += [f"{name}:", bands(as_told(told[name]))]
    parts += [
        "After the guided questions, answered from what the texts state:",
        tables.table(
            ["texts", "texts", "right first", "98 % or more: answers, right",
             "90 to 98 %: answers, right", "less"],
            [asked(name, blank, second_hand(knowledge, use))
             for name, use in (("second-hand for learning", "learn"),
                               ("second-hand for scoring", "scored"))],
        ),
        "The numbers of the channel, on all texts for learning, each heard by a run that had not "
        "seen it:",
        folds(moves([one for name in learn for one in told[name]]), knowledge.likelihood),
    ]  # fmt: skip
    return "\n\n".join(parts)


if __name__ == "__main__":
    parser = tables.options(__doc__)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="more files of cases")
    given = parser.parse_args()
    tables.show("calibration", report(given.files), given.write)
