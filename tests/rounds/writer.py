"""Writes visits without end, and says each once it is kept; for tests that kill it."""

from __future__ import annotations

import sys
from datetime import date, timedelta
from pathlib import Path

from diagnose.rounds.model import Bed, Done, Due, Visit, new_id
from diagnose.rounds.store import Store

if __name__ == "__main__":
    store = Store(Path(sys.argv[1]))
    bed = store.all(Bed)[int(sys.argv[2])]
    day = max((date.fromisoformat(v.day) for v in store.all(Visit, bed=bed.id)), default=date.min)
    print("ready", flush=True)
    while True:
        day += timedelta(1)
        visit = Visit(new_id(), bed.id, day.isoformat(), f"seen on {day} " * 20)
        with store.changing():
            store.put(visit, Done(new_id(), visit.id, "pick by hand"))
            store.put(Due(new_id(), bed.id, visit.day, "look again"))
        print(visit.id, flush=True)
