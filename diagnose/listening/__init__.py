"""A small tuned encoder beside the phrases: it judges, proposes, and speaks for causes.

docs/listening.md explains it. `Listening.of` makes it ready for a knowledge base, or gives None
where the run-time is missing; nothing else needs it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

import numpy as np

from diagnose.inputs import Said as Text
from diagnose.kb.described import CaseId
from diagnose.kb.model import Knowledge
from diagnose.kb.store import Parts
from diagnose.listening.ears import Ears, Proposal, Said
from diagnose.listening.encoder import Encoder, available
from diagnose.listening.trust import Clue, Judge
from diagnose.listening.voice import Catalog, Described, Voice, crop_name
from diagnose.reading import Ground
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import Floats

__all__ = ["Listening", "Proposal", "available"]


class Listening:
    """The encoder made ready for one knowledge base."""

    def __init__(
        self, knowledge: Knowledge, encoder: Encoder, judge: Judge, catalog: Catalog
    ) -> None:
        self.knowledge, self.encoder = knowledge, encoder
        self.ears = Ears(knowledge, encoder, judge)
        self.causes = Voice(knowledge, encoder, catalog)
        self.hear = lru_cache(maxsize=2)(self._hear)  # a text is asked about three times on end

    @classmethod
    def of(cls, knowledge: Knowledge, parts: Parts | None = None) -> Listening | None:
        """Ready for a knowledge base, or None where the encoder cannot run here.

        None too where it was fitted on other signs than most of those there: it cannot judge them.
        `parts` are those of the ready-made copy, where there is one.
        """
        judge = Judge.of(knowledge)
        encoder = Encoder.open() if judge else None
        if judge is None or encoder is None:
            return None
        catalog = Catalog.ready(parts, len(knowledge.causes)) if parts else Catalog.of(knowledge)
        return cls(knowledge, encoder, judge, catalog)

    def _hear(self, text: Text, crop: str | None) -> Said:
        """A text about a crop, heard once for all three jobs."""
        return self.ears.hear(self.encoder.hear(text, crop_name(self.knowledge, crop)))

    def clues(self, text: Text, crop: str | None, seen: Iterable[Observation]) -> list[Clue | None]:
        """What it makes of each reading of a text; None of one of which it cannot say."""
        said = self.hear(text, crop)
        return [self.ears.clue(said, one) for one in seen]

    def proposals(
        self,
        text: Text,
        crop: str | None,
        readings: Sequence[Observation],
        suggested: Mapping[str, float],
        ground: Ground,
    ) -> list[Proposal]:
        """What else a text may say, likeliest first; `suggested` as in `trust`, by sign.

        `ground` is where the words stand that tell something, as in `Reading`.
        """
        return self.ears.propose(self.hear(text, crop), readings, suggested, ground)

    def voice(self, text: Text, crop: str | None, without: CaseId | None = None) -> Floats:
        """The log weight of a text for every cause and, last, 0 for something else."""
        return self.causes.weigh(self.hear(text, crop).heard.vector, without)

    def voices(
        self, text: Text, crop: str | None, parts: Sequence[str], without: CaseId | None = None
    ) -> Floats:
        """The log weight of each part of a text, in order, as it is heard within the whole.

        Each counts by its share of the text. Parts down; causes across and, last, something else.
        """
        heard = self.hear(text, crop).heard
        found = [
            share * self.causes.weigh(vector, without) for share, vector in heard.of_parts(parts)
        ]
        return np.array(found)

    def nearest(
        self, text: Text, crop: str | None, cause: str, without: CaseId | None = None
    ) -> Described:
        """The described text of a cause that is most like a text."""
        return self.causes.nearest(self.hear(text, crop).heard.vector, cause, without)
