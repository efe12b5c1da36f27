"""The state of one run: who it is about, what was seen, what follows. No input or output."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property, lru_cache

from diagnose.kb.model import ABSENT, PRESENT, Knowledge, Season, Span
from diagnose.reasoning import advice, explain, facts, questions
from diagnose.reasoning.engine import Closure, Engine, make_engine
from diagnose.reasoning.facts import Observation, fact
from diagnose.reasoning.questions import StopReason
from diagnose.reasoning.ranking import SOMETHING_ELSE, Floats, Ranked, Tables, prior_odds
from diagnose.seasons.calendar import MonthDay, Place, Window
from diagnose.seasons.daylight import day_length

UNSURE = "unsure"


class Reasoner:
    """A knowledge base made ready: its engine, its tables and its windows. Made once."""

    def __init__(self, knowledge: Knowledge, engine: Engine | None = None) -> None:
        self.knowledge = knowledge
        self.engine = engine or make_engine(facts.engine_rules(knowledge.rules))
        self.tables = Tables(knowledge)
        self.windows = {c: windows(cause.season) for c, cause in knowledge.causes.items()}
        self.stages = {
            crop_id: {
                stage: windows(season)
                for stage, season in (("sow", crop.season.sow), ("harvest", crop.season.harvest))
                if season
            }
            for crop_id, crop in knowledge.crops.items()
        }
        self.stretches = {s: windows(season) for s, season in knowledge.seasons.stretches.items()}
        self.days_outside = lru_cache(maxsize=400)(self._days_outside)  # more than a year of days

    def _days_outside(self, day: date, place: Place) -> dict[str, int]:
        """How many days a date lies outside the season of each cause; 0 is inside."""
        found = {
            spans: min(span.days_outside(day, place) for span in spans)
            for spans in set(self.windows.values())
        }
        return {cause: found[spans] for cause, spans in self.windows.items()}

    def home(self) -> Place:
        """The place assumed where none is given."""
        place = self.knowledge.seasons.place
        return Place(
            place.latitude, MonthDay.parse(place.last_frost), MonthDay.parse(place.first_frost)
        )


def windows(season: Season) -> tuple[Window, ...]:
    """The windows of a season as the file has it. Raises ValueError where a moment is no moment."""
    if isinstance(season, str):
        return (Window.parse(season),)
    spans = [season] if isinstance(season, Span) else season
    return tuple(Window.parse(f"{span.from_} to {span.to}") for span in spans)


@dataclass(frozen=True)
class Consultation:
    """One run, immutable: each answer gives a new one, so that going back is exact.

    `observations` count; `unsure` symptoms were asked and not known.
    """

    reasoner: Reasoner
    day: date
    place: Place
    crop: str | None = None
    observations: tuple[Observation, ...] = ()
    unsure: tuple[str, ...] = ()
    asked: int = 0
    unsure_in_a_row: int = 0

    def answer(self, symptom: str, value: str, source: str = "answer") -> Consultation:
        """With one question answered; `value` is a state of the symptom or 'unsure'."""
        if value == UNSURE:
            return replace(
                self,
                unsure=(*self.unsure, symptom),
                asked=self.asked + 1,
                unsure_in_a_row=self.unsure_in_a_row + 1,
            )
        seen = Observation(symptom, value, source)
        return replace(self.observe([seen]), asked=self.asked + 1, unsure_in_a_row=0)

    def observe(self, seen: Iterable[Observation]) -> Consultation:
        """With observations added; a later one on the same symptom replaces the earlier."""
        kept = {o.symptom: o for o in self.observations}
        kept |= {o.symptom: o for o in seen}
        return replace(self, observations=tuple(kept.values()))

    @cached_property
    def given(self) -> list[str]:
        """The facts given: crop, family, parts, season, day length and what was observed."""
        found = []
        knowledge = self.reasoner.knowledge
        if self.crop:
            crop = knowledge.crops[self.crop]
            found += [fact("crop", self.crop), fact("family", crop.family)]
            found += [fact("part", part) for part in crop.parts]
            found += [
                fact("stage", stage)
                for stage, spans in self.reasoner.stages[self.crop].items()
                if any(span.contains(self.day, self.place) for span in spans)
            ]
        for stretch, spans in self.reasoner.stretches.items():
            if any(span.contains(self.day, self.place) for span in spans):
                found.append(fact("season", stretch))
        hours = day_length(self.day, self.place.latitude)
        for mark in knowledge.seasons.day_length_over:
            if hours > mark:
                found.append(fact("day-length", f"over {mark:g} h"))
        return found + facts.observed(self.observations)

    @cached_property
    def closure(self) -> Closure:
        """Everything the rules conclude."""
        return self.reasoner.engine.close(self.given)

    @cached_property
    def trace(self) -> list[explain.Reason]:
        """The rules that fired, in order, with their reasons."""
        return explain.reasons(self.reasoner.knowledge.rules, self.closure.firings)

    @cached_property
    def counted(self) -> tuple[Observation, ...]:
        """The observations, and what rules derived where the gardener said nothing."""
        said = {o.symptom for o in self.observations}
        more = facts.derived(self.reasoner.knowledge, self.closure.facts, said)
        return (*self.observations, *more)

    @cached_property
    def prior(self) -> Floats:
        """Log prior of every cause at this crop, place and date."""
        outside = self.reasoner.days_outside(self.day, self.place)
        odds = prior_odds(self.reasoner.knowledge, self.crop, outside)
        for cause in explain.ruled_out(self.trace):
            odds.pop(cause, None)
        return self.reasoner.tables.prior(odds)

    @cached_property
    def chances(self) -> Floats:
        """Chances of every cause and, last, of something else."""
        return self.reasoner.tables.posterior(self.prior, self.counted)

    @cached_property
    def ranked(self) -> list[Ranked]:
        """Every cause that is possible here, likeliest first; something else among them."""
        tables = self.reasoner.tables
        found = [
            Ranked(cause, float(chance), tables.weights(cause, self.counted))
            for cause, chance in zip(tables.causes, self.chances[:-1], strict=True)
            if chance > 0
        ]
        found.append(Ranked(SOMETHING_ELSE, float(self.chances[-1]), ()))
        return sorted(found, key=lambda r: (-r.chance, r.cause))

    @cached_property
    def leading(self) -> Ranked | None:
        """The likeliest known cause, or None where something else is likelier than any."""
        first = self.ranked[0]
        return None if first.cause == SOMETHING_ELSE else first

    @cached_property
    def questions(self) -> list[questions.Question]:
        """The questions still open, most worth asking first."""
        answered = {o.symptom for o in self.observations} | set(self.unsure)
        skipped = facts.concluded(self.closure.facts, facts.SKIP)
        knowledge = self.reasoner.knowledge
        open_ = questions.open_symptoms(knowledge, self.crop, answered, skipped)
        return questions.rank_questions(self.reasoner.tables, self.chances, open_)

    def offered(self, symptom: str) -> tuple[str, ...]:
        """The answers to offer: the forms that some cause possible here shows, then 'absent'.

        Where forms are left out, 'present' stands for any of them.
        """
        found = self.reasoner.knowledge.symptoms[symptom]
        if not found.values:
            return (PRESENT, ABSENT)
        tables = self.reasoner.tables
        start = tables.starts[symptom]
        shares = tables.chances[:, start : start + len(found.states)]
        likelier = (shares > shares[-1])[self.chances > 0].any(axis=0)
        shown = [state for state, yes in zip(found.states, likelier, strict=True) if yes]
        forms = [state for state in shown if state != ABSENT]
        if len(forms) in (0, len(found.values)):
            return (*found.values, ABSENT)
        return (*forms, PRESENT, ABSENT)

    def plan(self, cause: str) -> advice.Plan:
        """The plan for one cause: the rules run once more with that cause as the answer."""
        kind = self.reasoner.knowledge.causes[cause].kind
        more = [fact("cause", cause), fact("cause-kind", kind)]
        closure = self.reasoner.engine.close([*self.given, *more])
        return advice.make_plan(self.reasoner.knowledge, cause, closure.facts)

    @cached_property
    def stop(self) -> StopReason | None:
        """Why to stop asking now, or None."""
        ranked = [(r.cause, r.chance) for r in self.ranked]
        limit = self.reasoner.knowledge.likelihood.stop.same_plan
        plans: dict[str, object] = {}
        total = 0.0
        for cause, chance in ranked[:4]:
            if cause == SOMETHING_ELSE:
                break
            plans[cause] = advice.same_for_gardener(self.plan(cause))
            total += chance
            if total >= limit or len(set(plans.values())) > 1:
                break
        return questions.why_stop(
            self.reasoner.knowledge,
            ranked,
            plans,
            self.questions,
            self.asked,
            self.unsure_in_a_row,
        )

    @cached_property
    def unexplained(self) -> list[Observation]:
        """What was seen that the leading cause does not explain."""
        first = self.ranked[0].cause
        return explain.unexplained(self.reasoner.tables, first, self.counted)

    @cached_property
    def second(self) -> tuple[str, float] | None:
        """A second cause, at work beside the leading one, that explains the rest."""
        if self.leading is None:
            return None
        return explain.second_cause(
            self.reasoner.tables, self.prior, self.leading.cause, self.unexplained
        )

    def look_again(self, plan: advice.Plan) -> date:
        """The date to look again."""
        return self.day + timedelta(days=plan.look_again_days)
