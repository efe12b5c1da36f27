"""The file of rounds: kills, two programs, bad files, backup, and there and back again."""

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import UsageError
from diagnose.rounds import exchange
from diagnose.rounds.model import (
    TABLES,
    Bed,
    Done,
    Due,
    Finding,
    Garden,
    Normal,
    Planting,
    Result,
    Visit,
    Weather,
    new_id,
)
from diagnose.rounds.store import MIGRATIONS, Store
from tests.rounds.killing import HOME, begun, kill_once, lost

pytestmark = pytest.mark.quick


@pytest.fixture
def file(tmp_path: Path) -> Path:
    begun(tmp_path / "rounds.sqlite")
    return tmp_path / "rounds.sqlite"


def test_twenty_kills_lose_no_visit(file: Path) -> None:
    chance, said = random.Random(7), set[str]()
    for turn in range(20):
        said.update(kill_once(file, turn, chance))
    assert said
    assert lost(file, said) == (set(), 0)


def test_two_programs_at_once(file: Path) -> None:
    writers = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.rounds.writer", str(file), str(bed)],
            stdout=subprocess.PIPE, text=True,
        )
        for bed in (0, 1)
    ]  # fmt: skip
    said = set()
    for writer in writers:
        assert writer.stdout is not None
        lines = [writer.stdout.readline().strip() for _ in range(15)]
        said.update(lines[1:])
    for writer in writers:
        writer.kill()
        writer.communicate()
    assert lost(file, said) == (set(), 0)


def test_two_programs_may_both_begin_the_file(tmp_path: Path) -> None:
    path = tmp_path / "new" / "rounds.sqlite"
    code = "import sys; from pathlib import Path; from diagnose.rounds.store import Store; "
    code += "Store(Path(sys.argv[1])).close()"
    made = [subprocess.Popen([sys.executable, "-c", code, str(path)]) for _ in range(4)]
    assert [one.wait() for one in made] == [0] * 4


def test_fields_are_the_columns(file: Path) -> None:
    link = sqlite3.connect(file)
    for name, kind in TABLES.items():
        columns = [row[1] for row in link.execute(f"PRAGMA table_info({name})")]
        assert tuple(columns) == kind.__struct_fields__, name


def test_a_bed_is_found_by_its_names(file: Path) -> None:
    with Store(file) as store:
        assert store.bed_named("one").id == store.bed_named("hill/ONE").id == "one"
        with pytest.raises(UsageError, match="did you mean 'Hill/One'"):
            store.bed_named("Onne")
        store.put(Garden("far", "Far", 50.0, "05-10", "10-05"), Bed("three", "far", "One"))
        with pytest.raises(
            UsageError, match="2 beds are called 'one'; name one: Hill/One, Far/One"
        ):
            store.bed_named("one")
        store.put(Bed("one", HOME.id, "Nearest"))  # renamed: it is the same bed
        assert store.bed_named("nearest").id == "one"
        for name in ("Two", "two"):
            with pytest.raises(UsageError, match="a bed of that name in that garden already"):
                store.put(Bed(new_id(), HOME.id, name))


def test_the_same_visit_twice_is_refused_and_nothing_is_half_kept(file: Path) -> None:
    with Store(file) as store:
        store.put(Visit("v", "one", "2026-05-01"))
        with pytest.raises(UsageError, match="a visit on that day already"), store.changing():
            store.put(Due("d", "one", "2026-05-08", "look again"))
            store.put(Visit("w", "one", "2026-05-01"))
        assert store.all(Due) == []


def test_nothing_refers_to_what_is_not_there(file: Path) -> None:
    with Store(file) as store, pytest.raises(UsageError, match="refer to what is not there"):
        store.put(Visit("v", "no such bed", "2026-05-01"))


def test_a_full_disk_is_told_and_what_was_there_stays(file: Path) -> None:
    with Store(file) as store:
        store._link.execute("PRAGMA max_page_count = 40")
        with pytest.raises(UsageError, match="the disk is full; nothing of this was kept"):
            store.put(Visit("v", "one", "2026-05-01", "x" * 1_000_000))
        assert [bed.id for bed in store.all(Bed)] == ["one", "two"]


def test_a_file_that_may_only_be_read_is_told(file: Path) -> None:
    with Store(file) as store:
        store._link.execute("PRAGMA query_only = 1")
        with pytest.raises(UsageError, match="it cannot be written; nothing of this was kept"):
            store.put(Visit("v", "one", "2026-05-01"))


def test_a_newer_file_is_left_alone(file: Path) -> None:
    link = sqlite3.connect(file)
    link.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    link.close()
    before = file.read_bytes()
    with pytest.raises(UsageError, match="newer version of diagnose"):
        Store(file)
    assert file.read_bytes() == before


def test_an_older_file_is_brought_up_whole_or_not_at_all(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(file) as store:
        store.put(Visit("v", "one", "2026-05-01", "kept"))
    more = ("ALTER TABLE visits ADD COLUMN sky TEXT", "UPDATE visits SET sky = 'clear'")
    wrong = (*MIGRATIONS, (*more, "ALTER TABLE clouds ADD COLUMN sky TEXT"))
    monkeypatch.setattr("diagnose.rounds.store.MIGRATIONS", wrong)
    with pytest.raises(UsageError, match="no such table: clouds"):
        Store(file)
    monkeypatch.setattr("diagnose.rounds.store.MIGRATIONS", (*MIGRATIONS, more))
    with Store(file) as store:
        assert store._link.execute("SELECT notes, sky FROM visits").fetchall() == [
            ("kept", "clear")
        ]
    monkeypatch.undo()
    with pytest.raises(UsageError, match="newer version"):
        Store(file)


def test_other_files_are_left_alone(tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    link = sqlite3.connect(other)
    link.execute("CREATE TABLE recipes (name)")
    link.close()
    before = other.read_bytes()
    with pytest.raises(UsageError, match="something else than rounds"):
        Store(other)
    assert other.read_bytes() == before
    other.write_bytes(b"no database at all " * 100)
    with pytest.raises(UsageError, match="damaged, or no file of rounds"):
        Store(other)
    with pytest.raises(UsageError, match=r"cannot be opened|cannot be used"):
        Store(tmp_path / "other.sqlite" / "rounds.sqlite")


def test_backup_and_restore(file: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    with Store(file) as store:
        store.put(Visit("v", "one", "2026-05-01"))
        store.backup(copy)
        with pytest.raises(UsageError, match="is there already"):
            store.backup(copy)
        assert not [*copy.parent.glob("copy.sqlite-*"), *copy.parent.glob(".copy*")]
        store.put(Visit("w", "one", "2026-05-02"))
        before = store.restore(copy)
        assert store._link.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert [visit.id for visit in store.all(Visit)] == ["v"]
        store.restore(before)  # and what was there is not lost
        assert [visit.id for visit in store.all(Visit)] == ["v", "w"]
        copy.write_bytes(copy.read_bytes()[:5000])
        with pytest.raises(UsageError):
            store.restore(copy)
        assert len(store.all(Visit)) == 2


# there and back again

TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)
COUNTS = st.none() | st.floats(0, 1e9)
TWO = st.tuples(TEXTS, COUNTS)


def whole(texts: list[tuple[str, float | None]]) -> list[object]:
    """Rows of every table, with odd texts and figures."""
    rows: list[object] = [HOME, Bed("b", HOME.id, "Bed")]
    for n, (text, count) in enumerate(texts):
        day = f"2026-05-{n + 1:02d}"
        rows += [
            Planting(f"p{n}", "b", "kale", day, day if n % 2 else None),
            Visit(f"v{n}", "b", day, text),
            Finding(f"f{n}", f"v{n}", text, text, count, text),
            Result(f"r{n}", f"f{n}", day, "better", count),
            Done(f"d{n}", f"v{n}", text, f"f{n}" if n % 2 else None),
            Due(f"u{n}", "b", day, text, None, day if n % 2 else None),
            Weather(HOME.id, day, None, 1.1, None),
            Normal(HOME.id, n + 1, 0.1 + n, 20.0),
        ]
    return rows


@given(st.lists(TWO, max_size=5))
@settings(max_examples=25, deadline=None)
def test_export_import_export_gives_the_same_bytes(
    tmp_path_factory: pytest.TempPathFactory, texts: list[tuple[str, float | None]]
) -> None:
    folder = tmp_path_factory.mktemp("export")
    with Store(folder / "a") as store:
        store.put(*whole(texts))  # type: ignore[arg-type]
        exchange.write(store, folder / "a.json")
        exchange.write(store, folder / "tables")
    for number, source in enumerate(("a.json", "tables")):
        with Store(folder / f"b{number}") as store:
            exchange.add(store, exchange.read(folder / source))
            again = exchange.add(store, exchange.read(folder / source))  # twice is once
            assert set(again.values()) == {0}
            exchange.write(store, folder / f"b{number}.json")
            exchange.write(store, folder / f"tables{number}")
        assert (folder / f"b{number}.json").read_bytes() == (folder / "a.json").read_bytes()
        for name in TABLES:
            csv = f"{name}.csv"
            one, two = folder / "tables" / csv, folder / f"tables{number}" / csv
            assert one.read_bytes() == two.read_bytes()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is no JSON"),
        ("[]", "is no export of rounds"),
        ('{"format": 9}', "is no export of rounds"),
        ('{"format": 1, "cows": []}', "table 'cows'"),
        ('{"format": 1, "beds": {}}', "beds: a list of rows is wanted"),
        ('{"format": 1, "beds": [{"id": "b", "garden": 3, "name": "x"}]}', "beds, row 1: "),
        ('{"format": 1, "visits": [{"id": "v", "bed": "b", "day": "2026-02-30"}]}', "visits, row"),
        ('{"format": 1, "beds": [{"id": "b", "garden": "no", "name": "x"}]}', "refer to what"),
    ],
)
def test_what_cannot_be_imported_is_said(tmp_path: Path, text: str, message: str) -> None:
    source = tmp_path / "x.json"
    source.write_text(text, encoding="utf-8")
    with Store(tmp_path / "r") as store:
        with pytest.raises(UsageError, match=message):
            exchange.add(store, exchange.read(source))
        assert store.all(Bed) == []


def test_a_row_that_differs_is_not_overwritten(file: Path, tmp_path: Path) -> None:
    with Store(file) as store:
        exchange.write(store, tmp_path / "t")
        beds = tmp_path / "t" / "beds.csv"
        beds.write_text(beds.read_text().replace("Two", "Other"), encoding="utf-8")
        with pytest.raises(UsageError, match="beds: two is there with other content"):
            exchange.add(store, exchange.read(tmp_path / "t"))
        beds.write_text("id,name\n", encoding="utf-8")
        with pytest.raises(UsageError, match="line 1: the columns should be id,garden,name"):
            exchange.read(tmp_path / "t")
