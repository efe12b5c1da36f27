"""A program that writes visits is killed at a random moment, over and over."""

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

from diagnose.rounds.model import Bed, Done, Due, Garden, Visit
from diagnose.rounds.store import Store

HOME = Garden("home", "Hill", 42.0, "05-10", "10-05")


def begun(path: Path) -> None:
    """A file with a garden and two beds."""
    with Store(path) as store:
        store.put(HOME, Bed("one", HOME.id, "One"), Bed("two", HOME.id, "Two"))


def kill_once(path: Path, turn: int, chance: random.Random) -> list[str]:
    """The visits that were said to be kept before the kill."""
    writer = subprocess.Popen(
        [sys.executable, "-m", "tests.rounds.writer", str(path), str(turn % 2)],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert writer.stdout is not None
    assert writer.stdout.readline() == "ready\n"
    time.sleep(chance.uniform(0, 0.12))
    writer.kill()
    said = writer.stdout.read()
    writer.wait()
    writer.stdout.close()
    return said.split("\n")[:-1]  # what stands after the last end of line was cut


def lost(path: Path, said: set[str]) -> tuple[set[str], int]:
    """The visits said to be kept that are not there, and how many are there only in part."""
    with Store(path) as store:
        visits = {visit.id: visit for visit in store.all(Visit)}
        done = {one.visit for one in store.all(Done)}
        due = {(one.bed, one.day) for one in store.all(Due)}
    part = sum(v.id not in done or (v.bed, v.day) not in due for v in visits.values())
    link = sqlite3.connect(path)
    assert link.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    link.close()
    return said - set(visits), part
