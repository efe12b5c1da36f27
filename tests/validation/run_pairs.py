"""Two troubles at once: pairs of texts on one crop, joined, and how many are both named.

`python -m tests.validation.run_pairs [--write]` prints the table. The texts are second-hand ones
whose cause comes first when they are told alone; which are joined is random, and the same in every
run. How often a second trouble is named where there is one only is measured on single texts.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import msgspec

from diagnose.cases import accepted, read_cases, start
from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation
from diagnose.kb.described import published
from diagnose.kb.model import Case
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables

DATA = Path(__file__).parent / "data"
PAIRS = 300
SEEDS = (7, 8)  # the numbers in likelihood.yaml were chosen on the first
SHOWN = 3


def joined(one: Case, other: Case) -> Case:
    """Two texts as one, on the day of the first."""
    text = f"{one.text.rstrip().rstrip('.')}. {other.text}"
    return msgspec.structs.replace(one, text=text, observations={})


def right(case: Case, cause: str, blank: Consultation) -> bool:
    """Whether a cause is a right answer to a case."""
    return accepted(case, cause, blank.reasoner.knowledge.causes[cause])


def pairs(cases: Sequence[Case], blank: Consultation, seed: int) -> Iterator[tuple[Case, Case]]:
    """Random pairs of texts on one crop with no answer in common."""
    knowledge, chance = blank.reasoner.knowledge, random.Random(seed)
    crops: dict[str, list[Case]] = {}
    for case in cases:
        crop = knowledge.crop_named(case.crop) if case.crop else None
        if crop:
            crops.setdefault(crop, []).append(case)
    crops = {crop: found for crop, found in crops.items() if len(found) > 1}
    weights = [len(found) * (len(found) - 1) for found in crops.values()]
    left = PAIRS
    while left:
        [found] = chance.choices(list(crops.values()), weights)
        one, other = chance.sample(found, 2)
        if not {*one.names} & {*other.names}:
            left -= 1
            yield one, other


def pair_line(name: str, both: Sequence[tuple[Case, Case]], blank: Consultation) -> list[object]:
    """How many of the pairs are named, and how far."""
    leads = three = named = proposed = 0
    for one, other in both:
        found = start(joined(one, other), blank)
        of_one = [right(one, cause, blank) for cause in found.three]
        of_other = [right(other, cause, blank) for cause in found.three]
        leads += of_one[0] or of_other[0]
        three += any(of_one) and any(of_other)
        proposed += found.second is not None
        if found.second is not None:
            named += (of_one[0] and of_other[1]) or (of_other[0] and of_one[1])
    shares = (tables.percent(n / len(both)) for n in (leads, three, proposed, named))
    return [name, len(both), *shares]


def single_line(name: str, cases: Sequence[tuple[Case, Consultation]]) -> list[object]:
    """How many single texts are named, and how many are given a second trouble."""
    three = [[accepted(case, c, found.reasoner.knowledge.causes[c]) for c in found.three]
             for case, found in cases]  # fmt: skip
    leads, among = (sum(map(any, (n[:most] for n in three))) for most in (1, SHOWN))
    second = sum(found.second is not None for _, found in cases)
    shares = (tables.percent(n / len(cases)) for n in (leads, among, second))
    return [name, len(cases), *shares, ""]


def report() -> str:
    """The whole section."""
    knowledge = open_knowledge(shipped())
    blank = Bench.of(knowledge).blank
    words = [
        msgspec.structs.replace(case, observations={})
        for case in read_cases(DATA / "second_hand.yaml")
        if case.text
    ]
    alone = [(case, start(case, blank)) for case in words]
    sure = [case for case, found in alone if right(case, found.three[0], blank)]
    letters = [
        (case, start(case, replace(blank, without=out))) for case, out in published(knowledge)
    ]
    lines = [
        pair_line(f"pairs, seed {seed}", list(pairs(sure, blank, seed)), blank) for seed in SEEDS
    ]
    lines += [
        single_line("single letters", letters),
        single_line("single second-hand texts", alone),
    ]
    head = [
        "texts", "count", "one of the right ones leads", "all among the first three",
        "a second is proposed", "the second is named rightly",
    ]  # fmt: skip
    return tables.table(head, lines)


if __name__ == "__main__":
    given = tables.options(__doc__).parse_args()
    tables.show("pairs", report(), given.write)
