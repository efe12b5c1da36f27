"""The tutorial's own commands and file, run in a copy of the knowledge."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from diagnose.commands import main
from diagnose.kb.store import shipped

PAGE = Path(__file__).resolve().parent.parent / "docs/tutorial.md"


def blocks(language: str) -> list[str]:
    """The fenced blocks of one language, in order."""
    text = PAGE.read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys):
    """Runs a command of the page in a folder of its own; gives exit code and output."""
    (tmp_path / "knowledge").symlink_to(shipped())
    monkeypatch.chdir(tmp_path)

    def run(command: str) -> tuple[int, str]:
        words = shlex.split(command)
        if words[0] == "cp":
            shutil.copytree(words[2], words[3])
            return 0, ""
        code = main(words[1:])
        return code, capsys.readouterr().out

    return run


@pytest.mark.usefixtures("report")  # the cases of the shipped knowledge are worked once
def test_the_tutorial_from_nothing_to_its_end(desk) -> None:
    copy, new, gaps, clean, show, read, compare = (block.strip() for block in blocks("sh"))
    desk(copy)
    assert desk(new)[0] == 0
    path = Path("my-knowledge/causes/insect/pea-thrips.yaml")
    assert "TO DO" in path.read_text(encoding="utf-8")
    code, said = desk(gaps)
    assert code == 1
    assert "causes/insect/pea-thrips.yaml" in said
    assert "to-do" in said

    [file] = blocks("yaml")
    first, rest = file.split("\n", 1)
    assert first == f"# {path}"
    path.write_text(rest, encoding="utf-8")
    [line] = blocks("look-alike")
    other = Path("my-knowledge/causes/fungus/pea-powdery-mildew.yaml")
    text = other.read_text(encoding="utf-8")
    name, tell = line.strip().split(": ", 1)
    assert name == other.stem
    other.write_text(
        re.sub(r"^looks-like:\n", f"looks-like:\n  pea-thrips: {tell}\n", text, flags=re.MULTILINE),
        encoding="utf-8",
    )
    said = desk(clean)[1]
    own = [found for found in said.splitlines() if found.startswith("causes/insect/pea-thrips")]
    assert all("case-not-first" in found for found in own), own
    assert "Tiny dark insects rasp" in desk(show)[1]
    assert "1. Pea thrips" in desk(read)[1]
    assert "pea-thrips" in desk(compare)[1]
