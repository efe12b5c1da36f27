"""What the encoder adds to reading and to the causes, on texts that it never saw.

`python -m tests.validation.run_listening [case files]` prints two tables: how well the texts for
scoring in data/readings.yaml are read, and how far the words alone lead on the letters among them,
on the files of cases in data/ and on those named.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import yaml

from diagnose.cases import accepted, read_cases, start
from diagnose.checking.worked import Bench
from diagnose.inputs import clean
from diagnose.kb.model import ABSENT, Case, Knowledge
from diagnose.kb.retired import translated
from diagnose.kb.store import shipped
from diagnose.listening import Listening
from diagnose.listening.encoder import DATA
from diagnose.listening.voice import CaseId
from diagnose.reading import Lexicon, read
from diagnose.ready import open_knowledge
from tests.validation import tables

FILES = ("second_hand.yaml", "published_unseen.yaml")
LEVELS = (0.3, 0.4, 0.5, 0.6, 0.7)
OFFERED = 5


@dataclass
class Count:
    """Signs read rightly and wrongly, stated, and offered rightly; texts without a wrong line."""

    right: int = 0
    wrong: int = 0
    stated: int = 0
    offered: int = 0
    clean: int = 0
    texts: int = 0
    lines: list[int] = field(default_factory=list)

    def row(self, name: str) -> list[object]:
        return [
            name, f"{self.right / max(self.right + self.wrong, 1):.2f}",
            f"{self.right / self.stated:.2f}", f"{(self.right + self.offered) / self.stated:.2f}",
            tables.percent(self.clean / self.texts), f"{np.mean(self.lines):.1f}",
        ]  # fmt: skip


def verdict(symptom: str, value: str, says: dict[str, str], maybe: dict[str, str]) -> bool | None:
    """Whether a reading is right; None where it is a matter of taste."""
    if symptom in says:
        return (says[symptom] == ABSENT) == (value == ABSENT)
    return None if symptom in maybe else False


Sign = tuple[float, bool, str, str]  # its chance, whether phrases found it, symptom, value


def signs(listening: Listening, lexicon: Lexicon, row: dict[str, Any]) -> list[Sign]:
    """All that the phrases and the encoder find in a text, likeliest first."""
    crop = row["crop"] if row.get("crop") in listening.knowledge.crops else None
    text = clean(row["text"])
    seen = read(lexicon, text, crop).observations
    found = listening.trusted(text, crop, seen)
    all_of = [
        *((1.0 if trust is None else trust, True, o.symptom, o.value)
          for o, trust in zip(seen, found.trust, strict=True)),
        *((p.chance, False, p.symptom, p.value) for p in found.proposals),
    ]  # fmt: skip
    return sorted(all_of, key=lambda sign: -sign[0])


def reading(listening: Listening, rows: Sequence[dict[str, Any]]) -> str:
    """The table of reading."""
    knowledge = listening.knowledge
    lexicon = Lexicon(knowledge)
    names = ["phrases alone", *(f"chance over {level}" for level in LEVELS),
             *(f"of phrases, over {level}" for level in LEVELS)]  # fmt: skip
    counts = {name: Count() for name in names}
    for row in rows:
        says, maybe = (
            translated(knowledge.retired, knowledge.symptoms,
                       [(s, str(v)) for s, v in (row.get(key) or {}).items()])
            for key in ("says", "maybe")
        )  # fmt: skip
        found = signs(listening, lexicon, row)
        for name in names:
            level = 0.0 if name == "phrases alone" else float(name.split()[-1])
            only = "phrases" in name
            kept = [s for s in found if s[0] > level and (s[1] or not only)]
            rest = [s for s in found if s not in kept][:OFFERED]
            count_up(counts[name], kept, rest, says, maybe)
    head = ["understood", "precision", "recall", "with those offered", "without a wrong line",
            "lines"]  # fmt: skip
    return tables.table(head, [counts[name].row(name) for name in names])


def count_up(
    count: Count, kept: list[Sign], rest: list[Sign], says: dict[str, str], maybe: dict[str, str]
) -> None:
    """Count one text."""
    judged = [verdict(symptom, value, says, maybe) for _, _, symptom, value in kept]
    count.right += judged.count(True)
    count.wrong += judged.count(False)
    count.stated += len(says)
    count.offered += sum(verdict(s, v, says, maybe) is True for _, _, s, v in rest)
    count.clean += False not in judged
    count.texts += 1
    count.lines.append(len(kept))


def described(knowledge: Knowledge, only: set[str]) -> Iterator[tuple[Case, CaseId]]:
    """The letters among some, with their numbers."""
    count = {cause_id: len(cause.cases) for cause_id, cause in knowledge.causes.items()}
    for letter_id, letter in knowledge.letters.items():
        number, count[letter.cause] = count[letter.cause], count[letter.cause] + 1
        if letter_id in only:
            yield (Case(text=letter.text, crop=letter.crop, date=letter.date,
                        expect=[letter.cause, *letter.answer]),
                   (letter.cause, number))  # fmt: skip


def causes(
    listening: Listening, bench: Bench, name: str, cases: Iterable[tuple[Case, CaseId | None]]
) -> list[list[object]]:
    """Two lines: without the encoder and with it."""
    numbers = json.loads((DATA / "numbers.json").read_text())["beside"]
    knowledge, tables_ = listening.knowledge, bench.blank.reasoner.tables
    rows, right = [], []
    for case, without in cases:
        alone = msgspec.structs.replace(case, observations={})
        begun = start(alone, replace(bench.blank, without=without))
        told = sum((tables_.column(o) for o in tables_.counted(begun.counted)),
                   start=np.zeros(len(tables_.causes) + 1))  # fmt: skip
        voice = listening.voice(clean(case.text), begun.crop, without)
        assert begun.heard is not None
        rows.append(np.column_stack([begun.prior, told, begun.heard, voice]))
        right.append([accepted(case, c, knowledge.causes[c]) for c in tables_.causes] + [False])
    x, y = np.array(rows), np.array(right)
    return [
        [name, len(rows), "as it is", *places(x @ np.array([1, 1, 1, 0]), y)],
        [name, len(rows), "with the encoder",
         *places(x @ np.array([1, numbers["read"], numbers["wording"], 1]), y)],
    ]  # fmt: skip


def places(score: np.ndarray, right: np.ndarray) -> list[str]:
    """Right first, in three, and the log loss."""
    score = np.maximum(score, -80)
    best = np.where(right, score, -np.inf).max(axis=1)
    place = (score[:, :-1] > best[:, None]).sum(axis=1)
    place[np.isinf(best)] = 999
    total = np.logaddexp.reduce(score, axis=1)
    lost = -np.log(np.maximum(np.where(right, np.exp(score - total[:, None]), 0).sum(axis=1), 1e-6))
    return [tables.percent((place == 0).mean()), tables.percent((place < 3).mean()),
            f"{lost.mean():.2f}"]  # fmt: skip


def report(files: Sequence[Path]) -> str:
    """Both tables."""
    knowledge = open_knowledge(shipped())
    listening = Listening.of(knowledge)
    if listening is None:
        return "The run-time of the encoder is missing."
    text = (Path(__file__).parent / "data" / "readings.yaml").read_text(encoding="utf-8")
    rows = [r for r in yaml.load(text, yaml.CSafeLoader) if r["use"] == "scored"]
    bench = Bench.of(knowledge)
    scored = {r["id"].partition(":")[2] for r in rows if r["id"].startswith("letter:")}
    lines = causes(listening, bench, "letters for scoring", described(knowledge, scored))
    data = Path(__file__).parent / "data"
    for path in (*(data / name for name in FILES), *files):
        lines += causes(listening, bench, path.stem, [(case, None) for case in read_cases(path)])
    head = ["cases", "number", "the words alone", "right first", "in three", "log loss"]
    return f"{reading(listening, rows)}\n\n{tables.table(head, lines)}"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="more files of cases")
    given = parser.parse_args()
    print(report(given.files))
