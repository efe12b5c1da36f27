"""Defects that were found by running, each with the number that it was found under.

Numbers 6 to 8 stand in bench/test_moves.py, 16 in reasoning/test_wording.py.
"""

from __future__ import annotations

import io
import json
import os
import pty
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import msgspec
import pytest

from diagnose import kept, shelf
from diagnose.commands import main
from diagnose.consultation import Consultation, Reasoner
from diagnose.errors import UsageError
from diagnose.inputs import LONGEST, clean
from diagnose.journal import Answered, Granted, Journal, Plant, Struck, Ticked, Told
from diagnose.kept import Keeper
from diagnose.listening.encoder import DATA, Encoder
from diagnose.listening.voice import Catalog, Voice
from diagnose.reading import matching, read
from diagnose.ready import open_knowledge
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.dialogue import Dialogue, Leave
from diagnose.terminal.screen import PlainScreen
from tests.conftest import heeding_signals, write

JUNE = ("--date", "2026-06-15")


@pytest.fixture
def small(tiny: Path) -> Reasoner:
    return Reasoner(open_knowledge(tiny))


def begun(reasoner: Reasoner) -> Journal:
    return Journal.begin(Consultation(reasoner, date(2026, 6, 15), reasoner.home()))


def talk(reasoner: Reasoner, *lines: str, go_on: bool = False) -> str:
    """A conversation to its end; the input ends where the lines do."""
    out = io.StringIO()
    left = kept.unfinished() if go_on else None
    keeper = kept.keeper_of(*left) if left else Keeper()
    asker = LineAsker(io.StringIO("".join(line + "\n" for line in lines)), out)
    with pytest.raises(Leave):
        Dialogue(PlainScreen(out), asker, begun(reasoner), keeper).run(
            kept.opened(left[1], reasoner) if left else None
        )
    return out.getvalue()


@pytest.mark.parametrize("odd", ["10² feet", "① and ②", "፩ days", "½", "٣ leaves", "Ⅷ"])
def test_digits_that_are_no_decimals_are_read_past_1(small: Reasoner, odd: str) -> None:
    told = begun(small).then(Told(f"{odd}, ragged holes in my kale")).now
    assert told.crop == "kale"
    assert sum(told.chances) == pytest.approx(1)


def test_odd_digits_do_not_lock_what_is_kept_2(small: Reasoner) -> None:
    assert "Kept." in talk(small, "① ragged holes ② in my kale")
    assert "The answer" in talk(small, "stop", "leave", go_on=True)


@pytest.mark.parametrize("bad", ["x" * (LONGEST + 1), "\x01"])
def test_words_that_are_refused_lock_nothing_3(small: Reasoner, bad: str) -> None:
    talk(small, bad)
    assert kept.unfinished() is None
    talk(small, bad, "ragged holes in my kale")
    assert "The answer" in talk(small, "stop", "leave", go_on=True)


def test_bytes_that_are_no_text_are_kept_as_a_mark_3(small: Reasoner) -> None:
    class Raw(LineAsker):
        def ask(self, prompt, choices, hint):
            return super().ask(prompt, choices, hint).replace("@", "\udce9")  # as terminals give it

    asker = Raw(io.StringIO("ragged holes @ in my kale\n"), io.StringIO())
    with pytest.raises(Leave):
        Dialogue(PlainScreen(io.StringIO()), asker, begun(small), Keeper()).run()
    left = kept.unfinished()
    assert left is not None
    assert left[1].steps == (Told("ragged holes ? in my kale"),)


def test_words_in_which_nothing_is_read_count_at_the_prompt_4(small: Reasoner) -> None:
    talk(small, "it nibbles away at my kale", "")
    [(_, left)] = kept.listed()[0]
    now = kept.opened(left, small).journal.now
    assert now.observations == ()
    assert now.said == "it nibbles away at my kale"
    assert now.heard is not None


def test_struck_lines_leave_the_words_4(small: Reasoner) -> None:
    now = begun(small).then(Told("ragged holes in my kale"), Struck(("holes",))).now
    assert (now.observations, now.said) == ((), "ragged holes in my kale")


def test_two_prompts_keep_two_consultations_5(small: Reasoner) -> None:
    one, other = Keeper(), Keeper()
    one.save(begun(small).then(Told("ragged holes")))
    other.save(begun(small).then(Told("tiny holes")))
    one.save(begun(small).then(Told("ragged holes")), finished=True)
    left = kept.unfinished()
    assert left is not None
    assert left[0] == other.name
    assert left[1].steps == (Told("tiny holes"),)
    assert len(kept.listed()[0]) == 2


def run_with(tiny: Path, *words: str, **more) -> subprocess.CompletedProcess[bytes]:
    """The program as a process of its own, with the tiny knowledge."""
    return subprocess.run(
        [sys.executable, "-m", "diagnose", "--knowledge", str(tiny), *JUNE, *words],
        timeout=60, check=False, stderr=subprocess.PIPE, **more,
    )  # fmt: skip


def in_one_line(done: subprocess.CompletedProcess[bytes], code: int = 2) -> str:
    """What was complained of, which must be one line."""
    said = done.stderr.decode()
    assert done.returncode == code, said
    assert len(said.splitlines()) == 1, said
    return said


def test_a_pipe_among_the_files_is_not_waited_for_9(capsys, tiny: Path) -> None:
    os.mkfifo(tiny / "causes" / "insect" / "pipe.yaml")
    os.symlink("/dev/zero", tiny / "causes" / "insect" / "zero.yaml")
    assert main(["read", "holes", "--knowledge", str(tiny)]) == 2
    said = capsys.readouterr().err
    assert "pipe.yaml" in said
    assert "zero.yaml" in said


@pytest.mark.parametrize("content", [None, "/dev/zero"])
def test_a_pipe_for_weather_is_not_waited_for_9(
    capsys, tiny: Path, tmp_path: Path, content: str | None
) -> None:
    file = tmp_path / "weather.csv"
    os.symlink(content, file) if content else os.mkfifo(file)
    assert main(["show", "caterpillar", "--weather", str(file), "--knowledge", str(tiny)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


HEAD = "date,min,max\n"
TABLES = {
    "a field too big": HEAD + '2026-05-01,"' + "9" * 140_000 + '",20\n',
    "after the end": HEAD + "9999-12-31,5,20\n2026-05-01,5,20\n",
    "year 1": HEAD + "0001-01-01,5,20\n",
    "latin-1": HEAD + "2026-05-01,5,20 \xb0\n",
}


@pytest.mark.parametrize("table", TABLES)
def test_weather_that_cannot_be_used_is_one_line_10(
    capsys, tiny: Path, tmp_path: Path, table: str
) -> None:
    file = tmp_path / "weather.csv"
    file.write_bytes(TABLES[table].encode("latin-1"))
    assert main(["show", "caterpillar", "--weather", str(file), "--knowledge", str(tiny)]) == 2
    said = capsys.readouterr().err
    assert len(said.splitlines()) == 1
    assert "codec" not in said


@pytest.mark.parametrize("day", ["0001-01-01", "0002-02-02", "9999-12-31", "1899-12-31"])
def test_dates_of_cases_are_bounded_11(capsys, tiny: Path, tmp_path: Path, day: str) -> None:
    write(tmp_path, {"c.yaml": f"- {{crop: kale, date: '{day}', text: ragged holes}}"})
    assert main(["case", str(tmp_path / "c.yaml"), "--knowledge", str(tiny)]) == 2
    assert "out of reach" in capsys.readouterr().err


def test_a_number_of_many_digits_is_a_finding_12(capsys, tiny: Path, tmp_path: Path) -> None:
    write(tmp_path, {"c.yaml": f"- {{text: {'9' * 5_000}}}"})
    assert main(["case", str(tmp_path / "c.yaml"), "--knowledge", str(tiny)]) == 0
    swapped = tiny / "seasons.yaml"
    swapped.write_text(swapped.read_text().replace("[14]", f"[{'9' * 5_000}]"))
    assert main(["check", str(tiny)]) == 1
    assert "seasons.yaml:3" in capsys.readouterr().out


def spoilt(file: Path, how: str) -> None:
    """Spoil a kept consultation as a full disk, an editor or a newer version may."""
    if how == "a pipe":
        file.unlink()
        os.mkfifo(file)
        return
    known = json.loads(file.read_text(encoding="utf-8"))
    values = {
        "huge number": ("latitude", "1e999"), "list for text": ("typed", "[]"),
        "year 1": ("day", '"0001-01-01"'), "year 9999": ("day", '"9999-12-31"'),
        "no such day": ("day", '"2026-02-30"'), "another format": ("format", "2"),
        "odd frost": ("last_frost", '"99-99"'), "unknown field": ("more", "1"),
    }  # fmt: skip
    if how in values:
        name, value = values[how]
        raw = json.dumps(known | {name: "HERE"}).replace('"HERE"', value).encode()
    else:
        raw = {
            "brackets": b"[" * 100_000, "NUL": b"\0" * 2_000, "nothing": b"",
            "cut short": file.read_bytes()[:-20], "not UTF-8": b'{"begun": "\xff\xfe"}',
        }[how]  # fmt: skip
    file.write_bytes(raw)


SPOILT = (
    "huge number", "list for text", "year 1", "year 9999", "no such day", "another format",
    "odd frost", "unknown field", "brackets", "NUL", "nothing", "cut short", "not UTF-8", "a pipe",
)  # fmt: skip


@pytest.mark.parametrize("how", SPOILT)
def test_what_cannot_be_gone_on_with_is_set_aside_13(small: Reasoner, how: str) -> None:
    whole, bad = Keeper(), Keeper()
    for keeper in (whole, bad):
        keeper.save(begun(small).then(Told("ragged holes")))
    spoilt(bad.file, how)
    found, aside = kept.listed()
    assert [name for name, _ in found] == [whole.name]
    assert aside == [bad.file.name]
    assert bad.file.with_name(bad.file.name + shelf.DAMAGED).exists()
    assert kept.listed()[1] == []


GONE = {
    "a symptom": Answered("dragons", "present"), "a value": Answered("holes", "square"),
    "a plant": Plant("mandrake"), "no words": Told(" "),
}  # fmt: skip


@pytest.mark.parametrize("gone", GONE)
def test_what_the_knowledge_no_longer_has_is_left_out_and_said_13(
    small: Reasoner, gone: str
) -> None:
    keeper = Keeper()
    keeper.save(begun(small).then(Told("ragged holes in my kale")))
    known = msgspec.json.decode(keeper.file.read_bytes(), type=kept.Kept)
    unknown = (GONE[gone], Struck(("dragons",)), Granted(("dragons",)), Ticked(("dragons",)))
    spoilt_one = msgspec.structs.replace(known, steps=(*known.steps, *unknown))
    keeper.file.write_bytes(msgspec.json.encode(spoilt_one))
    said = talk(small, "stop", "leave", go_on=True)
    assert "Left out: " in said
    assert "The answer" in said


def test_a_full_disk_is_one_line_14(tiny: Path) -> None:
    with open("/dev/full", "wb") as full:
        said = in_one_line(run_with(tiny, "read", "ragged holes in my kale", stdout=full))
    assert "cannot be written" in said


@pytest.mark.parametrize(
    ("closed", "code"), [(">&-", 2), ("<&-", 0)], ids=["nowhere to print", "nothing to read"]
)
@pytest.mark.parametrize("words", ["", "read holes", "kept"])
def test_closed_streams_are_no_traceback_14(tiny: Path, closed: str, code: int, words: str) -> None:
    line = f"{sys.executable} -m diagnose --knowledge {tiny} {words} {closed}"
    done = subprocess.run(["sh", "-c", line], capture_output=True, timeout=60, check=False)
    assert b"Traceback" not in done.stderr
    assert done.returncode == code
    assert len(done.stderr.splitlines()) == (code == 2)


def test_bytes_that_are_no_text_are_read_past_14(tiny: Path) -> None:
    typed = b"ragged holes \xff\xfe in my kale\nyes\n1\n1\n"
    done = run_with(tiny, input=typed, stdout=subprocess.PIPE)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Caterpillar" in done.stdout


def test_an_unknown_plant_leads_on_15(small: Reasoner) -> None:
    said = " ".join(talk(small, "", "zzzz").split())
    assert "README" not in said
    assert "diagnose crops" in said.partition("zzzz")[2]


@pytest.mark.parametrize(("typed", "plain"), [
    ("don\u2019t", "don't"), ("\u2018tiny\u2019 holes", "'tiny' holes"),
])  # fmt: skip
def test_quotes_of_phones_are_plain_17(reasoner: Reasoner, typed: str, plain: str) -> None:
    assert clean(f"the leaves {typed} grow") == f"the leaves {plain} grow"


LONG = {
    "or": "no or ", "commas": "no, ", "items": "no a, ", "signs": "yellow brown leaf spot hole ",
    "one word": "leaf ", "questions": "slug? ", "people": "a child ate a berry ",
    "marks": "?", "letters": "x",
}  # fmt: skip


@pytest.mark.parametrize("of", LONG)
def test_a_long_text_takes_a_time_in_proportion_18(reasoner: Reasoner, of: str) -> None:
    """Four times the text takes about four times as long; squared, it would be sixteen."""

    def seconds(size: int) -> float:
        text = clean((LONG[of] * size)[:size])
        times = []
        for _ in range(3):
            start = time.process_time()
            read(reasoner.lexicon, text, "tomato")
            times.append(time.process_time() - start)
        return min(times)

    seconds(500)
    assert seconds(4 * 1_200) < 9 * seconds(1_200) + 0.01


def test_the_nearest_place_is_found_18() -> None:
    at = [2, 5, 9, 12]
    assert matching._nearest(at, 7, ()) == 5  # of two as near, the first
    assert matching._nearest(at, 7, (5,)) == 9
    assert matching._nearest(at, 7, (5, 9)) == 2
    assert matching._nearest(at, 30, (12, 9)) == 5
    assert matching._nearest(at, 7, at) is None
    assert matching._nearest([], 7, ()) is None


@pytest.mark.parametrize(
    ("text", "commas"),
    [("no slugs, snails or bugs", 1), ("no slugs, snails, bugs nor eggs", 2),
     ("no slugs, the leaves are quite fine or so", 0), ("no slugs, leaves fine", 0),
     ("no slugs, a, b or c, d", 2), ("no slugs, snails; or bugs", 0)],
)  # fmt: skip
def test_commas_of_a_list_18(reasoner: Reasoner, text: str, commas: int) -> None:
    assert len(matching._lists_going_on(reasoner.lexicon.tokens(text))) == commas


def test_parts_left_behind_are_removed_19(small: Reasoner) -> None:
    keeper = Keeper()
    keeper.save(begun(small).then(Told("ragged holes")))
    old, new = (keeper.file.with_name(f".{keeper.file.name}.{end}") for end in ("old", "new"))
    for part in (old, new):
        part.write_bytes(b"{")
    hours_ago = time.time() - 7_200
    os.utime(old, (hours_ago, hours_ago))
    kept.remove_leftovers()
    assert (old.exists(), new.exists(), keeper.file.exists()) == (False, True, True)


@pytest.mark.parametrize("by", [signal.SIGHUP, signal.SIGKILL])
def test_what_was_typed_outlives_the_terminal_20(tiny: Path, by: signal.Signals) -> None:
    ours, theirs = pty.openpty()
    program = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "--plain", "--knowledge", str(tiny), *JUNE],
        stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        preexec_fn=heeding_signals,
    )  # fmt: skip
    os.close(theirs)
    os.write(ours, b"ragged holes in my kale\n")
    assert program.stdout is not None
    said = b""
    while b"Is that right?" not in said:
        more = os.read(program.stdout.fileno(), 10_000)
        assert more, said
        said += more
    program.send_signal(by)
    program.wait(20)
    program.stdout.close()
    os.close(ours)
    left = kept.unfinished()
    assert left is not None
    assert left[1].steps == (Told("ragged holes in my kale"),)


def test_words_are_kept_before_they_are_read_20(
    small: Reasoner, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cut_off(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Consultation, "told", cut_off)
    asker = LineAsker(io.StringIO("ragged holes\n"), io.StringIO())
    with pytest.raises(KeyboardInterrupt):
        Dialogue(PlainScreen(io.StringIO()), asker, begun(small), Keeper()).run()
    left = kept.unfinished()
    assert left is not None
    assert left[1].typed == "ragged holes"


def test_kept_alone_lists_them(capsys, tiny: Path) -> None:
    assert main(["kept", "--knowledge", str(tiny)]) == 0
    assert "None is kept." in capsys.readouterr().out


def test_knowledge_without_a_described_case_can_be_read_with(small: Reasoner) -> None:
    encoder = Encoder(DATA)
    voice = Voice(small.knowledge, encoder, Catalog.of(small.knowledge))
    assert voice.weigh(encoder.hear("ragged holes", "kale").vector).tolist() == [0] * 4


def test_an_unknown_name_is_told_13() -> None:
    with pytest.raises(UsageError, match="none is kept"):
        kept.named("yesterday")
