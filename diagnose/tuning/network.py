"""The encoder as a network to be tuned: six layers, the units that hear signs, the causes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

WIDTH, HEADS, LAYERS, INNER = 384, 12, 6, 1536
POSITIONS = 256
SHARP = 20.0  # what a cosine is multiplied by before it is a cause's logit


class Layer(nn.Module):
    """One layer: attention between the pieces, then a step of their own."""

    def __init__(self, dropout: float) -> None:
        super().__init__()
        self.query = nn.Linear(WIDTH, WIDTH)
        self.key = nn.Linear(WIDTH, WIDTH)
        self.value = nn.Linear(WIDTH, WIDTH)
        self.joined = nn.Linear(WIDTH, WIDTH)
        self.after = nn.LayerNorm(WIDTH, eps=1e-12)
        self.inner = nn.Linear(WIDTH, INNER)
        self.outer = nn.Linear(INNER, WIDTH)
        self.last = nn.LayerNorm(WIDTH, eps=1e-12)
        self.drop = nn.Dropout(dropout)

    def forward(self, x: Tensor, mask: Tensor) -> Tensor:
        """States (batch, pieces, width) to states; `mask` is 0 where there is a piece."""
        batch, size, _ = x.shape

        def heads(y: Tensor) -> Tensor:
            return y.view(batch, size, HEADS, WIDTH // HEADS).transpose(1, 2)

        q, k, v = heads(self.query(x)), heads(self.key(x)), heads(self.value(x))
        dropout = self.drop.p if self.training else 0.0
        seen = functional.scaled_dot_product_attention(q, k, v, mask.to(q.dtype), dropout)
        joined = seen.transpose(1, 2).reshape(batch, size, WIDTH)
        x = self.after(x + self.drop(self.joined(joined)))
        return self.last(x + self.drop(self.outer(functional.gelu(self.inner(x)))))


class Encoder(nn.Module):
    """From looked-up pieces to their states in the text."""

    def __init__(self, dropout: float = 0.1) -> None:
        super().__init__()
        self.positions = nn.Parameter(torch.zeros(POSITIONS, WIDTH))
        self.first = nn.LayerNorm(WIDTH, eps=1e-12)
        self.drop = nn.Dropout(dropout)
        self.layers = nn.ModuleList(Layer(dropout) for _ in range(LAYERS))

    def forward(self, looked_up: Tensor, mask: Tensor) -> Tensor:
        """Looked-up pieces (batch, pieces, width) and 0 or a large negative where there is none."""
        x = self.drop(self.first(looked_up + self.positions[: looked_up.shape[1]]))
        for layer in self.layers:
            x = layer(x, mask)
        return x


class Listener(nn.Module):
    """The encoder with its three jobs on top."""

    def __init__(self, pieces: int, units: int, causes: int, dropout: float = 0.1) -> None:
        super().__init__()
        self.pieces = nn.Embedding(pieces, WIDTH)
        self.encoder = Encoder(dropout)
        self.look = nn.Parameter(torch.randn(units, WIDTH) * 0.02)  # which pieces a unit looks at
        self.tell = nn.Parameter(torch.randn(units, WIDTH) * 0.02)  # and what it takes them to tell
        self.bias = nn.Parameter(torch.full((units,), -5.0))
        self.causes = nn.Linear(WIDTH, causes)

    def states(self, ids: Tensor, there: Tensor) -> Tensor:
        """Numbers of pieces (batch, pieces) to their states."""
        mask = torch.where(there, 0.0, -1e4)[:, None, None, :]
        return self.encoder(self.pieces(ids), mask)

    def hear(self, states: Tensor, there: Tensor) -> tuple[Tensor, Tensor, Tensor]:
        """Logits of the units, with the log of where each looks and what each piece tells it."""
        look = states @ self.look.T
        look = look.masked_fill(~there[..., None], -1e4).log_softmax(1)
        tell = states @ self.tell.T
        return (look.exp() * tell).sum(1) + self.bias, look, tell

    @staticmethod
    def vector(states: Tensor, there: Tensor) -> Tensor:
        """The mean of the states, of length 1."""
        mean = (states * there[..., None]).sum(1) / there.sum(1, keepdim=True)
        return functional.normalize(mean.float(), dim=-1)

    def voice(self, vector: Tensor) -> Tensor:
        """Logits of the causes."""
        return self.causes(vector) * SHARP


def load_base(model: Listener, weights: Mapping[str, np.ndarray]) -> None:
    """Fill the encoder with the base weights."""

    def tensor(name: str) -> Tensor:
        return torch.from_numpy(np.asarray(weights[name], dtype=np.float32))

    kinds = tensor("embeddings.token_type_embeddings.weight")
    names = {
        "query": "attention.self.query", "key": "attention.self.key",
        "value": "attention.self.value", "joined": "attention.output.dense",
        "after": "attention.output.LayerNorm", "inner": "intermediate.dense",
        "outer": "output.dense", "last": "output.LayerNorm",
    }  # fmt: skip
    found = {
        "pieces.weight": tensor("embeddings.word_embeddings.weight"),
        "encoder.positions": tensor("embeddings.position_embeddings.weight")[:POSITIONS] + kinds[0],
        "encoder.first.weight": tensor("embeddings.LayerNorm.weight"),
        "encoder.first.bias": tensor("embeddings.LayerNorm.bias"),
    }
    for i in range(LAYERS):
        for ours, theirs in names.items():
            for part in ("weight", "bias"):
                name = f"encoder.layer.{i}.{theirs}.{part}"
                found[f"encoder.layers.{i}.{ours}.{part}"] = tensor(name)
    missing, extra = model.load_state_dict(found, strict=False)
    assert not extra and set(missing) == {"look", "tell", "bias", "causes.weight", "causes.bias"}
