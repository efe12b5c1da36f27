"""diagnose --version."""

from __future__ import annotations

import argparse

from diagnose import __version__
from diagnose.commands.common import FINE, the_reasoner


def run(options: argparse.Namespace) -> int:
    """Print version, engine, whether the encoder helps to read, and digest."""
    from diagnose.listening.encoder import available

    reasoner = the_reasoner(options)
    reading = "phrases and encoder" if available() else "phrases alone (no onnxruntime)"
    print(f"diagnose {__version__}, engine {reasoner.engine.name}, reading by {reading}, "
          f"knowledge {reasoner.knowledge.digest}")  # fmt: skip
    return FINE
