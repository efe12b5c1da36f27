"""How sure the answer is: what may be said, and whether there are grounds for a plan.

A plan needs an answer that is at least likely, and something seen that speaks for it: wording alone
is no ground. Only what was asked or seen makes an answer clear, never a text by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.kb.model import Kin, VerdictNumbers
from diagnose.reasoning.ranking import SOMETHING_ELSE

Verdict = Literal["clear", "likely", "open", "nothing understood"]


@dataclass(frozen=True, slots=True)
class Answer:
    """One cause, or several kin that are one answer; likeliest first, with their chance together.

    `kin` names the group; in a `joint` one the causes may all share in the trouble.
    """

    causes: tuple[str, ...]
    chance: float
    kin: str | None = None
    joint: bool = False

    @property
    def first(self) -> str:
        """The likeliest of its causes."""
        return self.causes[0]


@dataclass(frozen=True, slots=True)
class Grounds:
    """What an answer rests on: was anything understood, asked or seen; does it speak for it; is a
    main complaint left unexplained."""

    understood: bool
    asked: bool
    speaks: bool
    unexplained: bool


def answers(
    standing: Sequence[tuple[str, float]],
    kin: Mapping[str, Kin],
    plans: Mapping[str, object],
    least: float,
) -> list[Answer]:
    """The answers, likeliest first: causes of `standing` with at least the chance `least`.

    Kin that call for the same (equal in `plans`) are one answer, as are kin that share in a
    trouble. Something else is an answer of its own.
    """
    left = [(cause, chance) for cause, chance in standing if chance >= least]
    found: list[Answer] = []
    while left:
        first, chance = left[0]
        name, group = next(((n, k) for n, k in kin.items() if first in k.members), ("", None))
        alike = [left[0]]
        if group is not None and first != SOMETHING_ELSE:
            alike += [
                (cause, p)
                for cause, p in left[1:]
                if cause in group.members
                and (group.joint or (first in plans and plans[first] == plans.get(cause)))
            ]
        causes = tuple(cause for cause, _ in alike)
        together = len(causes) > 1
        found.append(
            Answer(
                causes,
                sum(p for _, p in alike) if together else chance,
                name if together else None,
                together and group is not None and group.joint,
            )
        )
        left = [pair for pair in left if pair not in alike]
    return sorted(found, key=lambda a: -a.chance)


def judge(first: Answer | None, grounds: Grounds, numbers: VerdictNumbers) -> Verdict:
    """How sure the first answer is."""
    if not grounds.understood:
        return "nothing understood"
    if first is None or first.first == SOMETHING_ELSE or first.joint or not grounds.speaks:
        return "open"
    if first.chance >= numbers.clear and grounds.asked and not grounds.unexplained:
        return "clear"
    return "likely" if first.chance >= numbers.likely else "open"


def in_words(chance: float, scale: Mapping[str, float]) -> str:
    """A chance in words: of a scale from surest down, the first whose least it reaches."""
    return next((word for word, least in scale.items() if chance >= least), [*scale][-1])
