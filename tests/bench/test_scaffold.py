"""New entries: marked gaps, nothing overwritten, one line for what cannot be."""

from __future__ import annotations

import io
from pathlib import Path

import jsonschema
import pytest

from diagnose.bench import scaffold, schemas
from diagnose.bench.wanted import WANTED
from diagnose.checking import check
from diagnose.checking.gaps import TO_DO, to_do
from diagnose.checking.subject import Subject
from diagnose.commands import main
from diagnose.errors import UsageError
from diagnose.kb import load
from diagnose.kb.reader import Reader
from diagnose.terminal.askers import LineAsker
from tests.bench.conftest import read

FULL = {
    "crop": ("leek", {"name": "Leek", "family": "onion-family", "eaten": "leaf"}),
    "cause": ("rust", {
        "name": "Rust: the fungus", "kind": "fungus", "hosts": "kale=common, any=rare",
        "evidence": "holes:tiny=seldom, holes:none=often, droppings=never, green-tuber=seldom",
    }),
    "symptom": ("wilting", {"name": "wilting", "part": "leaf, stem"}),
    "rule": ("no-holes", {"when": "crop=kale, droppings=absent, droppings=present",
                          "then": "skip=holes", "because": "no one eats it"}),
    "remedy": ("net", {"rung": "hands", "season": "next"}),
}  # fmt: skip


def add(root: Path, what: str, entry: str = "", **more: str) -> Path:
    given = {**FULL[what][1], **more}
    return scaffold.add(what, entry or FULL[what][0], read(root), root, given)


@pytest.mark.parametrize("what", FULL)
def test_what_is_written_passes_but_for_its_gaps(what: str, tiny: Path) -> None:
    path = add(tiny, what)
    knowledge = read(tiny)
    assert FULL[what][0] in getattr(knowledge, scaffold.KIND_OF[what])
    assert check.errors(knowledge) == []
    gaps = list(to_do(Subject(knowledge)))
    assert bool(gaps) == (what != "rule")
    assert all(gap.code == "to-do" and tiny / gap.file == path for gap in gaps)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert all(TO_DO in lines[gap.line - 1] for gap in gaps)


@pytest.mark.parametrize("what", FULL)
def test_what_is_written_suits_its_schema(what: str, tiny: Path) -> None:
    path = add(tiny, what)
    document = Reader(tiny).document(path)
    assert document is not None
    jsonschema.validate(document.data, schemas.schema(scaffold.KIND_OF[what]))


def test_a_cause_is_as_told(tiny: Path) -> None:
    path = add(tiny, "cause")
    assert path == tiny / "causes/fungus/rust.yaml"
    assert path.read_text(encoding="utf-8").startswith(schemas.modeline("causes/fungus/rust.yaml"))
    cause = read(tiny).causes["rust"]
    assert cause.name == "Rust: the fungus"
    assert cause.hosts == {"kale": "common", "any": "rare"}
    assert cause.evidence == {
        "holes": {"tiny": "seldom", "none": "often"}, "droppings": "never", "green-tuber": "seldom",
    }  # fmt: skip


def test_a_rule_that_names_a_fact_twice_means_any_of_them(tiny: Path) -> None:
    add(tiny, "rule")
    rule = read(tiny).rules["no-holes"]
    assert rule.when == {"crop": "kale", "droppings": ["absent", "present"]}


@pytest.mark.parametrize("what", FULL)
def test_nothing_is_ever_overwritten(what: str, tiny: Path) -> None:
    path = add(tiny, what)
    before = path.read_text(encoding="utf-8")
    with pytest.raises(UsageError, match="is there already"):
        add(tiny, what)
    assert path.read_text(encoding="utf-8") == before


def test_a_file_that_cannot_be_read_yet_is_not_overwritten(tiny: Path) -> None:
    path = tiny / "crops/leek.yaml"
    knowledge = read(tiny)
    path.write_text("half: [", encoding="utf-8")
    with pytest.raises(UsageError, match="left as it is"):
        scaffold.add("crop", "leek", knowledge, tiny, FULL["crop"][1])
    assert path.read_text(encoding="utf-8") == "half: ["


def test_an_entry_goes_to_the_end_of_its_table(tiny: Path) -> None:
    path = tiny / "remedies.yaml"
    old = path.read_text(encoding="utf-8").rstrip("\n")
    path.write_text(old, encoding="utf-8")
    assert add(tiny, "remedy") == path
    assert path.read_text(encoding="utf-8").startswith(old + "\nnet:\n")


def test_a_table_that_is_not_plain_is_left_alone(tiny: Path) -> None:
    path = tiny / "remedies.yaml"
    path.write_text("{wait: {rung: leave, text: Wait.}}\n", encoding="utf-8")
    knowledge = load.read(tiny).knowledge
    assert knowledge is not None
    with pytest.raises(UsageError, match="by hand:\nnet:"):
        scaffold.add("remedy", "net", knowledge, tiny, FULL["remedy"][1])
    assert path.read_text(encoding="utf-8") == "{wait: {rung: leave, text: Wait.}}\n"


def test_of_several_tables_one_must_be_named(tiny: Path) -> None:
    (tiny / "symptoms/more.yaml").write_text(
        "wet: {name: wet, part: soil, ask: Wet?, background: seldom}\n", encoding="utf-8"
    )
    with pytest.raises(UsageError, match=r"give --file.*symptoms/all.yaml, symptoms/more.yaml"):
        add(tiny, "symptom")
    files = {"more": "more", "symptoms/more.yaml": "more", "new": "new"}
    for number, (file, name) in enumerate(files.items()):
        entry = f"wilting-{number}"
        given = FULL["symptom"][1]
        path = scaffold.add("symptom", entry, read(tiny), tiny, given, file=file)
        assert path == tiny / f"symptoms/{name}.yaml"
        assert entry in read(tiny).symptoms


@pytest.mark.parametrize("file", ["../../etc/x", "/tmp/x", "", "A", "a/b"])
def test_a_table_lies_in_its_folder(file: str, tiny: Path) -> None:
    with pytest.raises(UsageError, match="cannot be a file of symptoms"):
        scaffold.add("symptom", "wilting", read(tiny), tiny, FULL["symptom"][1], file=file)


@pytest.mark.parametrize("entry", ["", "Leek", "a b", "../leek", "leek-", "läuch", "a\n", "."])
def test_odd_ids_are_refused(entry: str, tiny: Path) -> None:
    with pytest.raises(UsageError, match="cannot be an id"):
        scaffold.add("crop", entry, read(tiny), tiny, FULL["crop"][1])


@pytest.mark.parametrize(
    "name", ["no", "on: off", "# x", "12", '"', "a\\b", "Ünder", "[x]", "null"]
)
@pytest.mark.parametrize("what", ["crop", "symptom"])
def test_odd_names_come_back_as_they_were(what: str, name: str, tiny: Path) -> None:
    add(tiny, what, name=name)
    assert getattr(read(tiny), f"{what}s")[FULL[what][0]].name == name


def test_ids_that_yaml_takes_for_something_else(tiny: Path) -> None:
    add(tiny, "rule", "123")
    add(tiny, "symptom", "on")
    assert "123" in read(tiny).rules
    assert "on" in read(tiny).symptoms


@pytest.mark.parametrize(
    ("what", "more", "message"),
    [
        ("crop", {"family": "onions-family"}, "did you mean 'onion-family'"),
        ("crop", {"eaten": ""}, "--eaten is empty"),
        ("crop", {"name": " "}, "--name is empty"),
        ("crop", {"name": "\udcff"}, "not text"),
        ("cause", {"hosts": "kale"}, "expected as in kale=common"),
        ("cause", {"hosts": "kal=common"}, "did you mean 'kale'"),
        ("cause", {"hosts": "kale=comon"}, "did you mean 'common'"),
        ("cause", {"evidence": "holes:small=often"}, "unknown value of holes"),
        ("cause", {"evidence": "holes:tiny=mostly"}, "unknown frequency"),
        ("cause", {"kind": "bug"}, "unknown kind"),
        ("rule", {"when": "Crop=kale"}, "cannot be the name of a fact"),
        ("remedy", {"rung": "spray"}, "unknown rung"),
    ],
)
def test_what_does_not_fit_is_told_and_nothing_written(
    what: str, more: dict[str, str], message: str, tiny: Path
) -> None:
    files = {path: path.read_bytes() for path in load.files(tiny)}
    with pytest.raises(UsageError, match=message):
        add(tiny, what, **more)
    assert {path: path.read_bytes() for path in load.files(tiny)} == files


def test_off_a_terminal_what_is_missing_is_named(capsys, tiny: Path) -> None:
    words = ["new", "cause", "rust", "--knowledge", str(tiny), "--name", "Rust", "--kind", "fungus"]
    assert main(words) == 2
    assert "give --hosts (crops or families" in capsys.readouterr().err
    assert main([*words, "--hosts", "kale=rare"]) == 0
    assert "causes/fungus/rust.yaml" in capsys.readouterr().out


def test_on_a_terminal_it_is_asked_until_it_fits(tiny: Path) -> None:
    out = io.StringIO()
    asker = LineAsker(io.StringIO("Rust\n\nfungi\nfungus\nkale=common\n\n\n"), out)
    scaffold.add("cause", "rust", read(tiny), tiny, {}, asker)
    assert "did you mean 'fungus'?" in out.getvalue()
    cause = read(tiny).causes["rust"]
    assert (cause.name, cause.kind, cause.matters.decision) == ("Rust", "fungus", "watch")


def test_the_end_of_input_writes_nothing(tiny: Path) -> None:
    with pytest.raises(EOFError):
        scaffold.add("cause", "rust", read(tiny), tiny, {}, LineAsker(io.StringIO("Rust\n")))
    assert not (tiny / "causes/fungus").exists()


def test_every_question_has_its_words() -> None:
    assert {what: [need.name for need in needs] for what, needs in scaffold.NEEDS.items()} == {
        what: list(wanted) for what, wanted in WANTED.items()
    }
