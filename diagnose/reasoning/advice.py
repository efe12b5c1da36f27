"""What to do: what is urgent, then gentlest first; what may be eaten; whom to ask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from diagnose.kb.model import RUNGS, Cause, Decision, Eat, Knowledge, Remedy, Rung
from diagnose.reasoning import facts
from diagnose.reasoning.engine import Closure

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
    eat: Eat
    next_season: tuple[Step, ...]
    look_again_days: int
    look_again_for: str
    cautions: tuple[str, ...]
    referrals: tuple[str, ...]


def make_plan(knowledge: Knowledge, cause_id: str, concluded: Closure) -> Plan:
    """The plan for a cause, after what the rules concluded with that cause as the answer."""
    cause = knowledge.causes[cause_id]
    held = concluded.facts
    referrals = [cause.referral] if cause.referral else []
    referrals += facts.concluded(held, facts.REFER)
    decisions = facts.concluded(held, facts.DECIDE)
    decision = next((d for d in MOST_CAREFUL if d in decisions), cause.matters.decision)
    prefer = facts.concluded(held, facts.PREFER)
    never = {r for name in referrals for r in knowledge.referrals[name].excludes}
    never |= forbidden(knowledge, cause_id)
    avoid = never | set(facts.concluded(held, facts.AVOID))
    never |= _kept_off_at_any_date(concluded)
    named = [r for r in dict.fromkeys((*prefer, *cause.remedies)) if r not in avoid]
    suited = [r for r in named if _suits(knowledge, cause, decision, r, r in prefer)]
    remedies = _agreeing(knowledge, suited or named)
    later = [r for r in remedies if knowledge.remedies[r].season == "next"]
    later += [r for r in cause.next_season if r not in never and r not in remedies]
    now = sorted((r for r in remedies if r not in later), key=partial(_turn, knowledge))
    cautions = [*cause.cautions, *(c for r in now for c in knowledge.remedies[r].cautions)]
    cautions += facts.concluded(held, facts.CAUTION)
    again = cause.look_again
    return Plan(
        cause=cause_id,
        decision=decision,
        matters=_matters(knowledge, cause, decision, concluded),
        threshold=cause.matters.threshold,
        now=tuple(_step(r, knowledge.remedies[r]) for r in now),
        harvest=cause.harvest,
        eat=cause.eat,
        next_season=tuple(_step(r, knowledge.remedies[r]) for r in later),
        look_again_days=again.days if again else 7,
        look_again_for=again.for_ if again else "any change",
        cautions=tuple(dict.fromkeys(cautions)),
        referrals=tuple(dict.fromkeys(referrals)),
    )


def forbidden(knowledge: Knowledge, cause_id: str) -> set[str]:
    """The measures that may never stand in the plan of a cause, whatever rules prefer."""
    must = knowledge.safety.must.get(cause_id)
    return set(must.without) if must else set()


def _suits(
    knowledge: Knowledge, cause: Cause, decision: Decision, name: str, preferred: bool
) -> bool:
    """Whether a measure agrees with what was decided, however the cause alone would have it."""
    remedy = knowledge.remedies[name]
    if remedy.season == "today":
        return True
    if decision == "act":  # leaving it alone is no way to act
        return remedy.rung != "leave"
    if decision == "leave" and cause.matters.decision != "leave":
        return remedy.rung == "leave" or preferred or remedy.season == "next"
    return True


def _kept_off_at_any_date(concluded: Closure) -> set[str]:
    """What rules keep off that do not ask for the time of year: of next season nothing else is."""
    rules = (one for one in concluded.firings if not any(map(_of_the_date, one.facts)))
    return {r for one in rules for r in facts.concluded(one.gives, facts.AVOID)}


def _of_the_date(text: str) -> bool:
    return facts.split(text)[0] in facts.OF_THE_DATE


def _matters(knowledge: Knowledge, cause: Cause, decision: Decision, concluded: Closure) -> str:
    """Why it matters: the cause's own words; where rules decide otherwise, theirs, or both.

    What is decided more lightly than by the cause alone stands without the cause's words, which
    would speak against it.
    """
    own = cause.matters
    if decision == own.decision:
        return own.text
    wanted = facts.fact(facts.DECIDE, decision)
    rule = next(firing.rule for firing in concluded.firings if wanted in firing.gives)
    because = knowledge.rules[facts.rule_id(rule)].because
    said = because[0].upper() + because[1:] + "."
    lighter = MOST_CAREFUL.index(decision) > MOST_CAREFUL.index(own.decision)
    return said if lighter else f"{said} {own.text}"


def _step(remedy_id: str, remedy: Remedy) -> Step:
    return Step(remedy_id, remedy.rung, remedy.text)


def _turn(knowledge: Knowledge, name: str) -> tuple[bool, int]:
    """Where a measure stands in a plan: what is for today as it is named, then gentlest first."""
    remedy = knowledge.remedies[name]
    return (False, 0) if remedy.season == "today" else (True, RUNGS.index(remedy.rung))


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
    """What of a plan the gardener would do, eat or mind; equal for two plans that ask the same."""
    return (plan.decision, tuple(s.remedy for s in plan.now), *_minds(plan))


def calls_for(plan: Plan) -> tuple[object, ...]:
    """What two kinds of one pest must have in common to be one answer to a gardener."""
    return (plan.decision, *_minds(plan))


def _minds(plan: Plan) -> tuple[object, ...]:
    return (plan.eat, plan.cautions, plan.referrals)
