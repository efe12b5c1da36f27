"""Random small knowledge folders in our own format, for hypothesis, and the writing of folders."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import get_args

import yaml
from hypothesis import strategies as st

from diagnose.kb.model import Commonness, Frequency
from tests.conftest import TINY, write

MADE = ("symptoms", "causes", "rules", "likelihood.yaml")  # what is made anew at random
SHARED = [file for file in TINY if file.split("/")[0] not in MADE]


class _Plain(yaml.SafeDumper):
    """Writes numbers without exponents, which our format does not have."""


_Plain.add_representer(
    float, lambda dumper, x: dumper.represent_scalar("tag:yaml.org,2002:float", f"{x:.9f}")
)


def write_folder(folder: Path, files: Mapping[str, object]) -> Path:
    """Write a knowledge folder; what `files` lacks is taken from the tiny one of the tests."""
    texts = {file: yaml.dump(content, Dumper=_Plain) for file, content in files.items()}
    texts.setdefault("safety.yaml", "must: {}\n")  # nothing is held of causes made up
    return write(folder, {file: TINY[file] for file in SHARED if file not in files} | texts)


how_often = st.one_of(
    st.sampled_from(get_args(Frequency)),
    st.floats(0.001, 0.999).map(lambda p: round(p, 6)),
)
how_common = st.one_of(
    st.sampled_from(get_args(Commonness)), st.floats(0.01, 20.0).map(lambda p: round(p, 3))
)
HOSTS = ["kale", "potato", "any"]
SEASONS = [
    "all year",
    {"from": "last frost", "to": "first frost"},
    {"from": "11-01", "to": "02-01"},
    {"from": "06-20", "to": "07-10"},
]


@st.composite
def symptoms(draw: st.DrawFn, number: int) -> dict[str, object]:
    """A symptom with no forms or two or three, some in a group that restates, some derived."""
    forms = draw(st.sampled_from([[], ["round", "long"], ["red", "blue", "green"]]))
    background: object = draw(how_often)
    if forms and draw(st.booleans()):
        named = draw(st.lists(st.sampled_from(forms), min_size=1, unique=True))
        background = {form: draw(how_often) for form in named}
    found: dict[str, object] = {
        "name": f"symptom {number}",
        "part": draw(st.sampled_from(["leaf", "stem"])),
        "ask": "Is it there?",
        "background": background,
        "effort": draw(st.sampled_from(["look", "turn", "dig", "wait"])),
        "values": {form: form for form in forms},
        "derived": number == 0,
    }
    found["kind"] = draw(st.sampled_from(["symptom", "pattern"]))
    if draw(st.booleans()):
        where = {"is": draw(how_often), "crop": "kale"}
        found["background-where"] = [where, {"is": draw(how_often), "season": "spring"}]
    group = draw(st.sampled_from([None, None, "group-a", "group-b"]))
    return found | ({"overlaps": group} if group else {})


@st.composite
def causes(draw: st.DrawFn, known: Mapping[str, dict[str, object]]) -> dict[str, object]:
    """A cause with evidence of every form that the format has."""
    evidence: dict[str, object] = {}
    for symptom in draw(st.lists(st.sampled_from(sorted(known)), unique=True)):
        forms = list(known[symptom]["values"]) or ["present"]  # type: ignore[call-overload]
        line: object = draw(how_often)
        if draw(st.booleans()):
            named = draw(st.lists(st.sampled_from([*forms, "none"]), min_size=1, unique=True))
            line = {value: draw(how_often) for value in named}
        evidence[symptom] = line
    hosts = draw(st.lists(st.sampled_from(HOSTS), min_size=1, unique=True))
    return {
        "name": "a cause",
        "summary": "It does something.",
        "hosts": {host: draw(how_common) for host in hosts},
        "season": draw(st.sampled_from(SEASONS)),
        "evidence": evidence,
        "matters": {"decision": "leave", "text": "It passes."},
        "harvest": "Eat them.",
        "remedies": [draw(st.sampled_from(["pick", "wait", "hill"]))],
    }


@st.composite
def likelihoods(draw: st.DrawFn) -> dict[str, object]:
    """The shipped numbers with another share of something else, and other trust."""
    shipped: dict[str, object] = yaml.safe_load(TINY["likelihood.yaml"])
    share = st.floats(0.3, 1.0).map(lambda p: round(p, 3))
    return shipped | {
        "channel": {"read": draw(share), "slip": draw(st.sampled_from([0.001, 0.1, 0.5]))},
        "something-else": draw(st.sampled_from([0.001, 0.05, 0.5])),
        "trust": {who: {"seen": draw(share), "form": draw(share)} for who in ("text", "answer")},
    }


@st.composite
def folders(draw: st.DrawFn) -> dict[str, object]:
    """The files of a small knowledge folder: symptoms, causes, rules and numbers."""
    known = {f"symptom-{i}": draw(symptoms(i)) for i in range(draw(st.integers(2, 6)))}
    found: dict[str, object] = {"symptoms/all.yaml": known, "likelihood.yaml": draw(likelihoods())}
    ids = [f"cause-{i}" for i in range(draw(st.integers(1, 6)))]
    for cause in ids:
        found[f"causes/fungus/{cause}.yaml"] = draw(causes(known))
    asked = sorted(known)[1:]
    rules = []
    for number in range(draw(st.integers(0, 4))):
        symptom = draw(st.sampled_from(asked))
        then = draw(
            st.one_of(
                st.fixed_dictionaries({"rule-out": st.sampled_from(ids)}),
                st.fixed_dictionaries({"skip": st.sampled_from(asked)}),
                st.fixed_dictionaries({"symptom-0": st.sampled_from(["present", "absent"])}),
            )
        )
        value = draw(st.sampled_from(["present", "absent"]))
        rules.append(
            {
                "rule": f"rule-{number}",
                "when": {symptom: value},
                "then": then,
                "because": "it is so",
            }
        )
    found["rules/all.yaml"] = rules
    return found


@st.composite
def seen(draw: st.DrawFn, files: Mapping[str, object]) -> list[tuple[str, str, str]]:
    """Some symptoms of a folder with a value and the source that tells it."""
    known: dict[str, dict[str, object]] = files["symptoms/all.yaml"]  # type: ignore[assignment]
    found = []
    for symptom in draw(st.lists(st.sampled_from(sorted(known)), unique=True)):
        values = [*known[symptom]["values"], "present", "absent"]  # type: ignore[misc]
        source = draw(st.sampled_from(["text", "answer", "case"]))
        found.append((symptom, draw(st.sampled_from(values)), source))
    return found
