"""Pages of the round: gardens, beds, look-outs, the season, the sheet before, the report after."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from diagnose.consultation import Reasoner
from diagnose.drawings import shown
from diagnose.inputs import plain
from diagnose.kb.model import PRESENT, Knowledge, figure
from diagnose.pages import charts
from diagnose.pages.blocks import (
    Figure,
    Page,
    chart,
    entry,
    figures,
    heading,
    item,
    note,
    room,
    text,
    title,
)
from diagnose.pages.entries import source_line
from diagnose.pages.sayings import DECISIONS, day, listed, rainfall, small, warmth
from diagnose.rounds.history import BedRecord, begin, records
from diagnose.rounds.lookouts import LookOut, Shown, look_outs, minutes_of
from diagnose.rounds.model import STATES, Bed, Due, Finding, Garden, Planting, State
from diagnose.rounds.store import Store
from diagnose.rounds.visits import waiting
from diagnose.rounds.warmth import Climate, Expected, Outlook, climate, observed, outlooks

CHANCES = "First what is likeliest now, does most harm and shows most in a short look."
NO_WARMTH = (
    "No dates by warmth: the weather record lacks days of this year, and nothing says what is "
    "usual. Take in what is usual in each month: diagnose weather FILE --normals."
)
SEVERAL = 3  # causes named for one look-out


@dataclass(frozen=True)
class AtGarden:
    """All that a page of a garden is made from, on a day."""

    reasoner: Reasoner
    garden: Garden
    day: date
    records: Sequence[BedRecord]
    looks: Mapping[str, Sequence[LookOut]] = field(default_factory=dict)  # by the id of the bed
    due: Sequence[Due] = ()
    climate: Climate | None = None
    outlooks: Mapping[str, Outlook] = field(default_factory=dict)  # by cause

    @property
    def knowledge(self) -> Knowledge:
        """The knowledge at work."""
        return self.reasoner.knowledge


def at_garden(reasoner: Reasoner, store: Store, garden: Garden, on: date) -> AtGarden:
    """What is kept of a garden, and what follows from it on a day."""
    found = records(store, garden)
    known = climate(store, garden, reasoner.knowledge.rounds.bridge)
    weather = observed(reasoner.knowledge.rounds.weather, known, on)
    stages = outlooks(reasoner, known, garden.place, on)
    return AtGarden(
        reasoner,
        garden,
        on,
        found,
        {one.bed.id: look_outs(reasoner, one, on, weather, stages) for one in found},
        waiting(store, [one.bed.id for one in found], on),
        known,
        stages,
    )


def when(iso: str) -> str:
    """A stored day as a person writes it."""
    return day(date.fromisoformat(iso))


def crop_name(knowledge: Knowledge, crop: str) -> str:
    """A crop's name, small; its id where the knowledge no longer has it."""
    return small(knowledge.crops[crop].name) if crop in knowledge.crops else crop


def finding_name(knowledge: Knowledge, finding: Finding) -> str:
    """What was found, by name."""
    if finding.cause in knowledge.causes:
        return knowledge.causes[finding.cause].name
    return plain(finding.cause) or "something not settled"


def measure_name(knowledge: Knowledge, measure: str) -> str:
    """A measure in a few words; own words as they are."""
    found = knowledge.remedies.get(measure)
    return found.short or found.text if found else plain(measure)


def counted(finding: Finding, count: float | None) -> str:
    """A count in words, or nothing."""
    if count is None:
        return ""
    return f"{count:g} {plain(finding.per)}".strip()


# gardens and beds


def gardens(found: Sequence[Garden], beds: Mapping[str, Sequence[Bed]]) -> Page:
    """The gardens with their beds."""
    if not found:
        return [text("No garden is kept yet. Begin with: diagnose gardens --add NAME")]
    page: Page = [title("Gardens")]
    for one in found:
        place = f"latitude {one.latitude:g}, usual frosts {one.last_frost} and {one.first_frost}"
        names = ", ".join(bed.name for bed in beds.get(one.id, ())) or "no beds yet"
        page.append(item(f"{one.name} ({place}): {names}"))
    return page


def beds(at: AtGarden) -> Page:
    """The beds of a garden, and what stands in them."""
    page: Page = [title(at.garden.name)]
    for record in at.records:
        crops = ", ".join(crop_name(at.knowledge, c) for c in record.growing(at.day)) or "nothing"
        last = f"last visit {when(record.visits[-1].day)}" if record.visits else "not visited yet"
        page.append(item(f"{record.bed.name}: {crops}; {last}"))
    return page if at.records else [*page, text("No beds yet. Add one: diagnose beds --add NAME")]


def bed(at: AtGarden, record: BedRecord) -> Page:
    """Everything that is kept of one bed."""
    knowledge = at.knowledge
    page: Page = [title(f"{record.bed.name}, {record.garden.name}")]
    page.append(heading("Planted"))
    page += [item(_planting(knowledge, p)) for p in record.plantings] or [text("Nothing yet.")]
    waiting = [due for due in at.due if due.bed == record.bed.id]
    if waiting:
        page.append(heading("Due"))
        page += [item(f"{when(due.day)}: {plain(due.what)}") for due in waiting]
    for visit in reversed(record.visits):
        page.append(heading(when(visit.day)))
        page += [text(plain(line)) for line in visit.notes.split("\n") if line]
        page += [
            item(_found(knowledge, record, finding))
            for finding in record.findings
            if finding.visit == visit.id
        ]
        page += [
            item(f"done: {measure_name(knowledge, done.measure)}")
            for done in record.done
            if done.visit == visit.id
        ]
    return page


def _planting(knowledge: Knowledge, planting: Planting) -> str:
    until = f" to {when(planting.until)}" if planting.until else ""
    return f"{crop_name(knowledge, planting.crop)}, from {when(planting.since)}{until}"


def _found(knowledge: Knowledge, record: BedRecord, finding: Finding) -> str:
    """A finding with its count, and how it went on."""
    count = counted(finding, finding.count)
    words = f"found: {finding_name(knowledge, finding)}" + (f" ({count})" if count else "")
    later = [r for r in record.results if r.finding == finding.id]
    for result in later:
        more = counted(finding, result.count)
        words += f"; {when(result.day)} {result.state}" + (f" ({more})" if more else "")
    return words


# look-outs


def looks(at: AtGarden, most: int = 6) -> Page:
    """What to look for now, bed by bed, and when insects come by warmth."""
    page: Page = [title(f"What to look for, {at.garden.name}, {day(at.day)}"), note(CHANCES)]
    for record in at.records:
        found = at.looks.get(record.bed.id, ())[:most]
        crops = [crop_name(at.knowledge, c) for c in record.growing(at.day)]
        if not crops:
            continue
        page.append(heading(f"{record.bed.name}: {listed(crops, 'and')}"))
        if found:
            page.append(text(f"About {minutes_of(found)} minutes."))
        for number, one in enumerate(found, 1):
            page += look(at.knowledge, number, one)
        drawn = [f for n, one in enumerate(found, 1) for f in _drawn(at.knowledge, n, one)]
        page += [figures(drawn, aside=True)] if drawn else []
    if len(page) == 2:
        page.append(text("Nothing stands in any bed. Enter what does: diagnose beds BED --plant"))
    return page + by_warmth(at)


def look(knowledge: Knowledge, number: int, one: LookOut) -> Page:
    """One thing to look for: how, where, and what it would show."""
    symptom = knowledge.symptoms[one.symptom]
    name = symptom.name[:1].upper() + symptom.name[1:]
    where = listed(_part(part) for part in one.where)
    page: Page = [entry(f"{name} ({where}, {one.minutes} minutes)", f"{number}.")]
    if symptom.look:
        page.append(text(symptom.look, 1))
    for cause in one.shows[:SEVERAL]:
        page.append(item(_shows(knowledge, one.symptom, cause), level=1))
    return page


def _drawn(knowledge: Knowledge, number: int, one: LookOut) -> list[Figure]:
    """The drawing of the form in which the weightiest cause shows, where there is one."""
    form = one.shows[0].form or PRESENT
    found = shown.drawing(knowledge, one.symptom, form)
    return (
        [Figure(shown.caption(knowledge, one.symptom, form), found, f"{number}.")] if found else []
    )


def _shows(knowledge: Knowledge, symptom: str, one: Shown) -> str:
    """A cause that a look would show, in which form, how common it is, and when it comes."""
    cause = knowledge.causes[one.cause]
    common = cause.commonness(one.crop, knowledge.crops[one.crop].family)
    how = f" ({common} on {crop_name(knowledge, one.crop)})" if isinstance(common, str) else ""
    form = f": {knowledge.symptoms[symptom].value_name(one.form)}" if one.form else ""
    return f"{cause.name}{form}{how}" + (f"; {_expected(one.stage)}" if one.stage else "")


def _part(part: str) -> str:
    return {"whole": "the whole plant", "leaf": "the leaves", "soil": "the soil"}.get(part, part)


def _expected(event: Expected) -> str:
    """An event with its range."""
    if event.early is None:
        return f"{event.event}: not this year, by warmth"
    late = _short(event.late) if event.late else "no end this year"
    about = f", about {_short(event.day)}" if event.day else ""
    return f"{event.event}: {_short(event.early)} to {late}{about}"


def by_warmth(at: AtGarden) -> Page:
    """When insects of what grows here come by warmth, with the range and the source."""
    knowledge = at.knowledge
    growing = {crop for record in at.records for crop in record.growing(at.day)}
    here = [outlook for cause, outlook in at.outlooks.items() if _lives_on(at, cause, growing)]
    if not here:
        return [note(NO_WARMTH)] if at.climate and at.climate.warm and not at.outlooks else []
    page: Page = [heading("By the warmth so far")]
    sources: dict[str, None] = {}
    for outlook in here:
        model = knowledge.causes[outlook.cause].degree_days
        assert model is not None
        name = knowledge.causes[outlook.cause].name
        page.append(entry(f"{name}: {outlook.so_far:.0f} degree-days", "-"))
        page += [item(_expected(event), level=1) for event in outlook.events]
        sources |= dict.fromkeys(model.sources)
    lacking = max(outlook.taken_as_usual for outlook in here)
    if lacking:
        page.append(note(f"{lacking} days that the record lacks are taken as usual."))
    page.append(note("A range is where the sum is a tenth less, and a tenth more. From: "
                     + " ".join(source_line(knowledge, s) for s in sources)))  # fmt: skip
    return page


def _lives_on(at: AtGarden, cause: str, crops: Iterable[str]) -> bool:
    """Whether a cause is more than rare on one of some crops."""
    knowledge = at.knowledge
    scale = knowledge.likelihood.commonness
    common = (
        knowledge.causes[cause].commonness(crop, knowledge.crops[crop].family)
        for crop in crops
        if crop in knowledge.crops
    )
    return any(figure(one, scale) > scale["rare"] for one in common if one)


# the season


def season(at: AtGarden, most: int = 12) -> Page:
    """The year of a garden: what may come when, what is due, month by month."""
    knowledge, place = at.knowledge, at.garden.place
    year = place.growing_year(at.day)
    page: Page = [title(f"The season, {at.garden.name}, {year}")]
    rows = [(knowledge.causes[cause].name, _open(at, cause, year)) for cause in _leading(at, most)]
    if rows:
        words = "; ".join(
            f"{name}: {', '.join(f'{_short(a)} to {_short(b)}' for a, b in stretches)}"
            for name, stretches in rows
        )
        page.append(heading("When the likeliest troubles of what grows here are about"))
        page.append(
            chart(words, charts.spans("Seasons of troubles", place.year_begins(year), rows))
        )
    lines: dict[tuple[int, int], list[tuple[date, str]]] = {}
    for one, words in _dates(at, year):
        lines.setdefault((one.year, one.month), []).append((one, words))
    for _, found in sorted(lines.items()):
        page.append(heading(f"{found[0][0]:%B %Y}"))
        page += [item(words, f"{one.day}:") for one, words in sorted(found)]
    return page


def _short(one: date) -> str:
    """A day without its year."""
    return day(one).replace(f" {one.year}", "").rstrip(",")


def _leading(at: AtGarden, most: int) -> list[str]:
    """The troubles that matter most on what grows, or grew this year, in the garden."""
    knowledge, year = at.knowledge, at.garden.place.growing_year(at.day)
    crops = {
        p.crop
        for record in at.records
        for p in record.plantings
        if p.crop in knowledge.crops
        and at.garden.place.growing_year(date.fromisoformat(p.since)) <= year
        and (p.until is None or date.fromisoformat(p.until) >= at.day)
    }
    scale, harm = knowledge.likelihood.commonness, knowledge.likelihood.look_out.harm
    worth: dict[str, float] = {}
    for cause_id, cause in knowledge.causes.items():
        if cause.season == "all year":
            continue
        for crop in crops:
            common = cause.commonness(crop, knowledge.crops[crop].family)
            if common is not None:
                more = figure(common, scale) * harm[cause.matters.decision]
                worth[cause_id] = worth.get(cause_id, 0.0) + more
    return sorted(worth, key=lambda c: (-worth[c], c))[:most]


def _open(at: AtGarden, cause: str, year: int) -> list[tuple[date, date]]:
    """When a cause is about in a growing year; stretches that overlap are one."""
    found: list[tuple[date, date]] = []
    for opens, closes in sorted(s.find(year, at.garden.place) for s in at.reasoner.windows[cause]):
        if found and opens <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], closes))
        elif opens <= closes:
            found.append((opens, closes))
    return found


def _dates(at: AtGarden, year: int) -> Iterable[tuple[date, str]]:
    """Dated lines of the season: frosts, plantings, insects by warmth, what is due."""
    place, knowledge = at.garden.place, at.knowledge
    yield place.find("last frost", year), "the usual last frost"
    yield place.find("first frost", year), "the usual first frost"
    for record in at.records:
        for planting in record.plantings:
            since = date.fromisoformat(planting.since)
            if place.growing_year(since) == year:
                yield since, f"{record.bed.name}: {crop_name(knowledge, planting.crop)} planted"
    growing = {p.crop for record in at.records for p in record.plantings}
    for cause, outlook in at.outlooks.items():
        found = knowledge.causes[cause]
        if _lives_on(at, cause, growing):
            for event in outlook.events:
                if event.day and event.early:
                    yield event.early, f"{found.name}, {_expected(event)}"
    names = {record.bed.id: record.bed.name for record in at.records}
    for due in at.due:
        yield date.fromisoformat(due.day), f"{names.get(due.bed, '')}: {plain(due.what)}"


# before and after


def sheet(at: AtGarden, still: Mapping[str, Sequence[Finding]]) -> Page:
    """A page to take along: what is due, what to look for, room for notes. `still` by bed."""
    knowledge = at.knowledge
    page: Page = [title(f"Visit, {at.garden.name}, {day(at.day)}")]
    for record in at.records:
        crops = listed((crop_name(knowledge, c) for c in record.growing(at.day)), "and") \
            if record.growing(at.day) else "empty"  # fmt: skip
        page.append(heading(f"{record.bed.name}: {crops}"))
        for due in at.due:
            if due.bed == record.bed.id:
                page.append(item(f"due {when(due.day)}: {plain(due.what)}", "[ ]"))
        for finding in still.get(record.bed.id, ()):
            name = finding_name(knowledge, finding)
            page.append(item(f"{name}, since {day(record.day_of(finding))}: "
                             f"{listed(STATES)}?", "[ ]"))  # fmt: skip
        for one in at.looks.get(record.bed.id, ())[:3]:
            symptom = knowledge.symptoms[one.symptom]
            names = listed(dict.fromkeys(
                small(knowledge.causes[s.cause].name) for s in one.shows[:2]))  # fmt: skip
            page.append(item(f"{symptom.name}: {names} ({one.minutes} minutes)", "[ ]"))
        page.append(room("Seen and done:", 2))
    return page


def report(at: AtGarden) -> Page:
    """What was found, done and left at the visits of a day, and what comes next."""
    knowledge = at.knowledge
    page: Page = [title(f"Report, {at.garden.name}, {day(at.day)}")]
    seen = False
    for record in at.records:
        visits = {v.id: v for v in record.visits if v.day == at.day.isoformat()}
        results = [r for r in record.results if r.day == at.day.isoformat()]
        if not visits and not results:
            continue
        seen = True
        page.append(heading(record.bed.name))
        page += [text(plain(line)) for v in visits.values() for line in v.notes.split("\n") if line]
        for finding in record.findings:
            if finding.visit in visits:
                page.append(item(_found(knowledge, record, finding)))
                if finding.cause in knowledge.causes:
                    cause = knowledge.causes[finding.cause]
                    page.append(text(f"{cause.summary} {DECISIONS[cause.matters.decision]}", 1))
                    page.append(text(f"To eat: {cause.harvest}", 1))
        before = {f.id: f for f in record.findings}
        for result in results:
            name = finding_name(knowledge, before[result.finding])
            page.append(item(f"{name}: {result.state} since the last time"))
            page += _whom_to_ask(at, record, before[result.finding], result.state)
        page += [
            item(f"done: {measure_name(knowledge, d.measure)}")
            for d in record.done
            if d.visit in visits
        ]
        for due in at.due:
            if due.bed == record.bed.id:
                when_due = "overdue since" if due.day < at.day.isoformat() else "next,"
                page.append(item(f"{when_due} {when(due.day)}: {plain(due.what)}"))
    return page if seen else [*page, text("No bed was visited on that day.")]


def _whom_to_ask(at: AtGarden, record: BedRecord, finding: Finding, state: State) -> Page:
    """Whom to ask where it got worse, as the rules have it after that."""
    if state != "worse" or finding.cause not in at.knowledge.causes:
        return []
    after = begin(at.reasoner, record, at.day + timedelta(1))
    found = at.knowledge.referrals
    return [text(found[r].text, 1) for r in after.plan(finding.cause).referrals]


def year(at: AtGarden, number: int | None) -> Page:
    """A year of a garden, or all of them where none is told: what was found when, what helped."""
    knowledge = at.knowledge
    page: Page = [title(f"{f'The year {number}' if number else 'All years'}, {at.garden.name}")]
    mine = [
        r for record in at.records for r in record.visits
        if number is None or r.day[:4] == str(number)
    ]  # fmt: skip
    page.append(text(f"{len(mine)} visits to {len(at.records)} beds."))
    by_month = Counter(int(v.day[5:7]) for v in mine)
    found = [
        (record, f, record.day_of(f))
        for record in at.records
        for f in record.findings
        if number is None or record.day_of(f).year == number
    ]
    months = Counter(on.month for _, _, on in found)
    page.append(heading("Visits and findings by month"))
    for name, counts in (("Visits", by_month), ("Findings", months)):
        values = [(charts.MONTHS[m - 1], float(counts[m])) for m in range(1, 13)]
        said = ", ".join(f"{counts[m]} in {date(2000, m, 1):%B}" for m in range(1, 13) if counts[m])
        page.append(chart(f"{name}: {said or 'none'}.", charts.bars(f"{name} by month", values)))
    page += _what_was_found(knowledge, found)
    page += _what_helped(at, number)
    return page + (_weather(at, number) if number else [])


def _what_was_found(
    knowledge: Knowledge, found: Sequence[tuple[BedRecord, Finding, date]]
) -> Page:  # fmt: skip
    page: Page = [heading("What was found")]
    by_cause: dict[str, list[tuple[BedRecord, Finding, date]]] = {}
    for one in found:
        by_cause.setdefault(one[1].cause, []).append(one)
    for cause, rows in sorted(by_cause.items(), key=lambda kv: (-len(kv[1]), kv[0])):
        beds = listed(dict.fromkeys(record.bed.name for record, _, _ in rows), "and")
        first, last = min(on for *_, on in rows), max(on for *_, on in rows)
        often = f"{len(rows)} times, {day(first)} to {day(last)}" if len(rows) > 1 else day(first)
        page.append(item(f"{finding_name(knowledge, rows[0][1])}: {often}, in {beds}"))
        limit = knowledge.causes[cause].matters.threshold if cause in knowledge.causes else None
        told = [counted(f, f.count) for _, f, _ in rows if f.count is not None]
        if told:
            page.append(text(f"Counted: {'; '.join(told)}.", 1))
            if limit:
                page.append(text(f"When to act: {limit}", 1))
    return page if by_cause else [*page, text("Nothing.")]


def _what_helped(at: AtGarden, number: int | None) -> Page:
    """For each measure how the findings it was taken against went on."""
    knowledge = at.knowledge
    results: dict[str, Counter[str]] = {}
    for record in at.records:
        latest = {f.id: last.state for f in record.findings if (last := record.latest(f))}
        for done in record.done:
            if number is None or record.day_of(done).year == number:
                state = latest.get(done.finding or "")
                results.setdefault(done.measure, Counter())[state or "not followed up"] += 1
    if not results:
        return []
    page: Page = [heading("What was done, and how it stood afterwards")]
    for measure, counts in sorted(results.items(), key=lambda kv: (-kv[1].total(), kv[0])):
        said = ", ".join(f"{state} {n}" for state, n in counts.most_common())
        page.append(item(f"{measure_name(knowledge, measure)}: {said}"))
    page.append(note("Few looks say little: what got better may have done so by itself."))
    return page


def _weather(at: AtGarden, number: int) -> Page:
    days = [d for d in (at.climate.days.values() if at.climate else ()) if d.date.year == number]
    highs = [(d.date, d.high) for d in days if d.high is not None]
    if not highs:
        return []
    rain = dict.fromkeys(range(1, 13), 0.0)
    for one in days:
        rain[one.date.month] += one.rain or 0.0
    lowest = min((d for d in days if d.low is not None), key=lambda d: d.low or 0, default=None)
    hottest = max(highs, key=lambda pair: pair[1])
    said = f"Hottest {warmth([hottest[1]])} on {day(hottest[0])}"
    if lowest is not None and lowest.low is not None:
        said += f"; coldest {warmth([lowest.low])} on {day(lowest.date)}"
    page: Page = [heading("The weather")]
    ends = warmth([min(high for _, high in highs)]), warmth([hottest[1]])
    page.append(chart(f"{said}.", charts.curve("Highest of each day", number, sorted(highs), ends)))
    if any(rain.values()):
        values = [(charts.MONTHS[m - 1], float(round(rain[m]))) for m in range(1, 13)]
        words = f"Rain by month, in millimeters: {rainfall(sum(rain.values()))} in all."
        page.append(chart(words, charts.bars("Rain by month, in millimeters", values)))
    return page
