"""The page on the bench names every command, and every line on it can be typed."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from diagnose.commands import command_line

PAGE = (Path(__file__).parents[2] / "docs" / "bench.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL)
LINES = [line for block in BLOCKS for line in block.splitlines()]


@pytest.mark.parametrize("line", LINES)
def test_every_line_is_a_command(line: str) -> None:
    program, *words = shlex.split(line)
    assert program == "diagnose"
    assert callable(command_line().parse(words).run)


def test_every_command_of_the_bench_is_there() -> None:
    named = {line.split()[1] for line in LINES}
    assert {"new", "check", "confusion", "coverage", "compare", "schema"} <= named
