"""Which cases came out otherwise in two states of the knowledge. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from diagnose.bench.confusion import place_words
from diagnose.checking.changes import Key, short
from diagnose.checking.worked import Result
from diagnose.kb.model import Case, Knowledge
from diagnose.reasoning.ranking import SOMETHING_ELSE


class Move(NamedTuple):
    """A case that came out otherwise."""

    case: Case
    before: Result
    after: Result

    @property
    def fell(self) -> bool:
        """Whether its own cause stands worse than before."""
        return _standing(self.after) > _standing(self.before)

    def __str__(self) -> str:
        """As one line: which case, from which place to which, questions before and after."""
        words = f'"{short(self.case.text)}"' if self.case.text else "(observations only)"
        parts = [part for part in (_place(self.before, self.after), _asked(self)) if part]
        if self.after.problem != self.before.problem:
            parts.append(self.after.problem or "can be worked again")
        return f"{self.after.cause} {self.after.index + 1} {words}: {'; '.join(parts)}"


def _standing(result: Result) -> tuple[float, float]:
    """Places for comparing: not at all is the worst."""
    place, asked = result.place, result.place_asked
    return place or float("inf"), 0 if asked is None else asked or float("inf")


def _place(before: Result, after: Result) -> str:
    if before.place == after.place:
        return ""
    words = f"{place_words(before.place)} -> {place_words(after.place)}"
    if after.place != 1 and after.first != SOMETHING_ELSE:
        words += f", behind {after.first}"
    return words


def _asked(move: Move) -> str:
    before, after = move.before, move.after
    parts = []
    if before.questions != after.questions:
        parts.append(f"questions {_number(before.questions)} -> {_number(after.questions)}")
    if before.place_asked != after.place_asked:
        old, new = (
            "none" if place is None else place_words(place)
            for place in (before.place_asked, after.place_asked)
        )
        parts.append(f"after them {old} -> {new}")
    return ", ".join(parts)


def _number(count: int | None) -> str:
    return "none" if count is None else str(count)


def moves(before: Mapping[Key, Result], after: Mapping[Key, Result], new: Knowledge) -> list[Move]:
    """The cases in both whose place or number of questions differs; the fallen first.

    `new` is the knowledge of `after`.
    """
    found = []
    for same, now in after.items():
        was = before.get(same)
        if was is not None and _outcome(was) != _outcome(now):
            found.append(Move(new.causes[now.cause].cases[now.index], was, now))
    return sorted(found, key=lambda m: (not m.fell, m.after.cause, m.after.index))


def _outcome(result: Result) -> tuple[object, ...]:
    return result.place, result.questions, result.place_asked, result.problem
