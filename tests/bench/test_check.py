"""check for code hosts, in part, and against what a person approved; comments that let stand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.checking import baseline
from diagnose.checking.check import examine
from diagnose.commands import main
from diagnose.terminal import findings
from tests.bench.conftest import CATERPILLAR, FLEA_BEETLE, read, swap
from tests.kb.test_findings import EXTRA, FLEA, SLUG, folder

pytestmark = pytest.mark.quick


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    """A folder with one warning, and one error in another file."""
    return folder(tmp_path, {
        SLUG: EXTRA.replace("It eats at night.", "It eats above 50 F (30 C)."),
    })  # fmt: skip


def test_annotations_escape_what_means_something(faulty: Path, monkeypatch, capsys) -> None:
    """The form and the escapes are those of GitHub's workflow commands (docs.github.com)."""
    monkeypatch.chdir(faulty)
    assert main(["check", ".", "--as", "annotations"]) == 1
    [line] = capsys.readouterr().out.splitlines()
    assert line == (
        f"::warning file={SLUG},line=2,title=units-disagree::"
        "50 F is not 30 C; reckon one of them again"
    )
    odd = findings.Finding("a,b.yaml", 1, "tab", "50 %\nand: more")
    [line] = findings.as_annotations([odd], Path())
    assert line == "::error file=a%2Cb.yaml,line=1,title=tab::50 %25%0Aand: more"


def test_sarif_has_what_its_readers_need(faulty: Path, monkeypatch, capsys) -> None:
    """Structure from memory of the OASIS standard, 2.1.0: what must be there, and one result."""
    monkeypatch.chdir(faulty)
    assert main(["check", ".", "--as", "sarif"]) == 1
    log = json.loads(capsys.readouterr().out)
    assert log["version"] == "2.1.0"
    [run] = log["runs"]
    assert run["tool"]["driver"]["name"] == "diagnose check"
    [result] = run["results"]
    rule = run["tool"]["driver"]["rules"][result["ruleIndex"]]
    assert rule["id"] == result["ruleId"] == "units-disagree"
    assert result["level"] == rule["defaultConfiguration"]["level"] == "warning"
    assert result["message"]["text"]
    place = result["locations"][0]["physicalLocation"]
    assert place == {"artifactLocation": {"uri": SLUG}, "region": {"startLine": 2}}


def test_errors_alone(faulty: Path, capsys) -> None:
    assert main(["check", str(faulty), "--errors"]) == 0
    (faulty / "cautions.yaml").write_text("wash: {}\n", encoding="utf-8")
    assert main(["check", str(faulty), "--errors", "--json"]) == 1
    said = capsys.readouterr().out
    assert {f["severity"] for f in json.loads(said[said.index("[\n") :])} == {"error"}


def test_of_files_no_case_is_worked_unless_asked_for(tmp_path: Path, capsys) -> None:
    file = folder(tmp_path, {}) / FLEA
    assert main(["check", str(file)]) == 0
    assert "right first" not in capsys.readouterr().out
    assert main(["check", str(file), "--cases"]) == 0
    assert "right first" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("comment", "codes"),
    [
        ("# let units-disagree stand: the book has it so", set()),
        ("# let units-disagree stand", {"units-disagree", "silence-idle"}),
        ("# let twins stand: no", {"units-disagree", "silence-idle"}),
    ],
)
@pytest.mark.parametrize("above", [True, False])
def test_a_comment_lets_one_warning_stand(
    faulty: Path, comment: str, codes: set[str], above: bool
) -> None:
    path = faulty / SLUG
    old = "summary: It eats above 50 F (30 C)."
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace(old, f"{comment}\n{old}" if above else f"{old}  {comment}"), encoding="utf-8"
    )
    assert {f.code for f in examine(faulty).findings} == codes


def test_no_comment_lets_an_error_stand(tmp_path: Path) -> None:
    comment = "# let unknown-key stand: so\n"
    found = examine(folder(tmp_path, {"cautions.yaml": f"{comment}wash: {{text: a, b: c}}\n"}))
    assert {f.code for f in found.findings} == {"unknown-key"}


def test_after_a_change_only_the_cases_near_to_it_are_worked(
    cased: Path, tmp_path: Path, monkeypatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    first = examine(cased)
    assert first.carried == 0
    swap(cased, FLEA_BEETLE, "It nibbles leaves.", "It nibbles many leaves.")
    near, every = examine(cased, every=False), examine(cased, every=True)
    assert near.carried == 2
    assert [(r.cause, r.index) for r in near.results] == [(r.cause, r.index) for r in every.results]
    assert [r for r in near.results if r.cause == "flea-beetle"] == [
        r for r in every.results if r.cause == "flea-beetle"
    ]


def test_the_baseline_is_taken_and_held(cased: Path, capsys) -> None:
    assert main(["baseline", "--knowledge", str(cased)]) == 0
    assert baseline.FILE in capsys.readouterr().out
    codes = {f.code for f in examine(cased).findings}
    assert codes.isdisjoint({"cases-fell", "loosened", "change-without-gain", "baseline-astray"})
    swap(cased, CATERPILLAR, "ragged: usually", "ragged: seldom")
    swap(cased, FLEA_BEETLE, "decision: leave", "decision: watch")  # stricter
    found = examine(cased).findings
    fell = {f.file: f.message for f in found if f.code == "cases-fell"}
    assert "'ragged holes'" in fell[CATERPILLAR]
    assert "loosened" not in {f.code for f in found}


def test_of_what_cannot_be_read_the_baseline_says_nothing(cased: Path, capsys) -> None:
    assert main(["baseline", "--knowledge", str(cased)]) == 0
    (cased / "remedies.yaml").write_text("pick: [\n", encoding="utf-8")
    assert "unread-change" not in {f.code for f in examine(cased).findings}


def test_a_baseline_of_another_knowledge_is_told(cased: Path, tmp_path: Path) -> None:
    other = folder(tmp_path / "other", {})
    (other / "causes/insect/caterpillar.yaml").rename(other / "causes/insect/worm.yaml")
    made = baseline.made(read(other), [])
    del made.causes["flea-beetle"], made.causes["greening"]
    baseline.write(cased, made)
    [found] = [f for f in examine(cased).findings if f.code == "baseline-astray"]
    assert found.file == baseline.FILE
    assert "another knowledge" in found.message


@pytest.mark.parametrize("text", ["", "[]", "{", '{"format": 1}', '{"format": 2}'])
def test_a_baseline_that_cannot_be_read_is_one_finding(cased: Path, text: str) -> None:
    (cased / baseline.FILE).write_text(text, encoding="utf-8")
    assert [f.file for f in examine(cased).findings if f.code == "baseline-astray"] == [
        baseline.FILE
    ]
