"""The last state that a person looked through and approved, and what has become worse since.

It lies beside the knowledge, in a file of one line an entry, so that a review shows what moved. It
keeps how every case came out, what each cause says of eating and help, and its evidence, so that a
change is seen even where every case still comes first, or where no case tells of it. Of all in
which a slip can hurt someone, and of what no case tells, as figures and rules, it keeps digests: a
change is told until someone has read it and approved it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import msgspec

from diagnose.checking.changes import CAN_HURT, can_hurt, entries
from diagnose.checking.subject import Subject
from diagnose.checking.topics.prose import FORBIDS
from diagnose.checking.worked import Result
from diagnose.inputs import plain_file, write_whole
from diagnose.kb.load import KINDS
from diagnose.kb.model import Case, Cause, Decision, Eat, Knowledge, figure
from diagnose.kb.reader import LARGEST, Finding

FILE = ".baseline.json"  # hidden, so that it is not read as knowledge
FORMAT = 1
FELL = 3  # points of 100 by which a case may fall unseen
MORE = 1  # questions by which it may grow longer unseen
KNOWN = 0.5  # of its cases that must still be there, or it is the baseline of another knowledge
NAMED = 3  # of the cases that fell that are named
EATEN: tuple[Eat, ...] = ("never", "some", "normal")  # from strict to free
# The fields by kind of which no case tells whether they are right: figures, rules, look-alikes.
UNTOLD: dict[str, tuple[str, ...]] = {
    "crops": ("season", "germination-c", "growth-c", "sowing"),
    "causes": ("degree-days", "look-again", "looks-like"),
    "rules": ("when", "then", "because"),
    "seasons": ("place", "stretches", "day-length-over"),
}
OFTEN, SELDOM = 0.5, 0.1  # a line that passes from above the one to below the other is turned round
READ_IT = "read it again (diagnose compare shows the words), then take the baseline anew"
DECIDED: tuple[Decision, ...] = ("refer", "act", "watch", "leave")


class Outcome(msgspec.Struct, frozen=True, array_like=True):
    """How a case came out: the chance of its own cause in points of 100, and the questions."""

    chance: int
    questions: int | None


class Approved(msgspec.Struct, frozen=True):
    """What was approved of a cause."""

    eat: Eat
    decision: Decision
    referral: str | None
    cautions: list[str]
    forbids: list[str]  # the words by which its harvest text forbids
    facts: dict[str, Any]  # kind, hosts, season and evidence, as the file has them
    cases: dict[str, Outcome]  # under a digest of each


class Baseline(msgspec.Struct, frozen=True):
    """The whole of it."""

    format: int
    digest: str
    causes: dict[str, Approved]
    held: dict[str, dict[str, str]] = {}  # under "alerts/pet-ate", digests of its fields


class Unread(ValueError):
    """A baseline that cannot be used; the text says why, and what to do."""


def _digest(value: object) -> str:
    return hashlib.sha256(msgspec.msgpack.encode(value)).hexdigest()[:10]


def _key(case: Case) -> str:
    """What makes a case the same, wherever it stands: a digest of it."""
    return _digest(case)


def _held(
    knowledge: Knowledge, asked: Callable[[str, str], bool] = lambda kind, entry: True
) -> dict[str, dict[str, str]]:
    """Digests of what is held to the baseline, by entry and field; of the entries asked for."""
    return {
        f"{kind}/{entry_id}": {field: _digest(value) for field, value in fields.items()}
        for kind in KINDS
        if kind in CAN_HURT or kind in UNTOLD
        for entry_id, entry in entries(knowledge, kind).items()
        if asked(kind, entry_id) and _written(knowledge, kind, entry_id)
        if (fields := _fields_held(kind, msgspec.to_builtins(entry)))
    }


def _written(knowledge: Knowledge, kind: str, entry: str) -> bool:
    """Whether an entry is written as such: many rules follow from what other files say."""
    file = knowledge.place(kind, entry).rpartition(":")[0]
    return kind != "rules" or kind in {part.removesuffix(".yaml") for part in Path(file).parts}


def _fields_held(kind: str, entry: Mapping[str, Any]) -> dict[str, Any]:
    """What can hurt someone in an entry, in plain values, and what no case tells of."""
    untold = UNTOLD.get(kind, ())
    return can_hurt(kind, entry) | {key: entry[key] for key in untold if key in entry}


def _forbids(text: str) -> list[str]:
    return sorted({found.lower() for found in FORBIDS.findall(text)})


def _facts(cause: Cause) -> dict[str, Any]:
    plain: dict[str, Any] = msgspec.to_builtins(cause)
    return {key: plain[key] for key in ("kind", "hosts", "season", "evidence")}


def made(knowledge: Knowledge, results: Iterable[Result]) -> Baseline:
    """The baseline of a knowledge and of how its cases came out."""
    outcomes: dict[str, dict[str, Outcome]] = {}
    for result in results:
        case = knowledge.causes[result.cause].cases[result.index]
        kept = Outcome(round(100 * result.own), result.questions)
        outcomes.setdefault(result.cause, {})[_key(case)] = kept
    return Baseline(FORMAT, knowledge.digest, {
        cause_id: Approved(
            cause.eat, cause.matters.decision, cause.referral, cause.cautions,
            _forbids(cause.harvest), _facts(cause), outcomes.get(cause_id, {}),
        )
        for cause_id, cause in sorted(knowledge.causes.items())
    }, _held(knowledge))  # fmt: skip


def write(folder: Path, baseline: Baseline) -> Path:
    """Write a baseline beside the knowledge, a line each entry; gives the file. Raises OSError."""

    def lines(entries: Mapping[str, Any]) -> bytes:
        one = [msgspec.json.encode(k) + b":" + msgspec.json.encode(v) for k, v in entries.items()]
        return b"{\n" + b",\n".join(one) + b"\n}"

    head = msgspec.json.encode({"format": baseline.format, "digest": baseline.digest})[:-1]
    file = folder / FILE
    write_whole(
        file,
        head + b',"causes":' + lines(baseline.causes)
        + b',"held":' + lines(baseline.held) + b"}\n",
    )  # fmt: skip
    return file


def read(folder: Path) -> Baseline | None:
    """The baseline beside a knowledge, or None where there is none. Raises Unread."""
    try:
        raw = plain_file(folder / FILE, 10 * LARGEST)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise Unread(f"it cannot be read: {error.strerror}") from None
    try:
        form = msgspec.json.decode(raw, type=dict[str, Any]).get("format")
        if isinstance(form, int) and form > FORMAT:
            raise Unread(f"it has format {form}, this program knows {FORMAT}; use a newer program")
        return msgspec.json.decode(raw, type=Baseline)
    except msgspec.MsgspecError as error:
        raise Unread(f"it is no baseline ({error}); take it anew with diagnose baseline") from None


def findings(
    subject: Subject,
    folder: Path,
    results: Collection[Result],
    causes: Collection[str],
    over: str = "",
    as_read: Knowledge | None = None,
) -> Iterator[Finding]:
    """What is not as approved: baseline-astray, loosened, unread-change, line-turned,
    case-changed, cases-fell, and change-without-gain.

    `causes` are those that are asked about, `results` what came of their cases, where they were
    worked; `over` is how the folder is called in findings, where it lies over others, and `as_read`
    the knowledge before what names nothing was taken out of it.
    """
    file = over + FILE
    try:
        baseline = read(folder)
    except Unread as error:
        yield Finding(file, 1, "baseline-astray", str(error))
        return
    if baseline is None:
        return
    knowledge = subject.knowledge
    there = sum(cause_id in knowledge.causes for cause_id in baseline.causes)
    if there < KNOWN * len(baseline.causes):
        yield Finding(
            file, 1, "baseline-astray",
            f"{len(baseline.causes) - there} of its {len(baseline.causes)} causes are not there; "
            "it is of another knowledge: take it anew with diagnose baseline",
        )  # fmt: skip
        return
    yield from _unread(subject, as_read or subject.knowledge, baseline.held, file)
    by_cause: dict[str, list[Result]] = {}
    for result in results:
        by_cause.setdefault(result.cause, []).append(result)
    for cause_id in causes:
        was = baseline.causes.get(cause_id)
        if was is None:
            continue
        cause = knowledge.causes[cause_id]
        for key, said in _loosened(was, cause):
            yield subject.finding(("causes", cause_id, key), "loosened", said)
        frequency = knowledge.likelihood.frequency
        turned = dict(_turned(was.facts["evidence"], _facts(cause)["evidence"], frequency))
        for path, said in turned.items():
            yield subject.finding(("causes", cause_id, "evidence", *path), "line-turned", said)
        others = was.cases.keys() - map(_key, cause.cases)
        if others:
            noun = "case" if len(others) == 1 else "cases"
            yield subject.finding(
                ("causes", cause_id, "cases"), "case-changed",
                f"{len(others)} {noun} of the baseline changed or went; a case is described once, "
                f"and not mended until it comes first: {READ_IT}",
            )  # fmt: skip
        if cause_id not in by_cause:
            continue
        moved = _moved(was, cause, by_cause[cause_id])
        fell = [said for said, points in moved if points < 0]
        if fell:
            noun = "case" if len(fell) == 1 else "cases"
            more = f" and {len(fell) - NAMED} more" if len(fell) > NAMED else ""
            yield subject.finding(
                ("causes", cause_id, "cases"), "cases-fell",
                f"{len(fell)} {noun} fell by more than {FELL} points or need more questions: "
                f"{'; '.join(fell[:NAMED])}{more}",
            )  # fmt: skip
        elif not any(points > 0 for _, points in moved):
            for path, said in _changed(was.facts, _facts(cause)):
                if path[1:] in turned:
                    continue
                yield subject.finding(
                    ("causes", cause_id, *path), "change-without-gain",
                    f"{said}, and no case of {cause_id} is the better for it; add one that is, or "
                    "take the baseline anew with diagnose baseline",
                )  # fmt: skip


def _unread(
    subject: Subject, knowledge: Knowledge, approved: Mapping[str, Mapping[str, str]], file: str
) -> Iterator[Finding]:
    """unread-change: what can hurt, or no case tells of, and is not as approved; new ones apart."""
    now = _held(knowledge, subject.asked)
    for entry, was in approved.items():
        kind, _, entry_id = entry.partition("/")
        if not subject.asked(kind, entry_id) or {kind, entry} & subject.broken:
            continue
        if entry not in now:
            said = f"{entry} is gone, or says nothing that can hurt any more; {READ_IT}"
            yield Finding(file, 1, "unread-change", said)
            continue
        for field in sorted({*was, *now[entry]}):
            if was.get(field) != now[entry].get(field):
                yield subject.finding(
                    (kind, entry_id, field), "unread-change",
                    f"{entry_id}: {field} is not as it was approved; {READ_IT}",
                )  # fmt: skip


def _loosened(was: Approved, cause: Cause) -> Iterator[tuple[str, str]]:
    """What a cause says less strictly of eating and help: the key, and in words."""
    since = "than in the baseline"
    if EATEN.index(cause.eat) > EATEN.index(was.eat):
        yield "eat", f"it says eat: {cause.eat}, which is freer {since}, {was.eat}"
    if DECIDED.index(cause.matters.decision) > DECIDED.index(was.decision):
        now = cause.matters.decision
        yield "matters", f"it says {now}, which is weaker {since}, {was.decision}"
    if was.referral and cause.referral != was.referral:
        yield "referral", f"it no longer refers to {was.referral}, as in the baseline"
    for caution in was.cautions:
        if caution not in cause.cautions:
            yield "cautions", f"the caution {caution} is gone, which was there in the baseline"
    for word in was.forbids:
        if word not in _forbids(cause.harvest):
            yield "harvest", f"it no longer says {word!r}, as in the baseline"


def _turned(
    was: Mapping[str, Any], now: Mapping[str, Any], frequency: Mapping[Any, float]
) -> Iterator[tuple[tuple[str, ...], str]]:
    """The evidence lines that say the opposite of what was approved: where, and in words."""
    for symptom, old in was.items():
        new = now.get(symptom)
        if isinstance(old, dict) and isinstance(new, dict):
            yield from (((symptom, *path), said) for path, said in _turned(old, new, frequency))
        elif isinstance(old, (str, float)) and isinstance(new, (str, float)):
            low, high = sorted(figure(word, frequency) for word in (old, new))
            if low <= SELDOM and high >= OFTEN:
                yield (symptom,), f"{symptom} was {old} and is {new}; {READ_IT}"


def _moved(was: Approved, cause: Cause, results: Iterable[Result]) -> list[tuple[str, int]]:
    """The cases that came out otherwise, in words: 1 for better, -1 for worse by too much."""
    found = []
    for result in results:
        case = cause.cases[result.index]
        old = was.cases.get(_key(case))
        if old is None:
            continue
        gain = round(100 * result.own) - old.chance
        longer = (result.questions or 0) - (old.questions or 0)
        words = " ".join(case.text.split()[:6]) or "without words"
        said = f"{words!r} {old.chance} -> {old.chance + gain} %"
        if longer > MORE:
            said += f", {old.questions} -> {result.questions} questions"
        worse = gain < -FELL or longer > MORE
        if gain or longer:
            found.append((said, -1 if worse else int(gain > 0 or longer < 0)))
    return found


def _changed(
    old: Mapping[str, Any], new: Mapping[str, Any], path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], str]]:
    """The facts that differ: where, and in words."""
    for key in dict.fromkeys((*old, *new)):
        was, now = old.get(key), new.get(key)
        if isinstance(was, dict) and isinstance(now, dict):
            yield from _changed(was, now, (*path, key))
        elif was != now:
            at = ".".join((*path, key))
            yield (*path, key), f"{at} was {was or 'not there'} and is {now or 'not there'}"
