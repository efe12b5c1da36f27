"""How findings are shown."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from diagnose.commands import main
from diagnose.kb.reader import Finding
from diagnose.terminal import findings
from diagnose.terminal.screen import PlainScreen
from tests.conftest import write
from tests.kb.test_findings import CLEAN, RULES, folder, rule

FOUND = [
    Finding("crops/kale.yaml", 2, "unknown-id", "unknown source 'x'"),
    Finding("crops/kale.yaml", 7, "hard-to-read", "reading grade 9 " + "and more " * 30),
    Finding("rules/all.yaml", 1, "dead-rule", "nothing gives mood: grim"),
]


def test_one_line_each_however_long_in_a_pipe() -> None:
    stream = io.StringIO()
    findings.show(PlainScreen(stream, width=40), FOUND)
    assert stream.getvalue().splitlines() == [str(f) for f in FOUND]
    assert stream.getvalue().startswith("crops/kale.yaml:2: unknown-id unknown source 'x'\n")


def test_grouped_by_file_on_a_terminal_and_errors_named_not_only_coloured() -> None:
    page = findings.page(FOUND)
    assert [b.text for b in page if b.kind == "heading"] == ["crops/kale.yaml", "rules/all.yaml"]
    [error] = [b for b in page if b.kind == "warning"]
    assert (error.mark, error.text) == ("2:", "error, unknown-id: unknown source 'x'")


def test_the_total_in_words() -> None:
    assert findings.total(FOUND) == "1 error and 2 warnings"
    assert findings.total([]) == "no findings"


def test_check_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    root = folder(tmp_path, {RULES: rule("mood: grim", "skip: droppings")})
    assert main(["check", str(root), "--json"]) == 1
    [found] = json.loads(capsys.readouterr().out)
    assert found == {
        "file": RULES,
        "line": 2,
        "code": "dead-rule",
        "severity": "warning",
        "message": "nothing gives mood: grim, so this rule can never fire",
    }


def test_check_of_a_clean_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(write(tmp_path, CLEAN)), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == []
    assert main(["check", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "3 of 3 causes rest on no source that was opened." in said
    assert said.endswith(f"no findings in {tmp_path}\n")
