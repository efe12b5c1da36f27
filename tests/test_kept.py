"""Consultations kept in files: listed, found by name, gone on with, dropped, and set aside."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose import kept
from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.journal import Journal, Told
from diagnose.kept import Keeper


def keeper(name: str, begun: str = "") -> Keeper:
    return Keeper(kept.folder() / "consultations" / f"{name}.json", begun)


@pytest.fixture
def journal(blank: Consultation) -> Journal:
    return Journal.begin(blank).then(Told("holes in my kale"))


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
