"""What several commands need: exit codes, the knowledge asked for, a blank consultation."""

from __future__ import annotations

import argparse
import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import UsageError

if TYPE_CHECKING:
    from diagnose.consultation import Consultation, Reasoner
    from diagnose.kb.model import Knowledge
    from diagnose.seasons.calendar import Place
    from diagnose.terminal.askers import Asker
    from diagnose.terminal.screen import Screen

FINE, FINDINGS, WRONG_USE, INTERRUPTED = 0, 1, 2, 130


def knowledge_folders(options: argparse.Namespace) -> tuple[Path, ...]:
    """The folders asked for, else those in use, the lowest first.

    Folders that are no knowledge of their own lie over the one in use.
    """
    from diagnose import settings
    from diagnose.kb.store import in_use

    named = options.knowledge or settings.in_use.get().knowledge or []
    return over_base(*(Path(name).expanduser() for name in named)) if named else (in_use(),)


def over_base(*folders: Path) -> tuple[Path, ...]:
    """Folders, over the one in use where the first is no whole knowledge but a part of one."""
    from diagnose.kb.store import in_use

    first = folders[0]
    part = first.is_dir() and any(first.iterdir()) and not (first / "likelihood.yaml").exists()
    return (in_use(), *folders) if part else folders


def knowledge_folder(options: argparse.Namespace) -> Path:
    """The folder that a maintainer works in: the last one asked for, or the one in use."""
    return knowledge_folders(options)[-1]


def the_knowledge(options: argparse.Namespace) -> Knowledge:
    """The knowledge asked for. Raises KnowledgeError."""
    from diagnose.ready import open_knowledge

    return open_knowledge(knowledge_folders(options))


def the_reasoner(options: argparse.Namespace) -> Reasoner:
    """The knowledge asked for, made ready. Raises KnowledgeError."""
    from diagnose.ready import open_reasoner

    return open_reasoner(knowledge_folders(options))


def screen(options: argparse.Namespace) -> Screen:
    """The screen that suits where the output goes."""
    from diagnose.terminal.screen import choose

    return choose(options.plain)


def asker(options: argparse.Namespace, history: str) -> Asker:
    """The way to ask that suits where the input comes from; `history` names the file for it."""
    from diagnose import kept
    from diagnose.terminal.askers import LineAsker, PromptAsker
    from diagnose.terminal.screen import is_terminal

    if is_terminal() and not options.plain:
        return PromptAsker(kept.folder() / history)
    return LineAsker()


def print_json(value: Any) -> None:
    """A value as JSON, for people and programs."""
    print(json.dumps(value, indent=2, ensure_ascii=False))


def blank(reasoner: Reasoner, options: argparse.Namespace) -> Consultation:
    """A consultation with nothing in it but the day and the place asked for.

    Raises UsageError on an impossible day or place.
    """
    from diagnose.consultation import Consultation
    from diagnose.inputs import day_of

    day = day_of(options.date) if options.date is not None else date.today()
    return Consultation(reasoner, day, place(reasoner.home(), options))


def place(home: Place, options: argparse.Namespace) -> Place:
    """The place asked for; what is not told is as it was set, or as at home.

    Across the equator the frosts that are not told are mirrored.
    """
    from diagnose import settings
    from diagnose.inputs import latitude_of, month_day_of

    latitude, last, first = options.latitude, options.last_frost, options.first_frost
    try:
        return settings.moved(
            settings.in_use.get().at(home),
            None if latitude is None else latitude_of(latitude),
            None if last is None else month_day_of(last),
            None if first is None else month_day_of(first),
        )
    except ValueError as error:
        raise UsageError(str(error)) from None
