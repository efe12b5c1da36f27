"""The vocabulary of facts: one canonical string each, `name=value`."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from diagnose.kb.model import ABSENT, AND, DENIED, PRESENT, Knowledge, Rule
from diagnose.reasoning.engine import EngineRule

# Facts given about the plant, the place and the date.
OF_THE_DATE = frozenset({"season", "stage", "frost-risk", "day-length"})  # what changes in weeks
GIVEN = ("crop", "family", "part", "eaten", "season", "stage", "day-length")
# The part on which something was seen, where this crop can show it on that part alone.
LOOKED_AT = "looked-at"
# Parts that a plant shows only once it bears.
BORNE = frozenset({"fruit", "pod", "ear", "head", "bulb", "root", "tuber"})
NOT_YET = "stage=no-harvest"  # outside the usual weeks of harvest
# Facts given of a bed's record: causes found there, families grown there, measures taken this year.
RECORD = ("found-last-year", "found-this-year", "family-last-year", "family-two-years", "done")
# With the answer: how it stood the last time, where it was found in that bed before.
LAST_TIME = "last-time"
STATES = ("better", "same", "worse", "gone")
# Facts given about the answer, when advice is asked for.
ANSWER = ("cause", "cause-kind")
# Conclusions that the arithmetic, the questions and the plan act upon.
RULE_OUT = "rule-out"  # a cause
SKIP = "skip"  # a symptom that is not worth asking about
ASK = "ask"  # a symptom to look for now, whatever the effort
HIDDEN = "hidden"  # a symptom that cannot be seen on what lies in the hand: not asked, "no" is none
AVOID = "avoid"  # a remedy
PREFER = "prefer"  # a remedy
CAUTION = "caution"
REFER = "refer"
DECIDE = "decide"
ALERT = "alert"  # what must be said first
LIKELIER = "likelier"  # a cause, by the bed's record
LESS_LIKELY = "less-likely"  # a cause, by the bed's record
WELL = "well"  # told of a plant of which no trouble was told
ACTED_UPON = (
    RULE_OUT, SKIP, ASK, HIDDEN, AVOID, PREFER, CAUTION, REFER, DECIDE, ALERT, LIKELIER,
    LESS_LIKELY, WELL,
)  # fmt: skip
# Facts given about the words.
CONCERN = "concern"  # what they are about beside the plant
UNDERSTOOD = "understood"  # "nothing" where no symptom or sign was read or answered


# Where an observation comes from, beside "answer" and "case".
RULE = "rule"  # concluded from others, the date and the place
TEXT = "text"  # read in the gardener's words
CONFIRMED = "confirmed"  # and confirmed: the reading, not the world
TICK = "tick"  # ticked on a screen of several things, or left unticked there
RECORDED = "record"  # known from the record of the bed, or of its weather


@dataclass(frozen=True, slots=True)
class Observation:
    """One symptom with a value: 'absent', 'present', one of its forms or several ('one+other'),
    or a form denied ('not-one').

    `source` says where it comes from: 'text', 'confirmed', 'answer', 'tick', 'case', 'record' or
    'rule';
    `words` are the gardener's own, where there are any.
    """

    symptom: str
    value: str
    source: str = "answer"
    words: str = ""
    trust: float | None = None  # how likely it was meant; None: as its source is trusted

    @property
    def denied(self) -> bool:
        """Whether it says that something is not there: the symptom, or one form of it."""
        return self.value == ABSENT or self.value.startswith(DENIED)

    @property
    def unticked(self) -> bool:
        """Whether it was only left unticked: weak evidence, and nothing that was said."""
        return self.source == TICK and self.value == ABSENT


def fact(name: str, value: str) -> str:
    """The canonical string of a fact."""
    return f"{name}={value}"


def split(text: str) -> tuple[str, str]:
    """Name and value of a canonical fact."""
    name, _, value = text.partition("=")
    return name, value


def observed(observations: Iterable[Observation]) -> list[str]:
    """The facts of the observations; a form also makes the symptom present.

    What was only left unticked is no fact.
    """
    facts = []
    for seen in observations:
        if seen.unticked:
            continue
        facts += [fact(seen.symptom, form) for form in seen.value.split(AND)]
        if not seen.denied and seen.value != PRESENT:
            facts.append(fact(seen.symptom, PRESENT))
    return facts


def looked_at(knowledge: Knowledge, crop: str | None, seen: Iterable[Observation]) -> list[str]:
    """The facts of the parts on which something was seen, where a crop shows it on one alone."""
    if crop is None:
        return []
    has = set(knowledge.crops[crop].parts)
    shown = [
        has.intersection(symptom.parts)
        for found in seen
        for symptom in [knowledge.symptoms[found.symptom]]
        if not found.denied and symptom.kind in ("symptom", "sign")
    ]
    return sorted({fact(LOOKED_AT, part) for parts in shown if len(parts) == 1 for part in parts})


def borne(knowledge: Knowledge, crop: str | None, looked: Iterable[str]) -> bool:
    """Whether a part looked at is one that is eaten, and is there only once the crop bears."""
    eaten = knowledge.crops[crop].eaten if crop else []
    return not {fact(LOOKED_AT, part) for part in BORNE.intersection(eaten)}.isdisjoint(looked)


def _choices(pairs: Mapping[str, str | list[str]]) -> list[list[str]]:
    return [
        [fact(name, value) for value in ([values] if isinstance(values, str) else values)]
        for name, values in pairs.items()
    ]


def engine_rules(rules: Mapping[str, Rule]) -> tuple[EngineRule, ...]:
    """The rules as the engines take them; one for each way to meet an 'any of'."""
    made = []
    for rule_id, rule in rules.items():
        gives = tuple(f for choice in _choices(rule.then) for f in choice)
        ways = list(product(*_choices(rule.when)))
        for number, when in enumerate(ways, 1):
            name = rule_id if len(ways) == 1 else f"{rule_id}/{number}"
            made.append(EngineRule(name, tuple(when), gives))
    return tuple(made)


def rule_id(engine_rule: str) -> str:
    """The rule's own id, without the number of the way in which it was met."""
    return engine_rule.partition("/")[0]


def concluded(facts: Iterable[str], name: str) -> list[str]:
    """The values concluded under one name, sorted."""
    prefix = name + "="
    return sorted(f[len(prefix) :] for f in facts if f.startswith(prefix))


def by_name(facts: Iterable[str]) -> dict[str, list[str]]:
    """The values of facts under each name, sorted."""
    found: dict[str, list[str]] = {}
    for text in sorted(facts):
        name, value = split(text)
        found.setdefault(name, []).append(value)
    return found


def moved(knowledge: Knowledge, held: Mapping[str, Sequence[str]]) -> dict[str, float]:
    """What the bed's record makes of the odds of causes, by the rules: a factor for each.

    `held` are all facts, as `by_name` gives them.
    """
    numbers = knowledge.likelihood.record
    found = dict.fromkeys(held.get(LIKELIER, ()), numbers.likelier)
    for cause in held.get(LESS_LIKELY, ()):
        found[cause] = found.get(cause, 1.0) * numbers.less_likely
    return found


def derived(
    knowledge: Knowledge, held: Mapping[str, Sequence[str]], given: Collection[str]
) -> list[Observation]:
    """What rules concluded about symptoms that the gardener said nothing of, in order of facts.

    `held` are all facts, as `by_name` gives them.
    """
    return [
        Observation(name, next((v for v in values if v != PRESENT), PRESENT), RULE)
        for name, values in held.items()
        if name not in given
        for symptom in [knowledge.symptoms.get(name)]
        if symptom and symptom.derived
    ]
