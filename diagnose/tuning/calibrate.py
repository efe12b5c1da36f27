"""The few numbers beside the weights: `python -m diagnose.tuning.calibrate PREPARED RUNS OUT`.

RUNS is the start of the files of the runs that each held a fold back (out/fold for out/fold.0.npz
and on): what they made of texts they had not seen is all that is fitted here. OUT gets
numbers.json. It prints what the fitted numbers give, on those same texts.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
from scipy.optimize import minimize

from diagnose.cases import accepted, start
from diagnose.checking.worked import Bench
from diagnose.kb.described import CaseId, described
from diagnose.kb.model import Case, Knowledge
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge

FOLDS = range(5)
OWN = 0.5  # how much the described cases count beside the letters


@dataclass(frozen=True)
class Candidates:
    """Signs of texts with what the encoder makes of them, and whether people say they are said."""

    features: np.ndarray
    said: np.ndarray
    text: np.ndarray
    fold: np.ndarray
    signs: int  # that people say are said
    texts: int


def candidates(prepared: dict[str, Any], runs: str) -> Candidates:
    """Every sign that a phrase found, that people found, or that is not out of the question."""
    texts = {t["id"]: t for t in prepared["texts"]}
    sign = [u for u, n in enumerate(prepared["units"]) if "/" not in n or n.endswith("/absent")]
    rows, said, whose, folds, signs, number = [], [], [], [], 0, 0
    for fold in FOLDS:
        held = np.load(f"{runs}.{fold}.npz")
        looked = {tuple(k): v for k, v in zip(held["reading_of"].tolist(), held["reading_seen"],
                                              strict=True)}  # fmt: skip
        for row, i in enumerate(held["reads"].tolist()):
            text = texts[str(held["ids"][i])]
            if text["part"] != "annotated":
                continue
            number += 1
            logits = held["logits"][row].astype(float)
            found = {r["unit"]: looked.get((i, n), (0.0, -3.0, -3.0))
                     for n, r in enumerate(text["readings"])}  # fmt: skip
            yes, skip = {int(u) for u in text["yes"]}, set(text["skip"])
            signs += len(yes & set(sign))
            for u in sign:
                if u in skip or not (logits[u] > -6 or u in found or u in yes):
                    continue
                more = [0.0] * 5
                if u in found:
                    share, most, mean = found[u]
                    more = [1.0, logits[u], np.log(max(share, 1e-3)), most, mean]
                rows.append([1.0, logits[u], *more])
                said.append(u in yes)
                whose.append(text["id"])
                folds.append(fold)
    return Candidates(
        np.array(rows), np.array(said), np.array(whose), np.array(folds), signs, number
    )


def curve(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A logistic curve, by Newton's steps."""
    found = np.zeros(x.shape[1])
    for _ in range(40):
        p = 1 / (1 + np.exp(-np.clip(x @ found, -30, 30)))
        slope = (x * (p * (1 - p))[:, None]).T @ x + 0.01 * np.eye(len(found))
        found += np.linalg.solve(slope, x.T @ (y - p) - 0.01 * found)
    return found


def reading(c: Candidates) -> np.ndarray:
    """Fit the curve; print precision, recall and clean texts, each fold left out of its curve."""
    chance = np.zeros(len(c.said))
    for fold in FOLDS:
        weights = curve(c.features[c.fold != fold], c.said[c.fold != fold])
        chance[c.fold == fold] = 1 / (1 + np.exp(-(c.features[c.fold == fold] @ weights)))
    by_phrase = c.features[:, 2] > 0
    for name, kept in (("phrases alone", by_phrase),
                       *((f"chance over {t}", chance > t) for t in (0.3, 0.4, 0.5, 0.6, 0.7)),
                       *((f"... of phrases, over {t}", by_phrase & (chance > t))
                         for t in (0.3, 0.5, 0.7))):  # fmt: skip
        right, wrong = (kept & c.said).sum(), (kept & ~c.said).sum()
        clean = 1 - len(set(c.text[kept & ~c.said])) / c.texts
        five = right
        for text in set(c.text):
            rest = np.flatnonzero((c.text == text) & ~kept)
            five += c.said[rest[np.argsort(-chance[rest])][:5]].sum()
        print(f"{name}: precision {right / (right + wrong):.3f} recall {right / c.signs:.3f} "
              f"clean {clean:.3f} with five {five / c.signs:.3f}", flush=True)  # fmt: skip
    return curve(c.features, c.said)


def numbered(knowledge: Knowledge) -> Iterator[tuple[str, Case, CaseId]]:
    """Each described text by the name it has in what was prepared, as a case, and its number."""
    for case, number in described(knowledge):
        if case.id in knowledge.letters:
            yield f"letter:{case.id}", case, number
        else:
            alone = msgspec.structs.replace(case, expect=[number[0]], observations={})
            yield f"own:{number[0]}/{number[1] + 1}", alone, number


def parts(knowledge: Knowledge, prepared: dict[str, Any], runs: str) -> dict[str, Any]:
    """What each source says of every cause, for each described text that a run had not seen."""
    bench = Bench.of(knowledge)
    tables = bench.blank.reasoner.tables
    rows = [prepared["causes"].index(c) if c in prepared["causes"] else -1
            for c in knowledge.causes]  # fmt: skip
    near = {}
    for fold in FOLDS:
        held = np.load(f"{runs}.{fold}.npz")
        near |= {str(i): n for i, n in zip(held["ids"], held["nearest"], strict=True)}
    found: dict[str, list[Any]] = {"own": [], "letter": []}
    for ident, case, number in numbered(knowledge):
        if ident not in near:
            continue
        begun = start(case, replace(bench.blank, without=number))
        read = sum((tables.column(o) for o in tables.counted(begun.counted)),
                   start=np.zeros(len(tables.causes) + 1))  # fmt: skip
        likeness = np.append(near[ident].astype(float), [[0.0, 0.0]], axis=0)[rows]
        right = [accepted(case, c, knowledge.causes[c]) for c in knowledge.causes]
        columns = [begun.prior, read - read[-1], begun.heard]
        found[ident.split(":")[0]].append(
            (np.column_stack([*(c[:-1] for c in columns), likeness]), np.array(right))
        )
    return found


def loss(weights: np.ndarray, x: np.ndarray, right: np.ndarray) -> tuple[float, np.ndarray]:
    """The mean log loss of the right causes, and its slope; x is (texts, causes, sources)."""
    score = x[:, :, 0] + x[:, :, 1:] @ weights
    score -= score.max(axis=1, keepdims=True)
    p = np.exp(score)
    of_right = np.where(right, p, 0)
    ok = of_right.sum(axis=1) > 0
    p, of_right, x = p[ok], of_right[ok], x[ok]
    value = np.log(p.sum(axis=1) / of_right.sum(axis=1)).mean()
    shares = p / p.sum(axis=1, keepdims=True) - of_right / of_right.sum(axis=1, keepdims=True)
    return float(value), np.einsum("tc,tcs->s", shares, x[:, :, 1:]) / len(x)


def places(weights: np.ndarray, x: np.ndarray, right: np.ndarray) -> str:
    """Right first and in three, in percent, and the log loss."""
    score = x[:, :, 0] + x[:, :, 1:] @ weights
    best = np.where(right, score, -np.inf).max(axis=1)
    place = (score > best[:, None]).sum(axis=1)
    place[np.isinf(best)] = 999
    return (f"{100 * (place == 0).mean():.1f} / {100 * (place < 3).mean():.1f} / "
            f"{loss(weights, x, right)[0]:.2f}")  # fmt: skip


def voice(found: dict[str, Any]) -> np.ndarray:
    """Fit how much each source counts: what is read, wording, the nearest, the nearest three."""
    sets = {name: (np.array([x for x, _ in rows]), np.array([r for _, r in rows]))
            for name, rows in found.items()}  # fmt: skip
    for x, _ in sets.values():
        x[:, :, 0] = np.maximum(x[:, :, 0], -60)

    def both(weights: np.ndarray, mask: np.ndarray) -> tuple[float, np.ndarray]:
        one, two = (loss(weights * mask, *sets[n]) for n in ("letter", "own"))
        return one[0] + OWN * two[0], (one[1] + OWN * two[1]) * mask

    fitted = np.zeros(4)
    for name, mask in (("as it is", None), ("read and wording", [1, 1, 0, 0]),
                       ("encoder alone", [0, 0, 1, 1]), ("read and encoder", [1, 0, 1, 1]),
                       ("all", [1, 1, 1, 1])):  # fmt: skip
        if mask is None:
            fitted = np.array([1.0, 1.0, 0.0, 0.0])
        else:
            m = np.array(mask, float)
            fitted = minimize(both, np.array([0.7, 0.7, 8.0, 4.0]), args=(m,), jac=True,
                              bounds=[(0, 3), (0, 3), (0, 40), (0, 40)]).x * m  # fmt: skip
        told = {n: places(fitted, *s) for n, s in sets.items()}
        print(f"{name} {fitted.round(2)}: {told}", flush=True)
    return fitted


def main(folder: Path, runs: str, out: Path) -> None:
    """Fit both and write them."""
    prepared = json.loads((folder / "texts.json").read_text())
    ears = reading(candidates(prepared, runs))
    read, wording, nearest, mean = voice(parts(open_knowledge(shipped()), prepared, runs)).round(2)
    (out / "numbers.json").write_text(json.dumps({
        "ears": ears.round(4).tolist(), "voice": {"nearest": nearest, "mean": mean},
        "beside": {"read": read, "wording": wording},
    }, indent=1) + "\n")  # fmt: skip


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3]))
