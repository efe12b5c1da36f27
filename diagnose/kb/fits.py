"""Measures that are for some crops only, as rules: on any other crop, avoid them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose.kb.model import Cause, Crop, Remedy, Rule

NOT_FOR_IT = "these measures are for other crops"


def rules(
    remedies: Mapping[str, Remedy],
    causes: Mapping[str, Cause],
    crops: Mapping[str, Crop],
    others: Mapping[str, Rule],
) -> Iterator[tuple[str, Rule]]:
    """For each crop a rule that keeps off the measures whose `fits` does not name it.

    Only measures that some cause, or one of the other rules, would bring to the crop are named.
    Where the crop is not known every measure stands.
    """
    preferred = {r for rule in others.values() for r in _listed(rule.then.get("prefer", []))}
    for crop_id, crop in crops.items():
        brought = {
            remedy_id
            for cause in causes.values()
            if cause.commonness(crop_id, crop.family) is not None
            for remedy_id in (*cause.remedies, *cause.next_season)
        }
        brought = (brought | preferred) & set(remedies)
        astray = [r for r in sorted(brought) if not fits(remedies[r], crop_id, crop)]
        if astray:
            name = f"measures-not-for-{crop_id}"
            yield name, Rule(name, {"crop": crop_id}, {"avoid": [*astray]}, NOT_FOR_IT)


def _listed(values: str | list[str]) -> list[str]:
    return [values] if isinstance(values, str) else values


def fits(remedy: Remedy, crop_id: str, crop: Crop) -> bool:
    """Whether a measure is for a crop: it, its family or a part that is eaten is named, or none."""
    return not remedy.fits or not {crop_id, crop.family, *crop.eaten}.isdisjoint(remedy.fits)
