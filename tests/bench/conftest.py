"""The tiny knowledge with a few cases beside its causes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from diagnose.kb import load
from diagnose.kb.model import Knowledge
from tests.conftest import write

CATERPILLAR, FLEA_BEETLE = "causes/insect/caterpillar.yaml", "causes/insect/flea-beetle.yaml"
CASED = {
    CATERPILLAR: """\
name: Caterpillar
summary: It eats leaves.
hosts: {cabbage-family: common}
season: {from: last frost, to: first frost}
evidence:
  holes: {ragged: usually, tiny: seldom}
  droppings: often
  long-days: sometimes
matters: {decision: watch, text: It matters on small plants.}
harvest: Wash the leaves and eat them.
remedies: [pick]
cases:
  - {text: "ragged holes and green droppings", crop: kale, date: 2026-06-15}
  - {text: "ragged holes", crop: kale, date: 2026-06-15}
""",
    FLEA_BEETLE: """\
name: Flea beetle
summary: It nibbles leaves.
hosts: {cabbage-family: common, potato: occasional}
evidence:
  holes: {tiny: usually}
  droppings: never
  long-days: sometimes
matters: {decision: leave, text: Plants outgrow it.}
harvest: Eat the leaves.
remedies: [wait]
cases:
  - {text: "tiny holes", crop: kale, date: 2026-06-15}
  - {text: "", crop: kale, date: 2026-06-15, observations: {holes: tiny, droppings: absent}}
  - {text: "ragged holes", crop: kale, date: 2026-06-16}
""",
}


@pytest.fixture
def cased(tiny: Path) -> Path:
    """A small knowledge folder with five cases, one of which goes astray.

    Wording counts for nothing in it, so that only the evidence moves a case.
    """
    write(tiny, CASED)
    weigh_wording(tiny, 0)
    return tiny


def weigh_wording(root: Path, weight: float) -> None:
    """Set how much the wording of a sentence counts."""
    path = root / "likelihood.yaml"
    text, count = re.subn(
        r"(wording: \{.*weight: )[\d.]+", rf"\g<1>{weight}", path.read_text(encoding="utf-8")
    )
    assert count == 1
    path.write_text(text, encoding="utf-8")


def read(root: Path) -> Knowledge:
    """The knowledge in a folder that must be whole."""
    gathered = load.read(root)
    assert gathered.findings == []
    assert gathered.knowledge is not None
    return gathered.knowledge


def swap(root: Path, name: str, old: str, new: str) -> None:
    """Change a file, which must hold the old text."""
    path = root / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
