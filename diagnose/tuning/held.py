"""What runs of the encoder made of the texts held back from them, kept in the repository.

`python -m diagnose.tuning.held PREPARED RUNS` packs it from the runs that each held a fold back
(out/fold for out/fold.0.npz and on); the annotated texts for learning alone. With it the small
numbers beside the weights can be fitted on a CPU, on what the encoder says of texts it never saw:
`HeldBack` listens as the encoder would have.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from diagnose.inputs import Said as Text
from diagnose.kb.described import CaseId
from diagnose.kb.model import Knowledge
from diagnose.listening import Listening
from diagnose.listening.ears import Ears, Said
from diagnose.listening.encoder import Encoder
from diagnose.listening.trust import Judge
from diagnose.listening.voice import Catalog, mixed
from diagnose.reasoning.ranking import Floats
from diagnose.tuning.prepare import FOLDS, HERE

KEPT = HERE / "held_back.npz"
LOGIT, LIKENESS = 8, 127  # steps of a logit, and of a likeness, in 8 bits


def pack(prepared: dict[str, Any], runs: str, to: Path = KEPT) -> int:
    """Write what the runs made of the annotated texts, and give their number. Raises OSError."""
    texts = {t["id"]: t for t in prepared["texts"]}
    found: dict[str, list[Any]] = {name: [] for name in ("text", "fold", "logits", "nearest")}
    looks: list[tuple[int, int]] = []
    looked: list[Sequence[float]] = []
    for fold in range(FOLDS):
        held = np.load(f"{runs}.{fold}.npz")
        seen = dict(zip(map(tuple, held["reading_of"].tolist()), held["reading_seen"], strict=True))
        for row, i in enumerate(held["reads"].tolist()):
            text = texts[str(held["ids"][i])]
            if text["part"] != "annotated":
                continue
            for n, reading in enumerate(text["readings"]):
                if (i, n) in seen:
                    looks.append((len(found["text"]), reading["unit"]))
                    looked.append(seen[i, n])
            found["text"].append(text["text"])
            found["fold"].append(fold)
            found["logits"].append(np.clip(held["logits"][row].astype(float) * LOGIT, -127, 127))
            found["nearest"].append(held["nearest"][i].astype(float) * LIKENESS)
    np.savez_compressed(
        to, texts=np.array(found["text"]), folds=np.array(found["fold"], np.int8),
        units=np.array(prepared["units"]), causes=np.array(prepared["causes"]),
        logits=np.round(found["logits"]).astype(np.int8),
        nearest=np.round(found["nearest"]).astype(np.int8),
        looks=np.array(looks, np.int16), looked=np.array(looked, np.float16),
    )  # fmt: skip
    return len(found["text"])


class Held:
    """What was kept, by text."""

    def __init__(self, path: Path = KEPT) -> None:
        with np.load(path, allow_pickle=False) as file:
            kept = {name: file[name] for name in file.files}
        self.number = {text: i for i, text in enumerate(kept["texts"].tolist())}
        self.folds = kept["folds"].astype(int)
        self.units, self.causes = kept["units"].tolist(), kept["causes"].tolist()
        self.logits = kept["logits"].astype(float) / LOGIT
        self.nearest = kept["nearest"].astype(float) / LIKENESS
        self.looked = {
            (int(text), int(unit)): tuple(map(float, found))
            for (text, unit), found in zip(kept["looks"], kept["looked"], strict=True)
        }


class HeldBack(Listening):
    """Listens to the texts that were kept as the encoder would that had not seen them.

    A cause that is newer than the runs is as like a text as causes are on average. Words that no
    phrase of those days quoted are looked at by the shipped encoder.
    """

    def __init__(self, knowledge: Knowledge, encoder: Encoder, judge: Judge, held: Held) -> None:
        super().__init__(knowledge, encoder, judge, Catalog.of(knowledge))
        if encoder.units != held.units:
            raise ValueError("the runs kept are of another encoder; pack those of this one")
        self.ears = _Ears(knowledge, encoder, judge, held)
        self.held = held
        row = {cause: i for i, cause in enumerate(knowledge.causes)}
        self.known = [i for i, cause in enumerate(held.causes) if cause in row]
        self.rows = [row[held.causes[i]] for i in self.known]
        self.size = len(row) + 1

    def likeness(self, text: str) -> Floats:
        """The nearest and the mean of the nearest three of each cause that was known then."""
        found: Floats = self.held.nearest[self.held.number[text]][self.known]
        return found

    def voice(self, text: Text, crop: str | None, without: CaseId | None = None) -> Floats:
        """The log weight of a text for every cause; its own text was held back anyhow."""
        near = self.likeness(text)
        found = np.zeros(self.size)
        weights = self.causes.best_weight, self.causes.mean_weight
        found[self.rows] = mixed(near[:, 0], near[:, 1], *weights)
        return found


class _Ears(Ears):
    def __init__(self, knowledge: Knowledge, encoder: Encoder, judge: Judge, held: Held) -> None:
        super().__init__(knowledge, encoder, judge)
        self.held = held

    def hear(self, heard: Any) -> Said:
        said = super().hear(heard)
        logits = self.held.logits[self.held.number[heard.text]]
        return self.said(heard, logits, said.looks, said.tells)

    def _where(self, said: Said, row: int, words: str) -> tuple[float, float, float]:
        kept = self.held.looked.get((self.held.number[said.heard.text], row))
        return super()._where(said, row, words) if kept is None else kept  # type: ignore[return-value]


def main(folder: Path, runs: str) -> None:
    """Pack the runs."""
    prepared = json.loads((folder / "texts.json").read_text())
    print(f"{pack(prepared, runs)} texts kept in {KEPT.name}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
