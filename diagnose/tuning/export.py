"""The tuned weights as they are shipped: `python -m diagnose.tuning.export PREPARED WEIGHTS OUT [--exact]`.

PREPARED is what diagnose.tuning.prepare wrote, WEIGHTS the start of the three files of a run (out/soup). OUT
gets encoder.onnx (8 bits per channel, or with --exact 32 bits) and pieces.npy, ears.npz: the pieces with a
scale each, and the units. Needs torch, onnx and onnxruntime.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import torch
from onnxruntime.quantization import QuantType, quantize_dynamic

from diagnose.tuning.network import WIDTH, Encoder

PARTS = ("pieces", "half", "rest")


class Alone(torch.nn.Module):
    """The encoder on texts of one length: nothing is masked."""

    def __init__(self, encoder: Encoder) -> None:
        super().__init__()
        self.encoder = encoder

    def forward(self, looked_up: torch.Tensor) -> torch.Tensor:
        """Looked-up pieces (batch, pieces, width) to their states."""
        return self.encoder(looked_up, torch.zeros(1, 1, 1, 1))


def eight_bits(rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows as whole numbers of -127 to 127, and the scale of each."""
    scale = np.abs(rows).max(axis=1) / 127
    scale[scale == 0] = 1
    return np.round(rows / scale[:, None]).astype(np.int8), scale.astype(np.float32)


def main(prepared: Path, weights: str, out: Path, exact: bool) -> None:
    """Write what is shipped."""
    out.mkdir(parents=True, exist_ok=True)
    told = json.loads((prepared / "texts.json").read_text())
    state: dict[str, np.ndarray] = {}
    for part in PARTS:
        with np.load(f"{weights}.{part}.npz") as file:
            state |= {name: file[name].astype(np.float32) for name in file.files}
    encoder = Encoder(0.0)
    encoder.load_state_dict(
        {
            k.removeprefix("encoder."): torch.from_numpy(v)
            for k, v in state.items()
            if k.startswith("encoder.")
        }
    )
    encoder.eval()
    whole = out / "encoder.exact.onnx"
    torch.onnx.export(
        Alone(encoder), (torch.zeros(2, 7, WIDTH),), str(whole), dynamo=False, opset_version=17,
        input_names=["pieces"], output_names=["states"],
        dynamic_axes={"pieces": {0: "batch", 1: "size"}, "states": {0: "batch", 1: "size"}},
    )  # fmt: skip
    if exact:
        whole.rename(out / "encoder.onnx")
    else:
        quantize_dynamic(whole, out / "encoder.onnx", per_channel=True, reduce_range=True,
                         weight_type=QuantType.QInt8)  # fmt: skip
        whole.unlink()
    numbers, scale = eight_bits(state["pieces.weight"])
    np.save(out / "pieces.npy", numbers)
    np.savez(
        out / "ears.npz", scale=scale, look=state["look"].astype(np.float16),
        tell=state["tell"].astype(np.float16), bias=state["bias"],
    )  # fmt: skip
    (out / "ears.json").write_text(
        json.dumps({"pieces": told["pieces"], "units": told["units"]}, ensure_ascii=False)
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3]), "--exact" in sys.argv)
