"""Cases beside their causes, worked: alone and in parallel."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.checking import worked
from diagnose.checking.worked import Bench, numbers, run_cases
from diagnose.ready import open_knowledge
from tests.kb.test_findings import EXTRA, SLUG, folder

CASES = """\
  - {text: tiny holes, crop: kale}
  - {text: there is nothing to read here}
  - {text: ragged holes, crop: cucumber}
  - {crop: potato, text: ragged holes}
  - {text: something eats my kale, observations: {holes: ragged, droppings: absent}}
"""


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
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
