"""What the encoder adds to reading and to the causes, on texts that it never saw.

`python -m tests.validation.run_listening [case files]` prints two tables: how well the texts for
scoring in data/readings.yaml are read, and how far the words alone lead on the letters among them,
on the files of cases in data/ and on those named; texts that the reader learned from are left out.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import yaml

from diagnose.cases import accepted, read_cases, start
from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.kb.described import CaseId, published
from diagnose.kb.model import ABSENT, Case
from diagnose.kb.retired import translated
from diagnose.kb.store import shipped
from diagnose.reading import read
from diagnose.ready import open_knowledge
from diagnose.reasoning.facts import Observation
from diagnose.tuning.calibrate import numbered
from tests.validation import tables

FILES = ("second_hand.yaml", "published_unseen.yaml")
LEVELS = (0.4, 0.5, 0.6, 0.7)
AS_IT_IS, PHRASES = "the reader as it is", "all that phrases find"


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


def reading(
    blank: Consultation, rows: Sequence[dict[str, Any]], number: Mapping[str, CaseId]
) -> str:
    """The table of reading: each text told, and left out of the wording that it lends to."""
    knowledge = blank.reasoner.knowledge
    names = [PHRASES, AS_IT_IS, *(f"chance over {level}" for level in LEVELS)]
    counts = {name: Count() for name in names}
    for row in rows:
        says, maybe = (
            translated(knowledge.retired, knowledge.symptoms,
                       [(s, str(v)) for s, v in (row.get(key) or {}).items()])
            for key in ("says", "maybe")
        )  # fmt: skip
        crop = row.get("crop") if row.get("crop") in knowledge.crops else None
        case = Case(text=row["text"], crop=crop, date=row.get("date"))
        told = start(case, replace(blank, without=number.get(row["id"])))
        assert told.reading is not None
        kept, rest = told.reading.observations, told.reading.perhaps
        count_up(counts[AS_IT_IS], kept, rest, says, maybe)
        by_phrase = read(blank.reasoner.lexicon, clean(row["text"]), crop).observations
        count_up(counts[PHRASES], by_phrase, (), says, maybe)
        every = [*kept, *rest]
        for level in LEVELS:
            sure = [seen for seen in every if (seen.trust or 0) >= level]
            weak = [seen for seen in every if seen not in sure]
            count_up(counts[f"chance over {level}"], sure, weak, says, maybe)
    head = ["understood", "precision", "recall", "with those offered", "without a wrong line",
            "lines"]  # fmt: skip
    return tables.table(head, [counts[name].row(name) for name in names])


def count_up(
    count: Count,
    kept: Sequence[Observation],
    rest: Sequence[Observation],
    says: dict[str, str],
    maybe: dict[str, str],
) -> None:
    """Count one text."""
    judged = [verdict(seen.symptom, seen.value, says, maybe) for seen in kept]
    count.right += judged.count(True)
    count.wrong += judged.count(False)
    count.stated += len(says)
    count.offered += sum(verdict(o.symptom, o.value, says, maybe) is True for o in rest)
    count.clean += False not in judged
    count.texts += 1
    count.lines.append(len(kept))


def causes(
    name: str, benches: dict[str, Bench], cases: Sequence[tuple[Case, CaseId | None]]
) -> list[list[object]]:
    """A line without the encoder, and one with it."""
    found: list[list[object]] = []
    for how, bench in benches.items():
        rows, right = [], []
        for case, without in cases:
            alone = msgspec.structs.replace(case, observations={})
            begun = start(alone, replace(bench.blank, without=without))
            known = begun.reasoner.knowledge.causes
            rows.append(begun.chances)
            right.append([accepted(case, c, known[c]) for c in begun.reasoner.tables.causes])
        found.append([name, len(cases), how, *places(np.array(rows), np.array(right))])
    return found


def places(chances: np.ndarray, right: np.ndarray) -> list[str]:
    """Right first, in three, and the log loss."""
    named = chances[:, :-1]
    best = np.where(right, named, 0).max(axis=1)
    place = (named > best[:, None]).sum(axis=1) + 999 * (best == 0)
    lost = -np.log(np.maximum(np.where(right, named, 0).sum(axis=1), 1e-6))
    return [tables.percent((place == 0).mean()), tables.percent((place < 3).mean()),
            f"{lost.mean():.2f}"]  # fmt: skip


def report(files: Sequence[Path]) -> str:
    """Both tables."""
    knowledge = open_knowledge(shipped())
    alone, helped = Reasoner(knowledge), Reasoner(knowledge)
    vars(alone)["listening"] = None
    if helped.listening is None:
        return "The run-time of the encoder is missing."
    text = (Path(__file__).parent / "data" / "readings.yaml").read_text(encoding="utf-8")
    everything = yaml.load(text, yaml.CSafeLoader)
    rows = [r for r in everything if r["use"] == "scored"]
    seen = {r["id"] for r in everything} - {r["id"] for r in rows}
    benches = {"without the encoder": Bench.of(knowledge, alone),
               "with the encoder": Bench.of(knowledge, helped)}  # fmt: skip
    scored = {r["id"].partition(":")[2] for r in rows if r["id"].startswith("letter:")}
    lines = causes(
        "letters for scoring",
        benches,
        [(case, out) for case, out in published(knowledge) if case.id in scored],
    )
    data = Path(__file__).parent / "data"
    for path in (*(data / name for name in FILES), *files):
        cases = [c for c in read_cases(path) if f"second-hand:{c.id}" not in seen]
        lines += causes(path.stem, benches, [(case, None) for case in cases])
    head = ["cases", "number", "the words alone", "right first", "in three", "log loss"]
    number = numbered(knowledge)
    parts = [f"{how}:\n\n{reading(bench.blank, rows, number)}" for how, bench in benches.items()]
    return "\n\n".join([*parts, tables.table(head, lines)])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="more files of cases")
    given = parser.parse_args()
    print(report(given.files))
