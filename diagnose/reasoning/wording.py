"""How well the gardener's own words fit the words of each cause.

Beside the symptoms that are read from it, a sentence has a wording. Each cause has one too: its
names and prose, the phrases of its usual symptoms, and above all its described cases. A word comes
from a cause's own wording with chance `share`, and else from the wording of all causes together (a
mixture of unigrams); the log of the likelihood ratio, times `weight` since words come in company,
is one more weight.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from functools import cache

import numpy as np

from diagnose.kb.model import NONE, PRESENT, Cause, Knowledge, figure
from diagnose.reasoning.ranking import Floats

Keys = Callable[[str], Iterable[str]]
USUAL = 0.25  # symptoms at least this frequent lend a cause their words
UNSEEN = 0.5  # added to every word's count, so that none is impossible


class Wording:
    """The wordings of all causes. `keys` cuts a text into the keys of its words."""

    def __init__(self, knowledge: Knowledge, keys: Keys) -> None:
        self.numbers = knowledge.likelihood.wording
        self.keys = keys = cache(keys)  # many entries share their texts
        self.row = {cause: i for i, cause in enumerate(knowledge.causes)}
        self.cases = {
            cause_id: [set(keys(case.text)) for case in cause.cases]
            for cause_id, cause in knowledge.causes.items()
        }
        self.described = {
            case.text: (cause_id, number)
            for cause_id, cause in knowledge.causes.items()
            for number, case in enumerate(cause.cases)
        }
        counts = [self._counts(knowledge, c, cause) for c, cause in knowledge.causes.items()]
        self.totals = np.array([sum(count.values()) for count in counts])
        everywhere: Counter[str] = Counter()
        for count in counts:
            everywhere.update(count)
        self.total = sum(everywhere.values()) + UNSEEN * len(everywhere)
        self.everywhere = {word: (n + UNSEEN) / self.total for word, n in everywhere.items()}
        self.where: dict[str, Floats] = {word: np.zeros(len(counts)) for word in everywhere}
        for row, count in enumerate(counts):
            for word, n in count.items():
                self.where[word][row] = n

    def _counts(self, knowledge: Knowledge, cause_id: str, cause: Cause) -> Counter[str]:
        """How much each word weighs in the wording of a cause: a name counts 1."""
        numbers = self.numbers
        found: Counter[str] = Counter()

        def add(times: float, *texts: str | None) -> None:
            for text in texts:
                for key in self.keys(text) if text else ():
                    found[key] += times  # type: ignore[assignment]

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
                found[key] += numbers.case  # type: ignore[assignment]
        return found

    def weigh(self, text: str) -> Floats:
        """The log weight of a text for every cause and, last, 0 for something else.

        A described case is never weighed against itself: given its very text, it is left out of
        its cause's wording, so that the cases can be tried on one another.
        """
        without = self.described.get(text)
        share = self.numbers.share
        words = [word for word in sorted(set(self.keys(text))) if word in self.where]
        total = np.zeros(len(self.totals) + 1)
        for word in words:
            counts, totals = self.where[word], self.totals
            if without:
                counts, totals = self._without(word, without)
            ratio = counts / totals / self.everywhere[word]
            total[:-1] += np.log(share * ratio + 1 - share)
        weighed: Floats = self.numbers.weight * total
        return weighed

    def _without(self, word: str, case: tuple[str, int]) -> tuple[Floats, Floats]:
        row, words = self.row[case[0]], self.cases[case[0]][case[1]]
        counts, totals = self.where[word].copy(), self.totals.copy()
        totals[row] -= self.numbers.case * len(words)
        if word in words:
            counts[row] -= self.numbers.case
        return counts, totals
