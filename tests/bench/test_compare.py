"""Two folders or git revisions side by side, as text and JSON."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from diagnose.bench import compare
from diagnose.commands import main
from diagnose.errors import UsageError
from tests.bench.conftest import CATERPILLAR, FLEA_BEETLE, swap

HURTS = "Touches safety, measures or what may be eaten"
WEAKER = ("holes: {tiny: usually}", "holes: {tiny: seldom, ragged: always}")


@pytest.fixture
def changed(cased: Path, tmp_path: Path) -> Path:
    """The folder, changed: two cases worse, one better, one new, one gone, a remedy added."""
    new = tmp_path / "changed"
    shutil.copytree(cased, new)
    swap(new, FLEA_BEETLE, *WEAKER)
    swap(new, FLEA_BEETLE, "[wait]", "[wait, net]")
    swap(new, "remedies.yaml", "wait: ", "net: {rung: hands, text: Cover them.}\nwait: ")
    swap(new, CATERPILLAR, "ragged holes and green droppings", "green droppings")
    return new


def test_as_text(capsys, cased: Path, changed: Path) -> None:
    assert main(["compare", str(cased), str(changed)]) == 1
    lines = capsys.readouterr().out.splitlines()
    for line in (
        HURTS,
        f"~ flea-beetle changed ({FLEA_BEETLE})",
        "  - evidence.holes.tiny: usually -> seldom",
        "  - evidence.holes.ragged: + always",
        "  - remedies: + net",
        "+ net added (remedies.yaml)",
        '+ caterpillar "green droppings"',
        '- caterpillar "ragged holes and green droppings"',
        'worse: caterpillar 2 "ragged holes": first -> second, behind flea-beetle',
        'moved: flea-beetle 3 "ragged holes": second -> first',
    ):
        assert line in lines
    assert any(line.startswith("In all: cases 5 -> 5, right first 4 -> 3,") for line in lines)


def test_as_json(capsys, cased: Path, changed: Path) -> None:
    assert main(["compare", str(cased), str(changed), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert {(e["kind"], e["id"], e["what"]) for e in data["entries"]} == {
        ("causes", "caterpillar", "changed"), ("causes", "flea-beetle", "changed"),
        ("remedies", "net", "added"),
    }  # fmt: skip
    assert [c["text"] for c in data["cases"]["added"]] == ["green droppings"]
    moved = data["cases"]["moved"]
    assert [(m["cause"], m["worse"], m["before"]["place"], m["after"]["place"]) for m in moved] == [
        ("caterpillar", True, 1, 2), ("flea-beetle", True, 1, 2), ("flea-beetle", False, 1, 1),
        ("flea-beetle", False, 2, 1),
    ]  # fmt: skip
    assert moved[2]["before"]["questions"] != moved[2]["after"]["questions"]
    assert data["old"]["score"]["first"] == 4


def test_nothing_differs(capsys, cased: Path) -> None:
    assert main(["compare", str(cased), str(cased)]) == 0
    assert "Nothing differs." in capsys.readouterr().out


def test_a_better_ranking_is_no_finding(capsys, cased: Path, changed: Path) -> None:
    shutil.copy(cased / CATERPILLAR, changed / CATERPILLAR)
    shutil.copy(cased / FLEA_BEETLE, changed / FLEA_BEETLE)
    shutil.copy(cased / "remedies.yaml", changed / "remedies.yaml")
    swap(changed, FLEA_BEETLE, '  - {text: "ragged holes", crop: kale, date: 2026-06-16}\n', "")
    swap(changed, FLEA_BEETLE, "droppings: never", "droppings: hardly ever")
    assert main(["compare", str(cased), str(changed)]) == 0


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("Wash the leaves and eat them.", "Eat the leaves.", 1),
        ("remedies: [pick]", "remedies: [wait]", 1),
        ("decision: watch", "decision: leave", 1),
        ("summary: It eats leaves.", "summary: It eats the leaves.", 0),
    ],
)
def test_what_can_hurt_stands_first_and_is_a_finding(
    capsys, cased: Path, tmp_path: Path, old: str, new: str, code: int
) -> None:
    changed = shutil.copytree(cased, tmp_path / "changed")
    swap(changed, CATERPILLAR, old, new)
    assert main(["compare", str(cased), str(changed)]) == code
    lines = capsys.readouterr().out.splitlines()
    first = next(line for line in lines[1:] if line in ("Causes", HURTS))
    assert (first == HURTS) == bool(code)


def test_a_folder_that_cannot_be_used_is_compared_without_its_cases(
    capsys, cased: Path, changed: Path
) -> None:
    swap(changed, CATERPILLAR, "remedies: [pick]", "remedies: [pik]")
    assert main(["compare", str(cased), str(changed), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["cases"]["moved"] is None
    assert "unknown-id" in data["new"]["findings"][0]
    assert main(["compare", str(cased), str(changed)]) == 1
    assert "has 1 finding that keep" in " ".join(capsys.readouterr().out.split())


def test_a_folder_that_is_no_knowledge(capsys, cased: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert main(["compare", str(cased), str(tmp_path / "empty")]) == 2
    assert "is no knowledge that can be used" in capsys.readouterr().err


def git(folder: Path, *words: str) -> None:
    subprocess.run(
        ["git", "-c", "user.name=A", "-c", "user.email=a@b.example", "-C", str(folder), *words],
        check=True, capture_output=True,
    )  # fmt: skip


@pytest.fixture
def history(cased: Path) -> Path:
    """The folder inside a git repository, with two revisions."""
    git(cased.parent, "init", "-q")
    git(cased.parent, "add", cased.name)
    git(cased.parent, "commit", "-q", "-m", "one")
    swap(cased, FLEA_BEETLE, *WEAKER)
    git(cased.parent, "commit", "-q", "-a", "-m", "two")
    return cased


def test_revisions(capsys, history: Path) -> None:
    words = ("--knowledge", str(history))
    assert main(["compare", "HEAD~1", "HEAD", *words]) == 1
    assert f"~ flea-beetle changed ({FLEA_BEETLE})" in capsys.readouterr().out
    assert main(["compare", "HEAD", str(history), *words]) == 0
    assert "Nothing differs." in capsys.readouterr().out


@pytest.mark.parametrize("name", ["nowhere", "HEAD~7", "--all", "HEAD:", ""])
def test_what_is_neither_folder_nor_revision(name: str, history: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="neither a folder nor a git revision"):
        compare.folder_of(name, history, tmp_path / "scratch")


def test_outside_of_git_a_revision_means_nothing(cased: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="neither"):
        compare.folder_of("HEAD", cased, tmp_path / "scratch")
