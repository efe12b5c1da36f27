"""Small charts as SVG: lines in the color of the text, so that they print and suit dark screens."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from html import escape

WIDE, HIGH = 640, 150
LEFT, BOTTOM = 40, 22
MONTHS = "JFMAMJJASOND"


def _svg(name: str, body: Sequence[str], high: int = HIGH) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {high}" role="img" '
        f'font-family="sans-serif" font-size="11" fill="currentColor" stroke="none">'
        f"<title>{escape(name)}</title>{''.join(body)}</svg>"
    )


def bars(name: str, values: Sequence[tuple[str, float]]) -> str:
    """A bar for each named value."""
    most = max((value for _, value in values), default=0) or 1
    step = (WIDE - LEFT) / max(len(values), 1)
    body = [_axis(HIGH)]
    for i, (label, value) in enumerate(values):
        tall = (HIGH - BOTTOM - 18) * value / most
        x, y = LEFT + i * step + step * 0.15, HIGH - BOTTOM - tall
        body.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{step * 0.7:.1f}" height="{tall:.1f}"'
            ' fill-opacity=".6"/>'
        )
        middle = x + step * 0.35
        body.append(_text(middle, HIGH - 8, label))
        if value:
            body.append(_text(middle, y - 4, f"{value:g}"))
    return _svg(name, body)


def curve(
    name: str, year: int, points: Sequence[tuple[date, float]], ends: tuple[str, str]
) -> str:  # fmt: skip
    """Values over the days of a year; `ends` says the least and the greatest."""
    values = [value for _, value in points]
    low, high = min(values, default=0), max(values, default=1)
    span = (high - low) or 1

    start = 84  # room for the two ends

    def at(day: date, value: float) -> str:
        x = start + (WIDE - start) * (day - date(year, 1, 1)).days / 366
        return f"{x:.1f},{HIGH - BOTTOM - (HIGH - BOTTOM - 12) * (value - low) / span:.1f}"

    line = " ".join(at(day, value) for day, value in points)
    body = [_axis(HIGH, start), *_months(HIGH, start)]
    body += [_text(2, HIGH - BOTTOM, ends[0], "start"), _text(2, 12, ends[1], "start")]
    body.append(f'<polyline points="{line}" fill="none" stroke="currentColor"/>')
    return _svg(name, body)


def spans(
    name: str, first: date, rows: Sequence[tuple[str, Sequence[tuple[date, date]]]]
) -> str:  # fmt: skip
    """A row of bars for each name, from a day to a day of the year that begins on `first`."""
    tall, start = 18, 190
    high = BOTTOM + tall * len(rows) + 6
    last = first.replace(year=first.year + 1) - timedelta(1)
    body = [*_months(high, start, first.month)]
    for i, (label, stretches) in enumerate(rows):
        y = 4 + i * tall
        body.append(_text(start - 6, y + 11, label[:32], "end"))
        for one, two in stretches:
            a, b = max(one, first), min(two, last)
            if a > b:
                continue
            x = start + (WIDE - start) * (a - first).days / 366
            wide = max((WIDE - start) * ((b - a).days + 1) / 366, 2)
            body.append(
                f'<rect x="{x:.1f}" y="{y + 2}" width="{wide:.1f}" height="{tall - 6}"'
                ' fill-opacity=".55"/>'
            )
    return _svg(name, body, high)


def _axis(high: int, start: int = LEFT) -> str:
    y = high - BOTTOM
    return f'<line x1="{start}" y1="{y}" x2="{WIDE}" y2="{y}" stroke="currentColor"/>'


def _months(high: int, start: int = LEFT, first: int = 1) -> list[str]:
    """The letters of the months, beginning with month number `first`."""
    step, letters = (WIDE - start) / 12, MONTHS[first - 1 :] + MONTHS[: first - 1]
    return [_text(start + (i + 0.5) * step, high - 8, m) for i, m in enumerate(letters)]


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'
