"""How well the gardener's own words fit the words of each cause.

Beside the symptoms that are read from it, a sentence has a wording: its words, and its pairs of
words that follow one another. Each cause has one too: its names and prose, the phrases of its usual
symptoms, and above all its described cases and the published questions that it is the answer to. A
word comes from a cause's own wording with chance `share`, and else from the wording of all causes
together (a mixture of unigrams); the log of the likelihood ratio, times `weight`, or `pairs` for a
pair, is one more weight. Words come in company, the more so the more there are: of n words each
counts n ** -`company` times.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import msgspec
import numpy as np

from diagnose.inputs import plain
from diagnose.kb.described import CaseId, described
from diagnose.kb.model import NONE, PRESENT, Cause, Knowledge, figure
from diagnose.reasoning.ranking import Floats, Ints

Keys = Callable[[str], Iterable[str]]
USUAL = 0.25  # symptoms at least this frequent lend a cause their words
UNSEEN = 0.5  # added to every word's count, so that none is impossible
ARRAYS = ("codes", "starts", "rows", "counts", "texts", "told_starts", "told")  # of Counts
ENDS = re.compile(r"[.!?;\n]+")  # of a sentence
PAIR = 32  # bits: a pair of words has the first one's number, from 1, above the second's


@dataclass(frozen=True)
class Counts:
    """How much each word weighs in the wording of each cause: what can be kept ready-made.

    A word here is a key, which goes by its place in `keys`, or a pair of keys (see PAIR); `codes`
    are all of them in order. The causes that have the word at i of `codes`, and how much, stand in
    `rows` and `counts` from `starts[i]` to `starts[i + 1]`. The words of the described text at t
    stand in `told` from `told_starts[t]` on, by their place in `codes`; the first text of the cause
    at r is `texts[r]`.
    """

    keys: tuple[str, ...]
    codes: Ints
    starts: Ints
    rows: Ints
    counts: Floats
    texts: Ints
    told_starts: Ints
    told: Ints

    @classmethod
    def of(cls, knowledge: Knowledge, keys: Keys) -> Counts:
        """Counted anew. `keys` cuts a text into the keys of its words, in order."""
        return _Count(knowledge, keys).done()

    def parts(self) -> dict[str, Any]:
        """To be kept in a ready-made copy."""
        found = {f"wording {name}": getattr(self, name) for name in ARRAYS}
        return {"wording keys": msgspec.msgpack.encode(self.keys), **found}

    @classmethod
    def ready(cls, parts: Mapping[str, Any]) -> Counts:
        """From the parts of a ready-made copy."""
        keys = msgspec.msgpack.decode(parts["wording keys"], type=tuple[str, ...])
        return cls(keys, *(parts[f"wording {name}"] for name in ARRAYS))


class _Count:
    """The count of a knowledge base under way: keys get their numbers as they come."""

    def __init__(self, knowledge: Knowledge, keys: Keys) -> None:
        self.knowledge = knowledge
        self.cut = keys
        self.numbers: dict[str, int] = {}
        self.keys_in = cache(self._keys_in)  # the phrases of a symptom stand under many causes

    def _keys_in(self, *texts: str | None) -> Ints:
        """The numbers of the keys in some texts, in order."""
        numbers = self.numbers
        keys = (key for text in texts if text for key in self.cut(plain(text)))
        return np.array([numbers.setdefault(key, len(numbers)) for key in keys], dtype=np.intp)

    def done(self) -> Counts:
        """All causes counted."""
        told: list[list[Ints]] = [[] for _ in self.knowledge.causes]
        row_of = {cause: row for row, cause in enumerate(self.knowledge.causes)}
        for case, (cause_id, _) in described(self.knowledge):
            told[row_of[cause_id]].append(words_of(self._keys_in(case.text)))
        codes, rows, counts = list[Ints](), list[Ints](), list[Floats]()
        for row, (cause, own) in enumerate(zip(self.knowledge.causes.values(), told, strict=True)):
            parts = list(self._parts(cause, own))
            found, where = np.unique(np.concatenate([c for c, _ in parts]), return_inverse=True)
            weights = np.repeat([times for _, times in parts], [len(c) for c, _ in parts])
            codes.append(found)
            rows.append(np.full(len(found), row))
            counts.append(np.bincount(where, weights, len(found)).astype(np.float64))
        every, where = np.unique(np.concatenate(codes), return_inverse=True)
        order = np.argsort(where, kind="stable")
        all_told = [words for own in told for words in own]
        return Counts(
            keys=tuple(self.numbers),
            codes=every,
            starts=_starts(np.bincount(where, minlength=len(every))),
            rows=np.concatenate(rows)[order],
            counts=np.concatenate(counts)[order],
            texts=_starts([len(own) for own in told]),
            told_starts=_starts([len(words) for words in all_told]),
            told=np.searchsorted(every, np.concatenate([_NONE, *all_told])),
        )

    def _parts(self, cause: Cause, told: Iterable[Ints]) -> Iterator[tuple[Ints, float]]:
        """Words of a cause, and how much each of them weighs: in its name 1.

        Pairs are those of its described texts.
        """
        numbers, frequency = self.knowledge.likelihood.wording, self.knowledge.likelihood.frequency
        yield self._keys_in(cause.name, *cause.also, cause.summary), 1
        prose = (cause.mechanism, cause.spread, cause.matters.text, cause.harvest)
        yield self._keys_in(*prose), numbers.prose
        for symptom_id, line in cause.evidence.items():
            symptom = self.knowledge.symptoms[symptom_id]
            forms = line if isinstance(line, dict) else {PRESENT: line}
            for value, word in forms.items():
                share = figure(word, frequency)
                if value == NONE or share < USUAL:
                    continue
                name = symptom.name if value == PRESENT else symptom.value_name(value)
                says = symptom.phrases(value)
                yield self.keys_in(name), share
                yield self.keys_in(*says), share * numbers.phrases / max(len(says), 1)
        for words in told:
            yield words, numbers.case


_NONE = np.zeros(0, dtype=np.intp)


def words_of(keys: Ints) -> Ints:
    """The words of a text, in order, each once: its keys and its pairs; a key of -1 is none."""
    first, second = keys[:-1], keys[1:]
    pairs = ((first + 1) << PAIR) | second
    return _each_once(np.concatenate([keys[keys >= 0], pairs[(first >= 0) & (second >= 0)]]))


def _each_once(numbers: Ints) -> Ints:
    """The numbers in order, each once. (The like of it in numpy loads its masked arrays first.)"""
    ordered = np.sort(numbers)
    first = np.append(True, ordered[1:] != ordered[:-1])[: len(ordered)]
    found: Ints = ordered[first]
    return found


def _starts(lengths: Iterable[int]) -> Ints:
    """Where each of some stretches begins, laid end to end; and where the last one ends."""
    return np.concatenate([[0], np.cumsum(np.asarray(lengths, dtype=np.intp))])


def sentences(text: str) -> list[str]:
    """A text cut where its sentences end."""
    return [cut for part in ENDS.split(text) if (cut := part.strip())]


class Wording:
    """The wordings of all causes. `keys` cuts a text into the keys of its words, in order."""

    def __init__(self, knowledge: Knowledge, keys: Keys, counts: Counts | None = None) -> None:
        self.numbers = knowledge.likelihood.wording
        self.keys = keys
        self.row = {cause: i for i, cause in enumerate(knowledge.causes)}
        self.counts = counts = counts or Counts.of(knowledge, keys)
        self.number = {key: i for i, key in enumerate(counts.keys)}
        self.totals = np.bincount(counts.rows, counts.counts, len(self.row))
        of_all = np.add.reduceat(counts.counts, counts.starts[:-1]) + UNSEEN
        self.usual = of_all / (self.totals.sum() + UNSEEN * len(counts.codes))
        pair = np.arange(len(counts.codes)) >= len(counts.keys)
        self.weights = np.where(pair, self.numbers.pairs, self.numbers.weight)

    def weigh(self, text: str, without: CaseId | None = None) -> Floats:
        """The log weight of a text for every cause and, last, 0 for something else.

        `without` names a described case that is left out of its cause's wording, so that the cases
        can be tried on one another.
        """
        found: Floats = self.by_sentence(text, without).sum(axis=0)
        return found

    def by_sentence(self, text: str, without: CaseId | None = None) -> Floats:
        """The log weight of each of the `sentences` of a text: causes across, as in `weigh`.

        A word that stands in several counts in the first.
        """
        share, causes = self.numbers.share, len(self.totals)
        words, of = self._in_sentences(text)
        count = len(sentences(text))
        starts, ends = self.counts.starts[words], self.counts.starts[words + 1]
        sizes = ends - starts
        word = np.repeat(np.arange(len(words)), sizes)  # of each entry, its place in `words`
        entries = np.arange(len(word)) + np.repeat(ends - np.cumsum(sizes), sizes)
        rows, counts = self.counts.rows[entries], self.counts.counts[entries]
        usual, weights = self.usual[words], self.weights[words]
        ratio = counts / self.totals[rows] / usual[word]
        moves = weights[word] * np.log1p(ratio * share / (1 - share))
        total = np.zeros((count, causes + 1))
        total[:, :-1] = np.bincount(of[word] * causes + rows, moves, count * causes).reshape(
            count, causes
        )
        total[:, :-1] += np.bincount(of, weights, count)[:, None] * np.log1p(-share)
        if without is not None:
            row, own = self._own(without)
            here = rows == row
            case = self.numbers.case
            left = np.bincount(word[here], counts[here], len(words)) - case * np.isin(words, own)
            ratio = left / (self.totals[row] - case * len(own)) / usual
            total[:, row] = np.bincount(of, weights * np.log(share * ratio + 1 - share), count)
        alone = int(np.count_nonzero(words < len(self.counts.keys)))  # the others are pairs
        found: Floats = total * float(max(1, alone)) ** -self.numbers.company
        return found

    def _in_sentences(self, text: str) -> tuple[Ints, Ints]:
        """The known words of a text, each once, and of each the number of its sentence."""
        first: dict[int, int] = {}
        for number, sentence in enumerate(sentences(text)):
            for word in self._known(sentence).tolist():
                first.setdefault(word, number)
        words = sorted(first)
        of = [first[word] for word in words]
        return np.array(words, dtype=np.intp), np.array(of, dtype=np.intp)

    def _known(self, text: str) -> Ints:
        """The words of a text that stand in any wording, by their places among all."""
        keys = [self.number.get(key, -1) for key in self.keys(text)]
        codes = words_of(np.array(keys, dtype=np.intp))
        at = np.searchsorted(self.counts.codes, codes)
        at = at[at < len(self.counts.codes)]
        known: Ints = at[self.counts.codes[at] == codes[: len(at)]]
        return known

    def _own(self, case: CaseId) -> tuple[int, Ints]:
        """The row of a described text's cause, and the text's words."""
        row = self.row[case[0]]
        text = self.counts.texts[row] + case[1]
        start, end = self.counts.told_starts[text : text + 2]
        return row, self.counts.told[start:end]
