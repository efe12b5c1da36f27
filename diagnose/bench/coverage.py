"""What the knowledge covers: crops and symptoms by kind of cause, months by cause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from html import escape

from diagnose.checking.worked import YEAR
from diagnose.kb.model import CauseKind, Knowledge, Season
from diagnose.kb.spans import windows
from diagnose.pages.blocks import note, title
from diagnose.seasons.calendar import MonthDay, Place
from diagnose.terminal.screen import Screen
from diagnose.terminal.table import SHADES, Row, Table, show

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
ALL_KINDS: tuple[str, ...] = CauseKind.__args__  # type: ignore[attr-defined]
LETTERS = 5  # of a kind's name, in a heading


def kinds(knowledge: Knowledge) -> list[str]:
    """The kinds of which there are causes, in the order of the model."""
    there = {cause.kind for cause in knowledge.causes.values()}
    return [kind for kind in ALL_KINDS if kind in there]


def crops_by_kind(knowledge: Knowledge) -> Table:
    """How many causes of each kind each crop may have."""
    rows = []
    for crop_id, crop in knowledge.crops.items():
        found: Counter[str] = Counter(
            cause.kind
            for cause in knowledge.causes.values()
            if cause.commonness(crop_id, crop.family)
        )
        rows.append(_row(knowledge, crop_id, found))
    return _by_kind(knowledge, "crop", rows)


def symptoms_by_kind(knowledge: Knowledge) -> Table:
    """How many causes of each kind have evidence on each symptom."""
    rows = []
    for symptom in knowledge.symptoms:
        there = (cause for cause in knowledge.causes.values() if symptom in cause.evidence)
        found: Counter[str] = Counter(cause.kind for cause in there)
        rows.append(_row(knowledge, symptom, found))
    return _by_kind(knowledge, "symptom", rows)


def _row(knowledge: Knowledge, name: str, found: Counter[str]) -> Row:
    """The total, as text so that it takes no shade, and the figure of each kind."""
    return Row(name, (str(found.total()), *(found[kind] for kind in kinds(knowledge))))


def _by_kind(knowledge: Knowledge, name: str, rows: list[Row]) -> Table:
    heads = ("all", *(kind[:LETTERS] for kind in kinds(knowledge)))
    return Table(name, heads, tuple(rows), heat=True)


def months_by_cause(knowledge: Knowledge) -> Table:
    """On how many days of each month each cause is in season, at the place assumed."""
    home = knowledge.seasons.place
    place = Place(home.latitude, MonthDay.parse(home.last_frost), MonthDay.parse(home.first_frost))
    rows = []
    for cause_id, cause in knowledge.causes.items():
        days = Counter(day.month for day in open_days(cause.season, place))
        rows.append(Row(cause_id, tuple(days[month] for month in range(1, 13))))
    return Table("cause", MONTHS, tuple(rows), heat=True)


def open_days(season: Season, place: Place, year: int = YEAR) -> set[date]:
    """The days of a calendar year on which a season is open."""
    found: set[date] = set()
    for window in windows(season):
        for growing_year in range(year - 2, year + 2):
            found.update(_days(*window.find(growing_year, place), year))
    return found


def _days(opens: date, closes: date, year: int) -> Iterator[date]:
    day = max(opens, date(year, 1, 1))
    while day <= min(closes, date(year, 12, 31)):
        yield day
        day += timedelta(1)


PARTS = (
    ("Crops by kind of cause", "how many causes of the kind the crop may have", crops_by_kind),
    ("Symptoms by kind of cause", "how many causes have evidence on it", symptoms_by_kind),
    ("Months by cause", "days of the month in season, at the place assumed", months_by_cause),
)


def show_coverage(screen: Screen, knowledge: Knowledge) -> None:
    """The three tables, as heat maps where the terminal can."""
    for name, figure, made in PARTS:
        screen.show([title(name), note(f"A figure is {figure}.")])
        show(screen, made(knowledge))
    names = ", ".join(f"{kind[:LETTERS]} {kind}" for kind in kinds(knowledge) if kind[LETTERS:])
    screen.show([note(f"Kinds, in short: {names}.")])


STYLE = """
body { font: 15px/1.4 system-ui, sans-serif; margin: 2rem; color: #111; background: #fff }
table { border-collapse: collapse; margin: 0 0 2.5rem }
caption { text-align: left; padding: .5rem 0 }
caption strong { font-size: 1.25rem; display: block }
th, td { padding: .1rem .45rem; border: 1px solid #ddd; text-align: right }
th { background: #fff; font-weight: 600 }
th[scope=row] { text-align: left; white-space: nowrap }
thead th { position: sticky; top: 0 }
@media print { body { margin: 0; font-size: 10px } thead th { position: static } }
"""


def html_page(knowledge: Knowledge) -> str:
    """The three tables as one page of HTML that needs nothing else."""
    shades = "".join(
        f".s{number} {{ color: {ink}; background: {paper} }}\n"
        for number, style in enumerate(SHADES)
        if style
        for ink, _, paper in [style.split()]
    )
    tables = "\n".join(_html_table(name, figure, made(knowledge)) for name, figure, made in PARTS)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>What the knowledge covers</title>\n<style>{STYLE}{shades}</style>\n</head>\n"
        f"<body>\n<h1>What the knowledge covers</h1>\n"
        f"<p>Knowledge {escape(knowledge.digest)}: {len(knowledge.crops)} crops, "
        f"{len(knowledge.symptoms)} symptoms, {len(knowledge.causes)} causes. The shade repeats "
        f"the figure.</p>\n{tables}\n</body>\n</html>\n"
    )


def _html_table(name: str, figure: str, table: Table) -> str:
    full = {kind[:LETTERS]: kind for kind in ALL_KINDS}
    heads = "".join(f'<th scope="col">{escape(full.get(c, c))}</th>' for c in table.columns)
    body = "\n".join(
        f'<tr><th scope="row">{escape(row.name)}</th>'
        + "".join(f'<td class="s{table.shade(c)}">{escape(str(c))}</td>' for c in row.cells)
        + "</tr>"
        for row in table.rows
    )
    return (
        f"<table>\n<caption><strong>{escape(name)}</strong>A figure is {escape(figure)}."
        f'</caption>\n<thead><tr><th scope="col">{escape(table.name)}</th>{heads}</tr></thead>\n'
        f"<tbody>\n{body}\n</tbody>\n</table>"
    )
