"""A consultation shown step by step: what each step moved, and why, in one sentence's worth."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from diagnose.cases import checked_observations
from diagnose.consultation import Consultation
from diagnose.errors import UsageError
from diagnose.inputs import day_of
from diagnose.journal import Answered, Journal, Step
from diagnose.kb.model import Case
from diagnose.kb.reader import unknown
from diagnose.reasoning.questions import Question
from diagnose.reasoning.ranking import DECIBANS, SOMETHING_ELSE


@dataclass(frozen=True)
class Move:
    """One step of a consultation: what was taken, and the consultation before and after it."""

    step: Step
    before: Consultation
    after: Consultation


@dataclass(frozen=True, slots=True)
class Moved:
    """How one step moved one cause: its chances, and how many times likelier the step made it.

    `times` is P(it | cause) over P(it | something else), 1 where nothing was seen.
    """

    cause: str
    before: float
    after: float
    times: float

    @property
    def gain(self) -> float:
        """By how much the chance rose."""
        return self.after - self.before


def moves(journal: Journal) -> list[Move]:
    """The steps of a journal, each with what was before and after."""
    pairs = pairwise(journal.states)
    return [Move(step, *states) for step, states in zip(journal.steps, pairs, strict=True)]


def case_journal(case: Case, blank: Consultation) -> Journal:
    """A described case as steps: one for each thing it states, in the order in which the program
    would ask for it, until the program would stop.

    The case's own words are the story, and do not count: what is seen does. Raises UsageError on a
    crop, symptom, value or date that is not known.
    """
    knowledge = blank.reasoner.knowledge
    crop = knowledge.crop_named(case.crop) if case.crop else blank.crop
    if case.crop and crop is None:
        raise UsageError(unknown("crop", case.crop, list(knowledge.crops)))
    day = day_of(case.date) if case.date else blank.day
    stated = {o.symptom: o.value for o in checked_observations(case, knowledge)}
    return asked_in_turn(replace(blank, crop=crop, day=day), stated, by_worth)


def by_worth(question: Question) -> float:
    """Bits for the effort, which is how the program chooses."""
    return question.worth


def by_bits(question: Question) -> float:
    """Bits, whatever the effort."""
    return question.bits


def asked_in_turn(
    start: Consultation, answers: Mapping[str, str], best: Callable[[Question], float]
) -> Journal:
    """The best question that can be answered put again and again, until the program would stop."""
    journal = Journal.begin(start)
    while not (journal.steps and journal.now.stop):
        open_ = [q for q in journal.now.all_questions if q.symptom in answers]
        if not open_:
            break
        symptom = max(open_, key=best).symptom
        journal = journal.then(Answered(symptom, answers[symptom]))
    return journal


def in_view(states: Sequence[Consultation], most: int) -> dict[str, float]:
    """The causes worth showing all along, likeliest at some time, with their highest chances.

    In the order of their first chances, so that each keeps its place while its bar moves.
    """
    highest: dict[str, float] = {}
    for state in states:
        for cause, chance in state.standing[: most + 1]:
            if cause != SOMETHING_ELSE:
                highest[cause] = max(chance, highest.get(cause, 0.0))
    shown = sorted(highest, key=lambda c: -highest[c])[:most]
    first = dict(states[0].standing)
    in_place = sorted(shown, key=lambda c: (-first.get(c, 0.0), c))
    return {cause: highest[cause] for cause in in_place}


def moved(move: Move) -> list[Moved]:
    """How a step moved the causes, the one that gained most first."""
    before, after = dict(move.before.standing), dict(move.after.standing)
    found = [
        Moved(cause, before.get(cause, 0.0), after.get(cause, 0.0), times(move, cause))
        for cause in {**before, **after}
        if cause != SOMETHING_ELSE
    ]
    return sorted(found, key=lambda m: (-m.gain, m.cause))


def tells(move: Move) -> bool:
    """Whether a step moved some cause by a hundredth at least."""
    return any(abs(one.gain) >= 0.01 for one in moved(move))


def times(move: Move, cause: str) -> float:
    """How many times likelier what was answered is under a cause than otherwise; 1 for no answer.

    A number above 0: 10 to the power of a tenth of the weight in decibans.
    """
    if not isinstance(move.step, Answered):
        return 1.0
    seen = [o for o in move.after.observations if o.symptom == move.step.symptom]
    tables = move.after.tables
    weight = sum(
        DECIBANS * float(line.moves[tables.row[cause]] - line.moves[-1])
        for line in move.after.lines
        if any((line.symptom, line.value) == (o.symptom, o.value) for o in seen)
    )
    return float(10 ** (weight / 10))


def newly_ruled_out(move: Move) -> dict[str, str]:
    """The causes that a step ruled out, where they had a chance worth a word, with the reason."""
    named = move.after.reasoner.knowledge.likelihood.verdict.named
    before = dict(move.before.standing)
    return {
        cause: because
        for cause, because in move.after.ruled_out.items()
        if cause not in move.before.ruled_out and before.get(cause, 0.0) >= named
    }
