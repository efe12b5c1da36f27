"""How common each trouble is: the judged odds beside the counts of letters, by crop.

Letters are no sample: people write about what puzzles them, what is late, and what shows; what they
know (slugs, rabbits, weeds) is hardly asked, and newspapers print what is odd. So the counts stand
beside the judgement, and are used only where they foretell letters better that were left out.

Odds are moved by (n + k) / (e + k): n letters there are of the cause, e were expected of so many
by the judged odds, k says how strongly the judgement holds. By crop within cause, the letters of
the crop move what those of all crops have moved. A letter is never counted for itself, and is heard
by a run that had not seen it. Counted and foretold are letters for learning alone.

`python -m tests.validation.run_odds [--write]` prints the tables (three minutes).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from diagnose.kb.model import Case, Knowledge
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from diagnose.reasoning.ranking import Floats
from diagnose.tuning.calibrate import held_back
from diagnose.tuning.held import Held
from tests.validation import tables
from tests.validation.run_calibration import (
    LEAST,
    Moves,
    Numbers,
    letters,
    moves,
    second_hand,
    tell,
)

STRENGTHS = (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
FOLDS, SEED = 5, 1
SHOWN = 12  # crops in the table
EACH = 5  # causes of a crop


Asked = tuple[str | None, str]
"""The crop of a letter, and the cause that its expert named."""


def expected(odds: dict[str | None, Floats], asked: Sequence[Asked]) -> Floats:
    """How many letters of each cause the judged odds expect of these."""
    total = np.zeros_like(next(iter(odds.values())))
    for crop, _ in asked:
        total += odds[crop]
    return total


def ratios(
    odds: dict[str | None, Floats], rows: dict[str, int], asked: Sequence[Asked], by_crop: bool
) -> tuple[Floats, Floats]:
    """Of each letter: how many others are of each cause, and how many were expected.

    Those on the same crop alone, or on any. Letters down, causes across.
    """
    size = len(next(iter(odds.values())))
    groups: dict[str | None, list[Asked]] = {}
    for one in asked:
        groups.setdefault(one[0] if by_crop else None, []).append(one)
    seen, due = np.zeros((len(asked), size)), np.zeros((len(asked), size))
    counts = {
        group: np.bincount([rows[cause] for _, cause in found], minlength=size).astype(float)
        for group, found in groups.items()
    }
    wanted = {group: expected(odds, found) for group, found in groups.items()}
    for i, (crop, cause) in enumerate(asked):
        group = crop if by_crop else None
        seen[i], due[i] = counts[group], wanted[group] - odds[crop]
        seen[i, rows[cause]] -= 1
    return seen, due


def losses(texts: Moves, shift: Floats, numbers: Numbers) -> Floats:
    """The log loss of each letter where the log prior of the causes is moved."""
    moved = replace(texts, prior=texts.prior + np.pad(shift, ((0, 0), (0, 1))))
    chances = moved.chances(numbers)[:, :-1]
    return -np.log(np.maximum((chances * texts.right).sum(axis=1), LEAST))


def chosen(by_strength: dict[float, Floats], none: Floats) -> Floats:
    """The log loss where the strength is chosen on the other letters, fold by fold."""
    fold = np.random.default_rng(SEED).permutation(len(none)) % FOLDS
    found = np.empty_like(none)
    choices = [none, *by_strength.values()]
    for number in range(FOLDS):
        best = min(choices, key=lambda loss: loss[fold != number].mean())
        found[fold == number] = best[fold == number]
    return found


def counted(asked: Sequence[Asked], odds: dict[str | None, Floats], names: Sequence[str]) -> str:
    """The crops with the most letters: what is asked, and what the judged odds expect."""
    lines = []
    for crop, total in Counter(crop for crop, _ in asked if crop).most_common(SHOWN):
        found = Counter(cause for other, cause in asked if other == crop)
        most = ", ".join(f"{c} {n}" for c, n in found.most_common(EACH))
        due = odds[crop] * total
        judged = [int(i) for i in np.argsort(-due)[:EACH]]
        lines.append([crop, total, most, ", ".join(f"{names[i]} {due[i]:.1f}" for i in judged)])
    return tables.table(["crop", "letters", "most asked", "most expected"], lines)


def _named(knowledge: Knowledge, case: Case) -> Asked:
    letter = knowledge.letters[case.id]
    return letter.crop, letter.cause


def report() -> str:
    """The tables."""
    knowledge = open_knowledge(shipped())
    blank = held_back(knowledge, Held())
    reasoner, rows = blank.reasoner, blank.reasoner.tables.row
    known = [one for one in letters(knowledge, "learn") if one[0].text]
    asked = [_named(knowledge, case) for case, _, _ in known]
    odds: dict[str | None, Floats] = {}
    for crop in {crop for crop, _ in asked}:
        alone = reasoner.on_host(crop)[: len(knowledge.causes)]
        odds[crop] = alone / alone.sum()
    texts = moves(tell(blank, known))
    beside = knowledge.likelihood.reading
    channel = knowledge.likelihood.channel
    numbers = Numbers(channel.read * beside.read, beside.wording, beside.voice, channel.slip)
    none = losses(texts, np.zeros((len(asked), len(rows))), numbers)
    all_seen, all_due = ratios(odds, rows, asked, by_crop=False)
    seen, due = ratios(odds, rows, asked, by_crop=True)
    shifts = {
        "by cause, on any crop": {k: (all_seen + k) / (all_due + k) for k in STRENGTHS},
        "by crop and cause": {k: (seen + k) / (due + k) for k in STRENGTHS},
        "by crop within cause": {
            k: (seen + k * (all_seen + k) / (all_due + k)) / (due + k) for k in STRENGTHS
        },
    }
    lines = [["the judged odds alone", "", f"{none.mean():.3f}", ""]]
    for name, moved in shifts.items():
        by = {k: losses(texts, np.log(ratio), numbers) for k, ratio in moved.items()}
        lines += [[name, f"{k:g}", f"{loss.mean():.3f}", ""] for k, loss in by.items()]
        kept = chosen(by, none)
        gain = none - kept
        error = gain.std() / np.sqrt(len(gain))
        told = f"{gain.mean():+.3f} ± {error:.3f}"
        lines.append([name, "chosen on the others", f"{kept.mean():.3f}", told])
    counts = np.bincount([rows[cause] for _, cause in asked], minlength=len(rows))
    due_of_all = expected(odds, asked)
    others = moves(tell(blank, second_hand(knowledge, "learn")))
    alone = np.zeros((len(others.prior), len(rows)))
    base = losses(others, alone, numbers)
    lines.append(["second-hand texts, the judged odds alone", "", f"{base.mean():.3f}", ""])
    for k in STRENGTHS:
        loss = losses(others, alone + np.log((counts + k) / (due_of_all + k)), numbers)
        lost = base - loss
        error = lost.std() / np.sqrt(len(lost))
        told = f"{lost.mean():+.3f} ± {error:.3f}"
        lines.append(["second-hand texts, by cause", f"{k:g}", f"{loss.mean():.3f}", told])
    names = sorted(rows, key=lambda cause: rows[cause])
    head = ["letters counted", "strength of the judgement", "log loss", "gain"]
    return "\n\n".join((counted(asked, odds, names), tables.table(head, lines)))


def main() -> None:
    """Make the tables, and show them or put them into docs/validation.md."""
    write = tables.options(__doc__).parse_args().write
    tables.show("odds", report(), write)


if __name__ == "__main__":
    main()
