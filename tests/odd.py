"""Odd texts, made by chance from a seed: of odd characters, of other tongues, of words torn."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator

from diagnose.inputs import LONGEST
from diagnose.kb.model import Knowledge

SEED = 11
ODD = (
    "²③½Ⅷ፩٣", "\u202e\u200b\ufeff\u0301", "\x00\x1b[31m\x07\r\t\n", "ßſİıǅ", "🐌🥬",
    "\u2018\u2019\u201c\u201d—…", "\ud83d\udce9", "؟。\uff01\uff1f", "{}[]()<>&%$#@\\|`~^",
    "0123456789.,", "no not or nor ,",
)  # fmt: skip
FOREIGN = (
    "Die Blätter meiner Tomaten haben braune Flecken mit Ringen und welken am Mittag",
    "Las hojas de mis pepinos tienen manchas amarillas y hay bichos debajo",
    "Les feuilles de mes courgettes sont couvertes d'une poudre blanche",
    "листья капусты съедены и дырявые", "葉に穴があいています", "أوراق الخس ذابلة",
)  # fmt: skip


class Odd:
    """Makes odd texts out of the described ones of a knowledge."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.chance = random.Random(SEED)
        self.cases = [case.text for cause in knowledge.causes.values() for case in cause.cases]
        self.words = [w for text in self.chance.sample(self.cases, 200) for w in text.split()]
        self.kinds: tuple[Callable[[], str], ...] = (
            self.odd, self.known, self.mixed, self.torn, self.foreign, self.capitals, self.dictated,
            self.one_word, self.listed, self.slips, self.long, self.doubled,
        )  # fmt: skip

    def texts(self, count: int) -> Iterator[str]:
        """So many texts, of each kind in turn."""
        for number in range(count):
            yield self.kinds[number % len(self.kinds)]()[:LONGEST]

    def case(self) -> str:
        """A described text."""
        return self.chance.choice(self.cases)

    def size(self) -> int:
        """How many words or characters."""
        return self.chance.choice((1, 5, 40, 40, 200))

    def odd(self) -> str:
        """Odd characters alone."""
        return "".join(self.chance.choice(self.chance.choice(ODD)) for _ in range(self.size()))

    def known(self) -> str:
        """Words of gardeners in no order."""
        return " ".join(self.chance.choice(self.words) for _ in range(self.size()))

    def mixed(self) -> str:
        """Words and odd characters."""
        parts = [*self.known().split(), *self.odd()]
        self.chance.shuffle(parts)
        return self.chance.choice(("", " ")).join(parts)

    def torn(self) -> str:
        """A text cut somewhere, its end first."""
        text = self.case()
        cut = self.chance.randrange(len(text) + 1)
        return text[cut:] + text[:cut]

    def foreign(self) -> str:
        """Another language, alone or before English."""
        return self.chance.choice(FOREIGN) + self.chance.choice(("", f". {self.case()}"))

    def capitals(self) -> str:
        """All capitals."""
        return self.case().upper()

    def dictated(self) -> str:
        """No marks at all, in one breath."""
        return re.sub(r"[^\w\s]", "", " ".join((self.case(), self.case()))).lower()

    def one_word(self) -> str:
        """One word."""
        return self.chance.choice(self.words)

    def listed(self) -> str:
        """A list, a line each."""
        mark = self.chance.choice(("- ", "* ", "1) ", "🌱 "))
        return "\n".join(mark + part for part in re.split(r"[.,;]", self.case()))

    def slips(self) -> str:
        """A text in which every fourth word has two letters changed about."""
        words = self.case().split()
        for i in range(0, len(words), 4):
            if len(words[i]) > 3:
                k = self.chance.randrange(len(words[i]) - 1)
                word = words[i]
                words[i] = word[:k] + word[k + 1] + word[k] + word[k + 2 :]
        return " ".join(words)

    def long(self) -> str:
        """As much as is taken."""
        return " ".join(self.case() for _ in range(60))

    def doubled(self) -> str:
        """The same over and over."""
        return self.chance.choice((self.one_word(), self.odd(), self.case())) * 50
