"""A phrase tried on the described texts."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.bench.trial import caught, described, page
from diagnose.commands import main
from diagnose.consultation import Reasoner
from diagnose.errors import UsageError

READINGS = """\
- {id: one, use: learn, text: my lettuce leaves have holes, says: {holes-in-leaves: present}}
- {id: two, use: learn, text: "no holes in the leaves, they wilt", says: {wilting: present}}
- {id: three, use: learn, text: leaves and a hole, maybe: {holes-in-leaves: present}}
- {id: four, use: scored, text: holes in the leaves, says: {holes-in-leaves: present}}
"""


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    path = tmp_path / "readings.yaml"
    path.write_text(READINGS)
    return path


def test_it_is_right_or_wrong_by_what_the_texts_state(reasoner: Reasoner, readings: Path) -> None:
    texts = [t for t in described(reasoner.knowledge, readings) if t.all_told]
    assert [t.name for t in texts] == ["one", "two", "three"]
    found = caught(reasoner.lexicon, texts, "hole {leaf}", "holes-in-leaves")
    assert {c.text.name: c.right for c in found} == {"one": True, "two": False, "three": None}
    assert found[0].words == "leaves have holes"


def test_without_a_symptom_it_says_what_the_texts_state(reasoner: Reasoner) -> None:
    found = caught(reasoner.lexicon, described(reasoner.knowledge), "hole {leaf}")
    told = [block.text for block in page(reasoner.knowledge, "hole {leaf}", None, found)]
    assert any(line.startswith("holes-in-leaves: ") for line in told)


def test_a_phrase_of_small_words_is_refused(reasoner: Reasoner) -> None:
    with pytest.raises(UsageError, match="too little is left"):
        caught(reasoner.lexicon, [], "in the")


def test_the_command(capsys: pytest.CaptureFixture[str], readings: Path) -> None:
    words = ["--plain", "try-phrase", "hole {leaf}", "--symptom", "holes-in-leaves"]
    assert main([*words, "--readings", str(readings)]) == 0
    assert 'one: "leaves have holes"' in capsys.readouterr().out
    assert main([*words[:-1], "hole-in-leaves"]) == 2
    assert "did you mean" in capsys.readouterr().err
