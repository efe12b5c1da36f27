"""Two states of the knowledge: which entries differ and how, and which cases moved. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Literal, NamedTuple

import msgspec

from diagnose.bench.confusion import place_words, short
from diagnose.checking.worked import Result
from diagnose.kb.load import KINDS, SINGLES
from diagnose.kb.model import TOLD, Case, Knowledge
from diagnose.reasoning.ranking import SOMETHING_ELSE


class Field(NamedTuple):
    """One thing in an entry that differs, by its path, as 'evidence.holes.ragged'.

    None stands for not there.
    """

    path: str
    old: Any
    new: Any

    def __str__(self) -> str:
        """As one line."""
        return f"{self.path}: {_changed(self.old, self.new)}"


class Difference(NamedTuple):
    """An entry that was added, is gone, or changed in these fields."""

    kind: str
    id: str
    what: Literal["added", "gone", "changed"]
    fields: tuple[Field, ...] = ()

    @property
    def moves_cases(self) -> bool:
        """Whether a case can come out otherwise because of it."""
        told = TOLD.get(KINDS[self.kind], frozenset())
        return not self.fields or any(f.path.split(".")[0] not in told for f in self.fields)


def differences(old: Knowledge, new: Knowledge) -> list[Difference]:
    """Every entry that differs, kind by kind, ids in order."""
    found = []
    for kind in KINDS:
        before, after = getattr(old, kind), getattr(new, kind)
        if kind in SINGLES:
            before, after = {kind: before}, {kind: after}
        for entry in sorted({*before, *after}):
            if entry not in before:
                found.append(Difference(kind, entry, "added"))
            elif entry not in after:
                found.append(Difference(kind, entry, "gone"))
            elif before[entry] != after[entry]:
                found.append(_difference(kind, entry, before[entry], after[entry]))
    return found


def _difference(kind: str, entry: str, old: Any, new: Any) -> Difference:
    fields = _fields((), msgspec.to_builtins(old), msgspec.to_builtins(new))
    return Difference(kind, entry, "changed", tuple(fields))


def _fields(path: tuple[str, ...], old: Any, new: Any) -> Iterator[Field]:
    if isinstance(old, dict) and isinstance(new, dict):
        for key in dict.fromkeys((*old, *new)):
            if old.get(key) != new.get(key):
                yield from _fields((*path, str(key)), old.get(key), new.get(key))
    else:
        yield Field(".".join(path), old, new)


def _changed(old: Any, new: Any) -> str:
    """What happened to one field, in words."""
    if isinstance(old, list) and isinstance(new, list):
        more = [f"+ {_said(v)}" for v in new if v not in old]
        less = [f"- {_said(v)}" for v in old if v not in new]
        return "; ".join(more + less) or "in another order"
    if old is None or new is None:
        return f"+ {_said(new)}" if old is None else f"- {_said(old)}"
    return f"{_said(old)} -> {_said(new)}"


def _said(value: Any) -> str:
    if isinstance(value, dict):
        if value.get("text"):  # a case
            return f'"{short(value["text"])}"'
        return "{" + ", ".join(f"{k}: {_said(v)}" for k, v in value.items() if v) + "}"
    if isinstance(value, str):
        return value if len(value) <= 60 and " " not in value else f'"{short(value)}"'
    return str(value)


Key = tuple[Any, ...]


def key(cause: str, case: Case) -> Key:
    """What makes a case the same case, wherever it stands in its file."""
    seen = tuple(sorted(case.observations.items()))
    return cause, case.text, case.crop, case.date, seen


def keyed(knowledge: Knowledge, results: Iterable[Result]) -> dict[Key, Result]:
    """Results under their cases; of two equal cases, the first."""
    found: dict[Key, Result] = {}
    for result in results:
        case = knowledge.causes[result.cause].cases[result.index]
        found.setdefault(key(result.cause, case), result)
    return found


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
