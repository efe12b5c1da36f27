"""The numbers of the reasoning, the place assumed and the seasons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta
from itertools import pairwise
from typing import get_args

from diagnose.checking.subject import Subject, readable, seasons
from diagnose.kb.model import Commonness, Effort, Frequency
from diagnose.kb.reader import Finding
from diagnose.kb.spans import windows
from diagnose.seasons.calendar import Moment

FALL = timedelta(weeks=4)  # before the first frost, from when on what is sown stands over winter
AT_ONCE = timedelta(weeks=3)  # what stands for years may be cut a little before it is sown anew
SCALES = {"frequency": Frequency, "commonness": Commonness, "effort": Effort}
CHANCES = frozenset({"frequency"})  # the scales whose numbers are chances
FALLING = frozenset({"frequency", "commonness"})  # the scales whose words go from much to little


def scales(subject: Subject) -> Iterator[Finding]:
    """missing-number, bad-number: the scales of likelihood.yaml."""
    if "likelihood" in subject.broken:
        return
    for name, words in SCALES.items():
        found: Mapping[str, float] = getattr(subject.knowledge.likelihood, name)
        at = ("likelihood", "likelihood", name)
        listed = get_args(words)
        for word in listed:
            if word not in found:
                yield subject.finding(at, "missing-number", f"{word!r} has no number")
        for word, number in found.items():
            if number <= 0 or (name in CHANCES and number >= 1):
                allowed = "between 0 and 1" if name in CHANCES else "above 0"
                yield subject.finding(
                    (*at, word), "bad-number", f"{word}: {number:g}; it must lie {allowed}"
                )
        if name in FALLING:
            ranked = [word for word in listed if word in found]
            for more, less in pairwise(ranked):
                if found[less] >= found[more]:
                    yield subject.finding(
                        (*at, less), "bad-number",
                        f"{less} has {found[less]:g}, but must be less than {more}, "
                        f"{found[more]:g}",
                    )  # fmt: skip


def place(subject: Subject) -> Iterator[Finding]:
    """bad-place: the latitude and frosts assumed where none are given."""
    if "seasons" in subject.broken:
        return
    try:
        _ = subject.home
    except ValueError as error:
        yield subject.finding(("seasons", "seasons", "place"), "bad-place", str(error))


def ranges(subject: Subject) -> Iterator[Finding]:
    """bad-range: bands of numbers in words.yaml."""
    for name, band in subject.knowledge.words.numbers.items():
        if len(band) != 2 or band[0] > band[1]:
            yield subject.finding(
                ("words", "words", "numbers", name), "bad-range",
                f"{name}: {band}; give the lowest and the highest, as in [85, 120]",
            )  # fmt: skip


def moments(subject: Subject) -> Iterator[Finding]:
    """bad-season: seasons whose moments cannot be read."""
    for at, season in seasons(subject.knowledge):
        try:
            windows(season)
        except ValueError as error:
            yield subject.finding(at, "bad-season", str(error))


def degree_days(subject: Subject) -> Iterator[Finding]:
    """bad-season, bad-range: degree-day models that cannot be counted."""
    for cause_id, cause in subject.knowledge.causes.items():
        model, at = cause.degree_days, ("causes", cause_id, "degree-days")
        if model is None:
            continue
        if model.start is not None:
            try:
                Moment.parse(model.start)
            except ValueError as error:
                yield subject.finding((*at, "start"), "bad-season", str(error))
        if model.upper_c is not None and model.upper_c <= model.lower_c:
            yield subject.finding(
                (*at, "upper-c"), "bad-range",
                f"upper-c {model.upper_c:g} must be above lower-c {model.lower_c:g}",
            )  # fmt: skip


def never_opens(subject: Subject) -> Iterator[Finding]:
    """season-never-opens: windows that close before they open at the place assumed."""
    year = subject.days[0].year
    for at, season in seasons(subject.knowledge):
        for number, window in enumerate(windows(season) if readable(season) else ()):
            opens, closes = window.find(year, subject.home)
            if closes < opens:
                yield subject.finding(
                    (*at, str(number)), "season-never-opens",
                    f"at the place assumed '{window}' would open on {opens:%d %B} and close on "
                    f"{closes:%d %B}, before it opens",
                )  # fmt: skip


def harvest_first(subject: Subject) -> Iterator[Finding]:
    """harvest-before-sowing: what is sown before fall and harvested before it is sown."""
    year, home = subject.days[0].year, subject.home
    fall = home.find("first frost", year) - FALL
    for crop_id, crop in subject.knowledge.crops.items():
        sow, harvest = crop.season.sow, crop.season.harvest
        if sow is None or harvest is None or not (readable(sow) and readable(harvest)):
            continue
        sown = min(window.find(year, home)[0] for window in windows(sow))
        cut = min(window.find(year, home)[0] for window in windows(harvest))
        if cut < sown - AT_ONCE and sown < fall:
            yield subject.finding(
                ("crops", crop_id, "season", "harvest"), "harvest-before-sowing",
                f"it would be harvested from {cut:%d %B} and sown from {sown:%d %B}; "
                "the two may be swapped",
            )  # fmt: skip
