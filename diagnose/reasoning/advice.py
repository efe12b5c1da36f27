"""What to do: whether to act, the ladder gentlest first, what may be eaten, whom to ask."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

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
    avoid = set(facts.concluded(held, facts.AVOID))
    prefer = facts.concluded(held, facts.PREFER)
    remedies = [r for r in dict.fromkeys((*prefer, *cause.remedies)) if r not in avoid]
    later = [r for r in cause.next_season if r not in avoid]
    steps = [_step(r, knowledge.remedies[r]) for r in remedies]
    now = [s for s in steps if knowledge.remedies[s.remedy].season == "now"]
    next_season = [s for s in steps if s not in now] + [
        _step(r, knowledge.remedies[r]) for r in later if r not in remedies
    ]
    decisions = facts.concluded(held, facts.DECIDE)
    decision = next((d for d in MOST_CAREFUL if d in decisions), cause.matters.decision)
    if decision == "act":  # leaving it alone is no way to act, unless there is no other
        now = [s for s in now if s.rung != "leave"] or now
    cautions = list(cause.cautions)
    cautions += [c for s in now for c in knowledge.remedies[s.remedy].cautions]
    cautions += facts.concluded(held, facts.CAUTION)
    referrals = [cause.referral] if cause.referral else []
    referrals += facts.concluded(held, facts.REFER)
    again = cause.look_again
    return Plan(
        cause=cause_id,
        decision=decision,
        matters=cause.matters.text,
        threshold=cause.matters.threshold,
        now=tuple(sorted(now, key=lambda s: RUNGS.index(s.rung))),
        harvest=cause.harvest,
        next_season=tuple(next_season),
        look_again_days=again.days if again else 7,
        look_again_for=again.for_ if again else "any change",
        cautions=tuple(dict.fromkeys(cautions)),
        referrals=tuple(dict.fromkeys(referrals)),
    )


def _step(remedy_id: str, remedy: Remedy) -> Step:
    return Step(remedy_id, remedy.rung, remedy.text)


def same_for_gardener(plan: Plan) -> tuple[object, ...]:
    """What of a plan the gardener would do or mind; equal for two plans that ask the same."""
    return (plan.decision, tuple(s.remedy for s in plan.now), plan.referrals, plan.cautions)


def calls_for(plan: Plan) -> tuple[object, ...]:
    """What two kinds of one pest must have in common to be one answer to a gardener."""
    return (plan.decision, plan.cautions, plan.referrals)
