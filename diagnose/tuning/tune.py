"""Tunes the encoder: `python -m diagnose.tuning.tune PREPARED OUT PLAN`. Needs torch and numpy; a GPU soon.

PREPARED is what diagnose.tuning.prepare wrote. PLAN is a YAML or JSON list of runs: a name, a seed, a fold
that is held back (or none), and what differs from DEFAULTS. Each run leaves OUT/NAME.npz: what it
makes of the texts it did not see, or, with `keep`, its weights. A seed gives the same run again on
the same machine.
"""

from __future__ import annotations

import json
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
import torch
import torch.multiprocessing as processes
from torch.nn import functional

from diagnose.tuning.network import Listener, load_base

DEFAULTS: dict[str, Any] = {
    "seed": 1, "fold": None, "keep": False, "steps": 700, "rate": 1.2e-4, "head_rate": 3e-3,
    "causes": 80, "annotated": 64, "phrases": 128, "hearing": 1.0, "phrase": 1.0, "stated": 1.0,
    "spans": 0.1, "hard": 3.0, "pull": 1.0, "name": "run", "freeze_pieces": False, "soft": None,
    "dropout": 0.1, "positive": 1.0, "soup": [], "letters": 1.0, "dictated": 0.0, "excerpts": 0.0,
}  # fmt: skip
TEMPERATURE = 0.05
PROSE = 0.15  # of the texts on a cause, how many are prose
DROP_CROP = 0.3
PARTS = 3  # of a batch, by length
SHORT = 24  # pieces: a text of no more is never cut to an excerpt


class Texts:
    """The prepared texts, as batches on the device."""

    def __init__(self, prepared: dict[str, Any], device: str) -> None:
        self.all = prepared["texts"]
        self.units, self.causes = prepared["units"], prepared["causes"]
        self.begin, self.end = prepared["begin"], prepared["end"]
        self.marks = {i for i, piece in enumerate(prepared["pieces"]) if not piece.isalnum()
                      and not piece.startswith(("##", "["))}  # fmt: skip
        self.device = device

    def batch(self, rows: list[dict[str, Any]], drop: np.ndarray) -> tuple[Any, Any, list[int]]:
        """Numbers of pieces, where there are any, and how far each text is shifted by its crop."""
        made, shift = [], []
        for row, without in zip(rows, drop, strict=True):
            crop = [] if without else row["crop"]
            made.append([self.begin, *crop, *row["ids"], self.end])
            shift.append(1 + len(crop))
        size = max(map(len, made))
        ids = torch.zeros(len(made), size, dtype=torch.long)
        for i, row in enumerate(made):
            ids[i, : len(row)] = torch.tensor(row)
        there = torch.arange(size)[None] < torch.tensor([len(r) for r in made])[:, None]
        return ids.to(self.device), there.to(self.device), shift

    def targets(
        self, rows: list[dict[str, Any]], run: dict[str, Any], soft: Any
    ) -> tuple[Any, Any]:
        """What each unit should say of each text, and how much that counts."""
        wanted = np.zeros((len(rows), len(self.units)), dtype=np.float32)
        weight = np.zeros_like(wanted)
        for i, row in enumerate(rows):
            if row["part"] == "none":
                continue
            weight[i] = {"annotated": 1.0, "stated": run["stated"], "phrase": run["phrase"]}[
                row["part"]
            ]
            for u in row["yes"]:
                wanted[i, int(u)] = 1
                weight[i, int(u)] *= run["positive"]
            if row["wrong"]:
                weight[i, row["wrong"]] *= run["hard"]
            for u, how in row["heard"].items():
                if soft is not None:
                    wanted[i, int(u)] = soft.get((row["id"], int(u)), how)
                else:
                    wanted[i, int(u)] = 1
                    weight[i, int(u)] *= how
            if row["skip"]:
                weight[i, row["skip"]] = 0
        move = self.device
        return torch.from_numpy(wanted).to(move), torch.from_numpy(weight).to(move)


def span_loss(look: Any, rows: list[dict[str, Any]], shift: list[int]) -> Any:
    """How far the units look elsewhere than at the words that say it."""
    places = [
        (i, p + shift[i], int(u), (i, u))
        for i, row in enumerate(rows)
        for u, span in row["spans"].items()
        for p in span
        if p + shift[i] < look.shape[1]
    ]
    if not places:
        return torch.zeros((), device=look.device)
    text, piece, unit, key = zip(*places, strict=True)
    number = {k: n for n, k in enumerate(dict.fromkeys(key))}
    which = torch.tensor([number[k] for k in key], device=look.device)
    at = torch.tensor([text, piece, unit], device=look.device)
    shares = look[at[0], at[1], at[2]].float().exp()
    total = torch.zeros(len(number), device=look.device).index_add(0, which, shares)
    return -total.clamp_min(1e-6).log().mean()


def pull_loss(vectors: Any, labels: Any) -> Any:
    """Each text to another of its cause, away from those of other causes."""
    same = labels[:, None] == labels[None]
    itself = torch.eye(len(labels), dtype=torch.bool, device=labels.device)
    close = (vectors @ vectors.T / TEMPERATURE).masked_fill(itself, -1e4)
    of_same = close.masked_fill(~same | itself, -1e4).logsumexp(1)
    lonely = (same & ~itself).sum(1) == 0
    return (close.logsumexp(1) - of_same)[~lonely].mean()


def run_one(run: dict[str, Any], folder: Path, out: Path) -> None:
    """Tune once."""
    begun = time.time()
    torch.set_num_threads(2)
    torch.manual_seed(1)  # the heads begin alike, so that runs of other seeds can be averaged
    chance = np.random.default_rng(run["seed"])
    device = "cuda" if torch.cuda.is_available() else "cpu"
    prepared = json.loads((folder / "texts.json").read_text())
    texts = Texts(prepared, device)
    soft = None
    if run["soft"]:
        held = np.load(out / run["soft"], allow_pickle=False)
        soft = {
            (str(i), int(u)): float(p)
            for i, u, p in zip(held["ids"], held["units"], held["said"], strict=True)
        }
    model = Listener(len(prepared["pieces"]), len(texts.units), len(texts.causes), run["dropout"])
    load_base(model, np.load(folder / "base.npz"))
    torch.manual_seed(run["seed"])
    model.to(device)
    if run["soup"]:
        load_mean(model, out, run["soup"])
    seen = [t for t in texts.all if run["fold"] is None or t["fold"] != run["fold"]]
    pools = pools_of(seen)
    heads = [model.look, model.tell, model.bias, *model.causes.parameters()]
    if run["freeze_pieces"]:
        model.pieces.requires_grad_(False)
    apart = {id(p) for p in heads}
    body = [p for p in model.parameters() if id(p) not in apart and p.requires_grad]
    steps = 0 if run["soup"] else run["steps"]
    optimizer = torch.optim.AdamW(
        [{"params": body, "lr": run["rate"]}, {"params": heads, "lr": run["head_rate"]}],
        weight_decay=0.01,
        fused=device == "cuda",
    )
    rise = max(steps // 15, 1)
    schedule = torch.optim.lr_scheduler.LambdaLR(
        optimizer, lambda n: min((n + 1) / rise, max(0.0, (steps - n) / max(steps - rise, 1)))
    )
    model.train()
    for step in range(steps):
        rows, labelled = draw(pools, run, chance)
        rows = varied(rows, labelled, run, texts.marks, chance)
        drop = chance.random(len(rows)) < DROP_CROP
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            hearing, spans, vectors = pass_of(model, texts, rows, drop, run, soft)
            vectors = vectors[:labelled]
            labels = torch.tensor([r["cause"] for r in rows[:labelled]], device=device)
            voice = functional.cross_entropy(
                model.voice(vectors).float(), labels, label_smoothing=0.1
            )
            pull = pull_loss(vectors.float(), labels)
            short = [pools["phrase"][i] for i in
                     chance.integers(len(pools["phrase"]), size=run["phrases"])]  # fmt: skip
            loss = run["hearing"] * (hearing + run["spans"] * spans) + voice + run["pull"] * pull
            if short:
                ids, there, _ = texts.batch(short, np.zeros(len(short), bool))
                logits, _, _ = model.hear(model.states(ids, there), there)
                wanted, weight = texts.targets(short, run, None)
                told = functional.binary_cross_entropy_with_logits(
                    logits.float(), wanted, weight, reduction="sum"
                ) / len(short)
                loss = loss + run["hearing"] * told
        optimizer.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        optimizer.step()
        schedule.step()
        if step % 60 == 59:
            print(run["name"], step + 1, f"hearing {float(hearing):.2f} spans {float(spans):.2f} "
                  f"voice {float(voice):.2f} pull {float(pull):.2f} {time.time() - begun:.0f} s",
                  flush=True)  # fmt: skip
    model.eval()
    if run["keep"]:
        keep(model, out, run["name"])
    if run["fold"] is not None:
        leave(model, texts, run, out)
    print(run["name"], f"done in {time.time() - begun:.0f} s", flush=True)


def pass_of(
    model: Listener, texts: Texts, rows: list[Any], drop: Any, run: dict[str, Any], soft: Any
) -> tuple[Any, Any, Any]:
    """One pass over some texts, those of like length together: two losses, and the vectors."""
    order = np.argsort([len(row["ids"]) for row in rows], kind="stable")
    hearing, spans, vectors = 0.0, 0.0, []
    for part in np.array_split(order, PARTS):
        some = [rows[i] for i in part]
        ids, there, shift = texts.batch(some, drop[part])
        states = model.states(ids, there)
        logits, look, _ = model.hear(states, there)
        wanted, weight = texts.targets(some, run, soft)
        hearing = hearing + functional.binary_cross_entropy_with_logits(
            logits.float(), wanted, weight, reduction="sum"
        ) / len(rows)
        spans = spans + span_loss(look, some, shift) / PARTS
        vectors.append(model.vector(states, there))
    back = torch.from_numpy(np.argsort(order)).to(vectors[0].device)
    return hearing, spans, torch.cat(vectors)[back]


def pools_of(seen: list[dict[str, Any]]) -> dict[str, Any]:
    """The texts to draw from."""
    described: dict[int, list[dict[str, Any]]] = defaultdict(list)
    prose: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for text in seen:
        if text["cause"] >= 0:
            (prose if text["kind"] == "prose" else described)[text["cause"]].append(text)
    return {
        "described": described, "prose": prose, "which": sorted(described),
        "annotated": [t for t in seen if t["part"] == "annotated"],
        "phrase": [t for t in seen if t["part"] == "phrase"],
    }  # fmt: skip


def draw(pools: dict[str, Any], run: dict[str, Any], chance: Any) -> tuple[list[Any], int]:
    """Texts for one step: two for each of some causes (the first so many), and annotated ones."""
    rows = []
    for cause in chance.choice(pools["which"], size=run["causes"], replace=False):
        known, prose = pools["described"][cause], pools["prose"][cause]
        weights = np.array([run["letters"] if t["kind"] == "letter" else 1.0 for t in known])
        two = chance.choice(len(known), size=2, replace=len(known) < 2, p=weights / weights.sum())
        for i in two:
            if chance.random() < PROSE and prose:
                rows.append(prose[chance.integers(len(prose))])
            else:
                rows.append(known[i])
    labelled = len(rows)
    some = chance.choice(len(pools["annotated"]), size=run["annotated"], replace=False)
    return [*rows, *(pools["annotated"][i] for i in some)], labelled


def varied(
    rows: list[Any], labelled: int, run: dict[str, Any], marks: set[int], chance: Any
) -> list[Any]:
    """Some of the texts as dictation has them, without a mark; some of the labelled cut short."""
    made = []
    for i, row in enumerate(rows):
        if i < labelled and row["part"] != "annotated" and chance.random() < run["excerpts"]:
            row = excerpt(row, chance)
        if chance.random() < run["dictated"]:
            row = only(row, [p for p, piece in enumerate(row["ids"]) if piece not in marks])
        made.append(row)
    return made


def excerpt(row: dict[str, Any], chance: Any) -> dict[str, Any]:
    """A part of a text, at least half of it, of which only the cause is known."""
    size = len(row["ids"])
    if size <= SHORT:
        return row
    kept = int(chance.integers(size // 2, size))
    start = int(chance.integers(size - kept + 1))
    return only({**row, "part": "none", "readings": [], "spans": {}}, range(start, start + kept))


def only(row: dict[str, Any], pieces: Any) -> dict[str, Any]:
    """A text of some of its pieces, with all that points at them."""
    place = {old: new for new, old in enumerate(pieces)}

    def moved(span: list[int]) -> list[int]:
        return [place[p] for p in span if p in place]

    return {
        **row,
        "ids": [row["ids"][p] for p in place],
        "readings": [{**r, "span": moved(r["span"])} for r in row["readings"]],
        "spans": {u: moved(span) for u, span in row["spans"].items()},
    }


def keep(model: Listener, out: Path, name: str) -> None:
    """Leave the weights, in 16 bits, in files of a size that travels."""
    weights = {
        k: v.detach().cpu().numpy().astype(np.float16) for k, v in model.state_dict().items()
    }
    pieces = weights.pop("pieces.weight")
    np.savez(out / f"{name}.pieces.npz", **{"pieces.weight": pieces})
    names = sorted(weights)
    half = [n for n in names if n.startswith(("encoder.layers.0", "encoder.layers.1",
                                              "encoder.layers.2"))]  # fmt: skip
    np.savez(out / f"{name}.half.npz", **{n: weights[n] for n in half})
    np.savez(out / f"{name}.rest.npz", **{n: weights[n] for n in names if n not in half})


def load_mean(model: Listener, out: Path, names: list[str]) -> None:
    """Fill a model with the mean of the weights of several runs."""
    device = next(model.parameters()).device
    total: dict[str, Any] = defaultdict(float)
    for name in names:
        for part in ("pieces", "half", "rest"):
            with np.load(out / f"{name}.{part}.npz") as weights:
                for key in weights.files:
                    total[key] = total[key] + weights[key].astype(np.float32) / len(names)
    model.load_state_dict({k: torch.from_numpy(v).to(device) for k, v in total.items()})


@torch.no_grad()
def heard(model: Listener, texts: Texts, rows: list[dict[str, Any]]) -> dict[str, np.ndarray]:
    """What a model makes of texts: its vectors, the logits, and each reading looked at."""
    order = sorted(range(len(rows)), key=lambda i: len(rows[i]["ids"]))
    logits = np.zeros((len(rows), len(texts.units)), np.float16)
    vectors = np.zeros((len(rows), 384), np.float32)
    seen = {}
    for start in range(0, len(order), 128):
        part = order[start : start + 128]
        ids, there, shift = texts.batch([rows[i] for i in part], np.zeros(len(part), bool))
        states = model.states(ids, there)
        found, look, tell = model.hear(states, there)
        logits[part] = found.float().cpu().numpy()
        vectors[part] = model.vector(states, there).cpu().numpy()
        for j, i in enumerate(part):
            for n, reading in enumerate(rows[i]["readings"]):
                u = reading["unit"]
                at = [p + shift[j] for p in reading["span"] if p + shift[j] < look.shape[1]]
                if u is not None and at:
                    seen[i, n] = (float(look[j, at, u].exp().sum()), float(tell[j, at, u].max()),
                                  float(tell[j, at, u].mean()))  # fmt: skip
    keys = sorted(seen)
    return {"logits": logits, "vectors": vectors, "reading_of": np.array(keys),
            "reading_seen": np.array([seen[k] for k in keys], dtype=np.float32)}  # fmt: skip


def leave(model: Listener, texts: Texts, run: dict[str, Any], out: Path) -> None:
    """Leave what the model makes of the texts held back from it."""
    held = [t for t in texts.all if t["fold"] == run["fold"]]
    found = heard(model, texts, held)
    known = [t for t in texts.all if t["cause"] >= 0 and t["kind"] != "prose"
             and t["fold"] != run["fold"]]  # fmt: skip
    others = heard(model, texts, [{**t, "readings": []} for t in known])["vectors"]
    labels = np.array([t["cause"] for t in known])
    near = found["vectors"] @ others.T
    best = np.full((len(held), len(texts.causes), 3), -1.0, np.float32)
    for cause in range(len(texts.causes)):
        own = np.sort(near[:, labels == cause], axis=1)[:, ::-1][:, :3]
        best[:, cause, : own.shape[1]] = own
    with torch.no_grad():
        weight = next(model.parameters())
        voice = model.voice(torch.from_numpy(found["vectors"]).to(weight.device)).cpu().numpy()
    reads = np.array([i for i, t in enumerate(held) if t["part"] in ("annotated", "stated")])
    np.savez_compressed(
        out / f"{run['name']}.npz", ids=np.array([t["id"] for t in held]), reads=reads,
        logits=found["logits"][reads], voice=voice.astype(np.float16),
        nearest=np.stack([best[:, :, 0], best.mean(2)], 2).astype(np.float16),
        reading_of=found["reading_of"], reading_seen=found["reading_seen"],
    )  # fmt: skip
    measure(held, found, voice, best, run["name"])


def measure(held: Any, found: Any, voice: Any, best: Any, name: str) -> None:
    """Print how a run does on what it did not see."""
    rows = [i for i, t in enumerate(held) if t["part"] == "annotated"]
    scores, right, five, stated, offered = [], [], 0, 0, 0
    judged, judged_right = [], []
    for i in rows:
        text, logits = held[i], found["logits"][i].astype(np.float32)
        yes, skip = {int(u) for u in text["yes"]}, set(text["skip"])
        signs = [u for u in range(len(logits)) if text_unit(u) and u not in skip]
        scores += [logits[u] for u in signs]
        right += [u in yes for u in signs]
        wanted = {u for u in yes if text_unit(u)}
        got = {r["unit"] for r in text["readings"] if r.get("right") == 1}
        read = {r["unit"] for r in text["readings"]}
        for r in text["readings"]:
            if r.get("right", -1) >= 0 and r["unit"] is not None:
                judged.append(logits[r["unit"]])
                judged_right.append(r["right"])
        top = [u for u in np.argsort(-logits) if text_unit(u) and u not in read][:5]
        stated += len(wanted)
        offered += len(wanted & got)
        five += len(wanted & (got | set(top)))
    letters = [i for i, t in enumerate(held) if t["kind"] == "letter" and t["cause"] >= 0]
    own = [i for i, t in enumerate(held) if t["kind"] == "own"]
    print("RESULT", name, f"units AP {average_precision(scores, right):.3f}",
          f"judge AUC {auc(judged, judged_right):.3f}",
          f"recall read {offered / stated:.3f} with five {five / stated:.3f}",
          *(f"{what} voice {first(voice[who], [held[i]['cause'] for i in who])} near "
            f"{first(best[who, :, 0], [held[i]['cause'] for i in who])}"
            for what, who in (("letters", letters), ("own", own))), flush=True)  # fmt: skip


_units: list[str] = []


def text_unit(u: int) -> bool:
    """Whether a unit is a whole sign: there, or absent; not a form."""
    name = _units[u]
    return "/" not in name or name.endswith("/absent")


def average_precision(scores: Any, right: Any) -> float:
    """The mean precision over the right ones."""
    order = np.argsort(-np.array(scores))
    hit = np.array(right)[order]
    return float((np.cumsum(hit) / np.arange(1, len(hit) + 1))[hit].mean())


def auc(scores: Any, right: Any) -> float:
    """The chance that a right one scores above a wrong one."""
    scores, right = np.array(scores), np.array(right, bool)
    ranks = np.argsort(np.argsort(scores)) + 1
    good = right.sum()
    return float((ranks[right].sum() - good * (good + 1) / 2) / max(good * (~right).sum(), 1))


def first(scores: Any, labels: Any) -> str:
    """Right first and in three, in percent."""
    place = (scores > scores[np.arange(len(labels)), labels][:, None]).sum(1)
    return f"{100 * (place == 0).mean():.1f}/{100 * (place < 3).mean():.1f}"


def denoise(folder: Path, out: Path, runs: list[str], name: str) -> None:
    """How likely each case's text says what the case states, learned where people told both.

    A logistic curve over the logit of models that did not see the text, and whether phrases found
    it; fitted on the annotated texts that state observations too.
    """
    texts = {t["id"]: t for t in json.loads((folder / "texts.json").read_text())["texts"]}
    logits = {}
    for run in runs:
        held = np.load(out / f"{run}.npz")
        for row, i in enumerate(held["reads"]):
            logits[str(held["ids"][i])] = held["logits"][row].astype(np.float32)
    learn, said = [], []
    for ident, text in texts.items():
        if text.get("observed") and ident in logits:
            for u in text["observed"]:
                if u not in text["skip"]:
                    learn.append([1.0, logits[ident][u], u in text["read"]])
                    said.append(str(u) in text["yes"])
    x, y = np.array(learn, float), np.array(said, float)
    fitted = np.zeros(3)
    for _ in range(50):
        p = 1 / (1 + np.exp(-x @ fitted))
        fitted += np.linalg.solve(
            (x * (p * (1 - p))[:, None]).T @ x + 1e-3 * np.eye(3), x.T @ (y - p)
        )
    ids, units, chances = [], [], []
    for ident, text in texts.items():
        if text["part"] == "stated" and ident in logits:
            for u, how in text["heard"].items():
                z = fitted @ [1.0, logits[ident][int(u)], how == 1.0]
                ids.append(ident)
                units.append(int(u))
                chances.append(1 / (1 + np.exp(-z)))
    print(f"denoise: {len(y)} statements, said {y.mean():.2f}, curve {fitted.round(2)}, "
          f"log loss {-(y * np.log(p) + (1 - y) * np.log(1 - p)).mean():.3f}, "
          f"cases say {np.mean(chances):.2f} of {len(chances)}", flush=True)  # fmt: skip
    np.savez(
        out / name, ids=np.array(ids), units=np.array(units), said=np.array(chances, np.float32)
    )


def work(tasks: Any, folder: Path, out: Path) -> None:
    """Take runs until there are no more."""
    global _units
    _units = json.loads((folder / "texts.json").read_text())["units"]
    while True:
        run = tasks.get()
        if run is None:
            return
        run_one(run, folder, out)


def main(folder: Path, out: Path, plan: Path, workers: int) -> None:
    """Work through a plan: groups of runs; those of a group go side by side."""
    out.mkdir(parents=True, exist_ok=True)
    context = processes.get_context("spawn")
    for group in json.loads(plan.read_text()):
        if "denoise" in group:
            denoise(folder, out, group["denoise"], group["name"])
            continue
        tasks = context.Queue()
        for run in group["runs"]:
            tasks.put(DEFAULTS | group.get("all", {}) | run)
        team = [context.Process(target=work, args=(tasks, folder, out)) for _ in range(workers)]
        for one in team:
            tasks.put(None)
            one.start()
        for one in team:
            one.join()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3]),
         int(sys.argv[4]) if len(sys.argv) > 4 else 1)  # fmt: skip
