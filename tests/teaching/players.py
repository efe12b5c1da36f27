"""Players of a round at the prompt, for the page on teaching: a good one and a poor one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import IO

from diagnose.teaching import measures
from diagnose.teaching.practice import Round
from diagnose.terminal.practising import Practising

SURE = 0.8  # chance of the hidden cause from which the good player names it


class Player:
    """Types at the prompt of a round, and shows what is typed."""

    def __init__(self, out: IO[str], good: bool) -> None:
        self.out, self.good = out, good
        self.game: Practising | None = None
        self.queue = ["list"] if good else ["help", "bad smell", "name slugs", "give up"]

    @property
    def round(self) -> Round:
        """The round as it stands."""
        assert self.game is not None
        return self.game.round

    def ask(self, prompt: str, choices: Sequence[str], hint: str) -> str:
        """The next line."""
        line = self._line()
        print(f"{prompt}{line}", file=self.out)
        return line

    def waiting(self) -> list[str]:
        """None."""
        return []

    def _line(self) -> str:
        if self.round.stage == "choose":
            return str(self._measure())
        if self.queue:
            return self.queue.pop(0)
        hidden = self.round.hidden.cause
        if dict(self.round.now.standing).get(hidden, 0.0) >= SURE or self.round.now.stop:
            return f"name {self.round.blank.reasoner.knowledge.causes[hidden].name.lower()}"
        return self._best()

    def _best(self) -> str:
        """The number of what tells most of what is listed; else a new list."""
        assert self.game is not None
        told = {q.symptom: q.bits for q in self.round.now.all_questions}
        if not self.game.shown:
            return "list"
        best = max(self.game.shown, key=lambda s: told.get(s, 0.0))
        return str([*self.game.shown].index(best) + 1)

    def _measure(self) -> int:
        """The number of a measure: of one that fits, or of the worst."""
        found, cause = self.round.measures, self.round.hidden.cause
        order = ("fits", "later", "needless", "wrong")
        rank = [order.index(measures.judge(self.round.now, cause, r).verdict) for r in found]
        return rank.index(min(rank) if self.good else max(rank)) + 1
