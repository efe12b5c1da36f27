"""`python -m tests.rounds.run_sizes`: a season of 60 beds x 30 visits, and five years of it.

How long it takes to open, to list look-outs, to write and to read; no figure is asserted.
"""

from __future__ import annotations

import random
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

from diagnose.journal import Journal, Told
from diagnose.kb.store import shipped
from diagnose.kept import as_kept
from diagnose.pages import rounds
from diagnose.ready import open_reasoner
from diagnose.rounds import exchange
from diagnose.rounds.history import begin, record_of, records
from diagnose.rounds.model import (
    Bed,
    Done,
    Due,
    Finding,
    Garden,
    Planting,
    Record,
    Result,
    Visit,
    Weather,
)
from diagnose.rounds.store import Store
from tests.seasons.test_degree_days import DAYS

BEDS, VISITS, YEARS = 60, 30, 5
WORDS = "ragged holes in the leaves, green droppings, it began last week at the lower leaves"


@contextmanager
def timed(what: str) -> Iterator[None]:
    begun = time.perf_counter()
    yield
    print(f"{what}: {time.perf_counter() - begun:.2f} s")


def rows(kept: str, causes: list[str], crops: list[str]) -> Iterator[Record]:
    """Five years of a garden that nobody has."""
    chance = random.Random(60)
    yield Garden("g", "Long Row", 42.0, "05-10", "10-05")
    for bed in range(BEDS):
        yield Bed(f"b{bed}", "g", f"Bed {bed + 1}")
        for year in range(2022, 2022 + YEARS):
            for n, crop in enumerate(chance.sample(crops, 2)):
                last = None if year == 2021 + YEARS else f"{year}-10-01"
                yield Planting(f"p{bed}.{year}.{n}", f"b{bed}", crop, f"{year}-05-01", last)
            for n in range(VISITS):
                day = (date(year, 4, 10) + timedelta(7 * n)).isoformat()
                name = f"{bed}.{year}.{n}"
                yield Visit(f"v{name}", f"b{bed}", day, "looked over; nothing much " * 3)
                if n % 3 == 0:
                    cause = chance.choice(causes)
                    yield Finding(f"f{name}", f"v{name}", kept, cause, float(n), "on 10 plants")
                    yield Done(f"d{name}", f"v{name}", "handpick", f"f{name}")
                    later = (date.fromisoformat(day) + timedelta(7)).isoformat()
                    yield Result(f"r{name}", f"f{name}", later, "better", 1.0)
                    yield Due(f"u{name}", f"b{bed}", later, "look again", f"f{name}", later)
    for n in range(365 * YEARS):
        low, high = DAYS[n % 1461][1:]
        yield Weather("g", (date(2022, 1, 1) + timedelta(n)).isoformat(), low, high, 1.0)


if __name__ == "__main__":
    with timed("the knowledge opened"):
        reasoner = open_reasoner(shipped())
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = Store(folder / "rounds.sqlite")
        small = [Garden("g", "Long Row", 42.0, "05-10", "10-05"), Bed("b0", "g", "Bed 1")]
        store.put(*small)
        blank = begin(reasoner, record_of(store, Bed("b0", "g", "Bed 1")), date(2024, 6, 1))
        journal = Journal.begin(blank).then(Told(WORDS))
        import msgspec

        kept = msgspec.json.encode(as_kept("2024-06-01T10:00:00", journal, finished=True)).decode()
        causes, crops = list(reasoner.knowledge.causes), list(reasoner.knowledge.crops)
        with timed(f"{YEARS} years of {BEDS} beds x {VISITS} visits written"):
            store.put(*rows(kept, causes, crops))
        store.close()
        print(f"the file: {(folder / 'rounds.sqlite').stat().st_size / 1e6:.1f} MB")
        with timed("opened, and all records read"):
            store = Store(folder / "rounds.sqlite")
            found = records(store)
        print(f"{sum(len(r.visits) for r in found):,} visits in it")
        [garden] = store.all(Garden)
        for again in ("first", "then"):
            with timed(f"look-outs for {BEDS} beds, with weather and record, {again}"):
                at = rounds.at_garden(reasoner, store, garden, date(2026, 6, 12))
        with timed("the year's report"):
            rounds.year(at, 2025)
        with timed("exported, imported, exported"):
            exchange.write(store, folder / "a.json")
            with Store(folder / "b.sqlite") as other:
                exchange.add(other, exchange.read(folder / "a.json"))
                exchange.write(other, folder / "b.json")
        same = (folder / "a.json").read_bytes() == (folder / "b.json").read_bytes()
        print(f"the same bytes: {same}")
        store.close()
