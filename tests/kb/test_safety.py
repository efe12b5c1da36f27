"""Faults that could hurt someone, put into the shipped knowledge: check finds each, as an error."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from diagnose.checking.check import errors
from diagnose.kb.model import Cause, Knowledge


def cause(name: str, **changes: object) -> Callable[[Knowledge], Knowledge]:
    """The knowledge with some keys of a cause changed."""

    def changed(knowledge: Knowledge) -> Knowledge:
        found = replace(knowledge.causes[name], **changes)
        return replace(knowledge, causes={**knowledge.causes, name: found})

    return changed


def matters(name: str, **changes: object) -> Callable[[Knowledge], Knowledge]:
    """The knowledge with the `matters` of a cause changed."""
    return lambda k: cause(name, matters=replace(k.causes[name].matters, **changes))(k)


def said(kind: str, name: str, text: str) -> Callable[[Knowledge], Knowledge]:
    """The knowledge with another text of a remedy, caution or referral."""

    def changed(knowledge: Knowledge) -> Knowledge:
        entries = getattr(knowledge, kind)
        return replace(knowledge, **{kind: {**entries, name: replace(entries[name], text=text)}})

    return changed


SOAP = "Mix a spoonful of dish soap into a quart of water and spray the leaves."
FAULTS: dict[str, tuple[Callable[[Knowledge], Knowledge], str]] = {
    "a product in a measure": (
        said("remedies", "remove-plant", "Treat with chlorothalonil."), "product-or-dose",
    ),
    "a recipe without a dose": (said("remedies", "water-jet", SOAP), "product-or-dose"),
    "a product in what matters": (
        matters("carrot-rust-fly", text="It comes back each year; neem oil helps."),
        "product-or-dose",
    ),
    "a home brew in how it spreads": (
        cause("slugs", spread="They creep in at night. Sprinkle salt around the bed."),
        "product-or-dose",
    ),
    "green tubers called food": (
        cause("greening-tubers", harvest="Peel them; cooked, they are good to eat."),
        "safety-broken",
    ),
    "the caution of green tubers gone": (cause("greening-tubers", cautions=[]), "safety-broken"),
    "berries of nightshade called food": (
        cause("nightshade-weed", harvest="Ripe black berries may be eaten."), "called-food",
    ),
    "nobody to ask about nightshade": (cause("nightshade-weed", referral=None), "safety-broken"),
    "leaves of tomato called food": (
        said("cautions", "toxic-leaves", "The leaves of potato and tomato are food when cooked."),
        "called-food",
    ),
    "late blight left alone": (matters("late-blight", decision="leave"), "safety-broken"),
    "drift plants binned": (
        cause("herbicide-drift", remedies=["eat-nothing-sprayed", "remove-plant"]),
        "safety-broken",
    ),
    "wait first in late blight": (
        cause("late-blight", remedies=["clean-tools", "bag-blight-today"]), "safety-broken",
    ),
    "all is safe": (cause("iron-shortage", harvest="All is safe to eat."), "called-food"),
    "a weed called edible": (
        cause("chickweed", harvest="It is edible, in salad."), "called-food",
    ),
    "a net without its caution": (
        said("remedies", "give-air", "Give the plants air, and net the bed."), "caution-missing",
    ),
    "a pail without a pail": (cause("slugs", cautions=["soap-water"]), "caution-astray"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_that_could_hurt_is_an_error(fault: str, knowledge: Knowledge) -> None:
    change, code = FAULTS[fault]
    assert code in {finding.code for finding in errors(change(knowledge))}


def test_what_forbids_or_washes_is_let_pass(knowledge: Knowledge) -> None:
    texts = ("Never pour salt on slugs.", "Wash hands with soap and water.", "Use soapy water.")
    for text in texts:
        found = errors(cause("slugs", spread=text)(knowledge))
        assert not found, text


def test_poison_is_referred(knowledge: Knowledge) -> None:
    """What carries help for poison and is to be acted on says whom to call."""

    def of_poison(found: Cause) -> bool:
        return "poison-help" in found.cautions and found.matters.decision == "act"

    for name, found in knowledge.causes.items():
        if of_poison(found) and not name.startswith(("rhubarb", "spotted-spurge")):
            assert found.referral == "poison-centre", name
