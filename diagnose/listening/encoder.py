"""The encoder: a text to the states of its pieces, as small vectors that tell of the whole text.

Only this module imports the run-time (onnxruntime). Where it is missing, `Encoder.open` gives None
and the program reads without it.
"""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from diagnose.listening.pieces import Piece, Vocabulary

Small: TypeAlias = npt.NDArray[np.float32]

DATA = Path(__file__).parent / "data"
MOST = 160  # pieces of a text that are heard


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """A text as the encoder hears it.

    `states` has a row for each piece between its begin and end marks, the crop's name first;
    `pieces` are those of the text itself, the first of them in row `shift`. `vector` has length 1.
    """

    text: str
    pieces: tuple[Piece, ...]
    shift: int
    states: Small
    vector: Small

    def of_parts(self, parts: Iterable[str]) -> Iterator[tuple[float, Small]]:
        """For each part of the text, in order: its share of the pieces, and its vector.

        A part without a piece has a share of 0.
        """
        end = 0
        for part in parts:
            start = max(self.text.find(part, end), end)
            end = start + len(part)
            at = [i + self.shift for i, p in enumerate(self.pieces) if start <= p.start < end]
            mean = self.states[at].mean(axis=0) if at else self.vector
            yield len(at) / max(len(self.pieces), 1), mean / np.linalg.norm(mean)


def available() -> bool:
    """Whether the run-time and the weights are there."""
    return importlib.util.find_spec("onnxruntime") is not None and (DATA / "encoder.onnx").exists()


class Encoder:
    """The weights, loaded."""

    def __init__(self, folder: Path) -> None:
        told = json.loads((folder / "ears.json").read_text(encoding="utf-8"))
        self.vocabulary = Vocabulary(told["pieces"])
        self.units: list[str] = told["units"]
        with np.load(folder / "ears.npz", allow_pickle=False) as file:
            self.ears = {name: file[name] for name in file.files}
        # of most pieces nothing is ever looked at
        self.pieces = np.load(folder / "pieces.npy", mmap_mode="r", allow_pickle=False)
        self._session = _session(folder / "encoder.onnx")

    @classmethod
    def open(cls, folder: Path = DATA) -> Encoder | None:
        """The encoder, or None where it cannot run here."""
        return cls(folder) if available() else None

    def hear(self, text: str, crop: str = "") -> Heard:
        """A text about a crop, named as a gardener names it, or about none."""
        words = self.vocabulary
        pieces = words.cut(text)[:MOST]
        about = [piece.number for piece in words.cut(f"{crop}:")] if crop else []
        states = self._states([words.begin, *about, *(piece.number for piece in pieces), words.end])
        mean = states.mean(axis=0)
        return Heard(text, tuple(pieces), 1 + len(about), states, mean / np.linalg.norm(mean))

    def _states(self, numbers: Sequence[int]) -> Small:
        pieces, scale = self.pieces[numbers], self.ears["scale"][numbers]
        looked_up = pieces.astype(np.float32) * scale[:, None]
        states: Small = self._session.run(None, {"pieces": looked_up[None]})[0][0]
        return states


def _session(model: Path) -> Any:
    """The run-time with the weights, on one core."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = 3
    return onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])
