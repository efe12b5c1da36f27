"""What to do: whether to act, what is urgent, then gentlest first, what may be eaten, whom to ask."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from diagnose.kb.model import RUNGS, Decision, Knowledge, Remedy, Rung
from diagnose.reasoning import facts

# Of several decisions that rules reach, the most careful one holds.
MOST_CAREFUL: tuple[Decision, ...] = ("refer", "act", "watch", "leave")


@dataclass(frozen=True, slots=True)
class Step:
    """One measure of a plan."""

    remedy: str
    rung: Rung
    text: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What to do about one cause, here and now."""

    cause: str
    decision: Decision
    matters: str
    threshold: str | None
    now: tuple[Step, ...]
    harvest: str
    next_season: tuple[Step, ...]
    look_again_days: int
    look_again_for: str
    cautions: tuple[str, ...]
    referrals: tuple[str, ...]


def make_plan(knowledge: Knowledge, cause_id: str, concluded: Iterable[str]) -> Plan:
    """The plan for a cause, after what the rules concluded with that cause as the answer."""
    cause = knowledge.causes[cause_id]
    held = list(concluded)
    prefer = facts.concluded(held, facts.PREFER)
    referrals = [cause.referral] if cause.referral else []
    referrals += facts.concluded(held, facts.REFER)
    avoid = set(facts.concluded(held, facts.AVOID))
    avoid |= {r for name in referrals for r in knowledge.referrals[name].excludes}
    decisions = facts.concluded(held, facts.DECIDE)
    decision = next((d for d in MOST_CAREFUL if d in decisions), cause.matters.decision)

    def suits(name: str) -> bool:
        """Whether a measure agrees with what was decided, however the cause alone would have it."""
        remedy = knowledge.remedies[name]
        if remedy.season == "today":
            return True
        if decision == "act":  # leaving it alone is no way to act
            return remedy.rung != "leave"
        if decision == "leave" and cause.matters.decision != "leave":
            return remedy.rung == "leave" or name in prefer or remedy.season == "next"
        return True

    named = [r for r in dict.fromkeys((*prefer, *cause.remedies)) if r not in avoid]
    remedies = _agreeing(knowledge, [r for r in named if suits(r)] or named)
    later = [r for r in cause.next_season if r not in avoid and r not in remedies]
    now = [_step(r, knowledge.remedies[r]) for r in remedies]
    next_season = [s for s in now if knowledge.remedies[s.remedy].season == "next"]
    now = [s for s in now if s not in next_season]
    cautions = list(cause.cautions)
    cautions += [c for s in now for c in knowledge.remedies[s.remedy].cautions]
    cautions += facts.concluded(held, facts.CAUTION)
    again = cause.look_again
    return Plan(
        cause=cause_id,
        decision=decision,
        matters=cause.matters.text,
        threshold=cause.matters.threshold,
        now=tuple(sorted(now, key=partial(_turn, knowledge))),
        harvest=cause.harvest,
        next_season=(*next_season, *(_step(r, knowledge.remedies[r]) for r in later)),
        look_again_days=again.days if again else 7,
        look_again_for=again.for_ if again else "any change",
        cautions=tuple(dict.fromkeys(cautions)),
        referrals=tuple(dict.fromkeys(referrals)),
    )


def _step(remedy_id: str, remedy: Remedy) -> Step:
    return Step(remedy_id, remedy.rung, remedy.text)


def _turn(knowledge: Knowledge, step: Step) -> tuple[bool, int]:
    """Where a measure stands in a plan: what must be done today first, then gentlest first."""
    return knowledge.remedies[step.remedy].season != "today", RUNGS.index(step.rung)


def _agreeing(knowledge: Knowledge, remedies: Sequence[str]) -> list[str]:
    """The measures without those that contradict one before them; what is for today comes first."""
    kept: list[str] = []
    for remedy in sorted(remedies, key=lambda r: knowledge.remedies[r].season != "today"):
        if not any(contradict(knowledge, remedy, other) for other in kept):
            kept.append(remedy)
    return kept


def contradict(knowledge: Knowledge, one: str, other: str) -> bool:
    """Whether two measures cannot stand in one plan; it is enough that one of them says so."""
    remedies = knowledge.remedies
    return other in remedies[one].excludes or one in remedies[other].excludes


def same_for_gardener(plan: Plan) -> tuple[object, ...]:
    """What of a plan the gardener would do or eat; equal for two plans that ask the same."""
    return (plan.decision, tuple(s.remedy for s in plan.now), plan.referrals)


def calls_for(plan: Plan) -> tuple[object, ...]:
    """What two kinds of one pest must have in common to be one answer to a gardener."""
    return (plan.decision, plan.cautions, plan.referrals)
