"""Day length against the library astral, published figures, and what symmetry demands."""

from datetime import date

import pytest
from astral import Observer
from astral.sun import sunrise, sunset

from diagnose.seasons.daylight import day_length

pytestmark = pytest.mark.quick

LATITUDES = (-60, -52, -43, -34, -12, 0, 23, 36, 42, 48, 54, 60)
DATES = (
    date(2024, 2, 29),
    date(2025, 4, 15),
    date(2026, 6, 21),
    date(2027, 9, 1),
    date(2028, 12, 21),
)


@pytest.mark.parametrize("latitude", LATITUDES)
@pytest.mark.parametrize("day", DATES)
def test_agrees_with_astral(latitude: float, day: date) -> None:
    # astral bends the light by 31 minutes of arc where NOAA takes 34, so its days are shorter: by
    # less than a minute at most latitudes, by a little more at 60 degrees.
    observer = Observer(latitude, longitude=0)
    theirs = sunset(observer, day) - sunrise(observer, day)
    assert 60 * day_length(day, latitude) == pytest.approx(theirs.total_seconds() / 60, abs=1.5)


CHICAGO_ALMANAC = "WGN and Chicago Tribune almanac columns"
TIMEANDDATE = "timeanddate.com, as quoted on a secretchicago page"
TABLE_418 = "sunrise and sunset table page for 41.8373 N"
TABLE_406 = "sunrise and sunset table page for 40.6422 N"
GREEN_BAY_ALMANAC = "WGN almanac column"
# An almanac that names only the month means its solstice; the year then makes no difference.
PUBLISHED = [
    (41.88, date(2025, 6, 21), "15:13:00", CHICAGO_ALMANAC),
    (41.88, date(2025, 12, 21), "9:08:00", CHICAGO_ALMANAC),
    (41.85, date(2024, 6, 20), "15:13:41", TIMEANDDATE),
    (41.85, date(2024, 2, 24), "11:00:25", TIMEANDDATE),
    (41.8373, date(2025, 9, 1), "13:07:00", TABLE_418),
    (41.8373, date(2025, 9, 22), "12:09:11", TABLE_418),
    (41.8373, date(2025, 9, 25), "12:00:48", TABLE_418),
    (40.6422, date(2025, 12, 21), "9:15:46", TABLE_406),
    (44.5, date(2025, 6, 21), "15:34:00", GREEN_BAY_ALMANAC),
    (44.5, date(2025, 12, 21), "8:50:00", GREEN_BAY_ALMANAC),
]


@pytest.mark.parametrize(("latitude", "day", "published", "source"), PUBLISHED)
def test_agrees_with_published_figures(
    latitude: float, day: date, published: str, source: str
) -> None:
    hours, minutes, seconds = map(int, published.split(":"))
    expected = 60 * hours + minutes + seconds / 60
    assert 60 * day_length(day, latitude) == pytest.approx(expected, abs=1), source


# Reckoned with the library PyEphem for 42.0 N in 2025 (upper limb, standard refraction); no
# published table of a year at 42 N was opened.
YEAR_AT_42 = {
    (1, 1): "9:11", (1, 21): "9:39", (2, 1): "10:02", (2, 21): "10:53", (3, 20): "12:09",
    (4, 1): "12:43", (4, 15): "13:22", (5, 1): "14:03", (5, 21): "14:46", (6, 21): "15:15",
    (7, 21): "14:46", (8, 1): "14:25", (8, 21): "13:37", (9, 1): "13:08", (9, 22): "12:09",
    (10, 21): "10:49", (11, 21): "9:37", (12, 21): "9:07",
}  # fmt: skip


@pytest.mark.parametrize(("day", "expected"), YEAR_AT_42.items())
def test_agrees_with_a_year_by_another_library(day: tuple[int, int], expected: str) -> None:
    hours, minutes = map(int, expected.split(":"))
    assert 60 * day_length(date(2025, *day), 42.0) == pytest.approx(60 * hours + minutes, abs=1)


@pytest.mark.parametrize("pole", [1, -1])
def test_polar_day_and_night(pole: int) -> None:
    june, december = date(2026, 6, 21), date(2026, 12, 21)
    for latitude in (70, 80, 90):
        assert day_length(june, pole * latitude) == (24 if pole > 0 else 0)
        assert day_length(december, pole * latitude) == (0 if pole > 0 else 24)


def test_the_equator_hardly_knows_a_season() -> None:
    for month in range(1, 13):
        assert day_length(date(2026, month, 21), 0) == pytest.approx(12.12, abs=0.02)


@pytest.mark.parametrize("latitude", [-91, 90.5, float("nan")])
def test_refuses_what_is_no_latitude(latitude: float) -> None:
    with pytest.raises(ValueError, match="allowed are -90 to 90"):
        day_length(date(2026, 6, 21), latitude)
