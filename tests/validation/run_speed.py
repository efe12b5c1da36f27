"""Speed as ratios, all measured in one run.

python tests/validation/run_speed.py [--write]      (about ten minutes, on an idle machine)
"""

from __future__ import annotations

import gc
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.cases import work
from diagnose.checking.worked import Bench, run_cases
from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from diagnose.reasoning import facts
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.engines import make_engine
from tests.validation import tables
from tests.validation.agreement import told
from tests.validation.growth import grow

DAY = date(2026, 7, 1)
STEPS = 6  # answers to a crop
SOME = 5  # steps of the slowest peer
SIZES = (1, 3, 10, 30)
STARTS = 7
PATIENCE = 120  # seconds for a start
PEERS = {  # pyagrum's exact engines, and how many steps to wait for
    "LazyPropagation": SOME,
    "VariableElimination": 100,
    "ShaferShenoyInference": 100,
}


def seconds(run: Callable[[], object]) -> float:
    """How long something takes."""
    begun = time.perf_counter()
    run()
    return time.perf_counter() - begun


def milliseconds(of: Sequence[float]) -> str:
    """The median in milliseconds."""
    return f"{1000 * statistics.median(of):.3g} ms"


def look(consultation: Consultation) -> object:
    """All of a step: the rules, the chances, every open question weighed, whether to stop."""
    return consultation.standing, consultation.questions, consultation.stop


def untouched(consultation: Consultation) -> Consultation:
    """The same consultation with nothing worked out yet."""
    return replace(consultation)


def walk(reasoner: Reasoner, crop: str) -> Iterator[Consultation]:
    """A consultation after each of some answers to its best questions."""
    found = Consultation(reasoner, DAY, reasoner.home(), crop)
    for number in range(STEPS):
        if not found.questions:
            return
        symptom = found.questions[0].symptom
        found = found.answer(symptom, found.offered(symptom)[number % 2])
        yield found


def step_times(reasoner: Reasoner) -> list[float]:
    """Seconds for each step of a walk on every crop, each looked at for the first time."""
    return [
        seconds(lambda: look(at))  # noqa: B023
        for crop in reasoner.knowledge.crops
        for at in walk(reasoner, crop)
    ]


def steps_table(reasoner: Reasoner) -> str:
    """A full step against the same steps with pyagrum's exact engines, each way in a row."""
    from tests.validation.peers import NetworkStep

    clips = Reasoner(reasoner.knowledge, make_engine(_rules(reasoner), "clips"))
    ours = step_times(reasoner)
    lines = [
        [f"ours, {reasoner.engine.name}", len(ours), milliseconds(ours), ""],
        [f"ours, {clips.engine.name}", len(ours), milliseconds(step_times(clips)), ""],
    ]
    after: list[float] = []
    crops = list(reasoner.knowledge.crops)
    for engine, count in PEERS.items():
        own, theirs = list[float](), list[float]()
        for crop in crops[:: max(1, len(crops) * STEPS // count)]:
            network = NetworkStep(reasoner, crop, engine)
            steps = list(walk(reasoner, crop))[: count - len(theirs)]
            own += [seconds(lambda: look(untouched(at))) for at in steps]  # noqa: B023
            for at in steps:
                fresh = untouched(at)
                rules = seconds(lambda: (fresh.prior, fresh.counted))  # noqa: B023
                theirs.append(rules + seconds(lambda: network.step(at)))  # noqa: B023
                after.append(seconds(lambda: look(untouched(at))))  # noqa: B023
        ratio = statistics.median(theirs) / statistics.median(own)
        lines.append(
            [f"our rules, pyagrum {engine}", len(theirs), milliseconds(theirs), f"{ratio:.0f}"]
        )
    name = "ours, straight after a step of pyagrum (the processor's caches hold other things)"
    lines.insert(2, [name, len(after), milliseconds(after), ""])
    return tables.table(["a full step", "steps", "median", "times ours"], lines)


def _rules(reasoner: Reasoner):  # type: ignore[no-untyped-def]
    return facts.engine_rules(reasoner.knowledge.rules)


def closures_table(reasoner: Reasoner) -> str:
    """The rule closure of every twelfth case under three engines."""
    from tests.validation.peers import PreteEngine

    rules = _rules(reasoner)
    engines: list[Engine] = [
        make_engine(rules, "durable"), make_engine(rules, "clips"), PreteEngine(rules)
    ]  # fmt: skip
    starts = [consultation.given for _, consultation in told(reasoner.knowledge, 12)]
    for start in starts:
        first, *others = [engine.close(start) for engine in engines]
        if any(other != first for other in others):
            raise SystemExit("the engines do not agree")
    medians = {
        engine.name: statistics.median(seconds(lambda: engine.close(start)) for start in starts)  # noqa: B023
        for engine in engines
    }
    least = min(medians.values())
    lines = [
        [name, len(starts), f"{1000 * median:.3g} ms", f"{median / least:.1f}"]
        for name, median in medians.items()
    ]
    head = [f"closure of a case under {len(rules)} rules", "cases", "median", "times the fastest"]
    return tables.table(head, lines)


def start_times(folder: Path, cache: Path) -> list[float]:
    """Seconds from process start until the first question stands on the screen."""
    found = []
    for _ in range(STARTS + 1):
        with tempfile.TemporaryDirectory() as state:  # with nothing kept to go on from
            env = {**os.environ, "XDG_STATE_HOME": state, "XDG_CACHE_HOME": str(cache)}
            found.append(start_time(folder, env))
    return found


def start_time(folder: Path, env: dict[str, str]) -> float:
    """One start; SystemExit where no question comes, or not in time."""
    begun = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-m", "diagnose", "--plain", "--knowledge", str(folder)],
        env=env, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
    ) as process:  # fmt: skip
        assert process.stdin and process.stdout
        too_late = threading.Timer(PATIENCE, process.kill)  # which ends what is read below
        too_late.start()
        try:
            process.stdin.write("\ntomato\n")
            process.stdin.flush()
            if not any(line.startswith("Question 1") for line in process.stdout):
                raise SystemExit("no question came")
            took = time.perf_counter() - begun
            process.stdin.close()
            process.stdout.read()
        finally:
            too_late.cancel()
    return took


def measure_size(folder: Path) -> dict[str, float]:
    """In a process of its own: the median and the longest step, and the most memory in use."""
    reasoner = Reasoner(open_knowledge(folder))
    gc.freeze()  # as the program does
    times = step_times(reasoner)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    count = len(reasoner.knowledge.causes)
    return {"step": statistics.median(times), "most": max(times), "peak": peak, "causes": count}


def growth_table() -> str:
    """Time, memory and start-up as the knowledge grows."""
    knowledge = open_knowledge(shipped())
    lines = []
    for size in SIZES:
        with tempfile.TemporaryDirectory() as place:
            folder, cache = Path(place) / "knowledge", Path(place) / "cache"
            grow(knowledge, size, folder)
            first, *starts = start_times(folder, cache)
            asked = [sys.executable, __file__, "--size", str(folder)]
            env = {**os.environ, "XDG_CACHE_HOME": str(cache)}
            found = json.loads(
                subprocess.run(
                    asked, env=env, capture_output=True, check=True, timeout=PATIENCE * 5
                ).stdout
            )
        lines.append(
            [size, f"{found['causes']:,.0f}", f"{1000 * found['step']:.3g} ms",
             f"{1000 * found['most']:.3g} ms", f"{statistics.median(starts):.2f} s",
             f"{first:.1f} s", f"{found['peak']:.0f} MB"]
        )  # fmt: skip
    head = [
        "times", "causes", "a step (median)", "longest step", "start to first question",
        "the very first start", "most memory",
    ]  # fmt: skip
    return tables.table(head, lines)


def batch_table(reasoner: Reasoner) -> str:
    """Cases and whole consultations a second, on one core and on two."""
    knowledge = reasoner.knowledge
    bench = Bench.of(knowledge, reasoner)
    cases = [case for cause in knowledge.causes.values() for case in cause.cases]
    count = len(cases)
    run_cases(knowledge, list(knowledge.causes)[:40], bench=bench, workers=1)
    took = seconds(lambda: [work(case, bench.blank) for case in cases])
    lines = [[1, "read and ranked", f"{count:,}", f"{count / took:,.0f}"]]
    for workers in (1, 2):
        took = seconds(lambda: run_cases(knowledge, bench=bench, workers=workers))  # noqa: B023
        done = "read, ranked, and asked through"
        lines.append([workers, done, f"{count:,}", f"{count / took:,.0f}"])
    return tables.table(["cores", "what is done", "cases", "a second"], lines)


def main() -> None:
    """Measure all, and show the tables."""
    parser = tables.options(__doc__)
    parser.add_argument("--size", type=Path, help="measure one folder only, in JSON")
    options = parser.parse_args()
    if options.size:
        print(json.dumps(measure_size(options.size)))
        return
    reasoner = Reasoner(open_knowledge(shipped()))
    parts = [
        f"{tables.machine()}, {os.cpu_count()} cores.",
        steps_table(reasoner),
        closures_table(reasoner),
        growth_table(),
        batch_table(reasoner),
    ]
    tables.show("speed", "\n\n".join(parts), options.write)


if __name__ == "__main__":
    main()
