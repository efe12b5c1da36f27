"""The encoder's third job: which causes people had who wrote like this.

The vector of a text is held against those of all described texts; each cause speaks by its nearest
one and by the mean of its nearest three. A new cause needs no fitting: its described texts speak.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np

from diagnose.inputs import plain
from diagnose.kb.model import Knowledge
from diagnose.listening.encoder import DATA, Encoder, Small
from diagnose.reasoning.ranking import Floats, Ints

CaseId: TypeAlias = tuple[str, int]
"""A cause, and the number of one of its described texts: its cases, and after them its letters."""
NEAREST = 3
FAR = -1.0  # the likeness of a text that is not there


@dataclass(frozen=True, slots=True)
class Described:
    """A described text: of which cause, which number it has there, and its crop's name."""

    cause: str
    number: int
    text: str
    crop: str

    @property
    def key(self) -> str:
        """What its vector is kept under."""
        return hashlib.sha256(f"{self.crop}\n{self.text}".encode()).hexdigest()[:16]


def described(knowledge: Knowledge) -> Iterator[Described]:
    """The described texts of each cause: its cases, and after them its letters."""
    letters: dict[str, list[tuple[str, str | None]]] = {cause: [] for cause in knowledge.causes}
    for letter in knowledge.letters.values():
        letters[letter.cause].append((letter.text, letter.crop))
    for cause_id, cause in knowledge.causes.items():
        own = [(case.text, case.crop) for case in cause.cases]
        for number, (text, crop) in enumerate([*own, *letters[cause_id]]):
            yield Described(cause_id, number, plain(text), crop_name(knowledge, crop))


def crop_name(knowledge: Knowledge, crop: str | None) -> str:
    """What a crop is called before a text; nothing where it is not known."""
    return knowledge.crops[crop].name if crop in knowledge.crops else ""


def vectors(encoder: Encoder, texts: list[Described], known: dict[str, Small]) -> dict[str, Small]:
    """The vectors of described texts by key: those known, and the others made now (6 ms each)."""
    return {
        t.key: known[t.key] if t.key in known else encoder.hear(t.text, t.crop).vector
        for t in texts
    }


def known_vectors(folder: Path = DATA) -> dict[str, Small]:
    """The vectors that came with the weights."""
    path = folder / "described.npz"
    if not path.exists():
        return {}
    with np.load(path, allow_pickle=False) as file:
        rows = file["vectors"].astype(np.float32) * file["scale"][:, None]
        return dict(zip(file["keys"].tolist(), rows, strict=True))


def keep_vectors(found: dict[str, Small], folder: Path = DATA) -> None:
    """Write the vectors that go with the weights, in 8 bits. Raises OSError."""
    rows = np.array(list(found.values()))
    scale = np.abs(rows).max(axis=1) / 127
    np.savez_compressed(
        folder / "described.npz", keys=np.array(list(found)), scale=scale.astype(np.float32),
        vectors=np.round(rows / scale[:, None]).astype(np.int8),
    )  # fmt: skip


def mixed(nearest: Floats, mean: Floats, of_nearest: float, of_mean: float) -> Floats:
    """The log weights of causes from their likeness; they weigh 0 on average."""
    total = of_nearest * nearest + of_mean * mean
    top = total.max()
    found: Floats = total - top - np.log(np.exp(total - top).mean())
    return found


_NONE: Small = np.zeros(0, dtype=np.float32)


class Voice:
    """The described texts of one knowledge, as vectors."""

    def __init__(self, knowledge: Knowledge, found: dict[str, Small], folder: Path = DATA) -> None:
        texts = list(described(knowledge))
        row = {cause: i for i, cause in enumerate(knowledge.causes)}
        size = max((t.number for t in texts), default=0) + 1
        self.place: Ints = np.full((len(row), size), len(texts), dtype=np.intp)
        for i, text in enumerate(texts):
            self.place[row[text.cause], text.number] = i
        self.row, self.texts = row, texts
        self.vectors: Small = np.array([found[t.key] for t in texts], dtype=np.float32)
        numbers = json.loads((folder / "numbers.json").read_text(encoding="utf-8"))["voice"]
        self.best_weight, self.mean_weight = numbers["nearest"], numbers["mean"]

    def weigh(self, vector: Small, without: CaseId | None = None) -> Floats:
        """The log weight of a text's vector for every cause and, last, 0 for something else.

        A cause weighs 0 where its texts are as like as those of all causes on average. `without`
        names a described text that is left out.
        """
        near = self._likeness(vector, without)
        best = np.sort(near, axis=1)[:, ::-1][:, :NEAREST]
        weights = self.best_weight, self.mean_weight
        found: Floats = np.append(mixed(best[:, 0], best.mean(axis=1), *weights), 0.0)
        return found

    def nearest(self, vector: Small, cause: str, without: CaseId | None = None) -> Described:
        """The described text of a cause that is most like a text."""
        near = self._likeness(vector, without)[self.row[cause]]
        number: int = int(self.place[self.row[cause], int(near.argmax())])
        return self.texts[number]

    def _likeness(self, vector: Small, without: CaseId | None) -> Floats:
        """The cosine to each described text: causes down, their texts across."""
        alike = self.vectors @ vector if self.texts else _NONE
        near = np.append(alike, FAR)[self.place].astype(np.float64)
        if without is not None:
            cause, number = without
            near[self.row[cause], number] = FAR
        return near
