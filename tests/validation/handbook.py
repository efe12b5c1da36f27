"""How a published figure is held against the knowledge: data/handbook.yaml, a function by kind.

Each function gives what is off, in words; nothing where the knowledge agrees within the tolerance.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import msgspec
import yaml

from diagnose.kb.model import Knowledge, figure

DATA = Path(__file__).parent / "data" / "handbook.yaml"
WARMTH = 1.5  # degrees Celsius: tables are printed in steps of 5 F, ours in whole degrees
DEPTH, APART = 0.6, 5.0  # centimetres
SUM = 1.0  # degree-days Fahrenheit, from rounding ours to whole degree-days Celsius
THRESHOLD = 0.2  # degrees Fahrenheit, from rounding ours to a tenth of a degree Celsius
INCH = 2.54

Entry = dict[str, Any]


def entries() -> list[Entry]:
    """Every figure with its source, as the file has it."""
    found: list[Entry] = yaml.safe_load(DATA.read_text(encoding="utf-8"))
    return found


def plain(knowledge: Knowledge) -> dict[str, Any]:
    """The knowledge as the files have it, by kind, id and key."""
    found: dict[str, Any] = msgspec.to_builtins(msgspec.structs.replace(knowledge, places=None))
    return found


def dig(data: Any, path: str) -> Any:
    """What stands at a path, as 'crops/beet/shade'; None where nothing does."""
    for step in path.split("/"):
        data = data.get(step) if isinstance(data, Mapping) else None
    return data


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def gap(value: float, low: float, high: float) -> float:
    """How far a value lies outside a range."""
    return max(low - value, value - high, 0.0)


# --- germination, where the tables differ: each bound must lie between them

BOUNDS = ("least", "best from", "best to", "most")
# Tables are of seed; what is planted here is not (docs/conflicts.md).
NOT_SEED = frozenset({"garlic"})


def published_warmth(found: list[Entry]) -> dict[str, list[list[float]]]:
    """By crop, what the tables give for each bound, in degrees Celsius."""
    by_crop: dict[str, list[list[float]]] = {}
    for entry in found:
        if entry["kind"] == "germination":
            for crop, row in entry["rows"].items():
                bounds = by_crop.setdefault(crop, [[], [], [], []])
                for bound, value in zip(bounds, row, strict=True):
                    bound += [] if value is None else [celsius(value)]
    return {crop: bounds for crop, bounds in by_crop.items() if crop not in NOT_SEED}


def germination(crop: Mapping[str, Any], published: list[list[float]]) -> Iterator[str]:
    """Where a crop's own germination temperatures leave the tables."""
    own = crop["germination-c"]
    for bound, value, tables in zip(
        BOUNDS, (own["min"], *own["best"], own["max"]), published, strict=True
    ):
        if tables and gap(value, min(tables), max(tables)) > WARMTH:
            yield (
                f"{bound} {value:g} C; published {min(tables):.1f} to {max(tables):.1f} C, "
                f"allowed {WARMTH:g} more or less"
            )


# --- the other kinds, an entry each


def _nothing(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    """Germination is held by crop, over all tables."""
    yield from ()


def _sowing(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    for crop, row in entry["rows"].items():
        own = dig(data, f"crops/{crop}/sowing")
        for key, (low, high), off in (("depth-cm", row[:2], DEPTH), ("apart-cm", row[2:], APART)):
            mine = own[key]
            if mine[0] > high * INCH + off or mine[1] < low * INCH - off:
                yield f"{crop} {key}: {mine}; published {low:g} to {high:g} in"


def _inches(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    for key in ("depth", "apart"):
        for inches in entry.get(key, ()):
            low, high = dig(data, f"crops/{entry['crop']}/sowing/{key}-cm")
            if gap(inches * INCH, low, high) > DEPTH:
                yield f"{entry['crop']} {key}: {low:g} to {high:g} cm has no room for {inches} in"


def _weeks(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    for crop in entry["crops"]:
        sow = dig(data, f"crops/{crop}/season/sow")
        first = (sow[0] if isinstance(sow, list) else sow)["from"]
        read = re.fullmatch(r"last frost(?: ([+-]) (\d+) weeks?)?", first)
        weeks = int((read[1] or "") + (read[2] or "0")) if read else None
        if weeks is None or gap(weeks, *entry["weeks"]) > entry["tolerance"]:
            yield f"{crop} is sown from {first}; published weeks {entry['weeks']}"


def _within(value: float | None, entry: Entry) -> Iterator[str]:
    if value is None or gap(value, *entry["within"]) > entry.get("tolerance", 0) + 1e-9:
        yield f"{entry['at']}: {value}; published {entry['within']}"


def _figure(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    read = re.search(entry["find"], str(dig(data, entry["at"])))
    yield from _within(float(read[1]) if read else None, entry)


def _number(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    yield from _within(dig(data, entry["at"]), entry)


def _words(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    text = " ".join(str(dig(data, path)) for path in entry["at"])
    for wanted in entry["says"]:
        if not re.search(wanted, text):
            yield f"{', '.join(entry['at'])} does not say {wanted!r}, but: {text}"


def _has(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    found = dig(data, entry["at"]) or ()
    yield from (f"{entry['at']} lacks {item}" for item in entry["items"] if item not in found)


def _absent(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    for cause in entry["causes"]:
        if dig(data, f"causes/{cause}/{entry['key']}") is not None:
            yield f"{cause} has {entry['key']}, though none was found in print"


def _degree_days(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    own = dig(data, f"causes/{entry['cause']}/degree-days")
    if own is None:
        yield f"{entry['cause']} has no degree-days"
        return
    for key in ("lower", "upper"):
        wanted = entry.get(f"{key}-f")
        if wanted is not None and abs(own[f"{key}-c"] * 1.8 + 32 - wanted) > THRESHOLD:
            yield f"{entry['cause']} {key}-c: {own[f'{key}-c']:g}; published {wanted:g} F"
    for key in ("method", "start"):
        if key in entry and own[key] != entry[key]:
            yield f"{entry['cause']} {key}: {own[key]}; published {entry[key]}"
    sums = [value * 1.8 for value in own["events"].values()]
    for mine, wanted in zip(sums, entry.get("events-f", ()), strict=False):
        if abs(mine - wanted) > entry.get("tolerance-f", SUM):
            yield f"{entry['cause']}: {mine:.0f} degree-days F; published {wanted:g}"


def _share(data: Mapping[str, Any], cause: str, symptom: str, value: str | None = None) -> float:
    """How often a cause shows a symptom, or a value of it."""
    line = dig(data, f"causes/{cause}/evidence/{symptom}") or {}
    if value is not None:
        line = {value: line[value]} if value in line else {}
    words = [line] if isinstance(line, str) else [w for v, w in line.items() if v != "none"]
    return sum(figure(word, data["likelihood"]["frequency"]) for word in words)


def _evidence(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    share = _share(data, entry["cause"], entry["symptom"], entry.get("value"))
    if share < data["likelihood"]["frequency"][entry["least"]]:
        yield f"{entry['cause']} shows {entry['symptom']} in {share:.0%}, not {entry['least']}"


def _mobility(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    for key, first in (("mobile", "old"), ("immobile", "new")):
        for cause in entry[key]:
            old, new = (_share(data, cause, "where-on-plant", leaf) for leaf in ("old", "new"))
            if (old > new) != (first == "old") or old == new:
                yield f"{cause}: {old:.0%} on old leaves, {new:.0%} on new; published {first} first"


def _codes(data: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    for name, code in entry["codes"].items():
        own = dig(data, f"{entry['of']}/{name}/code")
        if own is not None and own != code:  # where none is named, nothing disagrees
            yield f"{name} has the code {own}; published {code}"


HOLD: dict[str, Callable[[Mapping[str, Any], Entry], Iterator[str]]] = {
    "germination": _nothing,
    "sowing": _sowing,
    "inches": _inches,
    "weeks": _weeks,
    "figure": _figure,
    "number": _number,
    "words": _words,
    "has": _has,
    "absent": _absent,
    "degree-days": _degree_days,
    "evidence": _evidence,
    "mobility": _mobility,
    "codes": _codes,
}


def off(data: Mapping[str, Any], entry: Entry) -> list[str]:
    """What of the knowledge disagrees with an entry."""
    return list(HOLD[entry["kind"]](data, entry))
