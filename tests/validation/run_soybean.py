"""Field cases of another crop: settings chosen on the training rows, then the test rows once.

python tests/validation/run_soybean.py [--write]      (about four minutes)
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.validation import tables
from tests.validation.soybean import (
    CHOSEN,
    CLASS,
    MISSING,
    OBSERVED,
    Row,
    Settings,
    Step,
    best,
    consult,
    name,
    ready,
    rows,
    state,
    steps,
)

FOLDS, REPEATS = 10, 3
MOST = 15  # questions in cross-validation; the aim is 6 on average
AIM = 6.0
SMOOTHING = (0.03, 0.1, 0.3, 1.0)
CLEAR = (0.8, 0.9, 0.95, 0.98, 0.99)
LEAST_BITS = (0.005, 0.01, 0.02, 0.05, 0.1)
CURVE = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 35)


@dataclass(frozen=True, order=True, slots=True)
class Score:
    """Shares right first and in three, and mean questions (negative, so that more is better)."""

    first: float
    three: float
    fewness: float

    @property
    def questions(self) -> float:
        """The mean number of questions."""
        return -self.fewness

    def cells(self) -> list[str]:
        """As cells of a table."""
        first, three = tables.percent(self.first), tables.percent(self.three)
        return [first, three, f"{self.questions:.2f}"]


def score(ends: Sequence[tuple[Step, int]]) -> Score:
    """The score of consultations that ended at these steps, after so many questions."""
    count = len(ends)
    return Score(
        sum(step.first_right for step, _ in ends) / count,
        sum(step.in_three for step, _ in ends) / count,
        -sum(asked for _, asked in ends) / count,
    )


def end(trace: Sequence[Step], clear: float, least_bits: float) -> tuple[Step, int]:
    """Where the engine's stop rule ends a consultation, and after how many questions."""
    for asked, step in enumerate(trace):
        if step.chance >= clear or step.worth < least_bits:
            return step, asked
    return trace[-1], len(trace) - 1


def folds(train: Sequence[Row], seed: int) -> list[list[int]]:
    """The rows' numbers in ten parts, each cause spread over them."""
    chance = random.Random(seed)
    parts: list[list[int]] = [[] for _ in range(FOLDS)]
    for cause in sorted({row[CLASS] for row in train}):
        own = [i for i, row in enumerate(train) if row[CLASS] == cause]
        chance.shuffle(own)
        for place, i in enumerate(own):
            parts[place % FOLDS].append(i)
    return parts


def traces(train: Sequence[Row], settings: Settings, repeats: int) -> Iterator[list[Step]]:
    """Each training row asked through, with the knowledge of the other folds' rows."""
    for seed in range(repeats):
        for part in folds(train, seed):
            rest = [row for i, row in enumerate(train) if i not in part]
            with tempfile.TemporaryDirectory() as folder:
                blank = ready(rest, settings, Path(folder))
            for i in part:
                yield list(steps(blank, train[i], settings, MOST))


def choose(train: Sequence[Row], missing: str) -> tuple[Settings, Score]:
    """The settings with most right first at no more questions than the aim."""
    found = []
    for smoothing in SMOOTHING:
        whole = list(traces(train, Settings(smoothing, 1.0, 0.0, missing), REPEATS))
        for clear, least_bits in product(CLEAR, LEAST_BITS):
            result = score([end(trace, clear, least_bits) for trace in whole])
            found.append((result, Settings(smoothing, clear, least_bits, missing)))
    within = [pair for pair in found if pair[0].questions <= AIM] or found
    result, settings = max(within, key=lambda pair: pair[0])
    return settings, result


def test_score(train: Sequence[Row], test: Sequence[Row], settings: Settings) -> Score:
    """The test rows under the engine's own stop rule."""
    with tempfile.TemporaryDirectory() as folder:
        blank = ready(train, settings, Path(folder))
    ends = []
    for row in test:
        done, right = consult(blank, row, settings), name(row[CLASS])
        three = best(done)
        ends.append((Step(three[0] == right, right in three, 0.0, 0.0), done.asked))
    return score(ends)


def curve(train: Sequence[Row], test: Sequence[Row], settings: Settings) -> list[list[str]]:
    """Right first and in three after so many questions, if asking never stopped."""
    with tempfile.TemporaryDirectory() as folder:
        blank = ready(train, settings, Path(folder))
    whole = [list(steps(blank, row, settings, len(OBSERVED))) for row in test]
    lines = []
    for asked in CURVE:
        at = score([(trace[min(asked, len(trace) - 1)], asked) for trace in whole])
        lines.append([str(asked), *at.cells()[:2]])
    return lines


def peers(train: Sequence[Row], test: Sequence[Row]) -> Iterator[tuple[str, float]]:
    """General methods with all 35 observations at hand; a missing value is a value."""
    from sklearn.ensemble import RandomForestClassifier
    from sklearn.linear_model import LogisticRegression
    from sklearn.naive_bayes import BernoulliNB
    from sklearn.preprocessing import OneHotEncoder
    from sklearn.tree import DecisionTreeClassifier

    def features(of: Sequence[Row]) -> list[list[str]]:
        return [[row[o] for o in OBSERVED] for row in of]

    encoder = OneHotEncoder(handle_unknown="ignore").fit(features(train))
    known, asked = encoder.transform(features(train)), encoder.transform(features(test))
    methods = {
        "decision tree": DecisionTreeClassifier(random_state=0),
        "naive Bayes (Bernoulli, alpha 0.1)": BernoulliNB(alpha=0.1),
        "logistic regression (C 10)": LogisticRegression(C=10, max_iter=5000),
        "random forest (500 trees)": RandomForestClassifier(500, random_state=0),
    }
    for method, model in methods.items():
        model.fit(known, [row[CLASS] for row in train])
        yield method, float(model.score(asked, [row[CLASS] for row in test]))


def confusions(train: Sequence[Row], test: Sequence[Row], settings: Settings) -> str:
    """The commonest mistakes on the test rows, as a sentence."""
    with tempfile.TemporaryDirectory() as folder:
        blank = ready(train, settings, Path(folder))
    wrong: Counter[tuple[str, str]] = Counter()
    for row in test:
        first = best(consult(blank, row, settings))[0]
        if first != name(row[CLASS]):
            wrong[name(row[CLASS]), first] += 1
    return "; ".join(
        f"{right} taken for {first}: {n}" for (right, first), n in wrong.most_common(4)
    )


def alike(train: Sequence[Row]) -> int:
    """Frog-eye leaf spot training rows without a mark on stem or pod."""
    return sum(
        row[CLASS] == "frog-eye-leaf-spot"
        and state("stem", row["stem"]) == state("fruit-pods", row["fruit-pods"]) == "absent"
        for row in train
    )


def report() -> str:
    """The whole section."""
    train, test = rows()
    labels = {"answer": "an answer of its own (cannot be told)", "unsure": "unsure: no evidence"}
    lines, chosen = [], {}
    for missing, label in labels.items():
        settings, cross = choose(train, missing)
        chosen[missing] = (settings, cross)
        reached = test_score(train, test, settings)
        lines.append(
            [label, f"{settings.smoothing:g}", f"{settings.clear:g}", f"{settings.least_bits:g}",
             *cross.cells(), *reached.cells()]
        )  # fmt: skip
    head = [
        "a missing value is", "smoothing (rows)", "stop when clear at", "or question under (bits)",
        "cross-validation: first", "in three", "questions",
        f"{len(test)} test rows: first", "in three", "questions",
    ]  # fmt: skip
    main, _ = max(chosen.values(), key=lambda pair: pair[1])
    if main != CHOSEN:
        raise SystemExit(f"cross-validation chose {main}: put that into soybean.CHOSEN")
    missing_values = sum(row[o] == MISSING for row in train for o in OBSERVED)
    plain = replace(main, clear=1.0, least_bits=0.0)
    return "\n\n".join(
        [
            f"{len(train)} training rows ({missing_values} of {len(train) * len(OBSERVED)} values "
            f"missing), {FOLDS} folds, {REPEATS} times; {tables.machine()}.",
            tables.table(head, lines),
            f"Commonest mistakes (missing value: {labels[main.missing]}): "
            f"{confusions(train, test, main)}.",
            f"Of the frog-eye leaf spot training rows, {alike(train)} of "
            f"{sum(r[CLASS] == 'frog-eye-leaf-spot' for r in train)} have no mark on stem or pod.",
            "Test rows right after so many questions, if asking never stopped (the same settings):",
            tables.table(["questions", "first", "in three"], curve(train, test, plain)),
            "General methods on the same rows, with all 35 observations at hand:",
            tables.table(
                ["method", "right first"],
                [[m, tables.percent(share)] for m, share in peers(train, test)],
            ),
        ]
    )


if __name__ == "__main__":
    tables.show("soybean", report(), tables.options(__doc__).parse_args().write)
