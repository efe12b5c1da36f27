"""The loader: typed values, and every problem with file, line and what is allowed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from diagnose.checking import check
from diagnose.errors import KnowledgeError
from diagnose.kb import load
from diagnose.kb.reader import Finding
from diagnose.ready import open_knowledge
from tests.conftest import TINY, write

pytestmark = pytest.mark.quick


def found(folder: Path) -> list[Finding]:
    gathered = load.read(folder)
    more = check.errors(gathered.knowledge) if gathered.knowledge else []
    return [*gathered.findings, *more]


def test_a_whole_folder_loads_into_typed_values(tiny: Path) -> None:
    knowledge = open_knowledge(tiny)
    assert knowledge.causes["caterpillar"].kind == "insect"
    assert knowledge.causes["caterpillar"].evidence["holes"] == {
        "ragged": "often", "tiny": "seldom"
    }  # fmt: skip
    assert knowledge.crop_named("Spuds") == "potato"
    assert knowledge.place("causes", "caterpillar", "evidence", "droppings") == (
        "causes/insect/caterpillar.yaml:7"
    )


def test_the_ready_made_copy_equals_what_the_files_say(tiny: Path) -> None:
    assert open_knowledge(tiny) == open_knowledge(tiny)


def test_all_problems_are_reported_at_once(tiny: Path) -> None:
    write(tiny, {
        "crops/kale.yaml": "name: Kale\nfamily: cabage\nparts: [leaf]\nsize: 3\n",
        "remedies.yaml": "pick: {rung: chemical, text: Pick.}\nwait: {text: Wait.}\n",
    })  # fmt: skip
    lines = [str(f) for f in load.read(tiny).findings]
    assert [line.split(" ")[0:2] for line in lines] == [
        ["crops/kale.yaml:4:", "unknown-key"],
        ["crops/kale.yaml:2:", "wrong-value"],
        ["crops/kale.yaml:1:", "missing-key"],
        ["remedies.yaml:1:", "wrong-value"],
        ["remedies.yaml:2:", "missing-key"],
    ]
    assert "'cabage'" in lines[1]


BAD = {
    "tab": ("crops/kale.yaml", "name: Kale\n\tfamily: cabbage\n", 2),
    "duplicate-key": ("cautions.yaml", "wash: {text: a}\nwash: {text: b}\n", 2),
    "alias": ("cautions.yaml", "wash: &a {text: a}\ndry: *a\n", 1),
    "yes-or-no": ("cautions.yaml", "wash: {text: no}\n", 1),
    "not-yaml": ("cautions.yaml", "wash: {text: [}\n", 1),
    "empty-file": ("cautions.yaml", "# nothing\n", 1),
    "unknown-key": ("cautions.yaml", "wash: {txt: a, text: b}\n", 1),
    "missing-key": ("cautions.yaml", "wash: {}\n", 1),
    "wrong-shape": ("cautions.yaml", "- wash\n", 1),
    "unknown-file": ("weather.yaml", "a: b\n", 1),
    "unknown-kind": ("causes/insekt/x.yaml", "", 1),
    "unknown-id": ("causes/insect/caterpillar.yaml", "", 4),
    "bad-season": ("causes/insect/caterpillar.yaml", "", 4),
    "product-or-dose": ("remedies.yaml", "", 1),
}


def bad_text(code: str, tiny: Path) -> str:
    cause = (tiny / "causes/insect/caterpillar.yaml").read_text(encoding="utf-8")
    remedies = (tiny / "remedies.yaml").read_text(encoding="utf-8")
    return {
        "unknown-kind": cause,
        "unknown-id": cause.replace("season: {from: last frost, to: first frost}",
                                    "looks-like: {flea-beetel: size}"),
        "bad-season": cause.replace("last frost, to", "last snow, to"),
        "product-or-dose": remedies.replace("Pick them off.", "Dust with sulfur."),
    }.get(code, BAD[code][1])  # fmt: skip


@pytest.mark.parametrize("code", BAD)
def test_each_problem_is_named_with_its_file_and_line(code: str, tiny: Path) -> None:
    name, _, line = BAD[code]
    write(tiny, {name: bad_text(code, tiny)})
    findings = found(tiny)
    assert (name, line, code) in [f[:3] for f in findings], [str(f) for f in findings]
    with pytest.raises(KnowledgeError, match=code):
        open_knowledge(tiny)


def test_at_most_ten_problems_are_told_and_check_tells_the_rest(tiny: Path) -> None:
    write(tiny, {"cautions.yaml": "".join(f"wash-{i}: {{}}\n" for i in range(13))})
    with pytest.raises(KnowledgeError) as caught:
        open_knowledge(tiny)
    first, *rest = str(caught.value).splitlines()
    assert first.endswith("cannot be used: 13 problems")
    assert len(rest) == 11
    assert rest[-1] == "and 3 more; run diagnose check"


def test_a_slip_is_answered_with_the_nearest_word(tiny: Path) -> None:
    write(tiny, {"causes/insect/caterpillar.yaml": bad_text("unknown-id", tiny)})
    assert any("did you mean 'flea-beetle'?" in f.message for f in found(tiny))


def test_not_utf8_names_the_byte(tiny: Path) -> None:
    (tiny / "cautions.yaml").write_bytes(b"wash: {text: caf\xe9}\n")
    [finding] = load.read(tiny).findings
    assert finding.code == "not-utf8"
    assert "0xe9" in finding.message


def test_an_alias_bomb_is_refused_quickly(tiny: Path) -> None:
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    rows += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    write(tiny, {"cautions.yaml": "\n".join(rows)})
    assert any(f.code == "alias" for f in load.read(tiny).findings)


def test_a_missing_folder_and_a_file_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="is not there"):
        open_knowledge(tmp_path / "nowhere")
    (tmp_path / "file").write_text("x")
    with pytest.raises(KnowledgeError, match="not a folder"):
        open_knowledge(tmp_path / "file")


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_an_unreadable_file_is_named(tiny: Path) -> None:
    (tiny / "cautions.yaml").chmod(0)
    with pytest.raises(KnowledgeError, match=r"cautions.yaml cannot be read"):
        open_knowledge(tiny)


def test_one_broken_file_leaves_the_others_readable(tiny: Path) -> None:
    write(tiny, {"causes/insect/flea-beetle.yaml": "name: [\n"})
    gathered = load.read(tiny)
    assert gathered.knowledge is not None
    assert set(gathered.knowledge.causes) == {"caterpillar", "greening"}


def test_a_rule_that_stands_twice_in_one_file_is_told_of(tmp_path: Path) -> None:
    rules = TINY["rules/all.yaml"]
    second = rules + rules[: rules.index("- rule", 1)]
    found = load.read(write(tmp_path, TINY | {"rules/all.yaml": second})).findings
    [twice] = [finding for finding in found if finding.code == "duplicate-id"]
    assert twice.message.endswith("stands already in rules/all.yaml:1")
