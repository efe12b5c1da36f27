"""Where in the bed, which leaves and how fast: told by the order of words, not by a bag of them.

"Only the row by the fence" is a quantity, plants, and a place. A pattern of `order` in the symptoms
is a row of `slots` (words.yaml) and words, as in `{only} {one} .. {plant}`; `..` lets up to `REACH`
others stand between, and `on|along` is either word. Concerns are heard by the same means.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from diagnose.kb.model import PRESENT, Concern, Concerns, Symptom, SymptomValue
from diagnose.reading.concerns import LITERAL, Listener
from diagnose.reading.phrases import Names, Phrase

if TYPE_CHECKING:
    from diagnose.reading.words import Token

REACH = 2  # words that may stand where a pattern lets some
CROP = "crop"  # the slot of the names of all crops


class Order:
    """The patterns of some symptoms, over slots of words and the names of crops."""

    def __init__(
        self,
        symptoms: Mapping[str, Symptom],
        slots: Mapping[str, list[str]],
        crops: Mapping[str, Names],
    ) -> None:
        names = [name for crop, also in crops.items() for name in (crop.replace("-", " "), *also)]
        self.patterns = list(patterns(symptoms))
        self.listener = Listener(
            Concerns(
                other_sense=[],
                things=[],
                classes={**slots, CROP: names},
                concerns={
                    str(number): Concern(says=[_in_slots(pattern.text)], of="person", reach=REACH)
                    for number, pattern in enumerate(self.patterns)
                },
            )
        )

    def found(self, tokens: Sequence[Token]) -> Iterator[tuple[Phrase, frozenset[int]]]:
        """The patterns found in a sentence, each with its tokens."""
        no = {i for i, token in enumerate(tokens) if token.negator}
        place = {token.start: i for i, token in enumerate(tokens)}
        for heard in self.listener.hear("", tokens, no):  # only names need the text
            at = frozenset(place[start] for start in heard.taken)
            yield self.patterns[int(heard.concern)], at


def _in_slots(text: str) -> str:
    """A pattern in which a choice of words, `on|along`, is a slot of its own."""
    return " ".join(
        "{" + "|".join(LITERAL + word for word in part.split("|")) + "}"
        if "|" in part and not part.startswith("{")
        else part
        for part in text.split()
    )


def patterns(symptoms: Mapping[str, Symptom]) -> Iterator[Phrase]:
    """The patterns of some symptoms and of their forms."""
    for symptom_id, symptom in symptoms.items():
        told = [(PRESENT, symptom.order)]
        told += [(v, f.order) for v, f in symptom.values.items() if isinstance(f, SymptomValue)]
        for value, texts in told:
            for text in texts:
                yield Phrase(("symptom", symptom_id, value), (), text=text)
