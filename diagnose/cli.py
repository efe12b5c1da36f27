"""The commands, one small function each."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose import __version__
from diagnose.errors import DiagnoseError, UsageError

if TYPE_CHECKING:
    from diagnose.consultation import Consultation, Reasoner
    from diagnose.seasons.degree_days import Day

FINE, FINDINGS, WRONG_USE, INTERRUPTED = 0, 1, 2, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is 0 fine, 1 findings, 2 wrong use, 130 interrupted."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        options = parser().parse_args(argv)
        if options.version:
            return version(options)
        command: Callable[[argparse.Namespace], int] = options.command
        return command(options)
    except DiagnoseError as error:
        print(f"diagnose: {error}", file=sys.stderr)
        return WRONG_USE
    except KeyboardInterrupt:
        print(file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:  # the reader of a pipe has gone
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line."""

    def error(self, message: str) -> None:  # type: ignore[override]
        """Say what is wrong, and where help is."""
        raise UsageError(f"{message}; see {self.prog} --help")


def parser() -> argparse.ArgumentParser:
    """The command line."""
    everywhere = Parser(add_help=False)
    everywhere.add_argument(
        "--knowledge", metavar="DIR", default=argparse.SUPPRESS,
        help="use another knowledge folder",
    )  # fmt: skip
    everywhere.add_argument(
        "--version", action="store_true", default=argparse.SUPPRESS,
        help="version, engine in use and digest of the knowledge",
    )  # fmt: skip
    everywhere.add_argument(
        "--plain", action="store_true", default=argparse.SUPPRESS,
        help="line by line, without colour or redrawing (also good for screen readers)",
    )  # fmt: skip
    place = Parser(add_help=False)
    place.add_argument("--date", metavar="YYYY-MM-DD", help="the day of the visit (today)")
    place.add_argument("--latitude", metavar="D", help="degrees, south negative")
    place.add_argument("--last-frost", metavar="MM-DD", help="usual last frost in spring")
    place.add_argument("--first-frost", metavar="MM-DD", help="usual first frost in autumn")

    top = Parser(
        prog="diagnose", parents=[everywhere, place],
        description="Finds out, by asking, what is wrong in a vegetable bed, and what to do about "
        "it with the least harm. Without a command: the guided consultation.",
        epilog="Answers: a number or a word; unsure, why, back, so far, stop. "
        "Exit codes: 0 fine, 1 findings, 2 wrong use, 130 interrupted.",
    )  # fmt: skip
    top.set_defaults(command=consult, knowledge=None, version=False, plain=False, crop=None)
    commands = top.add_subparsers(title="commands", metavar="")

    def add(
        name: str, run: Callable[[argparse.Namespace], int], about: str, example: str,
        *parents: Parser,
    ) -> argparse.ArgumentParser:  # fmt: skip
        made: argparse.ArgumentParser = commands.add_parser(
            name, parents=[everywhere, *parents], help=f"{about}  e.g. {example}",
            description=f"{about[:1].upper()}{about[1:]}. For example: {example}",
        )  # fmt: skip
        made.set_defaults(command=run)
        return made

    one = add(
        "read", read_text, "one shot: read a sentence and rank the causes, no questions asked",
        'diagnose read "pale squiggles in the leaves" --crop beet', place,
    )  # fmt: skip
    one.add_argument("text", metavar="TEXT")
    one.add_argument("--crop", metavar="C", help="the crop it is about")
    one.add_argument("--json", action="store_true", help="as JSON (docs/json.md)")
    many = add(
        "case", work_cases, "work stored cases and say where the expected cause came",
        "diagnose case my-cases.yaml --ask", place,
    )  # fmt: skip
    many.add_argument("files", metavar="FILE", nargs="+")
    many.add_argument("--json", action="store_true", help="as JSON, a line per case")
    many.add_argument(
        "--ask", action="store_true", help="put the guided questions, answered from the case"
    )
    page = add(
        "show", show, "what the knowledge says of a crop, symptom or cause", "diagnose show beet"
    )
    page.add_argument("id", metavar="ID")
    page.add_argument(
        "--weather", metavar="FILE",
        help="daily temperatures (CSV: date,min_c,max_c): when the cause comes, by warmth",
    )  # fmt: skip
    lint = add("check", check, "check a knowledge folder", "diagnose check my-knowledge")
    lint.add_argument("folder", metavar="DIR", nargs="?")
    lint.add_argument("--json", action="store_true", help="the findings alone, as JSON")
    lint.add_argument(
        "--watch", action="store_true", help="go on, and check again at each save (docs/bench.md)"
    )
    from diagnose.bench import commands as bench

    bench.register(add, everywhere)
    return top


# what every command needs


def knowledge_folder(options: argparse.Namespace) -> Path:
    """The folder asked for, or the one that came with the package."""
    from diagnose.kb.store import shipped

    return Path(options.knowledge) if options.knowledge else shipped()


def open_reasoner(options: argparse.Namespace) -> Reasoner:
    """The knowledge, made ready."""
    from diagnose.consultation import Reasoner
    from diagnose.ready import open_knowledge

    reasoner = Reasoner(open_knowledge(knowledge_folder(options)))
    gc.freeze()  # it is there to the end: no search for garbage need go through it
    return reasoner


def blank(reasoner: Reasoner, options: argparse.Namespace) -> Consultation:
    """A consultation with nothing in it but the day and the place asked for."""
    from dataclasses import replace

    from diagnose.consultation import Consultation
    from diagnose.seasons.calendar import MonthDay

    home = reasoner.home()
    try:
        if options.latitude is not None:
            degrees = float(options.latitude)
            moved = home.latitude * degrees < 0
            home = replace(
                home,
                latitude=degrees,
                last_frost=home.last_frost.opposite() if moved else home.last_frost,
                first_frost=home.first_frost.opposite() if moved else home.first_frost,
            )
        last, first = options.last_frost, options.first_frost
        home = replace(
            home,
            last_frost=MonthDay.parse(last) if last else home.last_frost,
            first_frost=MonthDay.parse(first) if first else home.first_frost,
        )
    except ValueError as error:
        text = str(error)
        if text.startswith("could not convert"):
            text = f"{options.latitude!r} is no latitude; give degrees, as in --latitude 42"
        raise UsageError(text) from None
    return Consultation(reasoner, asked_day(options.date), home)


def asked_day(text: str | None) -> date:
    """The day asked for, or today. Raises UsageError on an impossible one."""
    if text is None:
        return date.today()
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{text!r} is no date; write it as 2026-06-05") from None
    if not date(1900, 1, 1) <= day <= date.today() + timedelta(days=3660):
        raise UsageError(f"{text} is out of reach; give a day from 1900 to ten years from now")
    return day


# the commands


def version(options: argparse.Namespace) -> int:
    """Print version, engine and digest."""
    reasoner = open_reasoner(options)
    print(f"diagnose {__version__}, engine {reasoner.engine.name}, "
          f"knowledge {reasoner.knowledge.digest}")  # fmt: skip
    return FINE


def consult(options: argparse.Namespace) -> int:
    """The guided consultation."""
    from diagnose.terminal import saved
    from diagnose.terminal.askers import Asker, LineAsker, PromptAsker
    from diagnose.terminal.dialogue import Dialogue, Leave
    from diagnose.terminal.page import note
    from diagnose.terminal.screen import choose, is_terminal

    reasoner = open_reasoner(options)
    started = blank(reasoner, options)
    asker: Asker = LineAsker()
    if is_terminal() and not options.plain:
        asker = PromptAsker(saved.folder() / "history")
    screen = choose(options.plain or isinstance(asker, LineAsker))
    place = started.place
    screen.show(
        [note(f"Day {started.day}, latitude {place.latitude:g}, usual last frost "
              f"{place.last_frost}, first frost {place.first_frost} "
              f"(change them with --date, --latitude, --last-frost, --first-frost).")]
    )  # fmt: skip
    dialogue = Dialogue(screen, asker, started)
    try:
        dialogue.run(saved.restore(reasoner))
    except Leave:
        return FINE
    return FINE


def read_text(options: argparse.Namespace) -> int:
    """One shot, no questions asked."""
    from diagnose import cases
    from diagnose.kb.model import Case

    reasoner = open_reasoner(options)
    started = blank(reasoner, options)
    if not options.text.strip():
        raise UsageError("the text is empty; say in a sentence what you see on the plant")
    if options.crop and reasoner.knowledge.crop_named(options.crop) is None:
        from diagnose.terminal.dialogue import unknown_crop

        raise UsageError(unknown_crop(reasoner.knowledge, options.crop))
    case = Case(text=options.text, crop=options.crop or None)
    consultation = cases.start(case, started)
    reading = consultation.reading
    if options.json:
        import json

        from diagnose.documents.as_json import document

        print(json.dumps(document(consultation), indent=2, ensure_ascii=False))
        return FINE
    from diagnose.terminal import views
    from diagnose.terminal.page import note
    from diagnose.terminal.screen import choose

    page = views.what_was_read(reasoner.knowledge, reading) if reading else []
    if consultation.crop is None:
        page.append(note("No crop named: give one with --crop for a better answer."))
    choose(options.plain).show(page + views.outcome(consultation))
    return FINE


def work_cases(options: argparse.Namespace) -> int:
    """Work stored cases; findings (exit code 1) where an expected cause did not come first."""
    from diagnose import cases

    reasoner = open_reasoner(options)
    started = blank(reasoner, options)
    worked: list[cases.Worked] = []
    skipped: list[str] = []
    for name in options.files:
        for number, case in enumerate(cases.read_cases(Path(name)), 1):
            label = case.id or f"{name} {number}"
            if case.crop and reasoner.knowledge.crop_named(case.crop) is None:
                skipped.append(label)
                continue
            try:
                done = cases.work(case, started, options.ask)
            except UsageError as error:
                raise UsageError(f"{label}: {error}") from None
            worked.append(done)
            _print_case(label, done, options)
    if not options.json:
        _print_total(worked, skipped, options.ask)
    return FINE if all(w.place == 1 or not w.case.expect for w in worked) else FINDINGS


def _print_case(label: str, done: object, options: argparse.Namespace) -> None:
    from diagnose.cases import Worked

    assert isinstance(done, Worked)
    if options.json:
        import json

        from diagnose.documents.as_json import document

        data = {"id": label, "expect": done.case.names, "place": done.place or None}
        data |= {"questions": done.consultation.asked} if options.ask else {}
        print(json.dumps(data | document(done.consultation), ensure_ascii=False))
        return
    came = f"came {done.place}" if done.place else "did not come"
    expected = f"; expected {done.case.names[0]}, {came}" if done.case.names else ""
    asked = f"; {done.consultation.asked} questions" if options.ask else ""
    unread = "" if done.consultation.observations else "; nothing read"
    print(f"{label}: {done.first}{expected}{asked}{unread}")


def _print_total(worked: Sequence[object], skipped: Sequence[str], ask: bool) -> None:
    from diagnose.cases import Worked

    done = [w for w in worked if isinstance(w, Worked)]
    judged = [w for w in done if w.case.expect]
    if judged:
        first = sum(w.place == 1 for w in judged)
        three = sum(1 <= w.place <= 3 for w in judged)
        unread = sum(not w.consultation.observations for w in judged)
        count = len(judged)
        print(
            f"{count} cases: right first {first} ({first / count:.1%}), "
            f"in the first three {three} ({three / count:.1%}), nothing read {unread}"
        )
        if ask:
            mean = sum(w.consultation.asked for w in judged) / count
            print(f"questions asked: {mean:.1f} on average")
    if skipped:
        print(f"left aside, crop not known: {len(skipped)} ({', '.join(skipped)})")


def show(options: argparse.Namespace) -> int:
    """A page of the knowledge."""
    from diagnose.kb.load import near
    from diagnose.ready import open_knowledge
    from diagnose.terminal import views
    from diagnose.terminal.screen import choose

    knowledge = open_knowledge(knowledge_folder(options))
    wanted = options.id.strip()
    pages = {
        **dict.fromkeys(knowledge.symptoms, views.symptom_page),
        **dict.fromkeys(knowledge.causes, views.cause_page),
        **dict.fromkeys(knowledge.crops, views.crop_page),
    }
    if wanted not in pages:
        wanted = knowledge.crop_named(wanted) or wanted
    if wanted not in pages:
        raise UsageError(
            f"no crop, symptom or cause has the id {wanted!r}; {near(wanted, list(pages))}"
        )
    found = pages[wanted](knowledge, wanted)
    if options.weather:
        from diagnose.consultation import Reasoner

        if wanted not in knowledge.causes:
            raise UsageError(f"--weather is for causes; {wanted} is none")
        home = Reasoner(knowledge).home()
        found += views.warmth(knowledge, wanted, read_weather(Path(options.weather)), home)
    choose(options.plain).show(found)
    return FINE


def read_weather(file: Path) -> list[Day]:
    """The days in a table of daily temperatures. Raises UsageError where it cannot be read."""
    from diagnose.seasons.weather import parse

    try:
        with file.open(encoding="utf-8-sig", newline="") as lines:
            return parse(lines)
    except OSError as error:
        raise UsageError(f"{file} cannot be read: {error.strerror}") from None
    except ValueError as error:
        raise UsageError(f"{file}, {error}") from None


def check(options: argparse.Namespace) -> int:
    """Check a knowledge folder: one line per finding, then what came of the cases."""
    from diagnose.bench.confusion import show_summary
    from diagnose.checking.check import examine
    from diagnose.terminal import findings
    from diagnose.terminal.page import note, text
    from diagnose.terminal.screen import choose

    folder = Path(options.folder) if options.folder else knowledge_folder(options)
    if options.watch:
        from diagnose.bench.commands import watch

        return watch(folder, options)
    report = examine(folder)
    if options.json:
        import json

        print(json.dumps(findings.as_json(report.findings), indent=2, ensure_ascii=False))
        return FINDINGS if report.findings else FINE
    screen = choose(options.plain)
    findings.show(screen, report.findings)
    if report.results:
        show_summary(screen, report.results)
    screen.show([
        note(f"{report.from_memory} of {report.causes} causes rest on no source that was opened."),
        text(f"{findings.total(report.findings)} in {folder}"),
    ])  # fmt: skip
    return FINDINGS if report.findings else FINE
