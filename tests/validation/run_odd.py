"""Ten thousand odd texts read: none may fail, and none may take long.

`python -m tests.validation.run_odd [count]` prints how many were read and refused, and the slowest;
the time is that of this process, so that others on the machine do not count.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from datetime import date

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.inputs import clean
from diagnose.kb.store import shipped
from diagnose.ready import open_reasoner
from tests.odd import Odd

COUNT = 10_000
DAY = date(2026, 7, 1)
MOST = 0.05  # seconds


def report(count: int) -> str:
    """How the texts fared; raises what a text raised."""
    reasoner = open_reasoner(shipped())
    blank = Consultation(reasoner, DAY, reasoner.home())
    blank.told(clean("spots on the leaves"))  # makes ready
    fared: Counter[str] = Counter()
    times: list[float] = []
    for text in Odd(reasoner.knowledge).texts(count):
        try:
            said = clean(text)
        except UsageError:
            fared["refused"] += 1
            continue
        before = time.process_time()
        blank.told(said)
        times.append(time.process_time() - before)
        fared["read"] += 1
    times.sort()
    slow = sum(t > MOST for t in times)
    return (
        f"{count} odd texts: {fared['read']} read, {fared['refused']} refused with a reason, no "
        f"fault. Milliseconds each, with the encoder: median {1000 * times[len(times) // 2]:.1f}, "
        f"99th percentile {1000 * times[int(len(times) * 0.99)]:.1f}, most {1000 * times[-1]:.1f}; "
        f"{slow} over {1000 * MOST:.0f}."
    )


if __name__ == "__main__":
    print(report(int(sys.argv[1]) if len(sys.argv) > 1 else COUNT))
