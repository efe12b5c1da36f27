"""A knowledge folder grown some times over: the same shape, on the same crops."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import msgspec
import yaml

from diagnose.kb.model import Knowledge
from diagnose.kb.store import shipped
from diagnose.reasoning import facts

KEPT = {*facts.GIVEN, *facts.ACTED_UPON, *facts.ANSWER}  # names of facts that all copies share
COPIED = {facts.RULE_OUT, facts.SKIP, "cause"}  # of these, the values have copies
Rename = Callable[[str], str]


def grow(knowledge: Knowledge, times: int, folder: Path) -> Path:
    """Write the shipped folder with each symptom, cause and rule as often as `times` says.

    Each copy has symptoms and causes of its own, so that a crop has so many times the causes and
    the questions. The words of a copy's phrases are marked, so that they stay apart.
    """
    shutil.copytree(shipped(), folder)
    for copy in range(2, times + 1):
        _add_copy(knowledge, copy, folder)
    return folder


def _add_copy(knowledge: Knowledge, copy: int, folder: Path) -> None:
    def renamed(name: str) -> str:
        return f"{name}-{copy}"

    def marked(text: str) -> str:
        return f"{text} copy{copy}"

    symptoms = {}
    for symptom_id, symptom in knowledge.symptoms.items():
        data = _plain(symptom)
        _mark_phrases(data, marked)
        if "overlaps" in data:
            data["overlaps"] = renamed(data["overlaps"])
        symptoms[renamed(symptom_id)] = data
    _write(folder / "symptoms" / f"copy-{copy}.yaml", symptoms)
    for cause_id, cause in knowledge.causes.items():
        data = _plain(cause)
        del data["kind"]
        data["name"] = marked(cause.name)
        data["also"] = [marked(name) for name in cause.also]
        data["evidence"] = {renamed(s): line for s, line in data["evidence"].items()}
        data["looks-like"] = {renamed(c): tell for c, tell in data.get("looks-like", {}).items()}
        for case in data.get("cases", []):
            case["observations"] = {}
            case["text"] = case.get("text") or case.get("says") or ""
        _write(folder / "causes" / cause.kind / f"{renamed(cause_id)}.yaml", data)
    rules = [
        _plain(rule)
        | {
            "rule": renamed(rule_id),
            "when": _facts(rule.when, renamed),
            "then": _facts(rule.then, renamed),
        }
        for rule_id, rule in knowledge.rules.items()
    ]
    _write(folder / "rules" / f"copy-{copy}.yaml", rules)


def _facts(pairs: Mapping[str, str | list[str]], renamed: Rename) -> dict[str, list[str]]:
    """The facts of a rule, with the symptoms, causes and its own conclusions of this copy."""
    found = {}
    for name, values in pairs.items():
        listed = [values] if isinstance(values, str) else values
        own = name if name in KEPT else renamed(name)
        found[own] = [renamed(value) for value in listed] if name in COPIED else listed
    return found


def _mark_phrases(data: dict[str, Any], marked: Rename) -> None:
    for key in ("says", "denies"):
        if key in data:
            data[key] = [marked(phrase) for phrase in data[key]]
    for value in data.get("values", {}).values():
        if isinstance(value, dict) and "says" in value:
            value["says"] = [marked(phrase) for phrase in value["says"]]


def _plain(value: msgspec.Struct) -> dict[str, Any]:
    """As it would stand in a file: without what was left out."""
    found: dict[str, Any] = _without_nothing(msgspec.to_builtins(value))
    return found


def _without_nothing(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_nothing(v) for key, v in value.items() if v is not None}
    return [_without_nothing(v) for v in value] if isinstance(value, list) else value


def _write(path: Path, content: object) -> None:
    dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
    path.write_text(
        yaml.dump(content, Dumper=dumper, allow_unicode=True),
        encoding="utf-8",
    )
