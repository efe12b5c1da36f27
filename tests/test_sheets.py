"""The pictures on sheets for a browser, and the command that writes them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from diagnose.commands import main

pytestmark = pytest.mark.quick


def run(capsys, *words: str) -> tuple[int, str, str]:
    code = main(["drawings", *words])
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_all_are_written_on_sheets_of_less_than_300_kb(capsys, knowledge, tmp_path: Path) -> None:
    code, said, _ = run(capsys, "--to", str(tmp_path / "all.html"))
    files = sorted(tmp_path.iterdir())
    assert code == 0
    assert all(str(file) in said for file in files)
    assert max(file.stat().st_size for file in files) < 300_000
    whole = "".join(file.read_text(encoding="utf-8") for file in files)
    assert whole.count("<figure>") == whole.count("</desc>") == len(knowledge.drawings)
    links = set(re.findall(r'href="([^"]*)"', whole))
    assert links == ({file.name for file in files} if len(files) > 1 else set())
    assert "<script" not in whole and "src=" not in whole


def test_those_of_one_symptom(capsys, tmp_path: Path) -> None:
    assert run(capsys, "leaf-mines", "--to", str(tmp_path / "mines.html"))[0] == 0
    assert (tmp_path / "mines.html").read_text(encoding="utf-8").count("<figure>") == 3
    code, said, _ = run(capsys, "leaf-mines")
    assert code == 0
    assert "winding trails (mines-winding): A leaf with a pale line" in said


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("leaf-nimes",), "no symptom is called 'leaf-nimes'"),
        (("bitter-taste",), "bitter-taste has no drawings"),
        (("--to", "sheet.pdf"), "sheet.pdf must end in .html"),
        (("leaf-mines", "--to", "/proc/x/sheet.html"), "cannot be written"),
    ],
)
def test_a_mistake_is_one_line(capsys, words: tuple[str, ...], told: str) -> None:
    code, _, error = run(capsys, *words)
    assert code == 2
    assert told in error
    assert len(error.strip().splitlines()) == 1


def test_a_file_that_is_there_is_not_overwritten(capsys, tmp_path: Path) -> None:
    (tmp_path / "a.html").write_text("mine")
    code, _, error = run(capsys, "leaf-mines", "--to", str(tmp_path / "a.html"))
    assert (code, (tmp_path / "a.html").read_text()) == (2, "mine")
    assert "is there already" in error
