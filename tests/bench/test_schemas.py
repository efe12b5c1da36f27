"""The schemas: current, valid themselves, and as strict as the loader on every knowledge file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from diagnose.bench import schemas
from diagnose.commands import main
from diagnose.kb import load
from diagnose.kb.reader import Reader
from diagnose.kb.store import shipped

pytestmark = pytest.mark.quick

CURRENT = "run: diagnose schema --write --modelines"
CONSTRAINTS = Path(__file__).parents[2] / ".ci" / "constraints.txt"
UNDER_THEM = f"msgspec=={version('msgspec')}" in CONSTRAINTS.read_text(encoding="utf-8").split()


@pytest.mark.parametrize("kind", schemas.FILES)
def test_each_is_a_schema(kind: str) -> None:
    jsonschema.Draft7Validator.check_schema(schemas.schema(kind))


@pytest.mark.skipif(not UNDER_THEM, reason="texts are compared under .ci/constraints.txt")
def test_the_committed_schemas_are_current() -> None:
    for kind in schemas.FILES:
        assert committed(kind).read_text(encoding="utf-8") == schemas.text(kind), CURRENT


@pytest.mark.parametrize("kind", schemas.FILES)
def test_the_committed_schemas_mean_the_same(kind: str) -> None:
    now = checker(kind)
    kept = jsonschema.Draft7Validator(json.loads(committed(kind).read_text(encoding="utf-8")))
    verdicts = [(now.is_valid(data), kept.is_valid(data)) for data in damaged(example(kind))]
    assert {(True, True), (False, False)} == set(verdicts), CURRENT


def committed(kind: str) -> Path:
    return shipped() / schemas.FOLDER / f"{kind}.json"


def example(kind: str) -> Any:
    """The shipped file of a kind that is richest; of a table of many entries, the first ones."""
    reader = Reader(shipped())
    names = {path: path.relative_to(shipped()).as_posix() for path in load.files(shipped())}
    alike = [path for path, name in names.items() if schemas.kind_of(name) == kind]
    document = reader.document(max(alike, key=lambda path: path.stat().st_size))
    assert document is not None
    top = document.data.items() if isinstance(document.data, dict) else ()
    if kind in load.TABLES:
        top = list(top)[:3]
    return {key: few(inner) for key, inner in top} or few(document.data)


def few(value: Any) -> Any:
    """A value with only the first entries of what is long."""
    if isinstance(value, list):
        return [few(inner) for inner in value[:2]]
    if isinstance(value, dict):
        return {key: few(inner) for key, inner in list(value.items())[:12]}
    return value


def damaged(value: Any) -> Iterator[Any]:
    """A value, and copies of it with one thing changed, at the top or further in."""
    yield from (value, None, 0.5, "No Such Word", [], {}, [None])
    if isinstance(value, dict):
        for key, inner in value.items():
            yield value | {"no-such-key": inner}
            yield {name: one for name, one in value.items() if name != key}
            yield from (value | {key: changed} for changed in damaged(inner))
    elif isinstance(value, list):
        for changed in damaged(value[0]) if value else ():
            yield [changed, *value[1:]]


def test_every_knowledge_file_is_valid_and_names_its_schema() -> None:
    root, checkers = shipped(), {k: checker(k) for k in schemas.FILES}
    reader = Reader(root)
    for path in load.files(root):
        name = path.relative_to(root).as_posix()
        document = reader.document(path)
        assert document is not None, name
        wrong = [
            error.message for error in checkers[schemas.kind_of(name)].iter_errors(document.data)
        ]
        assert wrong == [], name
        with path.open(encoding="utf-8") as stream:
            assert stream.readline().rstrip("\n") == schemas.modeline(name), CURRENT


def checker(kind: str) -> jsonschema.Draft7Validator:
    return jsonschema.Draft7Validator(schemas.schema(kind))


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("symptoms", {"holes": {"name": "holes"}}),
        ("symptoms", {"Holes!": {"name": "h", "part": "leaf", "ask": "?", "background": "seldom"}}),
        ("remedies", {"pick": {"rung": "spray", "text": "Spray."}}),
        ("remedies", {"pick": {"rung": "hands", "text": "Pick.", "dose": "1 l"}}),
        ("rules", {"rule": "not-a-list"}),
    ],
)
def test_what_the_loader_refuses_is_flagged(kind: str, data: object) -> None:
    assert not checker(kind).is_valid(data)


def test_the_kind_of_a_cause_is_not_offered() -> None:
    assert "kind" not in schemas.schema("causes")["properties"]
    assert "kind" in schemas.schema("symptoms")["definitions"]["Symptom"]["properties"]


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("likelihood.yaml", "$schema=.schema/likelihood.json"),
        ("crops/kale.yaml", "$schema=../.schema/crops.json"),
        ("causes/insect/aphids.yaml", "$schema=../../.schema/causes.json"),
    ],
)
def test_modelines_are_relative(name: str, line: str) -> None:
    assert schemas.modeline(name) == f"# yaml-language-server: {line}"


def test_write_and_modelines_change_only_what_is_not_current(capsys, tiny: Path) -> None:
    words = ("schema", "--write", "--modelines", "--knowledge", str(tiny))
    before = load.read(tiny).knowledge
    assert main(list(words)) == 0
    files = len(schemas.FILES) + len(load.files(tiny))
    assert f"{files} files changed" in capsys.readouterr().out
    assert main(list(words)) == 0
    assert "0 files changed" in capsys.readouterr().out
    after = load.read(tiny).knowledge
    assert before is not None and after is not None
    assert (after.causes, after.rules, after.words) == (before.causes, before.rules, before.words)


def test_a_wrong_modeline_is_mended_and_other_comments_stay(tiny: Path) -> None:
    path = tiny / "remedies.yaml"
    body = "# ours\n" + path.read_text(encoding="utf-8")
    path.write_text(schemas.LINE + "elsewhere.json\n" + body, encoding="utf-8")
    schemas.add_modelines(tiny)
    assert path.read_text(encoding="utf-8") == f"{schemas.modeline('remedies.yaml')}\n{body}"


def test_print_one(capsys) -> None:
    assert main(["schema", "rules"]) == 0
    assert json.loads(capsys.readouterr().out)["type"] == "array"
    assert main(["schema", "rule"]) == 2
    assert "did you mean 'rules'?" in capsys.readouterr().err
    assert main(["schema"]) == 2
