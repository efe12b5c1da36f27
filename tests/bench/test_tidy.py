"""Files in one layout, and folders of an older form."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.bench.tidy import layout, tidied
from diagnose.commands import main
from diagnose.kb import load
from tests.conftest import TINY, write
from tests.kb.test_findings import CATERPILLAR, FLEA, folder

pytestmark = pytest.mark.quick

UNTIDY = """\
# about it
name: Slug  # a name
hosts: {kale:   common}
also: [field slug,
  gray slug]
matters: {decision: watch, text: "It matters on seedlings, which it eats whole in one wet night.", threshold: "Act when one seedling in ten is gone."}
"""  # noqa: E501
TIDY = """\
# about it
name: Slug  # a name
hosts: {kale: common}
also: [field slug, gray slug]
matters:
  decision: watch
  text: "It matters on seedlings, which it eats whole in one wet night."
  threshold: "Act when one seedling in ten is gone."
"""


def test_the_layout_keeps_comments_quotes_and_the_order_of_keys() -> None:
    assert layout(UNTIDY) == layout(TIDY) == TIDY


def test_what_only_looks_plain_becomes_plain(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes("\ufeffname: \u2018a\u00a0b\u2019\r\nalso: [c\u2011d]\r\n".encode())
    assert tidied(tmp_path, path).fresh == "name: 'a b'\nalso: [c-d]\n"


@pytest.mark.parametrize("text", ["name: [\n", "a: b: c\n", "a: 1\na: 2\n"])
def test_what_cannot_be_read_is_left_as_it_is(tmp_path: Path, text: str, capsys) -> None:
    path = tmp_path / "x.yaml"
    path.write_text(text, encoding="utf-8")
    assert main(["tidy", str(path)]) == 0
    assert "left as it is" in capsys.readouterr().out
    assert path.read_text(encoding="utf-8") == text


def test_check_changes_nothing_and_says_so(tmp_path: Path, capsys) -> None:
    root = write(tmp_path / "kb", TINY)
    path = write(root, {FLEA: TINY[FLEA].replace("name: ", "name:   ")}) / FLEA
    before = path.read_text(encoding="utf-8")
    assert main(["tidy", "--check", str(path)]) == 1
    assert path.read_text(encoding="utf-8") == before
    assert main(["tidy", str(path)]) == 0
    assert main(["tidy", "--check", str(path)]) == 0
    assert load.read(root).findings == []


def test_a_file_that_is_not_there_is_one_line(capsys) -> None:
    assert main(["tidy", "nowhere.yaml"]) == 2
    assert "nowhere.yaml" in capsys.readouterr().err


def test_an_older_folder_gets_todays_names(tmp_path: Path, capsys) -> None:
    root = folder(tmp_path / "kb", {
        "retired.yaml": "pellets: droppings\nshot-holes: holes/tiny\n",
        CATERPILLAR: lambda text: text.replace("  droppings: often", "  pellets: often  # seen")
        + "  - {text: see, crop: kale, observations: {shot-holes: present, pellets: absent}}\n",
    })  # fmt: skip
    assert {f.code for f in load.read(root).findings} == set()
    assert main(["migrate", "--knowledge", str(root)]) == 0
    assert "format.yaml" in "".join(capsys.readouterr().out.split())  # lines break in long paths
    found = load.read(root).readable
    assert found.format.format == load.FORMAT
    cause = found.causes["caterpillar"]
    assert list(cause.evidence) == ["holes", "droppings", "long-days"]
    assert cause.cases[-1].observations == {"holes": "tiny", "droppings": "absent"}
    assert "# seen" in (root / CATERPILLAR).read_text(encoding="utf-8")
    assert main(["migrate", "--knowledge", str(root)]) == 0
    assert "already" in capsys.readouterr().out


def test_a_newer_folder_is_not_touched(tmp_path: Path, capsys) -> None:
    root = folder(tmp_path / "kb", {"format.yaml": "format: 99\n"})
    assert main(["migrate", "--knowledge", str(root)]) == 2
    assert "form 99" in capsys.readouterr().err
