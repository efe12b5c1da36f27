"""The unfinished consultation, kept in the user's state folder after every answer."""

from __future__ import annotations

import contextlib
import json
import os
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from diagnose.consultation import Consultation, Reasoner
from diagnose.reasoning.facts import Observation
from diagnose.seasons.calendar import MonthDay, Place


def folder() -> Path:
    """Where unfinished consultations and the history are kept."""
    from platformdirs import user_state_path

    return user_state_path("diagnose")


def _file() -> Path:
    return folder() / "unfinished.json"


class Kept(NamedTuple):
    """A consultation that was left, and words of it that were typed but not confirmed yet."""

    consultation: Consultation
    words: str


def save(consultation: Consultation, words: str = "") -> bool:
    """Keep a consultation; False where the folder cannot be written."""
    place = consultation.place
    data = {
        "words": words,
        "crop": consultation.crop,
        "date": consultation.day.isoformat(),
        "place": [place.latitude, str(place.last_frost), str(place.first_frost)],
        "observations": [asdict(o) for o in consultation.observations],
        "unsure": list(consultation.unsure),
        "said": consultation.said,
        "asked": consultation.asked,
        "unsure_in_a_row": consultation.unsure_in_a_row,
        "listed": list(consultation.listed),
    }
    with contextlib.suppress(OSError):
        _file().parent.mkdir(parents=True, exist_ok=True)
        part = _file().with_suffix(f".{os.getpid()}")
        part.write_text(json.dumps(data, indent=1), encoding="utf-8")
        part.replace(_file())
        return True
    return False


def forget() -> None:
    """Drop the kept consultation: it is finished."""
    with contextlib.suppress(OSError):
        _file().unlink(missing_ok=True)


def restore(reasoner: Reasoner) -> Kept | None:
    """The kept consultation, or None; what the knowledge no longer knows is left out."""
    try:
        data: dict[str, Any] = json.loads(_file().read_text(encoding="utf-8"))
        latitude, last, first = data["place"]
        symptoms = reasoner.knowledge.symptoms
        seen = [Observation(**o) for o in data["observations"]]
        crop = data["crop"]
        consultation = Consultation(
            reasoner,
            date.fromisoformat(data["date"]),
            Place(latitude, MonthDay.parse(last), MonthDay.parse(first)),
            crop if crop in reasoner.knowledge.crops else None,
            tuple(
                o for o in seen
                if o.symptom in symptoms
                and o.value in (*symptoms[o.symptom].states, "present")
            ),
            tuple(s for s in data["unsure"] if s in symptoms),
            str(data["said"]),
            int(data["asked"]),
            int(data["unsure_in_a_row"]),
            tuple(s for s in data["listed"] if s in symptoms),
        )  # fmt: skip
        return Kept(consultation, str(data["words"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
