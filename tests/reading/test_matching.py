"""Which phrases a sentence is found to hold."""

from __future__ import annotations

import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from diagnose.consultation import Reasoner
from diagnose.reading import Lexicon, read, stem
from diagnose.ready import open_knowledge
from tests.conftest import write

pytestmark = pytest.mark.quick

MORE = """\
frost:
  name: frost
  kind: condition
  part: whole
  ask: Was there frost?
  background: seldom
  says: [frosty lawn, black-edged shoots]
wormy:
  name: wormy
  kind: sign
  part: leaf
  ask: Are there worms?
  background: seldom
  says: [wriggling worms]
slimy:
  name: slimy
  kind: sign
  part: leaf
  ask: Is there slime?
  background: seldom
  says: [slime]
damp:
  name: damp
  kind: condition
  part: soil
  ask: How is the soil?
  background: sometimes
  values:
    dry: {name: dry, says: [dry soil], denies: [soil sodden]}
    wet: {name: wet, says: [wet soil]}
blots:
  name: blots
  part: leaf
  ask: Are there blots?
  background: seldom
  many: true
  values:
    inky: {name: inky, says: [inky blots]}
    rimmed: {name: rimmed, says: [rimmed blots]}
rootless:
  name: rootless
  part: whole
  ask: Is there no root?
  background: seldom
  says: [leaf no root]
"""


@pytest.fixture
def lexicon(tiny: Path) -> Lexicon:
    write(tiny, {"symptoms/more.yaml": MORE})
    return Lexicon(open_knowledge(tiny))


@pytest.fixture
def shipped_lexicon(reasoner: Reasoner) -> Lexicon:
    return reasoner.lexicon


def found(lexicon: Lexicon, text: str) -> dict[str, str]:
    return {seen.symptom: seen.value for seen in read(lexicon, text, "kale").observations}


def test_the_two_words_of_a_phrase_on_a_condition_stand_close(lexicon: Lexicon) -> None:
    assert found(lexicon, "the lawn was all frosty") == {"frost": "present"}
    assert found(lexicon, "the lawn by the old shed was white and frosty") == {}


def test_the_words_of_another_phrase_may_stand_further_apart(lexicon: Lexicon) -> None:
    far = "worms by the old shed were white and wriggling"
    assert found(lexicon, far) == {"wormy": "present"}


def test_a_hyphen_in_a_phrase_parts_two_words_and_both_must_be_there(lexicon: Lexicon) -> None:
    assert found(lexicon, "shoots are black edged") == {"frost": "present"}
    assert found(lexicon, "the shoots are black") == {}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("there are no beetles, bugs, ants, earwigs or slime", "absent"),
        ("there are no beetles, slime", "present"),
        ("no beetles, and then it rained for a week, slime or dirt", "present"),
    ],
)
def test_a_list_is_turned_round_to_its_end(lexicon: Lexicon, text: str, value: str) -> None:
    assert found(lexicon, text)["slimy"] == value


def test_the_negator_of_a_phrase_stands_before_what_the_phrase_denies(lexicon: Lexicon) -> None:
    assert found(lexicon, "a leaf and no root") == {"rootless": "present"}
    assert "rootless" not in found(lexicon, "no pests on leaf and root")


def test_words_that_share_a_stem_are_not_one_another(shipped_lexicon: Lexicon) -> None:
    squiggle, snake = (shipped_lexicon.keys(word) for word in ("squiggle", "snake"))
    assert squiggle.isdisjoint(snake)
    assert shipped_lexicon.keys("chillies").isdisjoint(shipped_lexicon.keys("chilly"))
    assert shipped_lexicon.keys("bare").isdisjoint(shipped_lexicon.keys("barely"))


def test_a_short_question_is_a_guess(lexicon: Lexicon) -> None:
    told = "The leaves are ragged."
    assert found(lexicon, f"{told} Slime?") == found(lexicon, told)
    assert "slimy" in found(lexicon, "Why slime?")
    assert "slimy" in found(lexicon, "Why is there slime all over the lower leaves?")


def test_threads_do_not_spoil_one_anothers_stems() -> None:
    ends = ("s", "ing", "ed", "ings", "ingly", "edly", "ation", "fulness")
    words = [word + end for word in ("crumbl", "yellow", "nibbl", "spott", "wilt") for end in ends]
    afresh = stem.__wrapped__
    alone = [afresh(word) for word in words]
    interval = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        with ThreadPoolExecutor(4) as pool:
            found = list(pool.map(lambda _: [afresh(word) for word in words], range(20)))
    finally:
        sys.setswitchinterval(interval)
    assert found == [alone] * 20


def test_turning_one_form_of_a_choice_round_leaves_the_others(lexicon: Lexicon) -> None:
    assert found(lexicon, "the soil is not dry") == {"damp": "not-dry"}
    assert found(lexicon, "the soil is sodden") == {"damp": "not-dry"}
    assert found(lexicon, "there are no inky blots") == {"blots": "absent"}


def test_forms_that_can_hold_together_are_read_together(lexicon: Lexicon) -> None:
    assert found(lexicon, "inky blots, and rimmed blots too") == {"blots": "inky+rimmed"}
    assert found(lexicon, "dry soil here, wet soil there")["damp"] in ("dry", "wet")


def test_the_phrases_can_be_reviewed(reasoner: Reasoner) -> None:
    written = {p.text for p in reasoner.lexicon.phrases if p.target[0] == "symptom"}
    assert len(written) <= 8_000
    names = {name for name, crop in reasoner.lexicon.classes.crops.items() if " " not in name}
    listed = [text for text in written if len(names & set(text.replace("/", " ").split())) > 2]
    assert listed == []
