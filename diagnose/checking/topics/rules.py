"""Rules: what they name, whether they can fire, and whether it matters that they do."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from datetime import date
from functools import cache, cached_property
from graphlib import CycleError, TopologicalSorter
from math import prod
from typing import get_args

from diagnose.checking.subject import Subject, pairs
from diagnose.consultation import Consultation
from diagnose.kb.model import ABSENT, DENIED, PRESENT, Decision, Rule, Symptom
from diagnose.kb.reader import Finding
from diagnose.kb.retired import name_now
from diagnose.reasoning import facts
from diagnose.reasoning.engine import MOST_CONDITIONS
from diagnose.reasoning.facts import fact

MOST_WAYS = 200  # ways to meet the 'any of' of one rule; each is a rule to the engines
RIGHTLY = 0.2  # the share of a cause's own cases that no rule may rule out
STAGES = ("sow", "harvest", "no-sow", "no-harvest")
OF_THE_DAY = frozenset({"season", "stage", "day-length"})


def shape(subject: Subject) -> Iterator[Finding]:
    """rule-empty, rule-too-big: rules that no engine can run."""
    for rule_id, rule in subject.knowledge.rules.items():
        for side in ("when", "then"):
            content = getattr(rule, side)
            if not content or any(values == [] for values in content.values()):
                yield subject.finding(
                    ("rules", rule_id, side), "rule-empty",
                    f"'{side}' or one of its lists is empty; a rule needs a condition and a "
                    "conclusion",
                )  # fmt: skip
        ways = prod(len(v) if isinstance(v, list) else 1 for v in rule.when.values())
        if len(rule.when) > MOST_CONDITIONS or ways > MOST_WAYS:
            yield subject.finding(
                ("rules", rule_id, "when"), "rule-too-big",
                f"{len(rule.when)} conditions, met in {ways:,} ways; at most {MOST_CONDITIONS} "
                f"and {MOST_WAYS}: split it",
            )  # fmt: skip


def names(subject: Subject) -> Iterator[Finding]:
    """unknown-id, not-derived: what rules speak of."""
    knowledge = subject.knowledge
    known = _known_values(subject)
    given = {
        *facts.GIVEN, *facts.RECORD, facts.LAST_TIME, *facts.ANSWER, facts.CONCERN,
        facts.UNDERSTOOD,
    }  # fmt: skip
    for rule_id, rule in knowledge.rules.items():
        for side, content in (("when", rule.when), ("then", rule.then)):
            for name, value in pairs(content):
                if name in known:
                    kind, allowed = known[name]
                    yield from subject.unknown(
                        ("rules", rule_id, side, name), kind, f"value of {name}", value, allowed
                    )
                elif name in knowledge.symptoms:
                    yield from subject.unknown_value(
                        ("rules", rule_id, side, name), name, value,
                        told(knowledge.symptoms[name]),
                    )  # fmt: skip
                elif now := name_now(knowledge.retired, name, value):
                    yield subject.finding(
                        ("rules", rule_id, side, name), "retired-id",
                        f"{name} is retired; write {now}",
                    )  # fmt: skip
        for name in rule.then:
            symptom = knowledge.symptoms.get(name)
            if name in given or (symptom and not symptom.derived):
                yield subject.finding(
                    ("rules", rule_id, "then", name), "not-derived",
                    f"{name} is given or asked, so no rule may conclude it",
                )  # fmt: skip


def _known_values(subject: Subject) -> dict[str, tuple[str, Collection[str]]]:
    """Every fact name that is not free: the kind of its values, and the values."""
    knowledge = subject.knowledge
    crops = knowledge.crops.values()
    return {
        "crop": ("crops", knowledge.crops),
        "family": ("crops", sorted({crop.family for crop in crops})),
        "part": ("crops", sorted({part for crop in crops for part in crop.parts})),
        "eaten": ("crops", sorted({part for crop in crops for part in crop.eaten})),
        facts.LOOKED_AT: ("crops", sorted({part for crop in crops for part in crop.parts})),
        "season": ("seasons", knowledge.seasons.stretches),
        "stage": ("", STAGES),
        "day-length": (
            "seasons", [f"over {mark:g} h" for mark in knowledge.seasons.day_length_over]
        ),
        "cause": ("causes", knowledge.causes),
        "cause-kind": ("causes", sorted({cause.kind for cause in knowledge.causes.values()})),
        facts.CONCERN: ("concerns", knowledge.concerns.concerns),
        facts.UNDERSTOOD: ("", ["nothing"]),
        facts.ALERT: ("alerts", knowledge.alerts),
        **{name: (kind, values) for name, kind, values in _recorded(subject)},
        facts.LIKELIER: ("causes", knowledge.causes),
        facts.LESS_LIKELY: ("causes", knowledge.causes),
        facts.RULE_OUT: ("causes", knowledge.causes),
        facts.SKIP: ("symptoms", knowledge.symptoms),
        facts.ASK: ("symptoms", knowledge.symptoms),
        facts.HIDDEN: ("symptoms", knowledge.symptoms),
        facts.AVOID: ("remedies", knowledge.remedies),
        facts.PREFER: ("remedies", knowledge.remedies),
        facts.CAUTION: ("cautions", knowledge.cautions),
        facts.REFER: ("referrals", knowledge.referrals),
        facts.DECIDE: ("", get_args(Decision)),
    }  # fmt: skip


def _recorded(subject: Subject) -> list[tuple[str, str, Collection[str]]]:
    """The facts that a bed's record can give: name, kind of the values, values."""
    knowledge = subject.knowledge
    families = sorted({crop.family for crop in knowledge.crops.values()})
    values: dict[str, tuple[str, Collection[str]]] = {
        "found-last-year": ("causes", knowledge.causes),
        "found-this-year": ("causes", knowledge.causes),
        "family-last-year": ("crops", families),
        "family-two-years": ("crops", families),
        "done": ("remedies", knowledge.remedies),
        facts.LAST_TIME: ("", facts.STATES),
    }
    return [(name, *values[name]) for name in (*facts.RECORD, facts.LAST_TIME)]


def told(symptom: Symptom) -> list[str]:
    """Every value that can be observed of a symptom, but several forms together."""
    return [*dict.fromkeys((*symptom.states, PRESENT)), *(DENIED + form for form in symptom.values)]


def unused_conclusions(subject: Subject) -> Iterator[Finding]:
    """unused-conclusion, never-derived: conclusions without use, and use without conclusions."""
    knowledge = subject.knowledge
    needs = {pair for rule in knowledge.rules.values() for pair in pairs(rule.when)}
    for rule_id, rule in knowledge.rules.items():
        for name, value in pairs(rule.then):
            known = name in knowledge.symptoms or name in facts.ACTED_UPON
            if not known and (name, value) not in needs:
                yield subject.finding(
                    ("rules", rule_id, "then", name), "unused-conclusion",
                    f"nothing uses {name}: {value}; use it in a rule or take it out",
                )  # fmt: skip
        yield from _never_asked(subject, rule)
    concluded = {name for rule in knowledge.rules.values() for name in rule.then}
    for symptom_id, symptom in knowledge.symptoms.items():
        if symptom.derived and symptom_id not in concluded:
            yield subject.finding(
                ("symptoms", symptom_id), "never-derived",
                "it is never asked, and no rule concludes it",
            )  # fmt: skip


ABOUT_A_QUESTION = frozenset({facts.SKIP, facts.HIDDEN, facts.ASK})


def _never_asked(subject: Subject, rule: Rule) -> Iterator[Finding]:
    """unused-conclusion: what becomes of a question that none of a rule's crops is asked."""
    knowledge = subject.knowledge
    wanted = set(pairs(rule.when))
    parts = {
        part
        for crop_id, crop in knowledge.crops.items()
        if wanted & {("crop", crop_id), ("family", crop.family)}
        for part in crop.parts
    }
    for name, value in pairs(rule.then):
        symptom = knowledge.symptoms.get(value)
        if name in ABOUT_A_QUESTION and parts and symptom and parts.isdisjoint(symptom.parts):
            yield subject.finding(
                ("rules", rule.rule, "then", name), "unused-conclusion",
                f"{value} is never asked there: no crop of this rule has the "
                f"{' or '.join(symptom.parts)}",
            )  # fmt: skip


class World:
    """What can be given about crops and days, and which rules fire on it."""

    def __init__(self, subject: Subject) -> None:
        knowledge = subject.knowledge
        self.subject = subject
        self.crops = list(knowledge.crops)
        self.rules = {
            rule_id: (_choices(rule), [fact(*pair) for pair in pairs(rule.then)])
            for rule_id, rule in knowledge.rules.items()
        }
        self.on_day = cache(self._on_day)

    def _on_day(self, crop_id: str | None, day: date) -> frozenset[str]:
        """The facts given of one crop on one day; of the day alone without a crop."""
        blank = Consultation(self.subject.reasoner, day, self.subject.home, crop_id)
        return frozenset(blank.given)

    @cached_property
    def any_day(self) -> frozenset[str]:
        """The facts that are given on some day or other."""
        return frozenset().union(*(self.on_day(None, day) for day in self.subject.days))

    def told(self, crop_id: str) -> frozenset[str]:
        """All that could be given and told of one crop, at once: more than can ever hold."""
        knowledge = self.subject.knowledge
        parts = set(knowledge.crops[crop_id].parts)
        seen = [
            fact(symptom_id, value)
            for symptom_id, symptom in knowledge.symptoms.items()
            if not symptom.derived and parts.intersection(symptom.parts)
            for value in told(symptom)
        ]
        seen += [fact(facts.LOOKED_AT, part) for part in parts]
        seen += [fact(facts.CONCERN, concern_id) for concern_id in knowledge.concerns.concerns]
        seen.append(fact(facts.UNDERSTOOD, "nothing"))
        seen += [fact(name, v) for name, _, values in _recorded(self.subject) for v in values]
        causes = [c for c, crops in self.subject.hosts.items() if crop_id in crops]
        seen += [fact("cause", cause_id) for cause_id in causes]
        seen += [fact("cause-kind", knowledge.causes[cause_id].kind) for cause_id in causes]
        seen += [
            fact("stage", name)
            for stage in self.subject.reasoner.stages[crop_id]
            for name in (stage, f"no-{stage}")
        ]
        return self.any_day | self.on_day(crop_id, self.subject.days[0]) | frozenset(seen)

    def fired(self, given: Iterable[str]) -> tuple[set[str], set[str]]:
        """The rules that fire on some facts, and all facts that then hold."""
        held, fired = set(given), set[str]()
        waiting = dict(self.rules)
        while True:
            ready = [
                rule_id
                for rule_id, (choices, _) in waiting.items()
                if not any(choice.isdisjoint(held) for choice in choices)
            ]
            if not ready:
                return fired, held
            for rule_id in ready:
                held.update(waiting.pop(rule_id)[1])
            fired.update(ready)


def _choices(rule: Rule) -> list[set[str]]:
    """For each condition the facts that meet it."""
    found: dict[str, set[str]] = defaultdict(set)
    for name, value in pairs(rule.when):
        found[name].add(fact(name, value))
    return list(found.values())


def firing(subject: Subject) -> Iterator[Finding]:
    """dead-rule, always-rule: rules that can never fire, or do so whatever is told."""
    world = World(subject)
    yield from _dead(subject, world)
    always = set(world.rules)
    for crop_id in world.crops:
        for day in subject.days:
            if not always:
                return
            always &= world.fired(world.on_day(crop_id, day))[0]
    for rule_id in sorted(always):
        yield subject.finding(
            ("rules", rule_id), "always-rule",
            "it fires for every crop on every day, whatever is told; so it decides nothing",
        )  # fmt: skip


def _dead(subject: Subject, world: World) -> Iterator[Finding]:
    told = {crop_id: world.told(crop_id) for crop_id in world.crops}
    everywhere, held = world.fired(frozenset().union(*told.values()))
    alive: set[str] = set()
    for crop_id in world.crops:
        if alive == everywhere:
            break
        alive |= world.fired(told[crop_id])[0]
    for rule_id, rule in subject.knowledge.rules.items():
        at = ("rules", rule_id, "when")
        if rule_id not in everywhere:
            lacking = [
                (name, value) for name, value in pairs(rule.when) if fact(name, value) not in held
            ]
            name, value = lacking[0]
            yield subject.finding(
                (*at, name), "dead-rule",
                f"nothing gives {name}: {value}, so this rule can never fire",
            )  # fmt: skip
        elif rule_id not in alive:
            yield subject.finding(
                at, "dead-rule", "no crop has all of this at once, so this rule can never fire"
            )
        elif not _has_a_day(rule, world, told):
            yield subject.finding(
                at, "dead-rule",
                "on no day of the year does all of this hold, so this rule can never fire",
            )  # fmt: skip


def _has_a_day(rule: Rule, world: World, told: dict[str, frozenset[str]]) -> bool:
    """Whether what a rule asks of the day holds on some day for some crop that it can be about."""
    of_day = [c for c in _choices(rule) if any(facts.split(f)[0] in OF_THE_DAY for f in c)]
    if len(of_day) < 2:
        return True
    of_crop = [c for c in _choices(rule) if any(facts.split(f)[0] in facts.GIVEN for f in c)]
    return any(
        all(choice & world.on_day(crop_id, day) for choice in of_day)
        for crop_id in world.crops
        if all(choice & told[crop_id] for choice in of_crop)
        for day in world.subject.days
    )


def ruled_out(subject: Subject) -> Iterator[Finding]:
    """unreachable-cause: causes that rules rule out on every host in all of their season."""
    world, knowledge = World(subject), subject.knowledge
    causes = list(knowledge.causes)
    by: dict[str, list[str]] = defaultdict(list)
    for rule_id, rule in knowledge.rules.items():
        if {name for name, _ in pairs(rule.when)} & set(knowledge.symptoms):
            continue  # it waits for something to be told
        for name, value in pairs(rule.then):
            if name == facts.RULE_OUT and value in knowledge.causes:
                by[value].append(rule_id)
    for cause_id, rule_ids in by.items():
        open_ = subject.in_season[causes.index(cause_id)]
        stands = any(
            fact(facts.RULE_OUT, cause_id) not in world.fired(world.on_day(crop_id, day))[1]
            for crop_id in subject.hosts[cause_id]
            for day, is_open in zip(subject.days, open_, strict=True)
            if is_open
        )
        if not stands and subject.hosts[cause_id] and open_.any():
            yield subject.finding(
                ("causes", cause_id), "unreachable-cause",
                f"always ruled out in its season, by {' and '.join(rule_ids)}",
            )  # fmt: skip


def loops(subject: Subject) -> Iterator[Finding]:
    """rule-loop: rules whose conclusions lead back to their own conditions."""
    rules = subject.knowledge.rules
    giving: dict[tuple[str, str], set[str]] = defaultdict(set)
    for rule_id, rule in rules.items():
        for pair in pairs(rule.then):
            giving[pair].add(rule_id)
    before = {
        rule_id: set().union(*(giving[pair] for pair in pairs(rule.when)))
        for rule_id, rule in rules.items()
    }
    while True:
        try:
            TopologicalSorter(before).prepare()
        except CycleError as error:
            *circle, _ = error.args[1]
            first = min(circle, key=list(rules).index)
            start = circle.index(first)
            way = " -> ".join([*circle[start:], *circle[:start], first])
            yield subject.finding(
                ("rules", first), "rule-loop", f"it feeds its own premises: {way}"
            )
            del before[first]
            before = {rule_id: found - {first} for rule_id, found in before.items()}
        else:
            return


def against_cause(subject: Subject) -> Iterator[Finding]:
    """rule-against-cause: a rule that rules a cause out on what its own file says is likely.

    Only rules that wait for nothing but what is seen are judged: those of a day or of what was
    concluded have grounds of their own, and what a cause `needs` stands in its own file.
    """
    knowledge = subject.knowledge
    shares = cache(subject.reasoner.tables.shares)
    row = subject.reasoner.tables.row

    def likely(cause: str, name: str, values: str | list[str]) -> float:
        """How often a case of a cause would be told so."""
        states = dict(zip(knowledge.symptoms[name].states, shares(name)[row[cause]], strict=True))
        there = 1 - states[ABSENT]
        total = 0.0
        for value in [values] if isinstance(values, str) else values:
            if value.startswith(DENIED):
                total += 1 - states[value.removeprefix(DENIED)]
            else:
                total += there if value == PRESENT else states.get(value, 0.0)
        return min(total, 1.0)

    for rule_id, rule in knowledge.rules.items():
        seen = {name: v for name, v in rule.when.items() if name in knowledge.symptoms}
        written = knowledge.place("rules", rule_id).partition("/")[0] != "causes"
        if not seen or not written or not rule.when.keys() <= {*seen, "crop", "family"}:
            continue
        for name, cause in pairs(rule.then):
            if name != facts.RULE_OUT or cause not in row:
                continue
            wrong = prod(likely(cause, name, values) for name, values in seen.items())
            if wrong >= RIGHTLY:
                yield subject.finding(
                    ("rules", rule_id, "then", "rule-out"), "rule-against-cause",
                    f"it would rule out {cause} in {wrong:.0%} of its own cases, by what its file "
                    f"says of {' and '.join(seen)}; mend one of the two",
                )  # fmt: skip
