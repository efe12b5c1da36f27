"""diagnose --version."""

from __future__ import annotations

import argparse

from diagnose import __version__
from diagnose.commands.common import FINE, the_reasoner


def run(options: argparse.Namespace) -> int:
    """Print version, engine and digest."""
    reasoner = the_reasoner(options)
    print(f"diagnose {__version__}, engine {reasoner.engine.name}, "
          f"knowledge {reasoner.knowledge.digest}")  # fmt: skip
    return FINE
