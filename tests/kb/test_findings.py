"""Every code of `diagnose check`: a small knowledge folder that triggers it, and it alone."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

import msgspec
import pytest
import yaml

from diagnose.checking import baseline, check
from diagnose.checking.check import errors, examine, warnings
from diagnose.checking.codes import CODES, SEVERITIES
from diagnose.kb import load
from diagnose.kb.model import Case
from diagnose.kb.reader import Document, Finding, Reader
from tests.conftest import TINY, write

pytestmark = pytest.mark.quick

PAGES = Path(__file__).parents[2] / "docs" / "findings"
CATERPILLAR = "causes/insect/caterpillar.yaml"
FLEA = "causes/insect/flea-beetle.yaml"
SLUG = "causes/mollusc/slug.yaml"
GREENING = "causes/physiological/greening.yaml"
KALE = "crops/kale.yaml"
SYMPTOMS = "symptoms/all.yaml"
RULES = "rules/more.yaml"

CLEAN = {
    **TINY,
    KALE: TINY[KALE] + "sources: [from-memory]\n",
    "crops/potato.yaml": TINY["crops/potato.yaml"] + "sources: [from-memory]\n",
    CATERPILLAR: TINY[CATERPILLAR]
    + """\
referral: extension
cautions: [wash]
sources: [from-memory]
cases:
  - {text: ragged holes and green droppings, crop: kale}
  - {text: there are green droppings all over my kale}
""",
    FLEA: TINY[FLEA].replace("Eat the leaves", "Wash and eat the leaves")
    + """\
sources: [from-memory]
cases:
  - {text: tiny holes in the leaves, crop: potato}
  - {text: shot holes, crop: potato, observations: {droppings: absent}}
""",
    GREENING: TINY[GREENING]
    + """\
sources: [from-memory]
cases:
  - {text: green potatoes}
  - {text: I dug up green potatoes today}
""",
}
EXTRA = """\
name: Slug
summary: It eats at night.
hosts: {kale: common}
evidence:
  holes: {ragged: usually}
  droppings: never
  long-days: sometimes
matters: {decision: watch, text: It matters on seedlings.}
harvest: Wash the leaves and eat them.
remedies: [pick]
sources: [from-memory]
cases:
  - {text: ragged holes in the leaves, crop: kale}
  - {text: my kale has ragged holes}
"""
RULE = "- rule: more\n  when: {WHEN}\n  then: {THEN}\n  because: so\n"
MANY = ", ".join(f"mood-{n}: grim" for n in range(16))
HARD = (
    "Considerable accumulations of carbohydrates precipitate physiological deterioration, "
    "notwithstanding countermeasures administered experimentally by horticultural authorities "
    "investigating particularly susceptible populations under comparatively unfavourable "
    "environmental circumstances throughout the continent."
)

Change = str | bytes | Callable[[str], str | None] | None


def swap(*pairs: tuple[str, str]) -> Callable[[str], str]:
    """A change of a clean file's text: each first word for its second, once."""

    def changed(text: str) -> str:
        for old, new in pairs:
            assert text.count(old) == 1, (old, text)
            text = text.replace(old, new)
        return text

    return changed


def extra(*pairs: tuple[str, str]) -> str:
    return swap(*pairs)(EXTRA)


def rule(when: str, then: str) -> str:
    return RULE.replace("WHEN", when).replace("THEN", then)


DRAWN = """\
ID:
  shows: {holes: ragged}
  words: A leaf with large, uneven holes.
  draw: [{shape: leaf, marks: [{mark: holes, count: 3}]}]
"""
LOOP = (
    rule("crop: kale", "mood: grim")
    + rule("mood: grim", "weather: foul").replace("rule: more", "rule: foul-if-grim")
    + rule("weather: foul", "mood: grim, skip: holes").replace("rule: more", "rule: grim-if-foul")
)
NOT_TOLD = extra(
    ("{ragged: usually}", "{tiny: often, ragged: sometimes}"),
    ("droppings: never", "droppings: sometimes"),
    ("sources:", "looks-like: {flea-beetle: size}\nsources:"),
    ("ragged holes in the leaves", "tiny holes and green droppings"),
    ("my kale has ragged holes", "shot holes with green droppings on kale"),
)
TWIN = extra(
    ("{kale: common}", "{kale: very common}"),
    ("{ragged: usually}", "{tiny: often, ragged: sometimes}"),
    ("ragged holes in the leaves", "tiny holes in these leaves"),
    ("has ragged holes", "has tiny holes"),
)
FACT = """\
- {id: eaten, kind: has, source: a book, seen: opened, at: crops/kale/eaten, items: [leaf, flower]}
"""
SHADE = (
    "shade: {name: shade, kind: condition, part: whole, ask: Is it in the shade?, "
    "background: seldom}\n"
)
TOLD = "slugs eat at night and leave slime on the leaves behind them"


def approved(
    outcome: tuple[int, int | None] = (1, None),
    evidence: Mapping[str, object] | None = None,
    held: Mapping[str, object] | None = None,
    **more: object,
) -> str:
    """A baseline of the slug, with something in it that it no longer is."""
    plain = yaml.safe_load(EXTRA)
    facts = {"kind": "mollusc", "hosts": plain["hosts"], "season": "all year"}
    was = {
        "eat": "some", "decision": "watch", "referral": None, "cautions": [], "forbids": [],
        "facts": facts | {"evidence": plain["evidence"] | dict(evidence or {})},
        "cases": {baseline._key(msgspec.convert(case, Case)): outcome for case in plain["cases"]},
        **more,
    }  # fmt: skip
    head = {"format": baseline.FORMAT, "digest": "", "held": held or {}}
    return json.dumps(head | {"causes": {"slug": was}})


LAYERED = {"overlay-loosens", "overlays-disagree"}  # of several folders: see test_overlays.py
# For each code: the files to change and how, where the finding is, and on which line.
FAULTS: dict[str, tuple[dict[str, Change], str, int]] = {
    "alias": ({"cautions.yaml": "wash: &a {text: a}\ndry: *a\n"}, "cautions.yaml", 1),
    "bad-id": ({"remedies/x.yaml": "Pick Up: {rung: hands, text: Pick.}\n"}, "remedies/x.yaml", 1),
    "duplicate-id": ({"cautions/x.yaml": "wash: {text: Wash.}\n"}, "cautions.yaml", 1),
    "duplicate-key": ({"cautions.yaml": "wash: {text: a}\nwash: {text: b}\n"}, "cautions.yaml", 2),
    "empty-file": ({"cautions.yaml": "# nothing\n"}, "cautions.yaml", 1),
    "file-too-large": ({"cautions.yaml": "#" * 1_000_001}, "cautions.yaml", 1),
    "file-unreadable": ({"crops/gone.yaml": b"-> nowhere"}, "crops/gone.yaml", 1),
    "key-not-text": ({"cautions.yaml": "? [wash]\n: {text: a}\n"}, "cautions.yaml", 1),
    "missing-file": ({"words.yaml": None}, "words.yaml", 1),
    "missing-key": ({"cautions.yaml": "wash: {}\n"}, "cautions.yaml", 1),
    "not-utf8": ({"cautions.yaml": b"wash: {text: caf\xe9}\n"}, "cautions.yaml", 1),
    "not-yaml": ({"cautions.yaml": "wash: {text: [}\n"}, "cautions.yaml", 1),
    "tab": ({"cautions.yaml": "wash:\n\ttext: a\n"}, "cautions.yaml", 2),
    "unknown-file": ({"weather.yaml": "a: b\n"}, "weather.yaml", 1),
    "unknown-key": ({"cautions.yaml": "wash: {txt: a, text: b}\n"}, "cautions.yaml", 1),
    "format-newer": ({"format.yaml": "format: 99\n"}, "format.yaml", 1),
    "unknown-kind": ({"causes/insekt/x.yaml": EXTRA}, "causes/insekt/x.yaml", 1),
    "wrong-shape": ({"cautions.yaml": "- wash\n"}, "cautions.yaml", 1),
    "wrong-value": ({FLEA: swap(("droppings: never", "droppings: rarely"))}, FLEA, 6),
    "yes-or-no": ({"cautions.yaml": "wash: {text: no}\n"}, "cautions.yaml", 1),
    "bad-number": (
        {"likelihood.yaml": lambda text: re.sub(r"(  often: ).*", r"\g<1>0.9", text)},
        "likelihood.yaml", 0,
    ),
    "bad-place": ({"seasons.yaml": swap(("05-10", "05-32"))}, "seasons.yaml", 1),
    "bad-pattern": ({"safety.yaml": swap(("[neem, sulfur]", "['neem(', sulfur]"))},
                    "safety.yaml", 6),
    "bad-range": ({"words.yaml": swap(("[85, 120]", "[120, 85]"))}, "words.yaml", 9),
    "bad-season": ({CATERPILLAR: swap(("last frost, to", "last snow, to"))}, CATERPILLAR, 4),
    "called-food": ({SLUG: extra(("It eats at night.", "It eats. All is safe."))}, SLUG, 2),
    "caution-astray": ({CATERPILLAR: swap(("cautions: [wash]", "cautions: [wash, net]"))},
                       CATERPILLAR, 13),
    "caution-missing": ({"remedies.yaml": swap(("Pick them off.", "Pick them off the net."))},
                        "remedies.yaml", 1),
    "drawn-twice": (
        {"drawings/all.yaml": DRAWN.replace("ID", "a") + DRAWN.replace("ID", "b")},
        "drawings/all.yaml", 6,
    ),
    "missing-number": (
        {"likelihood.yaml": lambda text: re.sub(r"  seldom: .*\n", "", text)}, "likelihood.yaml", 0,
    ),
    "not-derived": ({RULES: rule("crop: kale", "holes: absent")}, RULES, 3),
    "phone-astray": (
        {"referrals.yaml": "extension: {to: them, text: Call 1-800-555-0100.}\n"},
        "referrals.yaml", 1,
    ),
    "product-or-dose": (
        {"remedies.yaml": swap(("Pick them off.", "Dust with sulfur."))}, "remedies.yaml", 1,
    ),
    "retired-id": (
        {"retired.yaml": "pellets: droppings\n",
         CATERPILLAR: swap(("  droppings: often", "  pellets: often"))},
        CATERPILLAR, 7,
    ),
    "rule-empty": ({RULES: rule("", "skip: holes")}, RULES, 2),
    "rule-too-big": ({RULES: rule(MANY, "skip: holes")}, RULES, 2),
    "safety-broken": ({GREENING: swap(("Do not eat green tubers.", "Peel them."))}, GREENING, 9),
    "unknown-id": (
        {CATERPILLAR: swap(("remedies: [pick]", "remedies: [pick, pikc]"))}, CATERPILLAR, 11,
    ),
    "value-reserved": (
        {SYMPTOMS: swap(("    tiny: {", "    unsure: {name: cannot say}\n    tiny: {"))},
        SYMPTOMS, 8,
    ),
    "always-rule": ({RULES: rule("part: leaf", "skip: droppings")}, RULES, 1),
    "bad-case": ({SLUG: EXTRA + "  - {text: ragged holes, crop: cucumber}\n"}, SLUG, 15),
    "case-not-first": ({SLUG: EXTRA + "  - {text: tiny holes, crop: kale}\n"}, SLUG, 15),
    "dead-rule": ({RULES: rule("mood: grim", "skip: droppings")}, RULES, 2),
    "eaten-too-freely": (
        {SLUG: extra(("harvest: Wash the leaves and eat them.",
                      "eat: normal\nharvest: Throw away the leaves."))}, SLUG, 9,
    ),
    "empty-phrase": ({SYMPTOMS: swap(("[green droppings]", "[green droppings, in the]"))},
                     SYMPTOMS, 23),
    "evidence-off-host": ({SLUG: extra(("  long", "  green-tuber: seldom\n  long"))}, SLUG, 7),
    "evidence-over-full": ({FLEA: swap(("ragged: sometimes", "ragged: usually"))}, FLEA, 5),
    "few-cases": ({SLUG: extra(("  - {text: my kale has ragged holes}\n", ""))}, SLUG, 12),
    "hard-to-read": ({SLUG: extra(("It eats at night.", HARD))}, SLUG, 1),
    "look-alike-not-told": (
        {SLUG: NOT_TOLD, FLEA: lambda text: text + "looks-like: {slug: a trail of slime}\n"},
        SLUG, 11,
    ),
    "look-alike-one-way": (
        {SLUG: extra(("sources:", "looks-like: {caterpillar: slime}\nsources:"))}, SLUG, 11,
    ),
    "measure-twice": ({SLUG: extra(("[pick]", "[pick, cover]"))}, SLUG, 10),
    "measures-contradict": (
        {"remedies.yaml": swap(("Wait.}", "Wait., excludes: [pick]}")),
         SLUG: extra(("[pick]", "[pick, wait]"))},
        SLUG, 10,
    ),
    "never-derived": ({"rules/all.yaml": lambda text: text[text.index("- rule: only"):]},
                      SYMPTOMS, 24),
    "no-measure": ({SLUG: extra(("watch,", "act,"), ("remedies: [pick]\n", ""))}, SLUG, 1),
    "no-source": ({SLUG: extra(("sources: [from-memory]\n", ""))}, SLUG, 1),
    "none-alone": ({SLUG: extra(("droppings: never", "droppings: {none: always}"))}, SLUG, 6),
    "rule-loop": ({RULES: LOOP}, RULES, 5),
    "same-phrase": ({SYMPTOMS: swap(("[green droppings]", "[green droppings, hole ragged]"))},
                    SYMPTOMS, 23),
    "season-never-opens": (
        {KALE: swap(("+ 4 weeks, to: first frost + 8", "+ 20 weeks, to: first frost - 10"))},
        KALE, 6,
    ),
    "skips-the-ladder": ({SLUG: extra(("watch,", "act,"))}, SLUG, 10),
    "source-without-address": (
        {"sources.yaml": swap(("seen: from memory", "seen: opened"))}, "sources.yaml", 1,
    ),
    "to-do": ({SLUG: extra(("It eats at night.", "TO DO say what it does"))}, SLUG, 2),
    "too-little-evidence": ({SLUG: extra(("  long-days: sometimes\n", ""))}, SLUG, 4),
    "twins": ({SLUG: TWIN}, FLEA, 4),
    "unreachable-cause": (
        {SLUG: extra(("{kale: common}", "{rose-family: common}"), (", crop: kale", ""),
                     ("my kale has ragged", "there are ragged"))},
        SLUG, 3,
    ),
    "unused-conclusion": ({RULES: rule("crop: kale", "mood: grim")}, RULES, 3),
    "unused-id": ({"remedies/x.yaml": "sing: {rung: leave, text: Sing.}\n"}, "remedies/x.yaml", 1),
    "value-unused": (
        {SYMPTOMS: swap(("    tiny: {", "    round: {name: round holes}\n    tiny: {"))},
        SYMPTOMS, 8,
    ),
    "against-handbook": ({"handbook.yaml": FACT}, KALE, 5),
    "baseline-astray": ({".baseline.json": '{"format": 99}'}, ".baseline.json", 1),
    "case-changed": (
        {".baseline.json": approved(cases={"0123456789": (1, None)}), SLUG: EXTRA}, SLUG, 12,
    ),
    "case-out-of-season": (
        {SLUG: extra(("common}", "very common}\nseason: {from: last frost, to: longest day}"),
                     ("has ragged holes}", "has ragged holes, date: '2026-09-15', "
                                           "observations: {droppings: absent}}"))}, SLUG, 15,
    ),
    "case-twice": (
        {SLUG: extra(("{text: my kale has ragged holes}",
                      "{text: ragged holes in the leaves, crop: kale}"))}, SLUG, 14,
    ),
    "cases-fell": ({".baseline.json": approved((100, None)), SLUG: EXTRA}, SLUG, 12),
    "change-without-gain": (
        {".baseline.json": approved(evidence={"holes": "always"}, cases={}), SLUG: EXTRA}, SLUG, 5,
    ),
    "code-twice": (
        {SLUG: extra(("hosts:", "code: AAAAAA\nhosts:")),
         CATERPILLAR: swap(("hosts:", "code: AAAAAA\nhosts:"))}, SLUG, 3,
    ),
    "eaten-without-limit": (
        {SLUG: extra(("harvest: Wash the leaves and eat them.",
                      "eat: never\nharvest: The leaves taste as usual."))}, SLUG, 9,
    ),
    "harvest-before-sowing": (
        {KALE: swap(("{harvest: {from: last frost + 4 weeks, to: first frost + 8 weeks}}",
                     "{sow: {from: longest day, to: first frost}, "
                     "harvest: {from: last frost, to: longest day}}"))}, KALE, 6,
    ),
    "loosened": ({".baseline.json": approved(cautions=["wash"]), SLUG: EXTRA}, SLUG, 1),
    "helper-missing": (
        {"dangers.yaml": swap(("first-aid: ", "first-aid: Call the emergency number. "))},
        "dangers.yaml", 0,
    ),
    "line-idle": (
        {SLUG: extra(("  long-days", "  shade: seldom\n  long-days")),
         SYMPTOMS: lambda text: text + SHADE}, SLUG, 7,
    ),
    "line-turned": (
        {".baseline.json": approved(evidence={"droppings": "usually"}, cases={}),
         SLUG: EXTRA}, SLUG, 6,
    ),
    "look-alike-twice": (
        {SLUG: extra(("sources:", f"looks-like:\n  flea-beetle: {TOLD}\n  caterpillar: {TOLD}\n"
                                  "sources:")),
         FLEA: lambda text: text + "looks-like: {slug: slime}\n",
         CATERPILLAR: lambda text: text + "looks-like: {slug: slime}\n"}, SLUG, 13,
    ),
    "name-of-another": ({SLUG: extra(("name: Slug", "name: Slug\nalso: [flea beetle]"))}, SLUG, 2),
    "name-twice": ({SLUG: extra(("name: Slug", "name: Flea beetle"))}, SLUG, 1),
    "negative-question": (
        {SYMPTOMS: swap(("Are any tubers green?", "Are the tubers not green?"))}, SYMPTOMS, 13,
    ),
    "number-astray": ({KALE: swap(("parts:", "growth-c: {best: [64, 81]}\nparts:"))}, KALE, 4),
    "odd-character": ({SLUG: extra(("eats at night", "eats \u201cat night\u201d"))}, SLUG, 2),
    "rule-against-cause": ({RULES: rule("droppings: absent", "rule-out: caterpillar")}, RULES, 3),
    "unread-change": (
        {".baseline.json": approved(held={"remedies/pick": {"text": "0"}}), SLUG: EXTRA},
        "remedies.yaml", 0,
    ),
    "silence-idle": ({SLUG: extra(("name: Slug", "name: Slug  # let twins stand: so"))}, SLUG, 1),
    "units-disagree": (
        {SLUG: extra(("It eats at night.", "It eats above 50 F (30 C)."))}, SLUG, 2,
    ),
}  # fmt: skip


def folder(root: Path, changes: dict[str, Change]) -> Path:
    """The clean folder with changes: new text, bytes ("-> x" is a link to x), or None to drop."""
    write(root, CLEAN)
    for name, change in changes.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        content = change(CLEAN[name]) if callable(change) else change
        if content is None:
            path.unlink()
        elif isinstance(content, str):
            path.write_text(content, encoding="utf-8")
        elif content.startswith(b"-> "):
            path.symlink_to(root / content[3:].decode())
        else:
            path.write_bytes(content)
    return root


def shown(findings: Iterable[Finding]) -> list[str]:
    return [str(finding) for finding in findings]


def test_the_clean_folder_has_no_findings(tmp_path: Path) -> None:
    report = examine(folder(tmp_path, {}))
    assert shown(report.findings) == []
    assert {r.place for r in report.results} == {1}
    assert report.from_memory == report.causes == 3


@pytest.mark.parametrize("code", FAULTS)
def test_each_fault_is_found_and_nothing_else(code: str, tmp_path: Path) -> None:
    changes, file, line = FAULTS[code]
    found = examine(folder(tmp_path, changes)).findings
    assert {f.code for f in found} == {code}, shown(found)
    assert (file, line or found[0].line) in {(f.file, f.line) for f in found}, shown(found)


@pytest.mark.parametrize("code", FAULTS)
def test_some_files_get_the_findings_that_they_get_in_a_whole_check(
    code: str, tmp_path: Path
) -> None:
    whole = examine(folder(tmp_path, FAULTS[code][0])).findings
    files = {path.relative_to(tmp_path).as_posix() for path in load.files(tmp_path)}
    for some in ({finding.file for finding in whole}, {CATERPILLAR}, {SYMPTOMS}, files):
        found = examine(tmp_path, some).findings
        assert found == [finding for finding in whole if finding.file in some]


def test_of_some_files_only_their_cases_are_worked(tmp_path: Path) -> None:
    assert {r.cause for r in examine(folder(tmp_path, {}), {FLEA}).results} == {"flea-beetle"}
    assert examine(tmp_path, {SYMPTOMS}).results == []


def test_outcomes_are_worked_out_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    place = folder(tmp_path / "kb", {})
    first = examine(place)
    monkeypatch.setattr(check, "working", None)
    assert examine(place) == first
    write(place, {FLEA: CLEAN[FLEA].replace("nibbles", "bites")})
    with pytest.raises(TypeError):  # that is, they are worked again
        examine(place)


def test_a_letter_names_its_cause_and_crop(tmp_path: Path) -> None:
    letter = "q-1: {cause: slugg, crop: kail, text: a, answer: [a], source: a}\n"
    found = examine(folder(tmp_path, {"letters.yaml": letter})).findings
    assert [(f.file, f.line, f.code) for f in found] == [("letters.yaml", 1, "unknown-id")] * 2


def test_what_records_show_must_be_known(tmp_path: Path) -> None:
    rounds = """\
bed:
  same-family: holez
  covers: [wait, kover]
weather:
  - {shows: long-days, within: 7}
  - {shows: monsoon, within: 7}
"""
    found = examine(folder(tmp_path, {"rounds.yaml": rounds})).findings
    assert [(f.file, f.line, f.code) for f in found] == [
        ("rounds.yaml", 2, "unknown-id"), ("rounds.yaml", 3, "unknown-id"),
        ("rounds.yaml", 6, "unknown-id"),
    ]  # fmt: skip


def test_rules_may_speak_of_a_beds_record(tmp_path: Path) -> None:
    rule = """\
- rule: it-was-here
  when: {found-last-year: caterpillar, family-last-year: cabbage-family, last-time: same}
  then: {likelier: caterpillar}
  because: it was here
  source: from-memory
"""
    assert examine(folder(tmp_path, {RULES: rule})).findings == []
    wrong = rule.replace("found-last-year: caterpillar", "found-last-year: katerpillar")
    assert [f.code for f in examine(folder(tmp_path / "b", {RULES: wrong})).findings][:1] == [
        "unknown-id"
    ]


def test_every_code_has_a_test_a_page_and_a_meaning() -> None:
    assert set(FAULTS) | LAYERED == set(CODES)
    assert {path.stem for path in PAGES.glob("*.md")} - {"README"} == set(CODES)
    listed = (PAGES / "README.md").read_text(encoding="utf-8")
    for code, (severity, meaning) in CODES.items():
        page = (PAGES / f"{code}.md").read_text(encoding="utf-8")
        assert page.startswith(f"# {code}\n\n{severity.capitalize()}: {meaning}.\n"), code
        assert all(f"## {part}" in page for part in ("Why", "Bad", "Good")), code
        assert f"| [{code}]({code}.md) | {severity} | {meaning} |" in listed, code
    assert set(SEVERITIES) == {severity for severity, _ in CODES.values()}


def test_only_errors_keep_the_knowledge_from_being_used(tmp_path: Path) -> None:
    changes = {RULES: rule("mood: grim", "skip: droppings"), FLEA: CLEAN[FLEA] + "nam: x\n"}
    gathered = load.read(folder(tmp_path, {RULES: changes[RULES]}))
    assert gathered.findings == errors(gathered.readable) == []
    assert [f.code for f in warnings(gathered.readable)] == ["dead-rule"]


def test_a_broken_file_leaves_the_others_checked_without_a_flood(tmp_path: Path) -> None:
    found = examine(
        folder(tmp_path, {
            FLEA: "name: [\n",
            CATERPILLAR: swap(("sources:", "looks-like: {flea-beetle: tiny}\nsources:")),
            RULES: rule("crop: kale", "rule-out: flea-beetle"),
            KALE: swap(("sources: [from-memory]\n", "")),
        })
    ).findings  # fmt: skip
    assert {(f.file, f.code) for f in found} == {(FLEA, "not-yaml"), (KALE, "no-source")}


def test_a_slip_in_one_cause_leaves_the_cases_of_others_worked(tmp_path: Path) -> None:
    changes: dict[str, Change] = {
        CATERPILLAR: swap(("  droppings: often", "  dropings: often")),
        SLUG: EXTRA + "  - {text: tiny holes, crop: kale}\n",
    }
    found = examine(folder(tmp_path, changes)).findings
    assert [(f.file, f.code) for f in found] == [
        (CATERPILLAR, "unknown-id"), (SLUG, "case-not-first")
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ["crops", "symptoms", "causes", "rules", "remedies", "sources"])
@pytest.mark.parametrize("content", [None, "a: [\n"])
def test_a_whole_kind_gone_or_broken_is_no_crash(
    kind: str, content: str | None, tmp_path: Path
) -> None:
    changes: dict[str, Change] = {name: content for name in CLEAN if name.startswith(kind)}
    found = examine(folder(tmp_path, changes)).findings
    assert found
    if content is None and kind in ("crops", "symptoms", "causes"):
        assert (kind, 1, "missing-file") in {f[:3] for f in found}
    if content is not None:
        assert {f.code for f in found} == {"not-yaml"}


@pytest.mark.parametrize("name", ["words.yaml", "likelihood.yaml", "seasons.yaml", SYMPTOMS])
def test_a_broken_table_gives_one_finding(name: str, tmp_path: Path) -> None:
    found = examine(folder(tmp_path, {name: "a: [\n"})).findings
    assert [(f.file, f.code) for f in found] == [(name, "not-yaml")]


def test_all_that_is_wrong_in_a_table_is_named_with_the_allowed_words(tmp_path: Path) -> None:
    change = swap(
        ("{tiny: often, ragged: sometimes}", "{tiny: oftn, ragged: mostly}"),
        ("droppings: never", "droppings: rarely"),
    )
    found = load.read(folder(tmp_path, {FLEA: change})).findings
    assert [(f.line, f.message.split(":")[0]) for f in found] == [
        (5, "evidence.holes.tiny"), (5, "evidence.holes.ragged"), (6, "evidence.droppings")
    ]  # fmt: skip
    words = "always, usually, often, sometimes, seldom, hardly ever, never"
    assert all(f"allowed: {words}" in f.message for f in found)


def test_a_file_that_goes_away_while_the_folder_is_read(tmp_path: Path) -> None:
    class Late(Reader):
        def document(self, path: Path) -> Document | None:
            (self.root / "crops/potato.yaml").unlink(missing_ok=True)
            return super().document(path)

    gathered = load.read(folder(tmp_path, {}), Late(tmp_path))
    assert [(f.file, f.code) for f in gathered.findings] == [
        ("crops/potato.yaml", "file-unreadable")
    ]
    assert errors(gathered.readable, gathered.broken) == []


def test_odd_file_names_are_findings_on_one_line(tmp_path: Path) -> None:
    folder(tmp_path, {})
    for name in ("Ärger.yaml", "a b.yaml", "a=b.yaml", "a\nb.yaml", ".hidden.yaml", "-x.yaml"):
        (tmp_path / "crops" / name).write_text(CLEAN[KALE], encoding="utf-8")
    bad = bytes(tmp_path / "crops") + b"/caf\xe9.yaml"
    Path(bad.decode("utf-8", "surrogateescape")).write_text(CLEAN[KALE], encoding="utf-8")
    found = examine(tmp_path).findings
    assert [f.code for f in found] == ["bad-id"] * 6
    assert all(str(f).isprintable() for f in found)


def test_a_word_that_is_no_yaml_suffix_is_told(tmp_path: Path) -> None:
    found = examine(folder(tmp_path, {"crops/beet.yml": CLEAN[KALE]})).findings
    assert [(f.file, f.code) for f in found] == [("crops/beet.yml", "unknown-file")]


def test_twins_name_the_question_that_comes_nearest(tmp_path: Path) -> None:
    change = swap(("droppings: never", "droppings: seldom"))
    changes: dict[str, Change] = {SLUG: TWIN, FLEA: change(CLEAN[FLEA])}
    [finding] = [f for f in examine(folder(tmp_path, changes)).findings if f.code == "twins"]
    assert "slug" in finding.message
    assert "droppings comes nearest (Are there green crumbs on the leaves?)" in finding.message


DEAD = {
    "no crop has both": ("crop: kale, part: tuber", "no crop has all of this"),
    "the symptom is on no such crop": ("crop: kale, green-tuber: present", "no crop has all"),
    "no day has both": ("season: spring, stage: harvest", "on no day"),
    "only a dead rule gives it": ("grimness: high", "nothing gives grimness"),
}


@pytest.mark.parametrize("case", DEAD)
def test_rules_that_can_never_fire(case: str, tmp_path: Path) -> None:
    when, message = DEAD[case]
    text = rule(when, "skip: droppings")
    if "grimness" in when:
        text += rule("mood: grim", "grimness: high").replace("rule: more", "rule: grim")
    changes: dict[str, Change] = {
        RULES: text, KALE: swap(("last frost + 4 weeks", "longest day")),
    }  # fmt: skip
    found = [f for f in examine(folder(tmp_path, changes)).findings if f.line == 2]
    assert [f.code for f in found] == ["dead-rule"]
    assert message in found[0].message


def test_a_cause_that_is_always_ruled_out_cannot_be_reached(tmp_path: Path) -> None:
    changes: dict[str, Change] = {
        RULES: rule("crop: [kale, potato]", "rule-out: slug"), SLUG: EXTRA,
    }  # fmt: skip
    found = examine(folder(tmp_path, changes)).findings
    assert "always ruled out in its season, by more" in found[-1].message or any(
        "always ruled out" in f.message for f in found
    )


def test_a_loop_is_told_with_its_way(tmp_path: Path) -> None:
    [finding] = examine(folder(tmp_path, {RULES: LOOP})).findings
    assert "foul-if-grim -> grim-if-foul -> foul-if-grim" in finding.message


def test_where_a_background_holds_must_be_known(tiny: Path) -> None:
    path = tiny / "symptoms/all.yaml"
    where = "background-where: [{season: monsoon, crop: [kale, quinoa], is: often}]"
    path.write_text(path.read_text().replace("droppings:\n", f"droppings:\n  {where}\n", 1))
    found = sorted(f.message for f in examine(tiny).findings if f.code == "unknown-id")
    assert ["quinoa" in message for message in found] == [True, False]
    assert ["monsoon" in message for message in found] == [False, True]


def test_nothing_looks_like_itself(tmp_path: Path) -> None:
    change = extra(("sources:", "looks-like: {slug: it is one}\nsources:"))
    [found] = examine(folder(tmp_path, {SLUG: change})).findings
    assert (found.line, found.code) == (11, "look-alike-not-told")


ODD_LINES = {
    "a colon that is missing": ("hosts:\n  kale common\n  beet: rare\n", 2, "a colon"),
    "a bracket that is not closed": ("hosts: {kale: common\nname: Slug\n", 1, "not closed"),
    "a colon in a text": ("name: Slug: gray\n", 1, "goes in quotes"),
    "a no-break space": ("hosts:\n\u00a0 - a: b: c\n", 2, "a no-break space"),
    "a curly quote": ("name: \u201cSlug\u201d: it\n", 1, "a curly quote"),
}


@pytest.mark.parametrize("case", ODD_LINES)
def test_what_is_no_yaml_is_told_where_it_is_and_in_words(case: str, tmp_path: Path) -> None:
    text, line, words = ODD_LINES[case]
    [found] = load.read(folder(tmp_path, {SLUG: text})).findings
    assert (found.code, found.line) == ("not-yaml", line), found
    assert words in found.message


WORDS = {
    "text for a list": ("remedies: [pick]", "remedies: pick", "expected a list, got text"),
    "text for a number": ("remedies:", "look-again: {days: seven, for: it}\nremedies:",
                          "expected a whole number"),
    "a day": ("{text: my kale has ragged holes}", "{text: a, date: June 5}", "as in '2026-06-15'"),
    "a curly quote": ("droppings: never", "droppings: never\u201d", "a curly quote is in it"),
}  # fmt: skip


@pytest.mark.parametrize("case", WORDS)
def test_a_wrong_value_is_told_in_a_gardeners_words(case: str, tmp_path: Path) -> None:
    old, new, words = WORDS[case]
    [found] = load.read(folder(tmp_path, {SLUG: extra((old, new))})).findings
    assert found.code == "wrong-value"
    assert words in found.message


def test_ends_of_line_and_marks_of_other_systems_are_told_but_read(tmp_path: Path) -> None:
    text = ("\ufeff" + EXTRA).replace("\n", "\r\n").encode()
    found = examine(folder(tmp_path, {SLUG: text})).findings
    assert {f.code for f in found} == {"odd-character"}
    assert sorted(f.message.split(";")[0] for f in found) == [
        "a byte order mark stands here", "line ends of Windows (CR LF) stands here"
    ]  # fmt: skip
