"""The figures of the README and the notes: start-up, and from an answer to the next question.

Run `python tests/bench.py`; it prints a table. No test asserts a time.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import date

from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge

RUNS = 10


def start_to_first_question() -> list[float]:
    """Seconds from process start until the first question stands on the screen."""
    found = []
    for _ in range(RUNS + 1):
        with tempfile.TemporaryDirectory() as state:
            env = {**os.environ, "XDG_STATE_HOME": state}
            begun = time.perf_counter()
            with subprocess.Popen(
                [sys.executable, "-m", "diagnose", "--plain"], env=env, text=True,
                stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            ) as process:  # fmt: skip
                assert process.stdin and process.stdout
                process.stdin.write("\ntomato\n")
                process.stdin.flush()
                for line in process.stdout:
                    if line.startswith("Question 1"):
                        break
                found.append(time.perf_counter() - begun)
                process.stdin.close()
                process.stdout.read()
    return found[1:]  # the first run fills the cache


def answer_to_next_question() -> list[float]:
    """Seconds a step: an answer in, rules, chances, every open question weighed, the stop."""
    knowledge = open_knowledge(shipped())
    reasoner = Reasoner(knowledge)
    found = []
    for crop in knowledge.crops:
        consultation = Consultation(reasoner, date(2026, 7, 1), reasoner.home(), crop)
        for number in range(6):
            if not consultation.questions:
                break
            symptom = consultation.questions[0].symptom
            value = consultation.offered(symptom)[number % 2]
            begun = time.perf_counter()
            consultation = consultation.answer(symptom, value)
            _ = consultation.stop, consultation.questions, consultation.ranked
            found.append(time.perf_counter() - begun)
    return found


def main() -> None:
    """Print the table."""
    rows = (
        ("start to first question, s", start_to_first_question(), 1.0, "0.6"),
        ("answer to next question, ms", answer_to_next_question(), 1000.0, "30"),
    )
    print(f"{'':30} {'median':>8} {'largest':>8} {'wanted':>8}")
    for name, seconds, scale, wanted in rows:
        print(
            f"{name:30} {statistics.median(seconds) * scale:8.2f} "
            f"{max(seconds) * scale:8.2f} {wanted:>8}"
        )


if __name__ == "__main__":
    main()
