"""The few numbers beside the weights, fitted on a CPU: `python -m diagnose.tuning.calibrate`.

All is fitted on the annotated texts for learning and on what runs of the encoder made of them that
had not seen them (`held`), through the program as it is: each text told with the encoder that held
it back, and left out of the wording. It writes how far readings are trusted into numbers.json, and
prints what that gives, each fifth by numbers fitted on the other four; run it after a change of
phrases, signs or causes. It takes a minute or two.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from diagnose.cases import start
from diagnose.checking.worked import Bench
from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import Said, clean
from diagnose.kb.described import CaseId, described
from diagnose.kb.model import ABSENT, PRESENT, Case, Knowledge
from diagnose.kb.retired import translated
from diagnose.kb.store import shipped
from diagnose.listening import Listening
from diagnose.listening.trust import DATA, of_phrase, of_proposal, of_reading
from diagnose.listening.units import parted
from diagnose.reading import Reading, read
from diagnose.ready import open_knowledge
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import Floats
from diagnose.tuning.held import Held, HeldBack
from diagnose.tuning.prepare import ANNOTATED, FOLDS, of_yaml

FAINT = -6.0  # logit below which a sign that no phrase found is out of the question
RIDGE, OWN_RIDGE = 0.01, 3.0  # on the curves, and on the numbers of the signs
WORTH = 0.05  # a sign's own number that is worth keeping
HEARD, ALONE, OFFERED = "the encoder and the phrases", "the phrases alone", 5
LEVELS = (0.4, 0.5, 0.55, 0.6, 0.65, 0.7)


@dataclass(frozen=True)
class Learned:
    """An annotated text, told: its fold, and what people say that it says."""

    told: Consultation
    text: Said
    read: Reading
    fold: int
    says: dict[str, str]
    maybe: dict[str, str]

    def right(self, symptom: str, value: str) -> bool | None:
        """Whether a reading is right; None where it is a matter of taste."""
        if symptom in self.says:
            return (self.says[symptom] == ABSENT) == (value == ABSENT)
        return None if symptom in self.maybe else False


@dataclass(frozen=True)
class Candidate:
    """A sign of a text: its features for a curve, and whether people say it is said."""

    text: int
    symptom: str
    value: str
    features: list[float]
    right: bool | None


def held_back(knowledge: Knowledge, held: Held) -> Consultation:
    """A blank consultation whose encoder has not seen the texts for learning."""
    reasoner = Reasoner(knowledge)
    whole = Listening.of(knowledge)
    if whole is None:
        raise SystemExit("the run-time of the encoder is missing, or its signs are others")
    vars(reasoner)["listening"] = HeldBack(knowledge, whole.encoder, whole.ears.judge, held)
    return Bench.of(knowledge, reasoner).blank


def numbered(knowledge: Knowledge) -> dict[str, CaseId]:
    """The described texts by the ids that the annotated texts have."""
    return {
        f"letter:{case.id}" if case.id in knowledge.letters else f"own:{out[0]}/{out[1] + 1}": out
        for case, out in described(knowledge)
    }


def learned(blank: Consultation, held: Held) -> list[Learned]:
    """The annotated texts for learning, told, each left out of the wording."""
    knowledge = blank.reasoner.knowledge
    number, found = numbered(knowledge), []
    for row in of_yaml(ANNOTATED):
        text = clean(row["text"])
        if row["use"] != "learn" or text not in held.number:
            continue
        crop = row.get("crop") if row.get("crop") in knowledge.crops else None
        case = Case(text=row["text"], crop=crop, date=row.get("date"))
        told = start(case, replace(blank, without=number.get(row["id"])))
        says, maybe = (
            translated(knowledge.retired, knowledge.symptoms,
                       [(s, str(v)) for s, v in (row.get(key) or {}).items()])
            for key in ("says", "maybe")
        )  # fmt: skip
        fold = int(held.folds[held.number[text]])
        by_phrases = read(told.reasoner.lexicon, text, told.crop)
        found.append(Learned(told, text, by_phrases, fold, says, maybe))
    return found


def suggested(one: Learned) -> dict[str, float]:
    """What the wording suggests, with nothing read."""
    return one.told.but(observations=(), reading=None).suggested


def candidates(texts: Sequence[Learned]) -> dict[str, list[Candidate]]:
    """Every sign that phrases found or the encoder does not put out of the question."""
    found: dict[str, list[Candidate]] = {HEARD: [], ALONE: []}
    for number, one in enumerate(texts):
        listening = one.told.reasoner.listening
        assert listening is not None
        towards, crop = suggested(one), one.told.crop
        clues = listening.clues(one.text, crop, one.read.observations)

        def add(to: str, seen: Observation, features: list[float], of: Learned = one,
                text: int = number) -> None:  # fmt: skip
            right = of.right(seen.symptom, seen.value)
            found[to].append(Candidate(text, seen.symptom, seen.value, features, right))

        for seen, clue in zip(one.read.observations, clues, strict=True):
            likelier = towards.get(seen.symptom, 0.0)
            if clue is not None:
                add(HEARD, seen, of_reading(seen, likelier, clue))
            if clue is not None or seen.denied:  # a sign newer than the annotators' list is none
                add(ALONE, seen, of_phrase(seen, likelier))
        by_phrase = {seen.symptom for seen in one.read.observations}
        for name, logit in listening.hear(one.text, crop).logits.items():
            symptom, value = parted(name)
            if symptom not in by_phrase and value in (PRESENT, ABSENT) and logit > FAINT:
                seen = Observation(symptom, value)
                add(HEARD, seen, of_proposal(value, towards.get(symptom, 0.0), logit))
    return found


@dataclass(frozen=True)
class Fitted:
    """A curve, and a number for each sign beside it."""

    curve: Floats
    signs: dict[str, float]

    def chances(self, some: Sequence[Candidate]) -> Floats:
        """The chance of each candidate."""
        own = np.array([self.signs.get(c.symptom, 0.0) for c in some])
        found: Floats = 1 / (1 + np.exp(-(np.array([c.features for c in some]) @ self.curve + own)))
        return found


def fit(some: Sequence[Candidate]) -> Fitted:
    """A logistic curve with a number for each sign, by Newton's steps with a ridge."""
    judged = [c for c in some if c.right is not None]
    signs = sorted({c.symptom for c in judged})
    place = {sign: i for i, sign in enumerate(signs)}
    width = len(judged[0].features)
    x = np.zeros((len(judged), width + len(signs)))
    x[:, :width] = [c.features for c in judged]
    x[np.arange(len(judged)), [width + place[c.symptom] for c in judged]] = 1
    y = np.array([c.right for c in judged], dtype=float)
    ridge = np.array([RIDGE] * width + [OWN_RIDGE] * len(signs))
    found = np.zeros(x.shape[1])
    for _ in range(30):
        p = 1 / (1 + np.exp(-np.clip(x @ found, -30, 30)))
        slope = (x * (p * (1 - p))[:, None]).T @ x + np.diag(ridge)
        found += np.linalg.solve(slope, x.T @ (y - p) - ridge * found)
    return Fitted(found[:width], dict(zip(signs, found[width:].tolist(), strict=True)))


def told_of(some: Sequence[Candidate], texts: Sequence[Learned]) -> Floats:
    """The chance of each candidate, its fold left out of the fit."""
    fold = np.array([texts[c.text].fold for c in some])
    chances = np.zeros(len(some))
    for held in range(FOLDS):
        fitted = fit([c for c, f in zip(some, fold, strict=True) if f != held])
        here = np.flatnonzero(fold == held)
        chances[here] = fitted.chances([some[i] for i in here])
    return chances


def table(some: Sequence[Candidate], texts: Sequence[Learned]) -> Iterator[str]:
    """Precision, recall and texts without a wrong line at some levels, by folds."""
    chances = told_of(some, texts)
    stated = sum(len(one.says) for one in texts)
    right = np.array([c.right is True for c in some])
    wrong = np.array([c.right is False for c in some])
    text = np.array([c.text for c in some])
    yield "level | precision | recall | without a wrong line | with five offered: recall"
    for level in LEVELS:
        kept = chances >= level
        five = (kept & right).sum()
        for number in range(len(texts)):
            rest = np.flatnonzero((text == number) & ~kept)
            five += right[rest[np.argsort(-chances[rest])][:OFFERED]].sum()
        hit, miss = (kept & right).sum(), (kept & wrong).sum()
        clean_texts = 1 - len(set(text[kept & wrong].tolist())) / len(texts)
        yield (f"{level} | {hit / (hit + miss):.3f} | {hit / stated:.3f} | {clean_texts:.3f} | "
               f"{five / stated:.3f}")  # fmt: skip


def as_numbers(heard: Fitted, alone: Fitted, knowledge: Knowledge) -> dict[str, Any]:
    """What numbers.json holds of it: every sign that the curves were fitted beside."""
    own = {sign: [round(f.signs.get(sign, 0.0), 2) for f in (heard, alone)]
           for sign in knowledge.symptoms}  # fmt: skip
    return {
        "heard": heard.curve.round(4).tolist(), "alone": alone.curve.round(4).tolist(),
        "signs": {s: [n if abs(n) >= WORTH else 0 for n in both] for s, both in own.items()},
    }  # fmt: skip


def main(folder: Path = DATA) -> None:
    """Fit the trust and write it. Raises KnowledgeError."""
    knowledge, held = open_knowledge(shipped()), Held()
    texts = learned(held_back(knowledge, held), held)
    some = candidates(texts)
    for name, found in some.items():
        print(f"{name}: {len(found)} candidates in {len(texts)} texts", flush=True)
        print(*table(found, texts), sep="\n", flush=True)
    numbers = json.loads((folder / "numbers.json").read_text(encoding="utf-8"))
    trust = as_numbers(fit(some[HEARD]), fit(some[ALONE]), knowledge)
    written = json.dumps(numbers | {"trust": trust}, separators=(",", ":"))
    (folder / "numbers.json").write_text(written.replace('],"', '],\n"') + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
