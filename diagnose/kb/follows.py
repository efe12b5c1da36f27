"""Rules that follow from the vocabulary: what a sign settles, goes with, and what a cause needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diagnose.kb.model import ABSENT, PRESENT, Cause, Rule, Symptom


def rules(
    symptoms: Mapping[str, Symptom], causes: Mapping[str, Cause]
) -> Iterator[tuple[tuple[str, str], Rule]]:
    """The rules, each with the kind and id of the entry from which it is made.

    Where a symptom is there, what it `settles` is skipped; where all that something is `only_with`
    is denied, it is skipped; where all that a cause `needs` is denied, it is ruled out.
    """
    for symptom_id, symptom in symptoms.items():
        if symptom.settles:
            yield (
                ("symptoms", symptom_id),
                Rule(
                    f"settled-by-{symptom_id}",
                    {symptom_id: PRESENT},
                    {"skip": [*symptom.settles]},
                    f"it would add nothing beside this: {symptom.name}",
                ),
            )
    alone = ((s, symptom.only_with) for s, symptom in symptoms.items())
    for wanted, dependent in _grouped(alone):
        yield (
            ("symptoms", dependent[0]),
            Rule(
                f"only-with-{'-or-'.join(wanted)}",
                dict.fromkeys(wanted, ABSENT),
                {"skip": dependent},
                f"it goes with this, which is not there: {_names(symptoms, wanted)}",
            ),
        )
    for wanted, needy in _grouped((c, cause.needs) for c, cause in causes.items()):
        yield (
            ("causes", needy[0]),
            Rule(
                f"needs-{'-or-'.join(wanted)}",
                dict.fromkeys(wanted, ABSENT),
                {"rule-out": needy},
                f"it takes this, which is not there: {_names(symptoms, wanted)}",
            ),
        )


def _grouped(found: Iterable[tuple[str, list[str]]]) -> list[tuple[tuple[str, ...], list[str]]]:
    """Ids by what they ask for, in the order in which each is first met."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for name, wanted in found:
        if wanted:
            groups.setdefault(tuple(wanted), []).append(name)
    return list(groups.items())


def _names(symptoms: Mapping[str, Symptom], wanted: Iterable[str]) -> str:
    """The names of symptoms; the id of one that nobody has described, which `check` reports."""
    return ", or ".join(symptoms[s].name if s in symptoms else s for s in wanted)
