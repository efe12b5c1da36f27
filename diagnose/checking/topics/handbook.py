"""The knowledge against published figures and the practice of the trade: handbook.yaml.

A function for each kind of fact gives what is off: where in the knowledge, and in words; nothing
where the knowledge agrees within the tolerance. docs/conflicts.md says what was chosen where
sources disagree.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any, TypeAlias

import msgspec

from diagnose.checking.subject import Subject
from diagnose.kb.model import NONE, Fact, Knowledge, figure
from diagnose.kb.reader import Finding

WARMTH = 1.5  # degrees Celsius: tables are printed in steps of 5 F, ours in whole degrees
DEPTH, APART = 0.6, 5.0  # centimeters
THRESHOLD = 0.2  # degrees Fahrenheit, from rounding ours to a tenth of a degree Celsius
INCH = 2.54
BOUNDS = ("least", "best from", "best to", "most")
# Tables of germination are of seed; what is planted here is not (docs/conflicts.md).
NOT_SEED = frozenset({"garlic"})

Off: TypeAlias = tuple[str, str]
"""What is off: the path of it, as 'crops/beet/sowing', and in words."""
Bounds: TypeAlias = list[list[float]]
"""What tables give for each bound, in degrees Celsius."""


@cache
def _keys(kind: type[msgspec.Struct]) -> dict[str, str]:
    return {field.encode_name: field.name for field in msgspec.structs.fields(kind)}


def dig(knowledge: Knowledge, path: str) -> Any:
    """What stands at a path, as 'crops/beet/shade', in plain values; None where nothing does."""
    found: Any = knowledge
    for step in path.split("/"):
        if isinstance(found, msgspec.Struct):
            found = getattr(found, _keys(type(found)).get(step, ""), None)
        else:
            found = found.get(step) if isinstance(found, Mapping) else None
    return msgspec.to_builtins(found)


def gap(value: float, low: float, high: float) -> float:
    """How far a value lies outside a range."""
    return max(low - value, value - high, 0.0)


# --- germination, where the tables differ: each bound must lie between them


def published_warmth(knowledge: Knowledge) -> dict[str, Bounds]:
    """By crop, what all tables together give for each bound."""
    by_crop: dict[str, Bounds] = {}
    for fact in knowledge.handbook.values():
        if fact.kind == "germination":
            for crop, row in fact.rows.items():
                bounds = by_crop.setdefault(crop, [[], [], [], []])
                for bound, value in zip(bounds, row, strict=False):
                    bound += [] if value is None else [(value - 32) / 1.8]
    return {crop: bounds for crop, bounds in by_crop.items() if crop not in NOT_SEED}


def germination(knowledge: Knowledge, crop: str, published: Bounds) -> Iterator[Off]:
    """Where a crop's own germination temperatures leave the tables."""
    at = f"crops/{crop}/germination-c"
    own = dig(knowledge, at)
    if own is None:
        return
    for bound, value, tables in zip(
        BOUNDS, (own["min"], *own["best"], own["max"]), published, strict=False
    ):
        if tables and value is not None and gap(value, min(tables), max(tables)) > WARMTH:
            yield (
                at,
                (
                    f"{bound} {value:g} C; published {min(tables):.1f} to {max(tables):.1f} C, "
                    f"allowed {WARMTH:g} more or less"
                ),
            )


# --- the other kinds, a fact each


def _nothing(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    """Germination is held by crop, over all tables."""
    yield from ()


def _sowing(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    for crop, row in fact.rows.items():
        at = f"crops/{crop}/sowing"
        own = dig(knowledge, at)
        if own is None:
            yield at, f"{crop} has no sowing"
            continue
        for key, (low, high), off in (("depth-cm", row[:2], DEPTH), ("apart-cm", row[2:], APART)):
            mine = own[key]
            if low is None or high is None:
                continue
            if mine[0] > high * INCH + off or mine[1] < low * INCH - off:
                yield at, f"{crop} {key}: {mine}; published {low:g} to {high:g} in"


def _inches(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    for key, figures in (("depth", fact.depth), ("apart", fact.apart)):
        at = f"crops/{fact.crop}/sowing/{key}-cm"
        own = dig(knowledge, at)
        for inches in figures:
            if not own or gap(inches * INCH, *own) > DEPTH:
                yield at, f"{fact.crop} {key}: {own} cm has no room for {inches:g} in"


def _weeks(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    for crop in fact.crops:
        at = f"crops/{crop}/season/sow"
        sow = dig(knowledge, at)
        first = (sow[0] if isinstance(sow, list) else sow or {}).get("from", "")
        read = re.fullmatch(r"last frost(?: ([+-]) (\d+) weeks?)?", first)
        weeks = int((read[1] or "") + (read[2] or "0")) if read else None
        if weeks is None or gap(weeks, *fact.weeks) > fact.tolerance:
            yield at, f"{crop} is sown from {first or 'nothing'}; published weeks {fact.weeks}"


def _within(value: float | None, fact: Fact) -> Iterator[Off]:
    low, high = fact.within
    if value is None or gap(value, low, high) > fact.tolerance + 1e-9:
        yield str(fact.at), f"{fact.at}: {value}; published {low:g} to {high:g}"


def _figure(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    read = re.search(fact.find or "", str(dig(knowledge, str(fact.at))))
    yield from _within(float(read[1]) if read else None, fact)


def _number(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    yield from _within(dig(knowledge, str(fact.at)), fact)


def _words(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    text = " ".join(str(dig(knowledge, path)) for path in fact.at)
    for wanted in fact.says:
        if not re.search(wanted, text):
            yield fact.at[0], f"{', '.join(fact.at)} does not say {wanted!r}, but: {text}"


def _has(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    at = str(fact.at)
    found = dig(knowledge, at) or ()
    yield from ((at, f"{at} lacks {item}") for item in fact.items if item not in found)


def _absent(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    for cause in fact.causes:
        at = f"causes/{cause}/{fact.key}"
        if dig(knowledge, at) is not None:
            yield at, f"{cause} has {fact.key}, though none was found in print"


def _degree_days(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    at = f"causes/{fact.cause}/degree-days"
    own = dig(knowledge, at)
    if own is None:
        yield at, f"{fact.cause} has no degree-days"
        return
    for key, wanted in (("lower-c", fact.lower_f), ("upper-c", fact.upper_f)):
        mine = own[key]
        if wanted is not None and (mine is None or abs(mine * 1.8 + 32 - wanted) > THRESHOLD):
            yield at, f"{fact.cause} {key}: {mine}; published {wanted:g} F"
    for key, said in (("method", fact.method), ("start", fact.start)):
        if said is not None and own[key] != said:
            yield at, f"{fact.cause} {key}: {own[key]}; published {said}"
    sums = [value * 1.8 for value in own["events"].values()]
    for mine, wanted in zip(sums, fact.events_f, strict=False):
        if abs(mine - wanted) > fact.tolerance_f:
            yield at, f"{fact.cause}: {mine:.0f} degree-days F; published {wanted:g}"


def _share(knowledge: Knowledge, cause: str, symptom: str, value: str | None = None) -> float:
    """How often a cause shows a symptom, or a value of it."""
    line = dig(knowledge, f"causes/{cause}/evidence/{symptom}") or {}
    if value is not None:
        line = {value: line[value]} if isinstance(line, dict) and value in line else {}
    words = line.items() if isinstance(line, dict) else [("", line)]
    return sum(figure(w, knowledge.likelihood.frequency) for v, w in words if v != NONE)


def _evidence(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    share = _share(knowledge, fact.cause or "", fact.symptom or "", fact.value)
    if fact.least and share < knowledge.likelihood.frequency[fact.least]:
        yield (
            f"causes/{fact.cause}/evidence/{fact.symptom}",
            f"{fact.cause} shows {fact.symptom} in {share:.0%}, not {fact.least}",
        )


def _mobility(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    for causes, first in ((fact.mobile, "old"), (fact.immobile, "new")):
        for cause in causes:
            old, new = (_share(knowledge, cause, "where-on-plant", leaf) for leaf in ("old", "new"))
            if (old > new) != (first == "old") or old == new:
                yield (
                    f"causes/{cause}/evidence/where-on-plant",
                    f"{cause}: {old:.0%} on old leaves, {new:.0%} on new; published {first} first",
                )


def _codes(knowledge: Knowledge, fact: Fact) -> Iterator[Off]:
    for name, code in fact.codes.items():
        at = f"{fact.of}/{name}/code"
        own = dig(knowledge, at)
        if own is not None and own != code:  # where none is named, nothing disagrees
            yield at, f"{name} has the code {own}; published {code}"


HOLD: dict[str, Callable[[Knowledge, Fact], Iterator[Off]]] = {
    "germination": _nothing, "sowing": _sowing, "inches": _inches, "weeks": _weeks,
    "figure": _figure, "number": _number, "words": _words, "has": _has, "absent": _absent,
    "degree-days": _degree_days, "evidence": _evidence, "mobility": _mobility, "codes": _codes,
}  # fmt: skip


def off(knowledge: Knowledge, fact: Fact) -> list[Off]:
    """What of the knowledge disagrees with a fact."""
    return list(HOLD[fact.kind](knowledge, fact))


def agrees(subject: Subject) -> Iterator[Finding]:
    """against-handbook: what was seen in print, or is common practice, and stands otherwise here.

    What is from memory is no ground to warn.
    """
    knowledge = subject.knowledge
    for fact in knowledge.handbook.values():
        if fact.seen != "from memory":
            for path, said in off(knowledge, fact):
                yield subject.finding(
                    path.split("/"), "against-handbook", f"{said} ({fact.seen}: {fact.source})"
                )
    for crop, bounds in published_warmth(knowledge).items():
        for path, said in germination(knowledge, crop, bounds):
            yield subject.finding(path.split("/"), "against-handbook", said)
