"""The encoder's third job: which causes people had who wrote like this.

The vector of a text is held against those of all described texts; each cause speaks by its nearest
one and by the mean of its nearest three. A new cause needs no fitting: its described texts speak.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from diagnose.inputs import plain
from diagnose.kb.described import CaseId, described
from diagnose.kb.model import Knowledge
from diagnose.listening.encoder import DATA, Encoder, Small
from diagnose.reasoning.ranking import Floats, Ints

NEAREST = 3
FAR = -1.0  # the likeness of a text that is not there
Keys: TypeAlias = npt.NDArray[np.uint64]


@dataclass(frozen=True, slots=True)
class Described:
    """A described text: of which cause, which number it has there, and its crop's name."""

    cause: str
    number: int
    text: str
    crop: str

    @property
    def key(self) -> int:
        """What its vector is kept under."""
        digest = hashlib.sha256(f"{self.crop}\n{self.text}".encode()).digest()
        return int.from_bytes(digest[:8], "big")


def texts_of(knowledge: Knowledge) -> list[Described]:
    """The described texts as the encoder hears them."""
    return [
        Described(cause, number, plain(case.text), crop_name(knowledge, case.crop))
        for case, (cause, number) in described(knowledge)
    ]


def crop_name(knowledge: Knowledge, crop: str | None) -> str:
    """What a crop is called before a text; nothing where it is not known."""
    return knowledge.crops[crop].name if crop in knowledge.crops else ""


@dataclass(frozen=True, eq=False)
class Catalog:
    """Where the described texts stand: what can be kept ready-made, without the encoder.

    `keys` are those of the texts in order; `place` has a row for each cause with the places of its
    texts among them, filled up with the number of all.
    """

    keys: Keys
    place: Ints

    @classmethod
    def of(cls, knowledge: Knowledge) -> Catalog:
        """Put up anew."""
        texts = texts_of(knowledge)
        row = {cause: i for i, cause in enumerate(knowledge.causes)}
        most = max((text.number for text in texts), default=0) + 1
        place: Ints = np.full((len(row), most), len(texts), dtype=np.intp)
        for i, text in enumerate(texts):
            place[row[text.cause], text.number] = i
        return cls(np.array([text.key for text in texts], dtype=np.uint64), place)

    def parts(self) -> dict[str, Any]:
        """To be kept in a ready-made copy."""
        return {"voice keys": self.keys, "voice places": self.place.ravel()}

    @classmethod
    def ready(cls, parts: Mapping[str, Any], causes: int) -> Catalog:
        """From the parts of a ready-made copy of a knowledge with so many causes."""
        return cls(parts["voice keys"], parts["voice places"].reshape(causes, -1))


@dataclass(frozen=True, eq=False)
class Vectors:
    """Vectors of described texts under their keys: a row each, of length 1."""

    keys: Keys
    rows: Small

    @classmethod
    def known(cls, folder: Path = DATA) -> Vectors:
        """Those that came with the weights."""
        path = folder / "described.npz"
        if not path.exists():
            return cls(np.zeros(0, np.uint64), np.zeros((0, 0), np.float32))
        with np.load(path, allow_pickle=False) as file:
            rows = file["vectors"].astype(np.float32)
            rows *= file["scale"][:, None]
            return cls(file["keys"], rows)

    def keep(self, folder: Path = DATA) -> None:
        """Write them beside the weights, in 8 bits. Raises OSError."""
        scale = np.abs(self.rows).max(axis=1) / 127
        np.savez(
            folder / "described.npz", keys=self.keys, scale=scale.astype(np.float32),
            vectors=np.round(self.rows / scale[:, None]).astype(np.int8),
        )  # fmt: skip

    def of(self, keys: Keys, make: Callable[[], Sequence[Described]], encoder: Encoder) -> Vectors:
        """Those under some keys; what is missing is heard now (6 ms). `make` gives the texts."""
        if np.array_equal(keys, self.keys):
            return self
        row = {key: i for i, key in enumerate(self.keys.tolist())}
        missing = [i for i, key in enumerate(keys.tolist()) if key not in row]
        texts = make() if missing else ()
        rows = [self.rows[row[key]] if key in row else None for key in keys.tolist()]
        for i in missing:
            rows[i] = encoder.hear(texts[i].text, texts[i].crop).vector
        return Vectors(keys, np.array(rows, dtype=np.float32))


def mixed(nearest: Floats, mean: Floats, of_nearest: float, of_mean: float) -> Floats:
    """The log weights of causes from their likeness; they weigh 0 on average."""
    total = of_nearest * nearest + of_mean * mean
    top = total.max()
    found: Floats = total - top - np.log(np.exp(total - top).mean())
    return found


_NONE: Small = np.zeros(0, dtype=np.float32)


class Voice:
    """The described texts of one knowledge, as vectors."""

    def __init__(
        self, knowledge: Knowledge, encoder: Encoder, catalog: Catalog, folder: Path = DATA
    ) -> None:
        self.knowledge = knowledge
        self.place = catalog.place
        self.row = {cause: i for i, cause in enumerate(knowledge.causes)}
        known = Vectors.known(folder)
        self.vectors: Small = known.of(catalog.keys, lambda: self.texts, encoder).rows
        numbers = json.loads((folder / "numbers.json").read_text(encoding="utf-8"))["voice"]
        self.best_weight, self.mean_weight = numbers["nearest"], numbers["mean"]

    @cached_property
    def texts(self) -> list[Described]:
        """The described texts in order."""
        return texts_of(self.knowledge)

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
        alike = self.vectors @ vector if len(self.vectors) else _NONE
        near = np.append(alike, FAR)[self.place].astype(np.float64)
        if without is not None:
            cause, number = without
            near[self.row[cause], number] = FAR
        return near
