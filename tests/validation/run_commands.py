"""What a person waits for: whole commands, each a process, timed against those of another state.

python tests/validation/run_commands.py --before DIR [--write]    (minutes, on an idle machine)

DIR is a checkout of the state to compare with, as `git worktree add DIR COMMIT` makes. The two take
turns, so that what else the machine does falls on both; medians of some runs after one warm-up.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.validation import tables

HERE = Path(__file__).parents[2]
RUNS = 10
LONG_RUNS = 3  # of what takes many seconds
READ = ("read", "pale squiggles in the leaves", "--crop", "beet", "--plain")
ONE_FILE = "knowledge/causes/insect/beet-leafminer.yaml"
BATCH = """\
import sys, time
from diagnose.cases import work
from diagnose.checking.worked import Bench
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge, open_reasoner
bench = Bench.of(open_knowledge(shipped()), open_reasoner(shipped()))
cases = [case for cause in bench.blank.reasoner.knowledge.causes.values() for case in cause.cases]
for case in cases[::20]:
    work(case, bench.blank)
begun = time.process_time()
for case in cases:
    work(case, bench.blank)
print(len(cases) / (time.process_time() - begun))
"""


class Cost(NamedTuple):
    """What one run took: seconds from start to end, seconds of computing, most memory in MB."""

    seconds: float
    computing: float
    memory: float


@dataclass(frozen=True)
class State:
    """A checkout, with a cache of its own that is filled by the warm-up."""

    folder: Path
    cache: Path

    def run(self, words: Sequence[str], typed: str = "", until: str = "") -> tuple[Cost, str]:
        """One run of Python in it; the time is that until a line begins so, or else until it ends.

        The exit code may tell of findings.
        """
        with tempfile.TemporaryDirectory() as kept:
            env = {
                **os.environ, "PYTHONPATH": str(self.folder), "XDG_CACHE_HOME": str(self.cache),
                "XDG_STATE_HOME": kept, "XDG_DATA_HOME": kept,
            }  # fmt: skip
            begun = time.perf_counter()
            process = subprocess.Popen(
                [sys.executable, *words], cwd=self.folder, env=env, text=True,
                stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            )  # fmt: skip
            assert process.stdin and process.stdout
            process.stdin.write(typed)
            process.stdin.flush()
            said = []
            for line in process.stdout:
                said.append(line)
                if until and line.startswith(until):
                    break
            took = time.perf_counter() - begun
            process.stdin.close()
            process.stdout.read()
            _, code, used = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(code)
        if process.returncode not in (0, 1) or (until and not said[-1].startswith(until)):
            raise SystemExit(f"{words} in {self.folder} went wrong: {''.join(said[-5:])}")
        return Cost(took, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024), "".join(said)

    def forget_outcomes(self) -> None:
        """Leave the ready-made copy, but no outcomes of cases."""
        for file in self.cache.rglob("outcomes-*"):
            file.unlink()


def command(
    *words: str, fresh: bool = False, typed: str = "", until: str = ""
) -> Callable[[State], Cost]:
    """A run of a command; with `fresh`, the cases are worked again."""

    def run(state: State) -> Cost:
        if fresh:
            state.forget_outcomes()
        return state.run(["-m", "diagnose", *words], typed, until)[0]

    return run


def in_turn(run: Callable[[State], Cost], states: Sequence[State], runs: int) -> list[Cost]:
    """The medians of each state."""
    found: list[list[Cost]] = [[] for _ in states]
    for number in range(runs + 1):
        for state, costs in zip(states, found, strict=True):
            cost = run(state)
            if number:
                costs.append(cost)
    return [Cost(*map(median, zip(*costs, strict=True))) for costs in found]


def batch(states: Sequence[State]) -> list[float]:
    """Cases read and ranked in a second of computing on one core."""
    found: list[list[float]] = [[] for _ in states]
    for _ in range(LONG_RUNS):
        for state, rates in zip(states, found, strict=True):
            rates.append(float(state.run(["-c", BATCH])[1].split()[-1]))
    return [median(rates) for rates in found]


def lines(old: State, new: State) -> list[list[object]]:
    """A line for each thing that is waited for."""
    rows: list[list[object]] = []

    def timed(name: str, costs: Sequence[Cost]) -> None:
        before, after = costs
        rows.append([
            name, f"{before.seconds:.2f} s ({before.computing:.2f} s)",
            f"{after.seconds:.2f} s ({after.computing:.2f} s)",
            f"{before.computing / after.computing:.1f}",
        ])  # fmt: skip

    read = in_turn(command(*READ), [old, new], RUNS)
    timed('`diagnose read "..."`', read)
    asked = command("--plain", typed="\ntomato\n", until="Question 1")
    timed("start to first question", in_turn(asked, [old, new], RUNS))
    whole = in_turn(command("check", "--json", fresh=True), [old, new], LONG_RUNS)
    timed("`diagnose check`, all cases worked", whole)
    [again] = in_turn(command("check", "--json"), [new], RUNS)
    timed("the same, nothing changed", [whole[0], again])
    [one] = in_turn(command("check", "--json", ONE_FILE), [new], RUNS)
    timed("`diagnose check FILE`", [whole[0], one])
    before, after = (cost.memory for cost in read)
    rows.append(["most memory of `read`", f"{before:.0f} MB", f"{after:.0f} MB",
                 f"{before / after:.1f}"])  # fmt: skip
    slow, fast = batch([old, new])
    rows.append(["cases read and ranked in a second, one core", f"{slow:,.0f}", f"{fast:,.0f}",
                 f"{fast / slow:.1f}"])  # fmt: skip
    return rows


def main() -> None:
    """Measure, and show the table."""
    parser = tables.options(__doc__)
    parser.add_argument("--before", type=Path, required=True, help="a checkout to compare with")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        old = State(options.before.resolve(), Path(place, "old"))
        new = State(HERE, Path(place, "new"))
        rows = lines(old, new)
    load = ", ".join(f"{part:.1f}" for part in os.getloadavg())
    about = (
        f"{tables.machine()}, {os.cpu_count()} cores; the machine's load at the end was {load}. "
        "In brackets: seconds of computing, of all processes; the last column compares these."
    )
    head = ["what is waited for", "before", "now", "times less"]
    tables.show("commands", f"{about}\n\n{tables.table(head, rows)}", options.write)


if __name__ == "__main__":
    main()
