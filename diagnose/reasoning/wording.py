"""How well the gardener's own words fit the words of each cause.

Beside the symptoms that are read from it, a sentence has a wording: its words, and its pairs of
words that follow one another. Each cause has one too: its names and prose, the phrases of its usual
symptoms, and above all its described cases and the published questions that it is the answer to. A
word comes from a cause's own wording with chance `share`, and else from the wording of all causes
together (a mixture of unigrams); the log of the likelihood ratio, times `weight` since words come
in company, or `pairs` for a pair, is one more weight. People find words that nobody foresaw, so no
cause counts as less likely by its wording than `least` times the one that fits best.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from functools import cache
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from diagnose.inputs import plain
from diagnose.kb.model import NONE, PRESENT, Cause, Knowledge, figure
from diagnose.reasoning.ranking import Floats, Ints

CaseId: TypeAlias = tuple[str, int]
"""A cause, and the number of one of its described texts: its cases, and after them its letters."""
Keys = Callable[[str], Iterable[str]]
USUAL = 0.25  # symptoms at least this frequent lend a cause their words
UNSEEN = 0.5  # added to every word's count, so that none is impossible
BETWEEN = " "  # between the words of a pair; no key of a word holds one


class Wording:
    """The wordings of all causes. `keys` cuts a text into the keys of its words, in order."""

    def __init__(self, knowledge: Knowledge, keys: Keys) -> None:
        self.numbers = knowledge.likelihood.wording
        self.keys = keys
        self._told = cache(self._count)  # the phrases of a symptom stand under many causes
        self.row = {cause: i for i, cause in enumerate(knowledge.causes)}
        texts = {c: [case.text for case in cause.cases] for c, cause in knowledge.causes.items()}
        for letter in knowledge.letters.values():
            texts[letter.cause].append(letter.text)
        self.cases = {c: [self._words(plain(text)) for text in found] for c, found in texts.items()}
        counts = [self._counts(knowledge, c, cause) for c, cause in knowledge.causes.items()]
        self.totals = np.array([math.fsum(count.values()) for count in counts])
        self.where: dict[str, dict[int, float]] = defaultdict(dict)
        for row, count in enumerate(counts):
            for word, n in count.items():
                self.where[word][row] = n
        self.total = math.fsum(self.totals) + UNSEEN * len(self.where)
        self._usual = cache(self._share_of_all)
        self._moves = cache(self._all_moves)

    def _words(self, text: str) -> set[str]:
        """The keys of the words of a text, and of its pairs."""
        words = list(self.keys(text))
        return {*words, *(f"{a}{BETWEEN}{b}" for a, b in pairwise(words))}

    def _counts(self, knowledge: Knowledge, cause_id: str, cause: Cause) -> dict[str, float]:
        """How much each word weighs in the wording of a cause: a name counts 1.

        Pairs are those of its described cases.
        """
        numbers = self.numbers
        found: dict[str, float] = defaultdict(float)

        def add(times: float, *texts: str | None) -> None:
            for key, n in self._told(texts).items():
                found[key] += times * n

        add(1, cause.name, *cause.also, cause.summary)
        add(numbers.prose, cause.mechanism, cause.spread, cause.matters.text, cause.harvest)
        for symptom_id, line in cause.evidence.items():
            symptom = knowledge.symptoms[symptom_id]
            forms = line if isinstance(line, dict) else {PRESENT: line}
            for value, word in forms.items():
                share = figure(word, knowledge.likelihood.frequency)
                if value == NONE or share < USUAL:
                    continue
                add(share, symptom.name if value == PRESENT else symptom.value_name(value))
                says = symptom.phrases(value)
                add(share * numbers.phrases / max(len(says), 1), *says)
        for words in self.cases[cause_id]:
            for key in words:
                found[key] += numbers.case
        return found

    def _count(self, texts: tuple[str | None, ...]) -> Counter[str]:
        """How often each key stands in some texts."""
        return Counter(key for text in texts if text for key in self.keys(plain(text)))

    def weigh(self, text: str, without: CaseId | None = None) -> Floats:
        """The log weight of a text for every cause and, last, 0 for something else.

        `without` names a described case that is left out of its cause's wording, so that the cases
        can be tried on one another.
        """
        words = sorted(word for word in self._words(text) if word in self.where)
        total = np.zeros(len(self.totals) + 1)
        for word in words:
            rows, moves, elsewhere = self._moves(word)
            total[:-1] += elsewhere
            total[rows] += moves
        if without is not None:
            cause_id, number = without
            row, own = self.row[cause_id], self.cases[cause_id][number]
            total[row] = math.fsum(self._without(word, row, own) for word in words)
        held = np.log(np.exp(total - total.max()) + self.numbers.least)
        found: Floats = held - held[-1]
        return found

    def _all_moves(self, word: str) -> tuple[Ints, Floats, float]:
        """The causes that have a word, what it adds to them, and first to every cause."""
        rows = np.array(list(self.where[word]), dtype=np.intp)
        ratio = np.array(list(self.where[word].values())) / self.totals[rows] / self._usual(word)
        share, weight = self.numbers.share, self._weight(word)
        return rows, weight * np.log1p(ratio * share / (1 - share)), weight * math.log(1 - share)

    def _without(self, word: str, row: int, own: set[str]) -> float:
        """What a word adds to a cause whose wording lacks one described case."""
        case, share = self.numbers.case, self.numbers.share
        count = self.where[word].get(row, 0) - case * (word in own)
        ratio = count / (self.totals[row] - case * len(own)) / self._usual(word)
        return self._weight(word) * math.log(share * ratio + 1 - share)

    def _share_of_all(self, word: str) -> float:
        """The share of a word in the wording of all causes together."""
        return (math.fsum(self.where[word].values()) + UNSEEN) / self.total

    def _weight(self, word: str) -> float:
        return self.numbers.pairs if BETWEEN in word else self.numbers.weight
