"""Two states of the knowledge: which entries differ, how, and which causes that touches. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Literal, NamedTuple

import msgspec

from diagnose.checking.worked import Result
from diagnose.kb.load import KINDS, SINGLES
from diagnose.kb.model import TOLD, Case, Knowledge
from diagnose.reasoning import facts


def short(words: str, longest: int = 60) -> str:
    """The beginning of a text, cut at a word."""
    words = " ".join(words.split())
    if len(words) <= longest:
        return words
    return words[: longest - 3].rsplit(" ", 1)[0] + "..."


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


CAN_HURT: dict[str, tuple[str, ...]] = {
    "causes": ("eat", "harvest", "cautions", "referral", "matters", "remedies", "next-season"),
    "crops": ("eaten", "limits", "normal"),
    "rules": ("when", "then"),
    "remedies": (), "cautions": (), "referrals": (), "alerts": (), "dangers": (), "concerns": (),
    "safety": (),
}  # fmt: skip
"""The fields by kind in which a slip can hurt someone; of a kind without fields it is all of it."""
SAYS = frozenset({
    facts.ALERT, facts.CAUTION, facts.REFER, facts.DECIDE, facts.AVOID, facts.PREFER,
})  # fmt: skip
"""What a rule concludes in which a slip can hurt someone."""


def can_hurt(kind: str, entry: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of an entry, in plain values, in which a slip can hurt someone; empty for none."""
    telling = CAN_HURT.get(kind)
    if telling is None or (kind == "rules" and SAYS.isdisjoint(entry["then"])):
        return {}
    return {key: value for key, value in entry.items() if key in telling or not telling}


What = Literal["added", "gone", "changed"]


class Difference(NamedTuple):
    """An entry that was added, is gone, or changed in these fields.

    `can_hurt` says whether it touches safety, help, measures or what may be eaten.
    """

    kind: str
    id: str
    what: What
    fields: tuple[Field, ...] = ()
    can_hurt: bool = False

    @property
    def moves_cases(self) -> bool:
        """Whether a case can come out otherwise because of it."""
        told = TOLD.get(KINDS[self.kind], frozenset())
        return not self.fields or any(f.path.split(".")[0] not in told for f in self.fields)


def entries(knowledge: Knowledge, kind: str) -> dict[str, Any]:
    """The entries of a kind by their ids; what is one alone has the id of its kind."""
    found: Any = getattr(knowledge, kind)
    return {kind: found} if kind in SINGLES else found


def differences(old: Knowledge, new: Knowledge) -> list[Difference]:
    """Every entry that differs, kind by kind, ids in order."""
    found = []
    for kind in KINDS:
        before, after = entries(old, kind), entries(new, kind)
        found += [
            _difference(kind, entry, before, after)
            for entry in sorted({*before, *after})
            if not (entry in before and entry in after and before[entry] == after[entry])
        ]
    return found


def _difference(
    kind: str, entry: str, before: Mapping[str, Any], after: Mapping[str, Any]
) -> Difference:
    """How an entry differs between two states of its kind."""
    old, new = (msgspec.to_builtins(side.get(entry)) for side in (before, after))
    hurts = [can_hurt(kind, one) if one else {} for one in (old, new)]
    what: What = "added" if entry not in before else "gone" if entry not in after else "changed"
    fields = tuple(_fields((), old, new)) if what == "changed" else ()
    return Difference(kind, entry, what, fields, hurts[0] != hurts[1])


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
    if isinstance(old, str) and isinstance(new, str):
        old, new = differing(old, new)
    return f"{_said(old)} -> {_said(new)}"


def differing(old: str, new: str, context: int = 4) -> tuple[str, str]:
    """The parts in which two texts differ, whole, with a few words before and after."""
    one, other = old.split(" "), new.split(" ")
    least = min(len(one), len(other))
    start = next((n for n in range(least) if one[n] != other[n]), least)
    end = next((n for n in range(least - start) if one[-1 - n] != other[-1 - n]), least - start)

    def part(words: list[str]) -> str:
        first, last = max(start - context, 0), min(len(words) - end + context, len(words))
        shown = " ".join(words[first:last])
        return f"{'... ' if first else ''}{shown}{' ...' if last < len(words) else ''}"

    return part(one), part(other)


def _said(value: Any) -> str:
    if isinstance(value, dict):
        if value.get("text"):  # a case
            return f'"{short(value["text"])}"'
        return "{" + ", ".join(f"{k}: {_said(v)}" for k, v in value.items() if v) + "}"
    if isinstance(value, str):
        return f'"{value}"' if " " in value else value
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


def numbered(knowledge: Knowledge) -> dict[Key, tuple[str, int]]:
    """Every case with its cause and its number in the file."""
    return {
        key(cause_id, case): (cause_id, index)
        for cause_id, cause in knowledge.causes.items()
        for index, case in reversed(list(enumerate(cause.cases)))
    }


def touched_causes(
    found: Iterable[Difference], knowledge: Knowledge
) -> tuple[frozenset[str], frozenset[str]]:
    """The causes that a change touches, and those easily taken for one that changed itself."""
    touched: set[str] = set()
    changed: set[str] = set()
    for one in found:
        if one.kind == "causes":
            changed.add(one.id)
        elif one.kind == "symptoms":
            touched |= {c for c, cause in knowledge.causes.items() if one.id in cause.evidence}
        elif one.kind == "rules" and one.id in knowledge.rules:
            named = knowledge.rules[one.id].then.values()
            touched |= {v for vs in named for v in ([vs] if isinstance(vs, str) else vs)}
    near: set[str] = set()
    for cause_id, cause in knowledge.causes.items():
        for other in cause.looks_like:
            if cause_id in changed or other in changed:
                near |= {cause_id, other}
    return frozenset(touched | changed), frozenset(near)


EVERYWHERE = frozenset({
    "crops", "words", "likelihood", "seasons", "concerns", "letters", "kin", "remedies",
})  # fmt: skip
"""The kinds of which a change can move any case; of other kinds it is those that lie near to it."""


def far_from(
    found: Iterable[Difference], new: Knowledge, outcomes: Mapping[Key, Result]
) -> dict[Key, Result]:
    """The outcomes of before that a change hardly moves: of cases that do not lie near to it.

    Near are the cases of a cause that it touches, of its look-alikes, and those that took a touched
    cause for theirs.
    """
    telling = [one for one in found if one.moves_cases]
    if any(one.kind in EVERYWHERE for one in telling):
        return {}
    touched, near = touched_causes(telling, new)
    near |= touched
    there = numbered(new)
    return {
        one: replace(result, cause=there[one][0], index=there[one][1])
        for one, result in outcomes.items()
        if one in there and one[0] not in near and result.first not in near
    }
