"""Consultations kept in files: listed, found by name, gone on with, dropped, and set aside."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import msgspec
import pytest

from diagnose import kept
from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.journal import Journal, Told
from diagnose.kept import Keeper
from diagnose.reasoning.facts import RECORDED, Observation


def keeper(name: str, begun: str = "") -> Keeper:
    return Keeper(kept.folder() / "consultations" / f"{name}.json", begun)


@pytest.fixture
def journal(blank: Consultation) -> Journal:
    return Journal.begin(blank).then(Told("holes in my kale"))


@pytest.fixture
def in_a_bed(blank: Consultation) -> Journal:
    """In a bed with a record: its crop, a fact, and what was seen there in other years."""
    seen = (Observation("yearly", "present", RECORDED),)
    known = replace(blank, crop="tomato", record=("done=rotate",), observations=seen)
    return Journal.begin(known).then(Told("holes in the leaves"))


def test_it_lies_in_a_folder_of_its_own() -> None:
    assert kept.folder().name == "diagnose"


def test_what_the_record_of_a_bed_gave_comes_back(in_a_bed: Journal) -> None:
    left = kept.as_kept("", in_a_bed, bed="home/first")
    again = kept.opened(left, in_a_bed.now.reasoner).journal
    first, before = again.states[0], in_a_bed.states[0]
    assert (first.crop, first.record, first.observations) == (
        "tomato", ("done=rotate",), before.observations,
    )  # fmt: skip
    assert again.now.observations == in_a_bed.now.observations
    assert left.bed == "home/first"


def test_what_the_record_gave_goes_by_todays_names(in_a_bed: Journal) -> None:
    """knowledge/retired.yaml: drought is a form of soil-moisture now."""
    knowledge = in_a_bed.now.reasoner.knowledge
    assert knowledge.retired["drought"] == "soil-moisture/dry"
    old = (("drought", "present"), ("dragons", "present"), ("how-fast", "green"))
    old += (("how-fast", "overnight-once"),)
    left = msgspec.structs.replace(
        kept.as_kept("", in_a_bed), recorded=(*old, ("yearly", "absent")), crop="mandrake"
    )
    first = kept.opened(left, in_a_bed.now.reasoner).journal.states[0]
    assert first.crop is None
    assert first.observations == (
        Observation("soil-moisture", "dry", RECORDED),
        Observation("how-fast", "overnight", RECORDED),
        Observation("yearly", "absent", RECORDED),
    )  # fmt: skip


def test_what_is_kept_says_nothing_that_was_not_told(journal: Journal) -> None:
    left = kept.as_kept("2026-06-01T08:00:00", journal)
    assert (left.typed, left.answer, left.bed, left.crop, left.state) == (
        "", "", "", None, "unfinished",
    )  # fmt: skip
    assert keeper("20260601-080000-aa").save(journal)
    assert kept.named("20260601-080000-aa").answer == ""
    assert datetime.fromisoformat(Keeper().begun) <= datetime.now()


def test_nothing_to_keep_is_fine_and_what_cannot_be_written_is_told(journal: Journal) -> None:
    one = keeper("20260601-080000-aa")
    assert one.save(journal.back())
    assert not one.file.exists()
    one.file.parent.parent.mkdir(parents=True)
    one.file.parent.write_text("no folder", encoding="utf-8")
    assert not one.save(journal)
    assert one.save(journal.back())  # there is nothing to remove


def test_the_newest_comes_first(journal: Journal) -> None:
    for name in ("20260601-080000-aa", "20260603-080000-aa", "20260602-080000-aa"):
        assert keeper(name).save(journal)
    assert [name[6:8] for name, _ in kept.listed()[0]] == ["03", "02", "01"]
    found = kept.unfinished()
    assert found is not None
    assert found[0] == "20260603-080000-aa"


def test_what_cannot_be_read_is_set_aside_and_said_once(journal: Journal) -> None:
    assert keeper("20260601-080000-aa").save(journal)
    broken = kept.folder() / "consultations" / "20260602-080000-bb.json"
    broken.write_text("{", encoding="utf-8")
    found, aside = kept.listed()
    assert ([name for name, _ in found], aside) == (["20260601-080000-aa"], [broken.name])
    assert not broken.exists()
    assert [f.read_text() for f in broken.parent.glob(f"{broken.name}*")] == ["{"]  # not lost
    assert kept.listed()[1] == []


def test_gone_on_with_it_stays_in_its_file_with_its_beginning(journal: Journal) -> None:
    assert keeper("20260601-080000-aa", "2026-06-01T08:00:00").save(journal)
    [(name, left)] = kept.listed()[0]
    again = kept.keeper_of(name, left)
    assert again.save(journal, finished=True)
    [(same, now)] = kept.listed()[0]
    assert (same, now.begun, now.state) == (name, "2026-06-01T08:00:00", "finished")
    assert kept.unfinished() is None


def test_a_name_that_is_not_kept_is_told_with_those_that_are(journal: Journal) -> None:
    with pytest.raises(UsageError, match="no consultation 'x' is kept; there are: none is kept"):
        kept.named("x")
    names = [f"2026060{day}-080000-aa" for day in range(1, 8)]
    for name in names:
        assert keeper(name).save(journal)
    newest = ", ".join(reversed(names[2:]))
    with pytest.raises(UsageError, match=f"there are: {newest}$"):
        kept.named("x")
    assert kept.named(names[0]).steps == journal.steps


def test_dropped_it_is_gone_and_the_others_stay(journal: Journal) -> None:
    for name in ("20260601-080000-aa", "20260602-080000-aa"):
        assert keeper(name).save(journal)
    kept.drop("20260601-080000-aa")
    assert [name for name, _ in kept.listed()[0]] == ["20260602-080000-aa"]
    with pytest.raises(UsageError, match="no consultation"):
        kept.drop("20260601-080000-aa")


def test_where_it_cannot_be_dropped_it_says_why(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert keeper("20260601-080000-aa").save(journal)

    def refuse(_: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "unlink", refuse)
    with pytest.raises(UsageError, match="20260601-080000-aa cannot be dropped: Permission denied"):
        kept.drop("20260601-080000-aa")
