"""What may stand once only: a name, a code, a described case, the sentence on a look-alike."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from itertools import combinations
from typing import TypeVar

from diagnose.checking.subject import Subject
from diagnose.kb.model import Cause, Crop
from diagnose.kb.names import plainly
from diagnose.kb.reader import Finding

Path = tuple[str, ...]
ORGANISMS = frozenset({
    "insect", "mite", "mollusc", "crustacean", "myriapod", "fungus", "oomycete", "protist",
    "bacterium", "phytoplasma", "virus", "nematode", "wildlife", "weed", "beneficial",
})  # fmt: skip
TELLING = 8  # words of a sentence that says something of one pair only
K = TypeVar("K", bound=Hashable)


def _together(found: Iterable[tuple[K, Path]]) -> dict[K, list[Path]]:
    """The paths under what stands there; only what stands more than once."""
    places: dict[K, list[Path]] = defaultdict(list)
    for what, path in found:
        places[what].append(path)
    return {what: paths for what, paths in places.items() if len(paths) > 1}


def names(subject: Subject) -> Iterator[Finding]:
    """name-twice: two entries of one name."""
    for kind in ("causes", "crops", "symptoms"):
        entries = getattr(subject.knowledge, kind)
        named = ((plainly(entry.name), (kind, i)) for i, entry in entries.items())
        for first, *others in _together(named).values():
            for path in others:
                yield subject.finding(
                    (*path, "name"), "name-twice",
                    f"{first[1]} has this name already; "
                    "people must be able to tell which is meant",
                )  # fmt: skip


def aliases(subject: Subject) -> Iterator[Finding]:
    """name-of-another: something living is also called what is the name of another on its crops.

    A kind may bear the name of its whole kin, and two that share a further name may be mixed up.
    """
    causes = subject.knowledge.causes
    living = {cause_id: cause for cause_id, cause in causes.items() if cause.kind in ORGANISMS}
    first = {plainly(cause.name): cause_id for cause_id, cause in living.items()}
    for cause_id, cause in living.items():
        if not subject.asked("causes", cause_id):
            continue
        own = set(plainly(cause.name).split())
        for number, name in enumerate(cause.also):
            other = first.get(plainly(name), cause_id)
            if other == cause_id:
                continue
            shared = _names(cause) & _names(causes[other]) - {plainly(name)}
            met = not set(subject.hosts[cause_id]).isdisjoint(subject.hosts[other])
            if met and not shared and not own >= set(plainly(name).split()):
                yield subject.finding(
                    ("causes", cause_id, "also", str(number)), "name-of-another",
                    f"{name!r} is the name of {other}, which is found on the same crops; "
                    "take it out",
                )  # fmt: skip


def codes(subject: Subject) -> Iterator[Finding]:
    """code-twice: two entries with one code, though no name says that they are one organism."""
    for kind in ("causes", "crops"):
        entries = getattr(subject.knowledge, kind)
        coded = ((entry.code, (kind, i)) for i, entry in entries.items() if entry.code)
        for code, paths in _together(coded).items():
            for one, other in combinations(paths, 2):
                if _names(entries[one[1]]).isdisjoint(_names(entries[other[1]])):
                    yield subject.finding(
                        (*other, "code"), "code-twice",
                        f"{code} is the code of {one[1]}, with which it shares no name; "
                        "one of the two is wrong",
                    )  # fmt: skip


def _names(entry: Cause | Crop) -> set[str]:
    return {plainly(name) for name in (entry.name, *entry.also)}


def cases(subject: Subject) -> Iterator[Finding]:
    """case-twice: one described case that stands in two places."""
    told = (
        (plainly(case.text), ("causes", cause_id, "cases", str(number)))
        for cause_id, cause in subject.knowledge.causes.items()
        for number, case in enumerate(cause.cases)
        if case.text
    )
    for first, *others in _together(told).values():
        for path in others:
            yield subject.finding(
                path, "case-twice",
                f"the same text stands under {first[1]} already; describe it once, with one cause",
            )  # fmt: skip


def tellings(subject: Subject) -> Iterator[Finding]:
    """look-alike-twice: one sentence that tells a cause from two others, or two other pairs.

    The two files of a pair may say it in the same words, and so may all that look like one cause.
    """
    told = (
        (text.casefold(), ("causes", cause_id, "looks-like", other))
        for cause_id, cause in subject.knowledge.causes.items()
        for other, text in cause.looks_like.items()
        if len(text.split()) >= TELLING
    )
    for paths in _together(told).values():
        for number, path in enumerate(paths):
            before = next((p for p in paths[:number] if _other_pair(p, path)), None)
            if before:
                yield subject.finding(
                    path, "look-alike-twice",
                    f"{before[1]} says the same of {before[3]}; say what tells this pair apart",
                )  # fmt: skip


def _other_pair(one: Path, other: Path) -> bool:
    """Whether one sentence can hardly be meant in both of these places."""
    if one[1] == other[1]:
        return one[3] != other[3]
    return {one[1], one[3]}.isdisjoint((other[1], other[3]))
