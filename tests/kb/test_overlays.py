"""Folders laid over the knowledge: what they add and change, and what they may not."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.checking.check import errors, examine
from diagnose.commands import main
from diagnose.errors import KnowledgeError
from diagnose.kb import load
from diagnose.ready import open_knowledge
from tests.conftest import write
from tests.kb.test_findings import CATERPILLAR, EXTRA, FLEA, SLUG, folder

pytestmark = pytest.mark.quick


@pytest.fixture
def base(tmp_path: Path) -> Path:
    return folder(tmp_path / "base", {})


@pytest.fixture
def south(tmp_path: Path) -> Path:
    """A part of a knowledge: a cause of its own, one changed, another referral, another place."""
    return write(tmp_path / "south", {
        SLUG: EXTRA,
        CATERPILLAR: "hosts: {potato: rare}\nlook-again: {days: 3, for: holes}\n",
        "referrals.yaml": "extension: {text: Ask the office in the valley.}\n",
        "seasons.yaml": "place: {latitude: 30, last-frost: 02-10}\n",
    })  # fmt: skip


def test_what_is_not_said_is_as_below(base: Path, south: Path) -> None:
    whole = load.read((base, south))
    assert (whole.findings, errors(whole.readable)) == ([], [])
    found = whole.readable
    assert found.causes["slug"].name == "Slug"
    caterpillar = found.causes["caterpillar"]
    assert caterpillar.hosts == {"cabbage-family": "common", "potato": "rare"}
    assert caterpillar.name == "Caterpillar"
    assert caterpillar.look_again and caterpillar.look_again.days == 3
    assert found.referrals["extension"].to == "your extension service"
    assert found.referrals["extension"].text == "Ask the office in the valley."
    assert found.seasons.place.latitude == 30
    assert found.seasons.place.first_frost == "10-05"


def test_who_changed_an_entry_is_known_and_where_each_line_stands(base: Path, south: Path) -> None:
    found = load.read((base, south)).readable
    assert found.folder("causes", "slug") == found.folder("causes", "caterpillar") == "south"
    assert found.folder("causes", "flea-beetle") is None
    assert found.place("causes", "caterpillar", "hosts", "potato") == f"south/{CATERPILLAR}:1"
    assert found.place("causes", "caterpillar", "evidence", "holes") == f"{CATERPILLAR}:6"
    assert found.place("causes", "slug", "name") == f"south/{SLUG}:1"


def test_an_empty_key_takes_out_what_is_below(base: Path, tmp_path: Path) -> None:
    over = write(tmp_path / "over", {FLEA: "evidence: {droppings: ~}\n"})
    found = load.read((base, over)).readable.causes["flea-beetle"]
    assert list(found.evidence) == ["holes", "long-days"]


def test_the_copy_of_several_folders_is_their_own(base: Path, south: Path) -> None:
    assert len({load.digest(base), load.digest(south), load.digest((base, south))}) == 3
    assert load.digest([base]) == load.digest(base)
    for _ in range(2):  # made, then read from its copy
        assert open_knowledge((base, south)).folder("causes", "slug") == "south"


def test_the_last_of_two_wins_and_that_is_told(base: Path, tmp_path: Path) -> None:
    one = write(tmp_path / "one", {FLEA: "hosts: {potato: common}\n"})
    two = write(tmp_path / "two", {FLEA: "hosts: {potato: rare}\n"})
    assert load.read((base, one, two)).readable.causes["flea-beetle"].hosts["potato"] == "rare"
    [found] = [f for f in examine((base, one, two)).findings if f.code == "overlays-disagree"]
    assert (found.file, found.line) == (f"two/{FLEA}", 1)
    assert "set in one too; what stands here wins" in found.message


def test_what_is_not_there_cannot_be_changed(base: Path, tmp_path: Path) -> None:
    over = write(tmp_path / "over", {"causes/mollusc/flea-beetl.yaml": "hosts: {kale: rare}\n"})
    found = load.read((base, over)).findings
    assert found[0].code == "unknown-id"
    assert "nothing called 'flea-beetl' below" in found[0].message
    assert "did you mean 'flea-beetle'?" in found[0].message


def test_safety_can_be_added_to_but_not_taken_back(base: Path, tmp_path: Path) -> None:
    more = write(tmp_path / "more", {"safety.yaml": "must: {caterpillar: {decision: watch}}\n"})
    assert load.read((base, more)).findings == []
    less = write(tmp_path / "less", {"safety.yaml": "must: {greening: {decision: leave}}\n"})
    gathered = load.read((base, less))
    assert [f.code for f in gathered.findings] == ["overlay-loosens"]
    assert "must.greening.decision is looser here" in gathered.findings[0].message
    assert gathered.readable.safety.must["greening"].decision == "act"


def test_a_cause_stays_of_its_kind(base: Path, tmp_path: Path) -> None:
    name = "causes/physiological/greening.yaml"
    over = write(tmp_path / "over", {name.replace("physiological", "weather"): "eat: never\n"})
    [found] = load.read((base, over)).findings
    assert found.code == "unknown-kind"
    assert "stands in causes/physiological/ below" in found.message


def test_what_safety_demands_holds_for_what_is_laid_over(base: Path, tmp_path: Path) -> None:
    name = "causes/physiological/greening.yaml"
    over = write(tmp_path / "over", {name: "harvest: Peel them and eat them.\n"})
    with pytest.raises(KnowledgeError, match=rf"over/{name}:1: safety-broken"):
        open_knowledge((base, over))


def test_a_newer_format_is_not_read(base: Path, south: Path) -> None:
    write(south, {"format.yaml": "format: 99\n"})
    assert [f.code for f in load.read((base, south)).findings] == ["format-newer"]


def test_links_to_folders_are_refused_in_words(base: Path, tmp_path: Path) -> None:
    (base / "crops" / "more").symlink_to(tmp_path)
    [found] = load.read(base).findings
    assert (found.file, found.code) == ("crops/more", "file-unreadable")
    assert "a link to a folder is not followed" in found.message


def test_on_the_command_line(base: Path, south: Path, capsys) -> None:
    both = ["--knowledge", str(base), "--knowledge", str(south)]
    assert main(["show", "slug", *both]) == 0
    assert "from your folder south" in capsys.readouterr().out
    assert main(["check", *both, "--json"]) == 0
    assert main(["show", "slug", "--knowledge", str(base)]) == 2


def test_a_folder_of_the_settings_lies_over_the_knowledge_in_use(
    base: Path, south: Path, monkeypatch: pytest.MonkeyPatch, capsys
) -> None:
    from diagnose import settings
    from diagnose.kb import store

    monkeypatch.setattr(store, "in_use", lambda: base)
    settings.write(settings.Settings(knowledge=[str(south)]))
    assert main(["show", "slug"]) == 0
    assert "from your folder south" in capsys.readouterr().out


def test_a_folder_of_the_settings_that_is_gone_is_one_line(tmp_path: Path, capsys) -> None:
    from diagnose import settings

    settings.write(settings.Settings(knowledge=[str(tmp_path / "gone")]))
    assert main(["show", "slug"]) == 2
    assert "gone is not there" in capsys.readouterr().err
