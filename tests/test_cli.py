"""The commands as a person runs them: exit codes, one clear line for a mistake, no traceback."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.commands import main
from diagnose.kb.store import in_use, shipped
from tests.conftest import write

pytestmark = pytest.mark.quick

JUNE = ("--date", "2026-06-15")


def run(capsys, *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    captured = capsys.readouterr()
    return code, captured.out, captured.err


@pytest.fixture
def small(tiny: Path) -> tuple[str, str]:
    return ("--knowledge", str(tiny))


def test_read_ranks_and_plans(capsys, small) -> None:
    code, out, _ = run(capsys, "read", "ragged holes in my kale", *JUNE, *small)
    assert code == 0
    assert "1. Caterpillar" in out
    assert "Pick them off. (hands and barriers)" in out


UNLISTED = """\
name: Unlisted plant
family: other-family
parts: [leaf, whole]
eaten: []
kin: [tulip]
"""


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("Kohlrabi", "I do not know Kohlrabi; its kin is kale. Only general troubles are weighed."),
        ("tulips", "I do not know tulips nor kin of it. Only general troubles are weighed."),
        ("other", "Only general troubles are weighed."),
    ],
)
def test_a_plant_that_is_not_known_is_placed(capsys, small, tiny, named: str, said: str) -> None:
    kale = (tiny / "crops/kale.yaml").read_text(encoding="utf-8")
    write(tiny, {"crops/unlisted-plant.yaml": UNLISTED,
                 "crops/kale.yaml": kale + "kin: [kohlrabi]\n"})  # fmt: skip
    code, out, _ = run(capsys, "read", "ragged holes", "--crop", named, *JUNE, *small)
    assert code == 0
    assert said in " ".join(out.split())
    assert "Plant: unlisted plant" in out
    code, _, err = run(capsys, "read", "ragged holes", "--crop", "xyzzy", *JUNE, *small)
    assert code != 0
    assert "For a plant that is not listed, say other." in err


def test_read_json_has_every_documented_key(capsys, small) -> None:
    _, out, _ = run(capsys, "read", "ragged holes, no green droppings", "--crop", "kale", "--json",
                    *JUNE, *small)  # fmt: skip
    data = json.loads(out)
    assert list(data) == [
        "format", "knowledge", "alerts", "crop", "date", "observations", "perhaps", "guesses",
        "not_used",
        "verdict", "answers", "causes", "something_else", "would_change", "unexplained",
        "second_cause", "next_questions", "next_screen", "plan", "cautions", "referral", "trace",
    ]  # fmt: skip
    assert data["format"] == "diagnose/2"
    seen = {o["symptom"]: o["value"] for o in data["observations"]}
    assert seen == {"holes": "ragged", "droppings": "absent", "long-days": "present"}
    total = sum(c["chance"] for c in data["causes"]) + data["something_else"]
    assert total == pytest.approx(1)
    documented = (Path(__file__).parent.parent / "docs/json.md").read_text(encoding="utf-8")
    assert all(f"`{key}`" in documented for key in data)


def test_the_southern_hemisphere_turns_the_frosts(capsys, small) -> None:
    words = ("read", "ragged holes", "--crop", "kale", "--json", "--date", "2026-12-15", *small)
    south = json.loads(run(capsys, *words, "--latitude", "-42")[1])
    north = json.loads(run(capsys, *words)[1])
    first = {c["id"]: c["chance"] for c in south["causes"]}
    assert first["caterpillar"] > {c["id"]: c["chance"] for c in north["causes"]}["caterpillar"]
    assert any(o["symptom"] == "long-days" for o in south["observations"])


WRONG = [
    (("read", ""), "the text is empty"),
    (("read", "  "), "the text is empty"),
    (("read", "x" * 100_000), "100,000 characters"),
    (("read", "holes", "--crop", "kail"), "Did you mean kale?"),
    (("read", "holes", "--crop", "[bold]"), 'a crop called "[bold]"'),
    (("read", "holes", "--date", "2026-02-30"), "is no date"),
    (("read", "holes", "--date", "tomorrow"), "is no date"),
    (("read", "holes", "--date", "0001-01-01"), "out of reach"),
    (("read", "holes", "--latitude", "91"), "-90 to 90"),
    (("read", "holes", "--latitude", "north"), "is no latitude"),
    (("read", "holes", "--last-frost", "13-40"), "13-40"),
    (("show", "caterpilar"), "did you mean 'caterpillar'"),
    (("case", "nowhere.yaml"), "nowhere.yaml"),
    (("rede", "holes"), "did you mean 'read'?"),
    (("read",), "required"),
]


@pytest.mark.parametrize(("words", "expected"), WRONG, ids=[" ".join(w)[:30] for w, _ in WRONG])
def test_wrong_use_is_one_line_and_code_2(capsys, small, words, expected) -> None:
    code, out, err = run(capsys, *words, *(small if words[0] != "rede" else ()))
    assert code == 2
    assert out == ""
    assert expected in err
    assert "Traceback" not in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize(
    "text",
    ["\x1b[31mragged holes\x1b[0m", "[bold]ragged holes[/b]", "ragged\x00 holes :smile:",
     "ragged\nholes"],
)  # fmt: skip
def test_odd_characters_do_no_harm(capsys, small, text) -> None:
    code, out, _ = run(capsys, "read", text, "--crop", "kale", *JUNE, *small)
    assert code == 0
    assert "holes in the leaves" in out
    assert "\x1b" not in out


def test_another_language_is_said_to_be_strange(capsys, small) -> None:
    text = "Die Blätter meines Grünkohls haben viele kleine Löcher bekommen"
    _, out, _ = run(capsys, "read", text, "--crop", "kale", *JUNE, *small)
    assert "strange to me" in out


def test_cases_say_where_the_expected_cause_came(capsys, small, tmp_path: Path) -> None:
    write(tmp_path, {"c.yaml": """\
- {id: one, crop: kale, date: '2026-06-15', text: ragged holes, expect: [caterpillars, grub]}
- {id: two, crop: kale, date: '2026-06-15', observations: {holes: tiny}, expect: caterpillar}
- {id: three, crop: leek, text: holes, expect: x}
"""})  # fmt: skip
    code, out, _ = run(capsys, "case", str(tmp_path / "c.yaml"), *small)
    assert code == 1  # the second does not come first
    assert "one: caterpillar; expected caterpillars, came 1" in out
    assert "two: flea-beetle; expected caterpillar, came 2" in out
    assert "2 cases: right first 1 (50.0%), in the first three 2 (100.0%), nothing read 0" in out
    assert "left aside, crop not known: 1 (three)" in out
    _, asked, _ = run(capsys, "case", "--ask", str(tmp_path / "c.yaml"), *small)
    assert "questions asked:" in asked


@pytest.mark.parametrize(
    ("text", "expected"),
    [("- {crop: kale, observations: {hole: tiny}}", "did you mean 'holes'"),
     ("- {crop: kale, observations: {holes: big}}", "unknown value of holes 'big'"),
     ("- {crop: kale, date: '2026-13-01'}", "is no date"),
     ("- {crop: kale, colour: red}", "unknown key 'colour'"),
     ("- [", "not YAML")],
)  # fmt: skip
def test_a_bad_case_is_named(capsys, small, tmp_path: Path, text, expected) -> None:
    write(tmp_path, {"c.yaml": text})
    code, _, err = run(capsys, "case", str(tmp_path / "c.yaml"), *small)
    assert code == 2
    assert expected in err


def test_alerts_come_first_and_in_the_json(capsys, small) -> None:
    words = ("read", "a child ate a berry off the kale", *JUNE, *small)
    assert run(capsys, *words)[1].lstrip().startswith("First, if someone may be hurt")
    alert = json.loads(run(capsys, *words, "--json")[1])["alerts"]
    assert alert == [{
        "kind": "emergency", "text": "Call for help.",
        "because": 'someone ate it: you wrote "child ate a berry"',
    }]  # fmt: skip


def test_a_crop_is_shown_with_what_it_needs(capsys) -> None:
    carrot, beans = (run(capsys, "show", name)[1] for name in ("carrot", "bush beans"))
    assert "Grows best at 59 to 70 F (15 to 21 C)." in carrot
    assert "It bears some shade.\nGroup in the rotation: carrot." in carrot
    assert "It wants full sun." in beans


def test_show_pages(capsys, small) -> None:
    assert "What troubles it" in run(capsys, "show", "kale", *small)[1]
    assert "What it points to" in run(capsys, "show", "holes", *small)[1]
    assert "What is seen" in run(capsys, "show", "caterpillar", *small)[1]
    danger = run(capsys, "show", "nightshade", *small)[1]
    assert danger.index("What to do first") < danger.index("How it looks")
    assert "your poison center" in danger


def test_check_says_fine_or_lists_findings(capsys, tiny: Path) -> None:
    write(tiny, {"rules/bad.yaml": "- rule: x\n"})
    code, out, _ = run(capsys, "check", str(tiny))
    assert code == 1
    assert out.startswith(f"Checking {tiny}\n")
    assert "rules/bad.yaml:1: missing-key 'when' is missing" in out
    assert json.loads(run(capsys, "check", "--json", str(tiny))[1])


def test_in_a_clone_the_knowledge_of_the_clone_is_used(
    capsys, tiny: Path, tmp_path: Path, monkeypatch
) -> None:
    clone = tmp_path / "clone"
    (clone / "diagnose" / "kb").mkdir(parents=True)
    shutil.copytree(tiny, clone / "knowledge")
    write(clone / "knowledge", {"rules/bad.yaml": "- rule: x\n"})
    monkeypatch.chdir(clone / "diagnose")
    code, out, _ = run(capsys, "check")
    assert code == 1
    assert "".join(out.split()).startswith("".join(f"Checking{clone}/knowledge".split()))
    assert " ".join(out.split()).startswith(f"Checking {clone / 'knowledge'} ")
    assert "rules/bad.yaml:1: missing-key 'when' is missing" in out
    monkeypatch.chdir(tmp_path)
    assert in_use() == shipped()


def test_version_names_engine_and_digest(capsys, small) -> None:
    code, out, _ = run(capsys, "--version", *small)
    assert code == 0
    assert out.startswith("diagnose 0.1.0, engine ")


def test_the_whole_program_line_by_line_from_a_pipe(tiny: Path, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", "--knowledge", str(tiny), *JUNE],
        input="ragged holes in my kale\nyes\n1\n1\n", capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "Caterpillar" in done.stdout
    assert "\x1b" not in done.stdout
    cut = subprocess.run(
        [sys.executable, "-m", "diagnose", "--knowledge", str(tiny), *JUNE],
        input="ragged holes in my kale\nye", capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert cut.returncode == 0
    assert "Kept." not in cut.stdout  # a pipe keeps nothing


def test_help_explains_each_command_with_an_example(capsys) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])
    out = " ".join(capsys.readouterr().out.split())
    for command in ("read", "case", "show", "check"):
        assert f"e.g. diagnose {command} " in out


def test_the_shell_is_told_what_could_follow(tmp_path: Path) -> None:
    words, answer = "diagnose conf", tmp_path / "answer"  # as argcomplete's line in a shell asks
    asked = {"_ARGCOMPLETE": "1", "COMP_LINE": words, "COMP_POINT": str(len(words))}
    subprocess.run(
        [sys.executable, "-m", "diagnose"], check=True, timeout=60,
        env=os.environ | asked | {"_ARGCOMPLETE_STDOUT_FILENAME": str(answer)},
    )  # fmt: skip
    assert answer.read_text(encoding="utf-8").split() == ["confusion"]


def test_check_of_some_files(capsys, tiny: Path) -> None:
    cause = tiny / "causes/insect/caterpillar.yaml"
    cause.write_text(cause.read_text().replace("droppings: often", "dropings: often"))
    code, out, _ = run(capsys, "check", "--plain", str(cause))
    assert code == 1
    assert "unknown-id" in out
    assert "flea-beetle" not in out
    code, out, _ = run(
        capsys, "check", "--json", str(tiny / "words.yaml"), str(tiny / "seasons.yaml")
    )
    assert (code, json.loads(out)) == (0, [])


def test_check_of_files_that_are_none(capsys, tiny: Path, tmp_path: Path) -> None:
    (tmp_path / "stray.yaml").write_text("a: b\n")
    for words in (
        (str(tmp_path / "stray.yaml"),),
        (str(tiny / "words.yaml"), str(tiny / "nothing.yaml")),
        (str(tiny / "words.yaml"), str(tmp_path / "stray.yaml")),
    ):
        code, _, err = run(capsys, "check", *words)
        assert code == 2
        assert len(err.splitlines()) == 1
