"""Cases beside their causes, worked: alone and in parallel."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from diagnose.checking import worked
from diagnose.checking.worked import Bench, numbers, run_cases
from diagnose.listening.encoder import Encoder
from diagnose.ready import open_knowledge
from tests.conftest import heeding_signals
from tests.kb.test_findings import EXTRA, SLUG, folder

CASES = """\
  - {text: tiny holes, crop: kale}
  - {text: there is nothing to read here}
  - {text: ragged holes, crop: cucumber}
  - {crop: potato, text: ragged holes}
  - {text: something eats my kale, observations: {holes: ragged, droppings: absent}}
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    monkeypatch.setattr(Encoder, "open", lambda: None)
    return Bench.of(open_knowledge(folder(tmp_path, {SLUG: EXTRA + CASES})))


def test_what_comes_of_a_case(bench: Bench) -> None:
    results = run_cases(bench.blank.reasoner.knowledge, ["slug"], bench=bench)
    right, _, other, unread, broken, no_host, asked = results
    assert [r.index for r in results] == list(range(7))
    assert (right.place, right.first, right.read, right.questions) == (1, "slug", 1, None)
    assert 0.3 < right.chance < 1
    assert other.place > 1
    assert other.first == "flea-beetle"
    assert unread.read == 0
    assert broken.problem is not None
    assert "cucumber" in broken.problem
    assert no_host.place == 0
    assert (asked.place, asked.place_asked, asked.first_asked) == (1, 1, "slug")
    assert asked.questions is not None
    assert asked.questions >= 1


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_workers_do_not_change_the_results(
    bench: Bench, workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    knowledge = bench.blank.reasoner.knowledge
    alone = [worked.work(bench, *number) for number in numbers(knowledge)]
    monkeypatch.setattr(worked, "WORTH_FORKING", 2)
    assert run_cases(knowledge, bench=bench, workers=workers) == alone


def test_no_cases_no_results(bench: Bench) -> None:
    assert run_cases(bench.blank.reasoner.knowledge, [], bench=bench) == []


SLOW = """\
import sys, time
from pathlib import Path
from diagnose.checking import worked
from diagnose.listening.encoder import Encoder
from diagnose.ready import open_knowledge

def slowly(number):
    os.write(1, f"{os.getpid()}\\n".encode())  # one write: the lines of two never mix
    time.sleep(60)

import os
bench = worked.Bench.of(open_knowledge(Path(sys.argv[1])))
worked.WORTH_FORKING = 1
worked._work_inherited = slowly
worked.run_cases(bench.blank.reasoner.knowledge, bench=bench, workers=2)
"""


def alive(pid: int) -> bool:
    """Whether a process is there, and no mere entry that waits to be collected."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGKILL, signal.SIGHUP, signal.SIGINT])
def test_workers_end_with_their_parent(tmp_path: Path, by: signal.Signals) -> None:
    place = folder(tmp_path, {SLUG: EXTRA + CASES})
    with subprocess.Popen(
        [sys.executable, "-c", SLOW, str(place)], stdout=subprocess.PIPE, text=True,
        stderr=subprocess.DEVNULL, start_new_session=True, preexec_fn=heeding_signals,
    ) as parent:  # fmt: skip
        assert parent.stdout
        workers = [int(parent.stdout.readline()) for _ in range(2)]
        assert all(map(alive, workers))
        os.kill(parent.pid, by)
        until = time.monotonic() + 20
        while any(map(alive, workers)) and time.monotonic() < until:
            time.sleep(0.05)
        left = [worker for worker in workers if alive(worker)]
        for worker in left:
            os.kill(worker, signal.SIGKILL)
        assert not left
