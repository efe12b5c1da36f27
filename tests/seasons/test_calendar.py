"""Months and days, moments and windows: by example, by property, and against a plain listing."""

from datetime import date, timedelta

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from diagnose.seasons.calendar import ALL_YEAR, HALF_YEAR, Moment, MonthDay, Place, Window

NORTH = Place(42.0, MonthDay.parse("05-10"), MonthDay.parse("10-05"))
SOUTH = Place(-42.0, MonthDay.parse("10-10"), MonthDay.parse("04-20"))
HIGH = Place(60.0, MonthDay.parse("06-12"), MonthDay.parse("08-20"))  # under ten frost-free weeks
MILD = Place(37.0, MonthDay.parse("01-10"), MonthDay.parse("12-20"))


# --- month and day, place


def test_month_day_reads_and_prints() -> None:
    assert MonthDay.parse("05-10") == MonthDay(5, 10)
    assert str(MonthDay(5, 10)) == "05-10"


@pytest.mark.parametrize(
    "text", ["5-10", "13-01", "00-10", "04-31", "02-30", "05-00", "May 10", ""]
)
def test_month_day_refuses(text: str) -> None:
    with pytest.raises(ValueError, match=f"found '{text}'"):
        MonthDay.parse(text)


def test_leap_day_is_28_february_in_other_years() -> None:
    assert MonthDay.parse("02-29").in_year(2028) == date(2028, 2, 29)
    assert MonthDay.parse("02-29").in_year(2027) == date(2027, 2, 28)


@pytest.mark.parametrize("latitude", [-90.1, 91, float("nan")])
def test_place_refuses_what_is_no_latitude(latitude: float) -> None:
    with pytest.raises(ValueError, match=r"found latitude .*allowed are -90 to 90"):
        Place(latitude, MonthDay(5, 10), MonthDay(10, 5))


@pytest.mark.parametrize(
    ("latitude", "begins"), [(42.0, "01-01"), (-42.0, "07-01")], ids=["north", "south"]
)
def test_place_refuses_frosts_of_the_other_hemisphere(latitude: float, begins: str) -> None:
    other = SOUTH if latitude > 0 else NORTH
    with pytest.raises(ValueError, match=f"last before first in a year beginning on {begins}"):
        Place(latitude, other.last_frost, other.first_frost)


# --- moments


@pytest.mark.parametrize(
    ("text", "north", "south"),
    [
        ("last frost", date(2026, 5, 10), date(2026, 10, 10)),
        ("last frost - 3 weeks", date(2026, 4, 19), date(2026, 9, 19)),
        ("longest day", date(2026, 6, 21), date(2026, 12, 21)),
        ("longest day + 2 weeks", date(2026, 7, 5), date(2027, 1, 4)),
        ("first frost + 10 days", date(2026, 10, 15), date(2027, 4, 30)),
        ("shortest day", date(2026, 12, 21), date(2027, 6, 21)),
        ("06-15", date(2026, 6, 15), date(2026, 12, 15)),
        ("08-31", date(2026, 8, 31), date(2027, 2, 28)),
    ],
)
def test_moments_of_one_growing_year(text: str, north: date, south: date) -> None:
    moment = Moment.parse(text)
    assert moment.find(2026, NORTH) == north
    assert moment.find(2026, SOUTH) == south


@pytest.mark.parametrize(
    "text",
    ["", "frost", "last frost-3 weeks", "last frost - 3", "last frost - three weeks", "mid June",
     "last frost - 3 months", "06-15 + 2 weeks", "Last frost", "all year", "last frost "],
)  # fmt: skip
def test_moment_refuses_and_says_what_is_allowed(text: str) -> None:
    with pytest.raises(
        ValueError, match=r"found '.*', expected last frost, .*'last frost - 3 weeks"
    ):
        Moment.parse(text)


def test_moment_refuses_more_than_half_a_year() -> None:
    with pytest.raises(ValueError, match=r"found 'last frost - 30 weeks', .* 26 weeks"):
        Moment.parse("last frost - 30 weeks")


# --- windows


@pytest.mark.parametrize(
    ("text", "place", "day", "outside"),
    [
        ("last frost - 3 weeks to first frost", NORTH, date(2026, 4, 18), 1),
        ("last frost - 3 weeks to first frost", NORTH, date(2026, 4, 19), 0),
        ("last frost - 3 weeks to first frost", NORTH, date(2026, 10, 5), 0),
        ("last frost - 3 weeks to first frost", NORTH, date(2026, 12, 31), 87),
        ("last frost - 3 weeks to first frost", NORTH, date(2027, 1, 31), 78),
        ("last frost to first frost", SOUTH, date(2026, 1, 1), 0),
        ("last frost to first frost", SOUTH, date(2026, 12, 31), 0),
        ("last frost to first frost", SOUTH, date(2026, 4, 25), 5),
        ("first frost to last frost", NORTH, date(2026, 1, 1), 0),
        ("first frost to last frost", NORTH, date(2026, 5, 12), 2),
        ("first frost to last frost", SOUTH, date(2026, 7, 1), 0),
        ("shortest day - 2 weeks to shortest day + 4 weeks", NORTH, date(2026, 1, 18), 0),
        ("shortest day - 2 weeks to shortest day + 4 weeks", NORTH, date(2026, 12, 7), 0),
        ("11-15 to 02-15", NORTH, date(2026, 1, 10), 0),
        ("11-15 to 02-15", SOUTH, date(2026, 7, 10), 0),
        ("11-15 to 02-15", SOUTH, date(2026, 1, 10), 125),
        ("06-15 to last frost + 12 weeks", NORTH, date(2026, 9, 1), 30),
        ("last frost - 3 weeks to 06-15", MILD, date(2026, 12, 20), 0),  # of the year to come
        ("last frost - 26 weeks to last frost + 26 weeks", NORTH, date(2026, 11, 9), 0),
        ("06-15 to 06-15", NORTH, date(2026, 12, 15), 182),
    ],
)
def test_days_outside(text: str, place: Place, day: date, outside: int) -> None:
    assert Window.parse(text).days_outside(day, place) == outside


def test_a_season_too_short_for_a_window_leaves_it_shut() -> None:
    window = Window.parse("last frost + 8 weeks to first frost - 6 weeks")
    listed = [date(2026, 1, 1) + timedelta(n) for n in range(365)]
    assert any(window.contains(day, NORTH) for day in listed)
    assert not any(window.contains(day, HIGH) for day in listed)


@pytest.mark.parametrize("text", ["first frost + 1 day to first frost - 1 day", "last frost", ""])
def test_window_refuses(text: str) -> None:
    with pytest.raises(ValueError, match=r"found '.*', (expected 'all year'|which closes before)"):
        Window.parse(text)


# --- properties

dates = st.dates(date(1999, 1, 1), date(2101, 12, 31))
fixed_days = st.builds(lambda n: date(2024, 1, 1) + timedelta(n), st.integers(0, 365)).map(
    lambda day: MonthDay(day.month, day.day)
)
anchors = st.sampled_from(["last frost", "first frost", "longest day", "shortest day"])
moments = st.builds(Moment, anchors, st.integers(-HALF_YEAR, HALF_YEAR)) | st.builds(
    Moment, fixed_days
)


@st.composite
def windows(draw: st.DrawFn) -> Window:
    opens, closes = draw(moments), draw(moments)
    assume(opens.anchor != closes.anchor or opens.offset <= closes.offset)
    return Window(opens, closes)


@st.composite
def places(draw: st.DrawFn) -> Place:
    """Any place with a frost-free season, in either hemisphere."""
    last, first = sorted(draw(st.tuples(fixed_days, fixed_days)))
    assume(last.opposite().opposite() < first.opposite().opposite())  # not both 29 to 31 August
    if draw(st.booleans()):
        return Place(draw(st.floats(0, 90)), last, first)
    south = draw(st.floats(-90, 0, exclude_max=True))
    return Place(south, last.opposite(), first.opposite())


@given(moments)
def test_moment_text_goes_round(moment: Moment) -> None:
    assert Moment.parse(str(moment)) == moment


@given(windows())
def test_window_text_goes_round(window: Window) -> None:
    assert Window.parse(str(window)) == window


@given(dates, places())
def test_every_date_is_in_all_year(day: date, place: Place) -> None:
    assert Window.parse("all year") == ALL_YEAR
    assert ALL_YEAR.contains(day, place)


@given(windows(), dates, places())
def test_contains_exactly_where_no_day_is_missing(window: Window, day: date, place: Place) -> None:
    outside = window.days_outside(day, place)
    assert window.contains(day, place) == (outside == 0)
    assert 0 <= outside <= HALF_YEAR


@given(moments, dates, places())
def test_two_ends_on_one_day_are_one_day(moment: Moment, day: date, place: Place) -> None:
    window = Window(moment, moment)
    found = {moment.find(year, place) for year in range(day.year - 3, day.year + 4)}
    assert window.contains(day, place) == (day in found)


def falls_on(moment: Moment, day: date, place: Place) -> bool:
    """Whether a moment is on this very date, told from month and day alone."""
    northern = {"longest day": MonthDay(6, 21), "shortest day": MonthDay(12, 21)}
    own = {"last frost": place.last_frost, "first frost": place.first_frost}
    anchor = own.get(str(moment.anchor))
    if anchor is None:
        anchor = northern.get(str(moment.anchor)) or MonthDay.parse(str(moment.anchor))
        anchor = anchor if place.latitude >= 0 else anchor.opposite()
    counted_from = day - timedelta(moment.offset)
    return counted_from == anchor.in_year(counted_from.year)


def brute_force(window: Window, day: date, place: Place) -> int:
    """Walk through the years about a date, opening and closing, and measure to the nearest."""
    walk = [date(day.year - 2, 1, 1) + timedelta(n) for n in range(4 * 365 + 1)]
    nearest, is_open = HALF_YEAR + 1, False
    for each in walk:
        is_open = is_open or falls_on(window.opens, each, place)
        if is_open:
            nearest = min(nearest, abs((each - day).days))
        is_open = is_open and not falls_on(window.closes, each, place)
    return nearest


def days_open(window: Window, place: Place) -> int:
    opens, closes = window.find(2026, place)
    return (closes - opens).days


@given(windows(), dates, places())
@example(Window.parse("first frost + 26 weeks to last frost + 26 weeks"), date(2026, 1, 5),
         Place(-30.0, MonthDay(7, 10), MonthDay(6, 20)))  # fmt: skip
@example(Window.parse("last frost - 26 weeks to 01-01"), date(2026, 7, 10),
         Place(30.0, MonthDay(1, 2), MonthDay(12, 1)))  # fmt: skip
def test_agrees_with_a_walk_through_the_years(window: Window, day: date, place: Place) -> None:
    assume(2 <= days_open(window, place) <= 360)  # neither shut nor all year, in any year
    assert window.days_outside(day, place) == brute_force(window, day, place)


@given(st.integers(90, HALF_YEAR), st.integers(90, HALF_YEAR), dates, places())
def test_windows_longer_than_a_year_are_all_year(
    before: int, after: int, day: date, place: Place
) -> None:
    window = Window(Moment("last frost", -before), Moment("first frost", after))
    assume(days_open(window, place) >= 366)
    assert window.contains(day, place)


@given(st.integers(90, HALF_YEAR), st.integers(90, HALF_YEAR), dates, places())
def test_a_window_turned_round_by_its_offsets_is_shut(
    after: int, before: int, day: date, place: Place
) -> None:
    window = Window(Moment("last frost", after), Moment("first frost", -before))
    assume(days_open(window, place) < -1)  # a leap day can open what misses by one
    assert 0 < window.days_outside(day, place) <= HALF_YEAR


def half_a_year_on(day: MonthDay) -> MonthDay:
    moved = day.in_year(2026) + timedelta(182)
    return MonthDay(moved.month, moved.day)


@given(windows(), dates, places().filter(lambda place: place.latitude > 0))
def test_the_other_hemisphere_half_a_year_later_is_the_mirror(
    window: Window, day: date, place: Place
) -> None:
    assume(place.last_frost >= MonthDay(1, 5) and place.first_frost <= MonthDay(12, 25))
    assume((place.first_frost.in_year(2026) - place.last_frost.in_year(2026)).days > 5)
    mirrored = Place(
        -place.latitude, half_a_year_on(place.last_frost), half_a_year_on(place.first_frost)
    )
    # Where the ends all but meet, a day more or less decides whether they pass each other.
    assume(abs(days_open(window, place) - days_open(window, mirrored)) < 10)
    here = window.days_outside(day, place)
    there = window.days_outside(day + timedelta(182), mirrored)
    assert abs(here - there) <= 2
