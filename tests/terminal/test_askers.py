"""The ways to ask for a line: from a stream, and with prompt_toolkit on a terminal of its own."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput

from diagnose.terminal.askers import LineAsker, PromptAsker

pytestmark = pytest.mark.quick

PASTED = "\x1b[200~{}\x1b[201~"  # bracketed paste, as terminals send it


@pytest.fixture
def keys() -> Iterator[PipeInput]:
    """What is typed."""
    with create_pipe_input() as typed, create_app_session(input=typed, output=DummyOutput()):
        yield typed


def ask(asker: PromptAsker) -> str:
    return asker.ask("> ", ["yes", "no"], "yes or no")


def test_what_is_typed_is_given_and_kept_for_the_next_run(keys, tmp_path: Path) -> None:
    keys.send_text("holes in kale\r")
    assert ask(PromptAsker(tmp_path / "kept" / "history")) == "holes in kale"
    keys.send_text("\x1b[A\r")  # the arrow up
    assert ask(PromptAsker(tmp_path / "kept" / "history")) == "holes in kale"


def test_a_paste_is_handed_out_line_by_line(keys, tmp_path: Path) -> None:
    asker = PromptAsker(tmp_path / "history")
    keys.send_text(PASTED.format("holes in kale\n\n  yes\n") + "\r")
    assert ask(asker) == "holes in kale"
    assert asker.waiting() == ["yes"]
    assert asker.waiting() == []


def test_history_that_cannot_be_kept_is_done_without(keys, tmp_path: Path) -> None:
    keys.send_text("holes\r")
    assert ask(PromptAsker(tmp_path)) == "holes"  # a folder stands where the file should


def test_the_end_of_input(keys, tmp_path: Path) -> None:
    keys.send_text("\x04")  # Ctrl-D
    with pytest.raises(EOFError):
        ask(PromptAsker(tmp_path / "history"))
    with pytest.raises(EOFError):
        LineAsker(io.StringIO(""), io.StringIO()).ask("> ", [], "")
