"""`python -m tests.rounds.run_kills [N]`: N kills (1,000) at random moments, and what was lost."""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

from tests.rounds.killing import begun, kill_once, lost

if __name__ == "__main__":
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rounds.sqlite"
        begun(path)
        chance, said = random.Random(2026), set[str]()
        for turn in range(kills):
            said.update(kill_once(path, turn, chance))
        gone, part = lost(path, said)
    print(f"{kills:,} kills; {len(said):,} visits kept; lost {len(gone)}; kept in part {part}")
    sys.exit(bool(gone or part))
