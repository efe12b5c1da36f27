"""The soybean cases as a knowledge folder in our own format, and consultations on its rows.

The rows are the UCI "Soybean (Large)" data set: see data/README.md for its attribution.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import get_args

import yaml

from diagnose.checking import check
from diagnose.consultation import Consultation, Reasoner
from diagnose.kb import load
from diagnose.kb.model import ABSENT, NONE, PRESENT, UNSURE, Family
from tests.conftest import TINY
from tests.validation.folders import write_folder

FILE = Path(__file__).parent / "data" / "soybean_large.csv"
MISSING, NOT_TOLD, CLASS = "?", "untold", "class"
CROP, DAY = "soybean", date(2026, 7, 1)

Row = dict[str, str]

# Each observation: the part of the plant, and the value that says there is nothing to see.
# The month has no such value.
OBSERVED = {
    "date": ("whole", ""), "plant-stand": ("whole", "normal"), "precip": ("whole", "norm"),
    "temp": ("whole", "norm"), "hail": ("whole", "no"), "crop-hist": ("soil", "diff-lst-year"),
    "area-damaged": ("whole", "scattered"), "severity": ("whole", "minor"),
    "seed-tmt": ("seed", "none"), "germination": ("seed", "90-100"),
    "plant-growth": ("whole", "norm"), "leaves": ("leaf", "norm"),
    "leafspots-halo": ("leaf", "absent"), "leafspots-marg": ("leaf", "dna"),
    "leafspot-size": ("leaf", "dna"), "leaf-shread": ("leaf", "absent"),
    "leaf-malf": ("leaf", "absent"), "leaf-mild": ("leaf", "absent"), "stem": ("stem", "norm"),
    "lodging": ("stem", "no"), "stem-cankers": ("stem", "absent"),
    "canker-lesion": ("stem", "dna"), "fruiting-bodies": ("stem", "absent"),
    "external-decay": ("stem", "absent"), "mycelium": ("stem", "absent"),
    "int-discolor": ("stem", "none"), "sclerotia": ("stem", "absent"),
    "fruit-pods": ("pod", "norm"), "fruit-spots": ("pod", "absent"), "seed": ("seed", "norm"),
    "mold-growth": ("seed", "absent"), "seed-discolor": ("seed", "absent"),
    "seed-size": ("seed", "norm"), "shriveling": ("seed", "absent"), "roots": ("root", "norm"),
}  # fmt: skip

SPOT_DETAILS = ["leafspots-halo", "leafspots-marg", "leafspot-size"]
LEAF_DETAILS = [*SPOT_DETAILS, "leaf-shread", "leaf-malf", "leaf-mild"]
STEM_DETAILS = [
    "lodging", "stem-cankers", "canker-lesion", "fruiting-bodies", "external-decay", "mycelium",
    "int-discolor", "sclerotia",
]  # fmt: skip
SEED_DETAILS = ["mold-growth", "seed-discolor", "seed-size", "shriveling"]
# What one answer leaves nothing to say of: (observation, whether it was ordinary, what to skip).
STRUCTURE = [
    ("leaves", True, LEAF_DETAILS),
    *((spot, True, SPOT_DETAILS) for spot in SPOT_DETAILS),
    *((detail, False, ["leaves"]) for detail in LEAF_DETAILS),
    ("stem", True, STEM_DETAILS),
    ("stem-cankers", True, ["canker-lesion"]),
    ("stem-cankers", False, ["stem"]),
    ("canker-lesion", False, ["stem"]),
    ("fruit-pods", True, ["fruit-spots"]),
    ("seed", True, SEED_DETAILS),
    *((detail, False, ["seed"]) for detail in SEED_DETAILS),
]
KINDS = {
    "phytophthora-rot": "oomycete", "downy-mildew": "oomycete", "bacterial-blight": "bacterium",
    "bacterial-pustule": "bacterium", "cyst-nematode": "nematode", "2-4-d-injury": "herbicide",
    "herbicide-injury": "herbicide",
}  # fmt: skip


@dataclass(frozen=True)
class Settings:
    """What is chosen by cross-validation on the training rows.

    `smoothing` is how many rows' worth of the values' overall shares each cause is given;
    `missing` says whether a missing value is an answer of its own ("cannot be told") or "unsure".
    """

    smoothing: float
    clear: float
    least_bits: float
    missing: str  # "answer" or "unsure"


# As tests/validation/run_soybean.py chooses them.
CHOSEN = Settings(smoothing=0.3, clear=0.99, least_bits=0.05, missing="answer")


def rows() -> tuple[list[Row], list[Row]]:
    """The training rows and the test rows."""
    with FILE.open(encoding="utf-8", newline="") as file:
        every = list(csv.DictReader(file))
    train = [row for row in every if row["split"] == "train"]
    return train, [row for row in every if row["split"] == "test"]


def name(text: str) -> str:
    """An id of our format for a word of the data; "present" has a meaning of its own there."""
    return "seen" if text == PRESENT else re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


def state(observation: str, value: str) -> str:
    """The state of our symptom that a value of the data is."""
    if value == MISSING:
        return NOT_TOLD
    return ABSENT if value == OBSERVED[observation][1] else name(value)


def knowledge_folder(train: Sequence[Row], settings: Settings, folder: Path) -> Path:
    """Write the knowledge that the training rows hold."""
    values = {o: _values(o, settings) for o in OBSERVED}
    shares = {o: _shares(o, values[o], train, 0.5, None) for o in OBSERVED}
    causes = sorted({row[CLASS] for row in train})
    files: dict[str, object] = {
        "symptoms/all.yaml": {o: _symptom(o, values[o], shares[o]) for o in OBSERVED},
        "crops/soybean.yaml": {
            "name": "Soybean",
            "family": _a_family(),
            "parts": ["leaf", "stem", "root", "pod", "seed", "whole", "soil"],
            "eaten": ["seed"],
        },
        "rules/structure.yaml": _rules(values),
        "remedies.yaml": {
            f"for-{name(c)}": {"rung": "growing", "text": "What helps against it."} for c in causes
        },
        "likelihood.yaml": _likelihood(settings),
    }
    for cause in causes:
        own = [row for row in train if row[CLASS] == cause]
        files[f"causes/{KINDS.get(cause, 'fungus')}/{name(cause)}.yaml"] = {
            "name": cause,
            "summary": f"Estimated from {len(own)} rows.",
            "hosts": {CROP: _number((len(own) + 1) / (len(train) + len(causes)))},
            "evidence": {
                o: {
                    NONE if value == ABSENT else value: _number(share)
                    for value, share in _shares(
                        o, values[o], own, settings.smoothing, shares[o]
                    ).items()
                }
                for o in OBSERVED
            },
            "matters": {"decision": "act", "text": "As the cause asks."},
            "harvest": "As the cause allows.",
            "remedies": [f"for-{name(cause)}"],
        }
    return write_folder(folder, files)


def _values(observation: str, settings: Settings) -> list[str]:
    """The states a symptom takes, in order; from both splits, as a form to fill in would have."""
    train, test = rows()
    found = {row[observation] for row in (*train, *test)}
    if settings.missing == UNSURE:
        found.discard(MISSING)
    return sorted({state(observation, value) for value in found})


def _shares(
    observation: str,
    values: Sequence[str],
    of: Sequence[Row],
    smoothing: float,
    overall: dict[str, float] | None,
) -> dict[str, float]:
    """The smoothed share of each state: towards the overall shares, or evenly where None."""
    counts = Counter(state(observation, row[observation]) for row in of)
    told = sum(counts[value] for value in values)
    if overall is None:
        whole = told + smoothing * len(values)
        return {value: (counts[value] + smoothing) / whole for value in values}
    return {v: (counts[v] + smoothing * overall[v]) / (told + smoothing) for v in values}


def _number(value: float) -> float:
    return max(round(value, 9), 1e-9)


def _symptom(
    observation: str, values: Sequence[str], shares: dict[str, float]
) -> dict[str, object]:
    return {
        "name": observation,
        "part": OBSERVED[observation][0],
        "ask": f"What of {observation}?",
        "background": {v: _number(share) for v, share in shares.items() if v != ABSENT},
        "values": {value: value for value in values if value != ABSENT},
    }


def _rules(values: dict[str, list[str]]) -> list[dict[str, object]]:
    made = []
    for observation, ordinary, skipped in STRUCTURE:
        seen = [v for v in values[observation] if v not in (ABSENT, NOT_TOLD)]
        made.append(
            {
                "rule": f"{observation}-{'ordinary' if ordinary else 'seen'}",
                "when": {observation: ABSENT if ordinary else seen},
                "then": {"skip": [other for other in skipped if other != observation]},
                "because": "the answer leaves nothing to say of these",
            }
        )
    return made


def _likelihood(settings: Settings) -> dict[str, object]:
    shipped: dict[str, object] = yaml.safe_load(TINY["likelihood.yaml"])
    return shipped | {
        "something-else": 0.000001,  # every row has one of the nineteen causes
        "trust": {who: {"seen": 1.0, "form": 1.0} for who in ("text", "answer")},
        "screens": shipped["screens"] | {"lines": 0, "first": []},  # one question at a time
        "stop": {
            "clear": settings.clear,
            "same-plan": settings.clear,
            "least-bits": settings.least_bits,
            "most-questions": len(OBSERVED),
            "most-unsure": len(OBSERVED),
        },
    }


def _a_family() -> str:
    """Any family of the model; with one crop it makes no difference."""
    return str(get_args(Family)[0])


def ready(train: Sequence[Row], settings: Settings, folder: Path) -> Consultation:
    """A consultation with nothing told yet, on the knowledge of the training rows."""
    knowledge = load.load(knowledge_folder(train, settings, folder), check.errors)
    reasoner = Reasoner(knowledge)
    return Consultation(reasoner, DAY, reasoner.home(), CROP)


def answer(consultation: Consultation, row: Row, settings: Settings) -> Consultation:
    """With the best question asked, and answered from the row."""
    symptom = consultation.questions[0].symptom
    value = row[symptom]
    unsure = value == MISSING and settings.missing == UNSURE
    return consultation.answer(symptom, UNSURE if unsure else state(symptom, value))


def consult(blank: Consultation, row: Row, settings: Settings) -> Consultation:
    """Ask one question at a time, answered from the row, until the engine stops."""
    found = blank
    while not found.stop:
        found = answer(found, row, settings)
    return found


def best(consultation: Consultation, most: int = 3) -> list[str]:
    """The likeliest causes, first first."""
    causes = consultation.reasoner.tables.causes
    chances = consultation.chances[:-1]
    return sorted(causes, key=lambda c: -chances[causes.index(c)])[:most]


@dataclass(frozen=True, slots=True)
class Step:
    """How a consultation stands after some questions: all that a stop rule looks at."""

    first_right: bool
    in_three: bool
    chance: float
    worth: float  # of the next question; 0 where none is left


def steps(blank: Consultation, row: Row, settings: Settings, most: int) -> Iterator[Step]:
    """A consultation question by question, without a stop rule, up to `most` questions."""
    found, right = blank, name(row[CLASS])
    while True:
        three = best(found)
        worth = found.questions[0].worth if found.questions else 0.0
        yield Step(three[0] == right, right in three, float(found.chances[:-1].max()), worth)
        if found.asked == most or not found.questions:
            return
        found = answer(found, row, settings)
