"""Every case beside its cause, worked: small results, made in parallel.

The workers are forked, so that they inherit what is ready (engine, tables, lexicon) and only
numbers of cases and small results go between the processes.
"""

from __future__ import annotations

import hashlib
import multiprocessing
import os
import threading
from collections.abc import Collection, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from itertools import chain
from typing import NamedTuple

import msgspec
import numpy as np

from diagnose import cases
from diagnose.consultation import Consultation, Reasoner
from diagnose.errors import UsageError
from diagnose.kb import store
from diagnose.kb.load import Root, layers
from diagnose.kb.model import Knowledge
from diagnose.reading import Lexicon
from diagnose.reasoning.ranking import SOMETHING_ELSE

WORTH_FORKING = 40  # cases; fewer are done sooner in this process
CHUNKS = 6  # per worker, so that none waits long for the slowest
YEAR = 2026  # any: of a case's date only the day in the year matters


@dataclass(frozen=True, slots=True)
class Result:
    """One case of a cause, worked.

    `place`, `first` and `chance` come from all that the case tells (its text, and what it states
    was seen): where its own cause came (0: ruled out or not a host), which cause came first, and
    that one's chance; `own` is its own cause's. `questions`, `place_asked` and `first_asked` come
    from the guided questions, answered from what it states; None where it states nothing. `read`
    counts the observations that the text and the statements gave. `problem` says why it cannot be
    worked.
    """

    cause: str
    index: int
    place: int = 0
    first: str = SOMETHING_ELSE
    chance: float = 0.0
    read: int = 0
    questions: int | None = None
    place_asked: int | None = None
    first_asked: str | None = None
    problem: str | None = None
    own: float = 0.0


@dataclass(frozen=True, slots=True)
class Bench:
    """A knowledge base made ready for working cases; cases without a date are on `blank.day`."""

    blank: Consultation

    @property
    def lexicon(self) -> Lexicon:
        """The words of the knowledge."""
        return self.blank.reasoner.lexicon

    @classmethod
    def of(cls, knowledge: Knowledge, reasoner: Reasoner | None = None) -> Bench:
        """Ready at the place assumed, in midsummer."""
        ready = reasoner or Reasoner(knowledge)
        home = ready.home()
        return cls(Consultation(ready, home.find("longest day", YEAR), home))


_bench: Bench | None = None  # inherited by forked workers


def numbers(knowledge: Knowledge, causes: Collection[str] | None = None) -> list[tuple[str, int]]:
    """Every case as (cause, index), of all causes or of some, in the order of the knowledge."""
    return [
        (cause_id, index)
        for cause_id, cause in knowledge.causes.items()
        if causes is None or cause_id in causes
        for index in range(len(cause.cases))
    ]


def run_cases(
    knowledge: Knowledge,
    causes: Collection[str] | None = None,
    *,
    bench: Bench | None = None,
    workers: int | None = None,
) -> list[Result]:
    """Work the cases of all causes, or of some, in the order of the knowledge.

    `bench` is the knowledge made ready, where that was done already; `workers` is the number of
    processes, and None takes one per core.
    """
    ready = bench or Bench.of(knowledge, Reasoner(knowledge, hears=False))
    with working(ready, numbers(knowledge, causes), workers) as results:
        return list(results)


class Past(NamedTuple):
    """A knowledge whose cases were all worked, and how they came out."""

    knowledge: Knowledge
    results: list[Result]

    @classmethod
    def of(cls, root: Root) -> Past | None:
        """The last such state of a folder, or of several, or None where none is kept."""
        last = store.copy_of(_last(root))
        parts = store.copy_of(f"outcomes-{bytes(last['digest']).decode()}") if last else None
        with suppress(KeyError, msgspec.MsgspecError):  # kept by another state of the program
            if parts:
                return cls(
                    msgspec.msgpack.decode(parts["knowledge"], type=Knowledge),
                    msgspec.msgpack.decode(parts["outcomes"], type=list[Result]),
                )
        return None

    def keep(self, root: Root) -> None:
        """Keep it as the last state of a folder, or of several."""
        Kept(self.knowledge.digest).write(self.results, self.knowledge)
        store.keep(_last(root), {"digest": self.knowledge.digest.encode()})


def _last(root: Root) -> str:
    """The name under which the last state of a folder, or of several, is kept."""
    names = b"\0".join(os.fsencode(folder.resolve()) for folder in layers(root))
    return "last-" + hashlib.sha256(names).hexdigest()[:12]


class Kept:
    """The outcomes of all cases, kept under the digest of the knowledge that they rest on.

    Without a digest nothing is kept.
    """

    def __init__(self, digest: str | None) -> None:
        self.name = f"outcomes-{digest}" if digest else None

    def read(self) -> list[Result] | None:
        """The outcomes, or None where they have to be worked out."""
        parts = store.copy_of(self.name) if self.name else None
        return msgspec.msgpack.decode(parts["outcomes"], type=list[Result]) if parts else None

    def write(self, results: list[Result], knowledge: Knowledge) -> None:
        """Keep the outcomes, and the knowledge, to tell later what has changed since."""
        if self.name:
            without = msgspec.structs.replace(knowledge, places=None)
            store.keep(self.name, {
                "outcomes": msgspec.msgpack.encode(results),
                "knowledge": msgspec.msgpack.encode(without),
            })  # fmt: skip


def outcomes(knowledge: Knowledge) -> list[Result]:
    """The outcomes of all cases, worked out where they are not kept."""
    kept = Kept(knowledge.digest)
    results = kept.read()
    if results is None:
        results = run_cases(knowledge)
        kept.write(results, knowledge)
    return results


@contextmanager
def working(
    bench: Bench, todo: Sequence[tuple[str, int]], workers: int | None = None
) -> Iterator[Iterator[Result]]:
    """The results of these cases, (cause, index), as they come; meanwhile other work can go on."""
    global _bench
    count = min(workers or _cores(), len(todo) // WORTH_FORKING + 1)
    if count == 1 or "fork" not in multiprocessing.get_all_start_methods():
        yield (work(bench, *number) for number in todo)
        return
    first = work(bench, *todo[0])  # makes ready here, once, what every worker inherits
    _bench = bench
    watched, held = os.pipe()
    pool = ProcessPoolExecutor(
        count, multiprocessing.get_context("fork"), _end_with_parent, (watched, held)
    )
    try:
        size = -(-len(todo) // (count * CHUNKS))
        yield chain([first], pool.map(_work_inherited, todo[1:], chunksize=size))
    finally:
        _bench = None
        pool.shutdown(wait=False, cancel_futures=True)
        os.close(held)  # those that are still at work are no longer needed
        os.close(watched)


def _end_with_parent(watched: int, held: int) -> None:
    """In a worker: end when the parent does, whatever ends it; only then is `held` closed by all.

    A parent that is killed cannot tell its workers, and they would wait for ever.
    """
    os.close(held)

    def wait() -> None:
        os.read(watched, 1)
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()


def work(bench: Bench, cause: str, index: int) -> Result:
    """Work one case of a cause."""
    case = bench.blank.reasoner.knowledge.causes[cause].cases[index]
    try:
        whole = begun(bench, cause, index)
    except UsageError as error:
        return Result(cause, index, problem=str(error))
    place, first, chance, own = standing(whole, cause)
    found = Result(cause, index, place, first, chance, len(whole.observations), own=own)
    if not case.observations:
        return found
    asked = cases.guided(whole)
    place_asked, first_asked, _, _ = standing(asked, cause)
    return replace(found, questions=asked.asked, place_asked=place_asked, first_asked=first_asked)


def begun(bench: Bench, cause: str, index: int) -> Consultation:
    """A case begun, left out of the wording of its cause. Raises UsageError as `cases.start`."""
    case = bench.blank.reasoner.knowledge.causes[cause].cases[index]
    return cases.start(case, replace(bench.blank, without=(cause, index)))


def standing(consultation: Consultation, cause: str) -> tuple[int, str, float, float]:
    """The place of a cause among the known ones (0: not possible), and which one is first.

    Then that one's chance, and the cause's own.
    """
    causes = consultation.reasoner.tables.causes
    chances = consultation.chances[:-1]
    best = float(chances.max())
    if best <= 0:
        return 0, SOMETHING_ELSE, 0.0, 0.0
    first = min(causes[row] for row in np.flatnonzero(chances == best))
    own = float(chances[consultation.reasoner.tables.row[cause]])
    before = sum(causes[row] < cause for row in np.flatnonzero(chances == own))
    place = 1 + int(np.count_nonzero(chances > own)) + before
    return place if own > 0 else 0, first, best, own


def _work_inherited(number: tuple[str, int]) -> Result:
    assert _bench is not None
    return work(_bench, *number)


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1


__all__ = [
    "Bench",
    "Kept",
    "Past",
    "Result",
    "begun",
    "numbers",
    "outcomes",
    "run_cases",
    "standing",
    "work",
    "working",
]
