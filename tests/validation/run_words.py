"""How far the gardener's own words lead, and the questions after them.

`python -m tests.validation.run_words [case files] [--write]` prints the table. The cases beside the
causes and the published questions are each left out of their own cause's wording. The files in
data/ are in no wording at all.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import msgspec

from diagnose.cases import Worked, read_cases, work
from diagnose.checking.worked import Bench
from diagnose.kb.described import CaseId, own, published
from diagnose.kb.model import Case
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables

DATA = Path(__file__).parent / "data"
FILES = ("second_hand.yaml", "published_unseen.yaml")
HEAD = ["cases", "told", "cases worked", "right first", "in three", "questions on average"]

Left = tuple[Case, CaseId | None]  # with the described text that is left out of the wording

_bench: Bench


def place_and_questions(case: Case, without: CaseId | None, ask: bool) -> tuple[int, int]:
    """Where the right answer came, and how many questions were put."""
    found: Worked = work(case, replace(_bench.blank, without=without), ask)
    return found.place, found.consultation.asked


def line(name: str, told: str, cases: Sequence[Left], ask: bool) -> list[object]:
    """A line of the table. Every core works a share of the cases."""
    with multiprocessing.get_context("fork").Pool() as pool:
        found = pool.starmap(place_and_questions, [(*case, ask) for case in cases], chunksize=50)
    total = len(found)
    first = sum(place == 1 for place, _ in found) / total
    three = sum(1 <= place <= 3 for place, _ in found) / total
    asked = f"{sum(n for _, n in found) / total:.1f}" if ask else ""
    return [name, told, total, tables.percent(first), tables.percent(three), asked]


def lines(name: str, cases: Sequence[Left]) -> list[list[object]]:
    """What the words alone give, what questions add, and, where there is more, all of it."""
    words = [(msgspec.structs.replace(case, observations={}), out) for case, out in cases]
    found = [line(name, "the words alone", words, ask=False)]
    found.append(line(name, "the words, then questions", cases, ask=True))
    if any(case.observations for case, _ in cases):
        found.append(line(name, "the words and all that is stated", cases, ask=False))
    return found


def report(files: Sequence[Path]) -> str:
    """The whole section."""
    global _bench
    _bench = Bench.of(open_knowledge(shipped()))
    knowledge = _bench.blank.reasoner.knowledge
    cases = [(msgspec.structs.replace(case, expect=[out[0]]), out) for case, out in own(knowledge)]
    work(cases[0][0], _bench.blank)  # makes ready here, once, what every core inherits
    found = lines("beside the causes", cases)
    found += lines("`knowledge/letters.yaml`", published(knowledge))
    for path in (*(DATA / name for name in FILES), *files):
        found += lines(f"`{path.name}`", [(case, None) for case in read_cases(path)])
    return tables.table(HEAD, found)


if __name__ == "__main__":
    parser = tables.options(__doc__)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="more files of cases")
    given = parser.parse_args()
    tables.show("words", report(given.files), given.write)
