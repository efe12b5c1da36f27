"""A round of practice on a hidden problem, immutable: looks, causes named, a measure chosen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, TypeAlias

import msgspec

from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.journal import Journal
from diagnose.reasoning import advice
from diagnose.reasoning.facts import Observation
from diagnose.teaching import measures
from diagnose.teaching.demonstration import asked_in_turn, by_bits
from diagnose.teaching.hidden import Hidden, begun

Stage = Literal["look", "choose", "over"]
GUESSES = 3  # causes that may be named


class Looked(msgspec.Struct, frozen=True, tag="looked"):
    """A look at one thing."""

    symptom: str
    team: str = ""


class Named(msgspec.Struct, frozen=True, tag="named"):
    """A cause was named; None where they gave up."""

    cause: str | None
    team: str = ""


class Chosen(msgspec.Struct, frozen=True, tag="chosen"):
    """A measure was chosen."""

    remedy: str
    team: str = ""


Turn: TypeAlias = Looked | Named | Chosen


@dataclass(frozen=True)
class Round:
    """A hidden problem with the consultation it begins from, who plays, and what they did.

    `blank` has the place; `teams` are names in the order of their turns, none for a class that
    plays as one.
    """

    blank: Consultation
    hidden: Hidden
    seed: int
    teams: tuple[str, ...] = ()
    turns: tuple[Turn, ...] = ()

    @cached_property
    def start(self) -> Consultation:
        """What is known before the first look."""
        return begun(self.blank, self.hidden)

    @cached_property
    def now(self) -> Consultation:
        """What is known after all looks."""
        return self.looks[-1][1] if self.looks else self.start

    @cached_property
    def looks(self) -> list[tuple[Looked, Consultation]]:
        """The looks, each with what is known after it."""
        found: list[tuple[Looked, Consultation]] = []
        for turn in self.turns:
            if isinstance(turn, Looked):
                before = found[-1][1] if found else self.start
                value = self.hidden.truth[turn.symptom]
                found.append((turn, before.answer(turn.symptom, value)))
        return found

    @property
    def named(self) -> list[Named]:
        """The causes named, in order."""
        return [turn for turn in self.turns if isinstance(turn, Named)]

    @property
    def stage(self) -> Stage:
        """What is to be done now: look (or name a cause), choose a measure, or nothing more."""
        if any(isinstance(turn, Chosen) for turn in self.turns):
            return "over"
        done = any(turn.cause is None or self.right(turn.cause) for turn in self.named)
        return "choose" if done or len(self.named) >= GUESSES else "look"

    @property
    def whose(self) -> str:
        """Whose turn it is; empty where all play as one."""
        return self.teams[len(self.turns) % len(self.teams)] if self.teams else ""

    def right(self, cause: str) -> bool:
        """Whether a cause is the hidden one, or kin that a gardener would treat as the same."""
        if cause == self.hidden.cause:
            return True
        kin = self.blank.reasoner.knowledge.kin.values()
        together = [group for group in kin if {cause, self.hidden.cause} <= {*group.members}]
        return any(group.joint for group in together) or (
            bool(together)
            and advice.calls_for(self.now.plan(cause))
            == advice.calls_for(self.now.plan(self.hidden.cause))
        )

    @property
    def open(self) -> list[str]:
        """What can still be looked at, and would show something new."""
        return [q.symptom for q in self.now.all_questions if q.symptom in self.hidden.truth]

    @property
    def askable(self) -> list[str]:
        """What can be asked for: what is open, and what only restates it."""
        return [q.symptom for q in self.now.all_questions]

    def seen_as(self, symptom: str) -> str:
        """What is seen where something is looked at: it, or what it only restates."""
        symptoms = self.blank.reasoner.knowledge.symptoms
        group = symptoms[symptom].overlaps
        if symptom in self.hidden.truth or group is None:
            return symptom
        return next((s for s in self.hidden.truth if symptoms[s].overlaps == group), symptom)

    def look(self, symptom: str) -> Round:
        """With one more look. Raises UsageError where it would show nothing new."""
        symptom = self.seen_as(symptom)
        if symptom not in self.open:
            name = self.blank.reasoner.knowledge.symptoms[symptom].name
            raise UsageError(f"What you know already settles that: {name}")
        return self._with(Looked(symptom, self.whose))

    def name(self, cause: str | None) -> Round:
        """With a cause named, or given up."""
        return self._with(Named(cause, self.whose))

    def choose(self, remedy: str) -> Round:
        """With a measure chosen."""
        return self._with(Chosen(remedy, self.whose))

    def _with(self, turn: Turn) -> Round:
        return replace(self, turns=(*self.turns, turn))

    @cached_property
    def measures(self) -> tuple[str, ...]:
        """The measures to choose from."""
        return measures.offered(self.now, self.hidden.cause, self.seed)

    @cached_property
    def detective(self) -> Journal:
        """What a good detective would have asked: always what tells most, from the beginning."""
        return asked_in_turn(self.start, self.hidden.truth, by_bits)

    @property
    def seen(self) -> list[Observation]:
        """What was seen at the looks, in order."""
        return [Observation(t.symptom, self.hidden.truth[t.symptom]) for t, _ in self.looks]


def replayed(begun_: Round, turns: Sequence[Turn]) -> tuple[Round, list[str]]:
    """The round that some turns make, and a line for each that the knowledge no longer allows."""
    knowledge, lost = begun_.blank.reasoner.knowledge, []
    for turn in turns:
        match turn:
            case Looked(symptom) if symptom not in begun_.open:
                lost.append(f"the look at {symptom!r}")
            case Named(cause) if cause is not None and cause not in knowledge.causes:
                lost.append(f"the cause {cause!r}")
            case Chosen(remedy) if remedy not in knowledge.remedies:
                lost.append(f"the measure {remedy!r}")
            case _:
                begun_ = replace(begun_, turns=(*begun_.turns, turn))
    return begun_, lost
