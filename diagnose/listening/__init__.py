"""A small tuned encoder beside the phrases: it judges, proposes, and speaks for causes.

docs/listening.md explains it. `Listening.of` makes it ready for a knowledge base, or gives None
where the run-time is missing; nothing else needs it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from diagnose.inputs import Said as Text
from diagnose.kb.described import CaseId
from diagnose.kb.model import Knowledge
from diagnose.kb.store import Parts
from diagnose.listening.ears import Ears, Proposal, Said
from diagnose.listening.encoder import Encoder, available
from diagnose.listening.units import heirs, parted
from diagnose.listening.voice import Described, Shelf, Voice, crop_name
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import Floats

MOST_OF = 0.75  # of the signs of a knowledge that the encoder must have been fitted on

__all__ = ["Listening", "Proposal", "available"]


@dataclass(frozen=True, slots=True)
class Trusted:
    """What the encoder makes of the readings of a text: a trust for each, and what to offer."""

    trust: tuple[float | None, ...]
    proposals: tuple[Proposal, ...]


class Listening:
    """The encoder made ready for one knowledge base."""

    def __init__(self, knowledge: Knowledge, encoder: Encoder, shelf: Shelf) -> None:
        self.knowledge, self.encoder = knowledge, encoder
        self.ears = Ears(knowledge, encoder)
        self.causes = Voice(knowledge, encoder, shelf)
        self.hear = lru_cache(maxsize=2)(self._hear)  # a text is asked about three times on end

    @classmethod
    def of(cls, knowledge: Knowledge, parts: Parts | None = None) -> Listening | None:
        """Ready for a knowledge base, or None where the encoder cannot run here.

        None too where it was fitted on other signs than most of those there: it cannot judge them.
        `parts` are those of the ready-made copy, where there is one.
        """
        encoder = Encoder.open()
        if encoder is None:
            return None
        known = {parted(name)[0] for name, rows in heirs(knowledge, encoder.units).items() if rows}
        if len(known) < MOST_OF * len(knowledge.symptoms):
            return None
        shelf = Shelf.ready(parts, len(knowledge.causes)) if parts else Shelf.of(knowledge)
        return cls(knowledge, encoder, shelf)

    def _hear(self, text: Text, crop: str | None) -> Said:
        """A text about a crop, heard once for all three jobs."""
        return self.ears.hear(self.encoder.hear(text, crop_name(self.knowledge, crop)))

    def trusted(self, text: Text, crop: str | None, readings: Sequence[Observation]) -> Trusted:
        """How far each reading of a text is to be trusted, and what else it may say."""
        said = self.hear(text, crop)
        return Trusted(
            tuple(self.ears.judge(said, readings)), tuple(self.ears.propose(said, readings))
        )

    def voice(self, text: Text, crop: str | None, without: CaseId | None = None) -> Floats:
        """The log weight of a text for every cause and, last, 0 for something else."""
        return self.causes.weigh(self.hear(text, crop).heard, without)

    def nearest(
        self, text: Text, crop: str | None, cause: str, without: CaseId | None = None
    ) -> Described:
        """The described text of a cause that is most like a text."""
        return self.causes.nearest(self.hear(text, crop).heard, cause, without)
