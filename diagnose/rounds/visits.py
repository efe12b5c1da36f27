"""What is entered at a visit: notes, consultations, what was done, how it went on, what is due."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

import msgspec

from diagnose.consultation import Reasoner
from diagnose.errors import UsageError
from diagnose.journal import Journal
from diagnose.kept import Keeper, Kept, as_kept
from diagnose.rounds.history import BedRecord
from diagnose.rounds.model import (
    Bed,
    Done,
    Due,
    Finding,
    Garden,
    Planting,
    Record,
    Result,
    State,
    Visit,
    new_id,
)
from diagnose.rounds.store import Store

OPEN = 60  # days: an older finding is not followed up by itself
AGAIN = 7  # days to look again where the knowledge says none


def visit_on(store: Store, bed: Bed, day: date, notes: str = "") -> Visit:
    """The visit of a bed on a day; where there is one already, notes are added to it."""
    with store.changing():
        there = store.all(Visit, bed=bed.id, day=day.isoformat())
        visit = there[0] if there else Visit(new_id(), bed.id, day.isoformat())
        if notes and notes not in visit.notes.split("\n"):
            visit = msgspec.structs.replace(visit, notes=f"{visit.notes}\n{notes}".strip("\n"))
        store.put(visit)
    return visit


def plant(store: Store, bed: Bed, crop: str, day: date) -> Planting:
    """Enter that a crop stands in a bed from a day on. Raises UsageError where it does already."""
    for planting in store.all(Planting, bed=bed.id, crop=crop):
        if planting.until is None:
            raise UsageError(f"{crop} stands in {bed.name} already, since {planting.since}")
    planting = Planting(new_id(), bed.id, crop, day.isoformat())
    store.put(planting)
    return planting


def clear(store: Store, bed: Bed, crop: str, day: date) -> Planting:
    """Enter that a crop is over. Raises UsageError where it does not stand there."""
    for planting in store.all(Planting, bed=bed.id, crop=crop):
        if planting.until is None and planting.since <= day.isoformat():
            over = msgspec.structs.replace(planting, until=day.isoformat())
            store.put(over)
            return over
    raise UsageError(f"no {crop} stands in {bed.name} on {day}")


def found(
    store: Store, bed: Bed, day: date, cause: str, count: float | None = None, per: str = ""
) -> Finding:
    """Enter a finding that needed no consultation."""
    with store.changing():
        visit = visit_on(store, bed, day)
        finding = Finding(new_id(), visit.id, "", cause, count, per)
        store.put(finding)
    return finding


def did(store: Store, bed: Bed, day: date, measure: str, finding: Finding | None = None) -> Done:
    """Enter a measure: the id of one, or own words."""
    with store.changing():
        visit = visit_on(store, bed, day)
        done = Done(new_id(), visit.id, measure, finding.id if finding else None)
        store.put(done)
    return done


def went_on(
    store: Store, reasoner: Reasoner, bed: Bed, finding: Finding, day: date, state: State,
    count: float | None = None,
) -> Due | None:  # fmt: skip
    """Enter how a finding stands on a day; what is due next, or None where it is gone.

    What was due for it is settled.
    """
    with store.changing():
        visit_on(store, bed, day)
        said = [r for r in store.all(Result, finding=finding.id) if r.day == day.isoformat()]
        old = said[0].id if said else new_id()  # the same day again puts it right
        store.put(Result(old, finding.id, day.isoformat(), state, count))
        for due in store.all(Due, finding=finding.id):
            if due.settled is None:
                store.put(msgspec.structs.replace(due, settled=day.isoformat()))
        return None if state == "gone" else look_again(store, reasoner, bed, finding, day)


def look_again(store: Store, reasoner: Reasoner, bed: Bed, finding: Finding, day: date) -> Due:
    """Enter when to look at a finding again: as the cause says, or in a week."""
    cause = reasoner.knowledge.causes.get(finding.cause)
    again = cause.look_again if cause else None
    what = f"look again: {cause.name}" if cause else "look again"
    if again:
        what += f", for {again.for_}"
    when = day + timedelta(again.days if again else AGAIN)
    there = [d for d in store.all(Due, finding=finding.id) if d.settled is None]  # one at a time
    due = Due(there[0].id if there else new_id(), bed.id, when.isoformat(), what, finding.id)
    store.put(due)
    return due


def settle(store: Store, due: Due, day: date) -> None:
    """Enter that something due is dealt with."""
    store.put(msgspec.structs.replace(due, settled=day.isoformat()))


def open_findings(record: BedRecord, day: date) -> list[Finding]:
    """The findings of the last weeks that were not said to be gone, the latest first."""
    first = day - timedelta(OPEN)
    still = []
    for finding in record.findings:
        last = record.latest(finding)
        gone = last is not None and last.state == "gone"
        found = record.day_of(finding)
        seen = max(found, date.fromisoformat(last.day)) if last else found
        if finding.cause and not gone and first <= seen and found < day:
            still.append(finding)
    return still[::-1]


def waiting(store: Store, beds: Iterable[str], day: date) -> list[Due]:
    """What is due in some beds and not settled, by day; what is long past has lapsed."""
    first = (day - timedelta(OPEN)).isoformat()
    held = (d for d in store.under(Due, "bed", beds) if d.settled is None and d.day >= first)
    return sorted(held, key=lambda due: (due.day, due.bed, due.what))


def forget(store: Store, visit: Visit) -> int:
    """Take a visit out, with what was found, done and followed up from it; how many rows went."""
    with store.changing():
        findings = store.all(Finding, visit=visit.id)
        ids = [finding.id for finding in findings]
        rows: list[Record] = [
            *store.under(Result, "finding", ids),
            *store.under(Due, "finding", ids),
        ]
        rows += store.all(Done, visit=visit.id)
        for done in store.under(Done, "finding", ids):  # done at other visits: it stays
            if done.visit != visit.id:
                store.put(msgspec.structs.replace(done, finding=None))
        rows += [*findings, visit]
        for row in rows:
            store.remove(row)
    return len(rows)


def unplant(store: Store, bed: Bed, crop: str) -> Planting:
    """Take out the last entry of a crop in a bed. Raises UsageError where there is none."""
    there = sorted(store.all(Planting, bed=bed.id, crop=crop), key=lambda one: one.since)
    if not there:
        raise UsageError(f"{crop} was never entered for {bed.name}")
    store.remove(there[-1])
    return there[-1]


class BedKeeper(Keeper):
    """Keeps a consultation of a bed in the record of its visit, at every step."""

    def __init__(
        self, store: Store, bed: Bed, garden: Garden, finding: Finding | None = None
    ) -> None:
        self.store, self.bed, self.garden = store, bed, garden
        self.finding = finding
        self.begun = datetime.now().isoformat(timespec="seconds")
        if finding is not None and finding.kept:
            self.begun = kept_of(finding).begun

    def another(self) -> BedKeeper:
        """What keeps the next consultation of the bed."""
        return BedKeeper(self.store, self.bed, self.garden)

    @property
    def name(self) -> str:
        """The garden and the bed."""
        return f"{self.garden.name}/{self.bed.name}"

    @property
    def shown_by(self) -> str:
        """The command that shows it again."""
        return f'diagnose beds "{self.name}"'

    def save(
        self, journal: Journal, *, typed: str = "", finished: bool = False, answer: str = ""
    ) -> bool:
        """Keep it as it is now; False where that could not be written."""
        now = journal.now
        kept = as_kept(
            self.begun, journal, typed=typed, finished=finished, answer=answer, bed=self.name
        )
        sure = now.leading if now.verdict in ("clear", "likely") else None
        try:
            with self.store.changing():
                if not journal.steps and not typed:
                    if self.finding is not None:
                        self.store.remove(self.finding)
                        self.finding = None
                    return True
                if self.finding is None:
                    visit = visit_on(self.store, self.bed, now.day)
                    self.finding = Finding(new_id(), visit.id, "")
                self.finding = msgspec.structs.replace(
                    self.finding,
                    kept=msgspec.json.encode(kept).decode(),
                    cause=sure.cause if sure else "",
                )
                self.store.put(self.finding)
                if finished and sure:
                    look_again(self.store, now.reasoner, self.bed, self.finding, now.day)
        except UsageError:
            return False
        return True


def kept_of(finding: Finding) -> Kept:
    """The consultation of a finding. Raises UsageError where it is none, or damaged."""
    try:
        return msgspec.json.decode(finding.kept, type=Kept)
    except msgspec.MsgspecError as error:
        raise UsageError(f"finding {finding.id} holds no consultation: {error}") from None


def unfinished(record: BedRecord) -> Finding | None:
    """The latest consultation of a bed that was left, or None."""
    for finding in reversed(record.findings):
        if finding.kept and kept_of(finding).state == "unfinished":
            return finding
    return None
