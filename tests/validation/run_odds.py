"""How common each trouble is: the judged odds beside the counts of all letters, by crop.

Letters are no sample: people write about what puzzles them, what is late, and what shows; what they
know (slugs, rabbits, weeds) is hardly asked, and newspapers print what is odd. So the counts stand
beside the judgement, and are used only where they foretell letters better that were left out.

Odds are moved by (n + k) / (e + k): n letters there are of the cause, e were expected of so many by
the judged odds, k says how strongly the judgement holds. A letter is never counted for itself.

`python -m tests.validation.run_odds [--write]` prints the tables (two minutes).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

import numpy as np

from diagnose.consultation import Consultation
from diagnose.kb.model import Knowledge, Letter
from diagnose.kb.store import shipped
from diagnose.ready import open_reasoner
from diagnose.reasoning.ranking import Floats
from tests.validation import tables
from tests.validation.run_calibration import (
    DATA,
    LEAST,
    Moves,
    cases_of,
    letters,
    moves,
    tell,
)

STRENGTHS = (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
FOLDS, SEED = 5, 1
SHOWN = 12  # crops in the table
EACH = 5  # causes of a crop


def expected(reasoner_odds: dict[str | None, Floats], asked: Sequence[Letter]) -> Floats:
    """How many letters of each cause the judged odds expect of these."""
    total = np.zeros_like(next(iter(reasoner_odds.values())))
    for letter in asked:
        total += reasoner_odds[letter.crop]
    return total


def ratios(
    odds: dict[str | None, Floats], rows: dict[str, int], asked: Sequence[Letter], by_crop: bool
) -> tuple[Floats, Floats]:
    """Of each letter: how many others are of each cause, and how many were expected.

    Those on the same crop alone, or on any. Letters down, causes across.
    """
    size = len(next(iter(odds.values())))
    groups: dict[str | None, list[Letter]] = {}
    for letter in asked:
        groups.setdefault(letter.crop if by_crop else None, []).append(letter)
    seen, due = np.zeros((len(asked), size)), np.zeros((len(asked), size))
    counts = {
        group: np.bincount([rows[x.cause] for x in found], minlength=size).astype(float)
        for group, found in groups.items()
    }
    wanted = {group: expected(odds, found) for group, found in groups.items()}
    for i, letter in enumerate(asked):
        group = letter.crop if by_crop else None
        seen[i], due[i] = counts[group], wanted[group] - odds[letter.crop]
        seen[i, rows[letter.cause]] -= 1
    return seen, due


def losses(texts: Moves, shift: Floats, numbers: tuple[float, float, float]) -> Floats:
    """The log loss of each letter where the log prior of the causes is moved."""
    read, words, slip = numbers
    moved = np.pad(shift, ((0, 0), (0, 1)))
    changed = Moves(texts.prior + moved, texts.read, texts.words, texts.concluded, texts.right)
    chances = changed.chances(read, words, slip)[:, :-1]
    return -np.log(np.maximum((chances * texts.right).sum(axis=1), LEAST))


def _mean(texts: Moves, shift: Floats, numbers: tuple[float, float, float]) -> list[str]:
    return [f"{losses(texts, shift, numbers).mean():.3f}", ""]


def chosen(by_strength: dict[float, Floats], none: Floats) -> Floats:
    """The log loss where the strength is chosen on the other letters, fold by fold."""
    fold = np.random.default_rng(SEED).permutation(len(none)) % FOLDS
    found = np.empty_like(none)
    choices = [none, *by_strength.values()]
    for number in range(FOLDS):
        best = min(choices, key=lambda loss: loss[fold != number].mean())
        found[fold == number] = best[fold == number]
    return found


def counted(knowledge: Knowledge, odds: dict[str | None, Floats], names: Sequence[str]) -> str:
    """The crops with the most letters: what is asked, and what the judged odds expect."""
    asked = [letter for letter in knowledge.letters.values() if letter.crop]
    lines = []
    for crop, total in Counter(letter.crop for letter in asked).most_common(SHOWN):
        found = Counter(letter.cause for letter in asked if letter.crop == crop)
        most = ", ".join(f"{c} {n}" for c, n in found.most_common(EACH))
        due = odds[crop] * total
        judged = [int(i) for i in np.argsort(-due)[:EACH]]
        lines.append([crop, total, most, ", ".join(f"{names[i]} {due[i]:.1f}" for i in judged)])
    return tables.table(["crop", "letters", "most asked", "most expected"], lines)


def report() -> str:
    """The tables."""
    reasoner = open_reasoner(shipped())
    knowledge, rows = reasoner.knowledge, reasoner.tables.row
    asked = list(knowledge.letters.values())
    odds: dict[str | None, Floats] = {}
    for crop in {letter.crop for letter in asked}:
        alone = reasoner.on_host(crop)[: len(knowledge.causes)]
        odds[crop] = alone / alone.sum()
    blank = Consultation(reasoner, date(2026, 6, 20), reasoner.home())
    texts = moves(tell(blank, letters(knowledge)))
    numbers = (1.0, 1.0, knowledge.likelihood.channel.slip)
    none = losses(texts, np.zeros((len(asked), len(rows))), numbers)
    lines = [["the judged odds alone", "", f"{none.mean():.3f}", ""]]
    for name, by_crop in (("by cause, on any crop", False), ("by crop and cause", True)):
        seen, due = ratios(odds, rows, asked, by_crop)
        by = {k: losses(texts, np.log((seen + k) / (due + k)), numbers) for k in STRENGTHS}
        for k, loss in by.items():
            lines.append([name, f"{k:g}", f"{loss.mean():.3f}", ""])
        kept = chosen(by, none)
        gain = none - kept
        error = gain.std() / np.sqrt(len(gain))
        lines.append(
            [
                name,
                "chosen on the others",
                f"{kept.mean():.3f}",
                f"{gain.mean():+.3f} ± {error:.3f}",
            ]
        )
    counts = np.bincount([rows[letter.cause] for letter in asked], minlength=len(rows))
    due_of_all = expected(odds, asked)
    others = moves(tell(blank, cases_of(knowledge, DATA / "second_hand.yaml")))
    alone = np.zeros((len(others.prior), len(rows)))
    lines.append(["second_hand.yaml, the judged odds alone", "", *_mean(others, alone, numbers)])
    for k in STRENGTHS:
        shift = alone + np.log((counts + k) / (due_of_all + k))
        lines.append(["second_hand.yaml, by cause", f"{k:g}", *_mean(others, shift, numbers)])
    names = sorted(rows, key=lambda cause: rows[cause])
    head = ["letters counted", "strength of the judgement", "log loss", "gain"]
    return "\n\n".join((counted(knowledge, odds, names), tables.table(head, lines)))


def main() -> None:
    """Make the tables, and show them or put them into docs/validation.md."""
    write = tables.options(__doc__).parse_args().write
    tables.show("odds", report(), write)


if __name__ == "__main__":
    main()
