"""The state of one run: who it is about, what was seen, what follows. No input or output."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache, cached_property, lru_cache, partial
from itertools import chain, takewhile
from typing import TYPE_CHECKING, Any, get_args

import numpy as np

from diagnose.inputs import Said, plain
from diagnose.kb.described import CaseId
from diagnose.kb.model import (
    ABSENT,
    AND,
    PRESENT,
    UNSURE,
    Knowledge,
    Part,
    ScreenNumbers,
    Symptom,
)
from diagnose.kb.spans import windows
from diagnose.kb.store import Parts
from diagnose.reading import Heard, Lexicon, Reading, concerns, read
from diagnose.reading.trust import sorted_by_trust
from diagnose.reading.words import Ready
from diagnose.reasoning import (
    advice,
    alerts,
    eating,
    explain,
    facts,
    pairs,
    questions,
    screens,
    turning,
)
from diagnose.reasoning.engine import Closure, Engine
from diagnose.reasoning.engines import make_engine
from diagnose.reasoning.facts import CONFIRMED, TEXT, TICK, Observation, fact
from diagnose.reasoning.questions import Questions, StopReason
from diagnose.reasoning.ranking import (
    DECIBANS,
    NEAR,
    PARTS,
    READ,
    SOMETHING_ELSE,
    Floats,
    Line,
    Ranked,
    Stated,
    Tables,
    Weight,
    host_odds,
    posterior,
    season_odds,
)
from diagnose.reasoning.screens import Choice, Tick, TickScreen
from diagnose.reasoning.verdict import Answer, Grounds, Verdict, judge
from diagnose.reasoning.verdict import answers as as_answers
from diagnose.reasoning.wording import Counts, Wording, sentences
from diagnose.seasons.calendar import MonthDay, Place, Window, days_outside
from diagnose.seasons.daylight import day_length

if TYPE_CHECKING:
    from diagnose.listening import Listening
    from diagnose.listening.trust import Judge

MENTIONED = 3  # answers that are named to the gardener
QUOTED = 0.5  # trust from which the words of a proposed sign are worth showing
SHORTEST = 3  # lines to tick: fewer are asked one by one
KINDS = ("symptom", "sign", "pattern", "condition")  # in the order of a screen
EVERYWHERE: tuple[Part, ...] = ("whole", "soil")
ASKING = frozenset({"unsure", "asked", "unsure_in_a_row"})
"""The fields from which nothing follows but what to ask next, and when to stop."""
FOLLOWS: tuple[str, ...] = (
    "given", "closure", "concluded", "trace", "counted", "ruled_out", "prior", "sentences", "heard",
    "voice", "lines",
    "chances", "standing", "answers",
    "plans_in_play",
)  # fmt: skip
"""What is worked out from the other fields, and costs most."""


class Reasoner:
    """A knowledge base made ready: its engine, its tables and its windows. Made once.

    `parts` are those of its ready-made copy, where there is one. `hears` is whether what is read
    is judged, by the encoder where it can run; the checks of the knowledge take all readings.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        engine: Engine | None = None,
        parts: Parts | None = None,
        hears: bool = True,
    ) -> None:
        self.knowledge = knowledge
        self.parts = parts
        self.hears = hears
        self.engine = engine or make_engine(facts.engine_rules(knowledge.rules))
        self.tables = Tables(knowledge, Stated.ready(parts) if parts else None)
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
        self.seasons = list(dict.fromkeys(self.windows.values()))
        number = {spans: i for i, spans in enumerate(self.seasons)}
        self.season_number = {cause: number[spans] for cause, spans in self.windows.items()}
        # more than a year of days
        self.days_outside = lru_cache(maxsize=400)(self._days_outside)
        self.on_host = cache(self._on_host)
        self.in_season = lru_cache(maxsize=400)(self._in_season)
        self.edges = lru_cache(maxsize=2000)(_edges)
        self.around = lru_cache(maxsize=8)(self._around)
        self.stands_on = lru_cache(maxsize=400)(self._stands_on)
        self.setting = lru_cache(maxsize=400)(self._setting)
        self.time = lru_cache(maxsize=400)(self._time)
        self.concerns = lru_cache(maxsize=400)(self._concerns)
        self.tables_at = lru_cache(maxsize=400)(self._tables_at)
        self.askable = lru_cache(maxsize=400)(partial(questions.askable, knowledge))

    @cached_property
    def lexicon(self) -> Lexicon:
        """The words of the knowledge, made ready when they are first needed."""
        return Lexicon(self.knowledge, Ready.of(self.parts) if self.parts else None)

    @cached_property
    def wording(self) -> Wording:
        """The wordings of the causes, made ready when they are first needed."""
        counts = Counts.ready(self.parts) if self.parts else None
        return Wording(self.knowledge, self.lexicon.word_keys, counts)

    def _concerns(self, said: str) -> tuple[Heard, ...]:
        """What words are about beside the plant."""
        return tuple(concerns(self.lexicon, said))

    @cached_property
    def listening(self) -> Listening | None:
        """The encoder that judges readings; None without its run-time, or where none is wanted."""
        if not self.hears:
            return None
        from diagnose.listening import Listening

        return Listening.of(self.knowledge, self.parts)

    @cached_property
    def judge(self) -> Judge | None:
        """How far readings are trusted; None in a knowledge of other signs, where all count.

        None too where nothing is to be judged.
        """
        if not self.hears:
            return None
        from diagnose.listening.trust import Judge

        return Judge.of(self.knowledge)

    def understand(
        self,
        found: Reading,
        text: Said,
        crop: str | None,
        suggests: Callable[[], Mapping[str, float]],
    ) -> Reading:
        """What was read in a text about a crop, sorted by how far each reading is to be trusted.

        `suggests` gives how much likelier the wording makes each sign, as a log ratio; it is not
        asked where nothing is judged.
        """
        judge, listening = self.judge, self.listening
        if judge is None:
            return found
        suggested = suggests()
        seen, clues, proposed = found.observations, None, []
        if listening is not None:
            clues = listening.clues(text, crop, seen)
        if listening is not None and not found.foreign:
            beside = {start for heard in self.concerns(text) for start in heard.taken}
            proposed = [
                Observation(
                    p.symptom, p.value, TEXT, p.words if p.chance >= QUOTED else "", p.chance
                )
                for p in listening.proposals(text, crop, seen, suggested, found.ground)
                if beside.isdisjoint(range(p.start, p.start + len(p.words)))
            ]
        trusts = [
            judge.reading(one, suggested.get(one.symptom, 0.0), clue)
            for one, clue in zip(seen, clues or [None] * len(seen), strict=True)
        ]
        return sorted_by_trust(found, trusts, proposed, self.knowledge.likelihood.reading)

    def _days_outside(self, day: date, place: Place) -> dict[str, int]:
        """How many days a date lies outside the season of each cause; 0 is inside."""
        found = [days_outside(day, stretches) for stretches in self.around(day.year, place)]
        return {cause: found[number] for cause, number in self.season_number.items()}

    def _around(self, year: int, place: Place) -> list[list[tuple[date, date]]]:
        """When each different season of a cause opens and closes about a year."""
        return [self.edges(spans, year, place) for spans in self.seasons]

    def _on_host(self, crop: str | None) -> Floats:
        """The odds of each cause on a crop."""
        return self.tables.by_row(host_odds(self.knowledge, crop))

    def _in_season(self, day: date, place: Place) -> Floats:
        """What a date makes of the odds of each cause."""
        return self.tables.by_row(season_odds(self.knowledge, self.days_outside(day, place)))

    def _stands_on(self, parts: tuple[Part, ...], crop: str | None) -> Floats:
        """How well the parts on which the trouble shows fit each cause."""
        known = self.knowledge.crops[crop].parts if crop else get_args(Part)
        return self.tables.stands_on(parts, len(known))

    def _setting(self, crop_id: str | None, day: date, place: Place) -> tuple[str, ...]:
        """The facts before anything is seen: crop, family, parts, stage, season, day length."""
        found = []
        if crop_id:
            crop = self.knowledge.crops[crop_id]
            found += [fact("crop", crop_id), fact("family", crop.family)]
            found += [fact("part", part) for part in crop.parts]
            found += [fact("eaten", part) for part in crop.eaten]
        stages = self.stages.get(crop_id or "", {})
        found += [
            fact("stage", stage if self._open(spans, day, place) else f"no-{stage}")
            for stage, spans in stages.items()
        ]
        return (*found, *self.time(day, place))

    def _time(self, day: date, place: Place) -> tuple[str, ...]:
        """The facts of a date alone: season and day length."""
        hours = day_length(day, place.latitude)
        marks = [m for m in self.knowledge.seasons.day_length_over if hours > m]
        lengths = (fact("day-length", f"over {mark:g} h") for mark in marks)
        open_ = (s for s, spans in self.stretches.items() if self._open(spans, day, place))
        return (*(fact("season", stretch) for stretch in open_), *lengths)

    def _open(self, spans: tuple[Window, ...], day: date, place: Place) -> bool:
        """Whether one of some windows is open on a date."""
        return days_outside(day, self.edges(spans, day.year, place)) == 0

    def _tables_at(self, crop: str | None, day: date, place: Place) -> Tables:
        """The tables as they hold for a crop at a date: how often things are seen anyway."""
        return self.tables.at(self.setting(crop, day, place))

    def home(self) -> Place:
        """The place assumed where none is given."""
        place = self.knowledge.seasons.place
        return Place(
            place.latitude, MonthDay.parse(place.last_frost), MonthDay.parse(place.first_frost)
        )


def _together(symptom: Symptom, values: Sequence[str]) -> str:
    """The values ticked of one symptom as one; 'present' where they do not go together."""
    if len(values) == 1:
        return values[0]
    forms = [value for value in symptom.values if value in values]
    return AND.join(forms) if symptom.many and forms else PRESENT


def _edges(spans: tuple[Window, ...], year: int, place: Place) -> list[tuple[date, date]]:
    """When some windows open and close about a year."""
    return list(chain.from_iterable(span.around(year, place) for span in spans))


@dataclass(frozen=True)
class Consultation:
    """One run, immutable: each answer gives a new one, so that going back is exact.

    `observations` count; `unsure` symptoms were asked and not known; `said` are the gardener's own
    words, whose wording counts beside the observations, and `reading` what was read in the last of
    them; `parts` are those on which the trouble shows, where that was told. `record` are the facts
    of the bed's record: `facts.RECORD`, and how a cause stood last, as in 'worse=beet-leafminer'.
    `without` is the
    described case that is left out of the wording, where the cases are tried on one another.
    """

    reasoner: Reasoner
    day: date
    place: Place
    crop: str | None = None
    observations: tuple[Observation, ...] = ()
    unsure: tuple[str, ...] = ()
    said: str = ""
    asked: int = 0
    unsure_in_a_row: int = 0
    parts: tuple[Part, ...] = ()
    reading: Reading | None = None
    record: tuple[str, ...] = ()
    without: CaseId | None = None

    def told(self, text: Said) -> Consultation:
        """With the gardener's words: what is read in them counts, and so does their wording.

        This is the one way from words to a consultation. Later words on a symptom replace earlier
        ones, but not what was answered.
        """
        reasoner = self.reasoner
        found = read(reasoner.lexicon, text, self.crop)
        open_ = (*READ, facts.RECORDED)  # who stands at the bed knows better than a record
        kept = tuple(o for o in self.observations if o.source not in READ)
        words = replace(
            self,
            crop=self.crop or found.crop,
            said=f"{self.said}\n{text}" if self.said else text,
            observations=kept,
            reading=None,
        )
        reading = reasoner.understand(found, text, words.crop, lambda: words.suggested)
        told = words.but(observations=self.observations, reading=reading)
        settled = {o.symptom for o in self.observations if o.source not in open_}
        return told.observe(o for o in reading.observations if o.symptom not in settled)

    def about(self, crop: str | None) -> Consultation:
        """About another crop, or none: what was said is read again with it."""
        if crop == self.crop:
            return self
        answered = tuple(o for o in self.observations if o.source not in READ)
        begun = replace(self, crop=crop, observations=answered, said="", reading=None)
        return begun.told(Said(self.said)) if self.said else begun

    def confirmed(self) -> Consultation:
        """With what was read confirmed: it was meant, which makes it no surer that it is so."""
        return self.but(
            observations=tuple(
                replace(o, source=CONFIRMED) if o.source == TEXT else o for o in self.observations
            )
        )

    def grant(self, symptoms: Iterable[str]) -> Consultation:
        """With some of what the words may say as well: it was meant."""
        offered = {o.symptom: o for o in (self.reading.perhaps if self.reading else ())}
        return self.observe(
            replace(offered[s], source=CONFIRMED, trust=None) for s in symptoms if s in offered
        )

    def strike(self, symptom: str) -> Consultation:
        """Without what was read of a symptom: it was not what was meant."""
        return self.but(observations=tuple(o for o in self.observations if o.symptom != symptom))

    def answer(self, symptom: str, value: str, source: str = "answer") -> Consultation:
        """With one question answered; `value` is a state of the symptom or 'unsure'."""
        if value == UNSURE:
            return self.but(
                unsure=(*self.unsure, symptom),
                asked=self.asked + 1,
                unsure_in_a_row=self.unsure_in_a_row + 1,
            )
        seen = Observation(symptom, value, source)
        return self.observe([seen]).but(asked=self.asked + 1, unsure_in_a_row=0)

    def tick(
        self,
        there: Iterable[Tick],
        left: Iterable[Tick] = (),
        unknown: Iterable[Tick] = (),
    ) -> Consultation:
        """With a screen answered: what is there, what was left unticked, what nobody knows.

        What is left unticked is weakly absent, unless it is a pattern or one form of something.
        """
        symptoms = self.reasoner.knowledge.symptoms
        told: dict[str, list[str]] = {}
        for line in there:
            told.setdefault(line.symptom, []).append(line.value)
        seen = [Observation(s, _together(symptoms[s], forms), TICK) for s, forms in told.items()]
        passed = dict.fromkeys(line.symptom for line in left if line.symptom not in told)
        there_anyway = {s for s in passed if symptoms[s].kind == "pattern"} | self._formless
        absent = [Observation(s, ABSENT, TICK) for s in passed if s not in there_anyway]
        unsure = [s for s in passed if s in there_anyway]
        unsure += [line.symptom for line in unknown if line.symptom not in told]
        return self.observe([*seen, *absent]).but(
            asked=self.asked + 1,
            unsure=tuple(dict.fromkeys((*self.unsure, *unsure))),
            unsure_in_a_row=0 if seen else self.unsure_in_a_row + 1,
        )

    def observe(self, seen: Iterable[Observation]) -> Consultation:
        """With observations added; a later one on the same symptom replaces the earlier."""
        kept = {o.symptom: o for o in self.observations}
        kept |= {o.symptom: o for o in seen}
        told_first = sorted(kept.values(), key=lambda o: o.source == facts.RECORDED)
        return self.but(observations=tuple(told_first))

    def but(self, **changes: Any) -> Consultation:
        """With some fields changed; what was worked out and rests on none of them is kept."""
        made = replace(self, **changes)
        changed = {name for name, value in changes.items() if value != getattr(self, name)}
        if changed <= ASKING:
            kept = FOLLOWS
        elif changed <= {*ASKING, "observations", "reading", "parts"}:
            kept = ("sentences", "heard", "voice")
        else:
            return made
        made.__dict__.update((name, self.__dict__[name]) for name in kept if name in self.__dict__)
        return made

    @cached_property
    def tables(self) -> Tables:
        """The tables as they hold for this crop, place and date."""
        return self.reasoner.tables_at(self.crop, self.day, self.place)

    @cached_property
    def given(self) -> list[str]:
        """The facts given: crop, family, parts, season, day length, what was observed and asked.

        A crop that shows what is picked of it bears, whatever the date.
        """
        setting = self.reasoner.setting(self.crop, self.day, self.place)
        words = [fact(facts.CONCERN, heard.concern) for heard in self.concerns]
        if not self.sign_seen:
            words.append(fact(facts.UNDERSTOOD, "nothing"))
        seen = facts.looked_at(self.reasoner.knowledge, self.crop, self.observations)
        if facts.borne(self.reasoner.knowledge, self.crop, seen):
            setting = tuple(held for held in setting if held != facts.NOT_YET)
        return [*setting, *self.record, *facts.observed(self.observations), *seen, *words]

    @property
    def stated(self) -> tuple[Observation, ...]:
        """The observations without what was only left unticked."""
        return tuple(o for o in self.observations if not o.unticked)

    @property
    def concerns(self) -> tuple[Heard, ...]:
        """What the gardener's words are about beside the plant."""
        return self.reasoner.concerns(self.said) if self.said else ()

    @property
    def sign_seen(self) -> bool:
        """Whether a symptom or a sign was told of, which is the least that an answer needs."""
        symptoms = self.reasoner.knowledge.symptoms
        return any(
            o.value != ABSENT and symptoms[o.symptom].kind in ("symptom", "sign")
            for o in self.observations
        )

    @cached_property
    def alerts(self) -> list[alerts.Alert]:
        """What must be said first, gravest first; what may be eaten is answered from the causes.

        It follows from what is told, from an answer that is at least likely (some are to be
        reported), and from what may be dangerous of all that is named.
        """
        knowledge = self.reasoner.knowledge
        words = {fact(facts.CONCERN, heard.concern): heard.words for heard in self.concerns}
        words |= {f: o.words for o in self.observations for f in facts.observed([o])}
        trace = self.trace
        if self.verdict in ("clear", "likely"):
            likely = self.closure_if(self.answers[0].first)
            trace = explain.reasons(knowledge.rules, likely.firings)
        raised = alerts.raised(knowledge, trace, words)
        found = alerts.ordered([*raised, *alerts.of_causes(knowledge, self.named)])
        answered = self.eating and eating.text(knowledge.causes, self.eating)
        return [
            replace(alert, text=f"{answered} {alert.text}")
            if answered and alert.id in knowledge.alerts and knowledge.alerts[alert.id].answered
            else alert
            for alert in found
        ]

    def answers_to(self, words: str) -> list[str]:
        """The ids of the alerts that words raise by what they are about beside the plant."""
        heard = {fact(facts.CONCERN, h.concern) for h in self.reasoner.concerns(plain(words))}
        raised = {
            alert
            for reason in self.trace
            if heard.intersection(reason.facts)
            for alert in facts.concluded(reason.gives, facts.ALERT)
        }
        return [alert.id for alert in self.alerts if alert.id in raised]

    @property
    def well(self) -> bool:
        """Whether all that was told is that the plant is well."""
        return bool(self.concluded.get(facts.WELL))

    @property
    def eating(self) -> eating.Eating | None:
        """What may be eaten after all that is still possible; None where nothing is understood."""
        if not self.sign_seen:
            return None
        return eating.answer(self.reasoner.knowledge.causes, self.standing)

    @cached_property
    def closure(self) -> Closure:
        """Everything the rules conclude."""
        return self.reasoner.engine.close(self.given)

    @cached_property
    def concluded(self) -> dict[str, list[str]]:
        """All facts that hold, given or concluded: the values under each name."""
        return facts.by_name(self.closure.facts)

    @cached_property
    def trace(self) -> list[explain.Reason]:
        """The rules that fired, in order, with their reasons."""
        return explain.reasons(self.reasoner.knowledge.rules, self.closure.firings)

    @cached_property
    def counted(self) -> tuple[Observation, ...]:
        """The observations, and what rules derived where the gardener said nothing.

        That something is not there says nothing where it could not be seen.
        """
        said = {o.symptom for o in self.observations}
        more = facts.derived(self.reasoner.knowledge, self.concluded, said)
        could = (o for o in self.observations if o.value != ABSENT or o.symptom not in self.hidden)
        return (*could, *more)

    @cached_property
    def hidden(self) -> frozenset[str]:
        """The symptoms that cannot be seen on what lies in the hand."""
        return frozenset(self.concluded.get(facts.HIDDEN, ()))

    @cached_property
    def ruled_out(self) -> dict[str, str]:
        """Causes that cannot be at work, with the reason; unconfirmed words rule nothing out."""
        unconfirmed = facts.observed(o for o in self.observations if o.source == TEXT)
        return explain.ruled_out(self.trace, unconfirmed)

    @cached_property
    def prior(self) -> Floats:
        """Log prior of every cause at this crop, place and date."""
        reasoner = self.reasoner
        odds = reasoner.on_host(self.crop) * reasoner.in_season(self.day, self.place)
        if self.record:
            for cause, factor in facts.moved(reasoner.knowledge, self.concluded).items():
                odds[self.tables.row[cause]] *= factor  # a product of two arrays, so our own
        return self.tables.prior(odds, self.ruled_out)

    @cached_property
    def sentences(self) -> Floats | None:
        """The weight of each sentence's wording on each cause, or None where there are no words."""
        return self.reasoner.wording.by_sentence(self.said, self.without) if self.said else None

    @cached_property
    def heard(self) -> Floats | None:
        """The weight of the gardener's wording on each cause, or None where there are no words."""
        return None if self.sentences is None else self.sentences.sum(axis=0)

    @cached_property
    def lines(self) -> list[Line]:
        """All that moves the causes: what was read, the wording, what was answered or concluded."""
        return self.lines_from(self.prior)

    def lines_from(self, prior: Floats) -> list[Line]:
        """All that moves the causes where they start from another log prior."""
        heard, beside = self.heard, 1.0
        if heard is not None and self.voice is not None:
            numbers = self.reasoner.knowledge.likelihood.reading
            heard, beside = numbers.wording * heard + self.voice, numbers.read
        lines = self.tables.lines(prior, [*self.counted, *self.perhaps], heard, beside)
        if self.parts:
            moves = self.reasoner.stands_on(self.parts, self.crop)
            lines.append(Line(PARTS, PRESENT, moves))
        return lines

    @property
    def suggested(self) -> dict[str, float]:
        """How much likelier each sign is by what the words make of the causes, as a log ratio."""
        if not self.said:
            return {}
        tables = self.tables
        before, now = (tables.present(chances) for chances in (np.exp(self.prior), self.chances))
        return dict(zip(tables.symptoms, np.log(now / before).tolist(), strict=True))

    @property
    def weak(self) -> tuple[Observation, ...]:
        """What the words may say as well, too weak to count as understood, and not settled yet."""
        if self.reading is None:
            return ()
        told = {o.symptom for o in self.counted} | set(self.unsure)
        return tuple(seen for seen in self.reading.perhaps if seen.symptom not in told)

    @property
    def perhaps(self) -> tuple[Observation, ...]:
        """The weak readings while the gardener has not looked at them: they count as trusted."""
        return () if any(o.source == CONFIRMED for o in self.observations) else self.weak

    @cached_property
    def voice(self) -> Floats | None:
        """What the encoder's voice adds to the wording of each cause, or None without one."""
        listening = self.reasoner.listening
        if listening is None or not self.said:
            return None
        weight = self.reasoner.knowledge.likelihood.reading.voice
        return weight * listening.voice(Said(self.said), self.crop, self.without)

    def alike(self, cause: str) -> str | None:
        """The described text of a cause that is most like the words; None without the encoder."""
        listening = self.reasoner.listening
        if listening is None or not self.said:
            return None
        return listening.nearest(Said(self.said), self.crop, cause, self.without).text

    @cached_property
    def chances(self) -> Floats:
        """Chances of every cause and, last, of something else."""
        return posterior(self.prior, self.lines)

    @cached_property
    def standing(self) -> list[tuple[str, float]]:
        """Every cause that is possible here with its chance, likeliest first, as `ranked`."""
        names, rows = self.tables.by_name
        chances = self.chances[rows]
        best = np.argsort(-chances, kind="stable")  # of equal chance: in the order of their names
        best = best[: np.count_nonzero(chances)]
        found = [(names[i], p) for i, p in zip(best.tolist(), chances[best].tolist(), strict=True)]
        return found if self.chances[-1] else [*found, (SOMETHING_ELSE, 0.0)]

    @cached_property
    def ranked(self) -> list[Ranked]:
        """Every cause that is possible here, likeliest first; something else among them."""
        known = [cause for cause, _ in self.standing if cause != SOMETHING_ELSE]
        weights = dict(zip(known, self.tables.weigh(known, self.lines), strict=True))
        return [self._ranked(c, chance, weights.get(c, ())) for c, chance in self.standing]

    def account(self, cause: str) -> Ranked:
        """What makes the chance of a cause: where it starts, and what was seen and said."""
        [weights] = self.tables.weigh([cause], self.lines)
        return self._ranked(cause, float(self.chances[self.tables.row[cause]]), weights)

    def _ranked(self, cause: str, chance: float, weights: tuple[Weight, ...]) -> Ranked:
        other = float(self.chances[-1])
        total = DECIBANS * math.log(chance / other) if chance > 0 and other > 0 else -math.inf
        return Ranked(cause, chance, total - sum(w.decibans for w in weights), weights)

    @cached_property
    def would_change(self) -> list[Observation]:
        """The smallest set of things not looked at yet that would put another cause first.

        At most three; none where no three would. Each set was tried.
        """
        if self.leading is None:
            return []
        lead, tables = self.leading.cause, self.tables
        for found in turning.sets(tables, self.chances, tables.row[lead], self.open_symptoms):
            if self.observe(found).standing[0][0] != lead:
                return found
        return []

    @cached_property
    def leading(self) -> Ranked | None:
        """The likeliest known cause, or None where something else is likelier than any."""
        first, _ = self.standing[0]
        return None if first == SOMETHING_ELSE else self.account(first)

    @cached_property
    def answers(self) -> list[Answer]:
        """The answers, likeliest first: a cause each, or several kin that call for the same."""
        knowledge = self.reasoner.knowledge
        named = knowledge.likelihood.verdict.named
        kin = {member for group in knowledge.kin.values() for member in group.members}
        plans = {
            cause: advice.calls_for(self.plan(cause))
            for cause, chance in self.standing
            if chance >= named and cause in kin
        }
        return as_answers(self.standing, knowledge.kin, plans, named)

    @cached_property
    def verdict(self) -> Verdict:
        """How sure the first answer is, and so whether there are grounds for a plan."""
        first = self.answers[0] if self.answers else None
        numbers = self.reasoner.knowledge.likelihood.verdict
        return judge(first, self._grounds(first), numbers)

    @cached_property
    def named(self) -> tuple[str, ...]:
        """The causes that are named to the gardener: of an answer, or of all while it is open."""
        if self.verdict == "nothing understood":
            return ()
        some = self.in_mind if self.verdict == "open" else self.in_mind[:1]
        return tuple(cause for answer in some for cause in answer.causes)

    @cached_property
    def in_mind(self) -> list[Answer]:
        """The answers to keep in mind: the first, and those that count most."""
        known = [answer for answer in self.answers if answer.first != SOMETHING_ELSE]
        row = self.tables.row
        rest = sorted(known[1:], key=lambda a: -sum(self.counts[row[c]] for c in a.causes))
        return [*known[:1], *rest[: MENTIONED - 1]]

    def _grounds(self, first: Answer | None) -> Grounds:
        seen = [o for o in self.observations if o.source != facts.RECORDED]
        symptoms = self.reasoner.knowledge.symptoms
        speaks = first is not None and any(
            self.tables.speaks_for(cause, o)
            for cause in first.causes
            if cause != SOMETHING_ELSE
            for o in seen
            if not o.denied and symptoms[o.symptom].kind in ("symptom", "sign")
        )
        return Grounds(
            understood=any(not o.unticked for o in seen),
            asked=any(o.source not in READ for o in seen),
            speaks=speaks,
            unexplained=any(o.source != TEXT for o in self.unexplained),
        )

    @cached_property
    def questions(self) -> Questions:
        """The questions still open, most worth asking first.

        Creatures and other signs are among them only where something speaks for them, or nothing
        else is left.
        """
        spoken_for = [s for s in self.open_symptoms if s not in self._unspoken]
        return self._ranked_questions(spoken_for or self.open_symptoms)

    @cached_property
    def all_questions(self) -> Questions:
        """The same, with creatures and other signs that nothing speaks for yet."""
        return self._ranked_questions(self.open_symptoms)

    def _ranked_questions(self, asked: Sequence[str]) -> Questions:
        sooner = set(self.concluded.get(facts.ASK, ()))
        forms = self._formless.intersection(asked)
        first = None if self.asked else self.suggests
        return questions.rank_questions(self.tables, self.chances, asked, sooner, forms, first)

    @cached_property
    def decisive(self) -> str | None:
        """The sign that would settle between the two likeliest causes; None where none would."""
        numbers = self.reasoner.knowledge.likelihood.screens
        asked = set(self.open_symptoms) - self._unspoken
        return questions.decisive(self.tables, self.chances, asked, numbers)

    @property
    def suggests(self) -> str | None:
        """The decisive sign between the two causes that the gardener's words suggest."""
        return self.decisive if self.said and self.stated else None

    @cached_property
    def open_symptoms(self) -> list[str]:
        """The symptoms that are still worth asking about."""
        answered = {o.symptom for o in self.observations if not o.denied or o.value == ABSENT}
        answered = (answered - self._formless) | set(self.unsure)
        skipped = {*self.concluded.get(facts.SKIP, ()), *self.hidden}
        askable = self.reasoner.askable(self.crop)
        return questions.open_symptoms(self.reasoner.knowledge, askable, answered, skipped)

    @cached_property
    def _formless(self) -> set[str]:
        """The symptoms that were ticked, and whose form nobody has told."""
        symptoms = self.reasoner.knowledge.symptoms
        return {
            o.symptom
            for o in self.observations
            if o.source == TICK and o.value == PRESENT and symptoms[o.symptom].values
        }

    @cached_property
    def _unspoken(self) -> set[str]:
        """The signs that nothing told makes any likelier than they were before."""
        tables, spoken = self.tables, self.reasoner.knowledge.likelihood.screens.spoken
        symptoms = self.reasoner.knowledge.symptoms
        given = [o for o in self.lines if o.symptom in symptoms and symptoms[o.symptom].derived]
        before = 1 - tables.absent(posterior(self.prior, given))
        quiet = tables.signs & (1 - tables.absent(self.chances) < spoken * before)
        return {tables.symptoms[i] for i in np.flatnonzero(quiet).tolist()}

    @cached_property
    def screen(self) -> TickScreen | None:
        """Several things to tick at once, where they tell more together than one question.

        Where nothing is told, it opens with which plants have it and since when; where the words
        suggest two causes, with the one question that would settle it. Then there are screens until
        a cause is very likely, and where several questions in a row could not be answered.
        """
        numbers = self.reasoner.knowledge.likelihood.screens
        begun = self.stated or self.unsure or self.asked > 1
        first = [] if begun else self._opening
        due = self.unsure_in_a_row > 0 and self.unsure_in_a_row % numbers.after_unsure == 0
        if not (first or due) and self._nearly_settled(numbers):
            return None
        choices = [c for c in self._choices(numbers) if c.symptom not in {t.symptom for t in first}]
        chosen, bits = screens.best_choices(
            self.chances, choices, numbers, numbers.lines - len(first)
        )
        symptoms = self.reasoner.knowledge.symptoms
        # what is seen comes first, and what is one line before what is several
        chosen.sort(key=lambda c: (c.values != (PRESENT,), KINDS.index(symptoms[c.symptom].kind)))
        lines = (*first, *(line for choice in chosen for line in choice.lines))
        short = len(lines) < SHORTEST or len({line.symptom for line in lines}) == 1
        best = self.questions[0].bits if self.questions else 0.0
        if short or not (first or due or bits > best):
            return None
        return TickScreen(lines, bits)

    def _nearly_settled(self, numbers: ScreenNumbers) -> bool:
        """Whether one question at a time is better: one may settle it, or an answer is likely."""
        if not self.asked and self.suggests:
            return True
        return bool(self.answers) and self.answers[0].chance >= numbers.until

    def _choices(self, numbers: ScreenNumbers) -> list[Choice]:
        """What a screen could hold: of what stands on the parts told, that which tells most.

        Of things that restate one another there is one.
        """
        symptoms = self.reasoner.knowledge.symptoms
        here = {*self.parts, *EVERYWHERE} if self.parts else None
        found: list[Choice] = []
        groups, seen = set[str | None](), set[str]()
        telling = sorted(self.questions, key=lambda q: -q.bits)
        for symptom_id, _, effort in telling:
            if len(seen) == numbers.of:
                break
            symptom, known = symptoms[symptom_id], symptom_id in self._formless
            elsewhere = here is not None and here.isdisjoint(symptom.parts)
            if symptom.overlaps in groups or (
                elsewhere and not known and symptom.kind in ("symptom", "sign")
            ):
                continue
            groups |= {symptom.overlaps} - {None}
            seen.add(symptom_id)
            if not known and not (symptom.kind == "pattern" and symptom.values):
                found.append(screens.whether(self.tables, symptom_id, effort))
            if symptom.values and set(symptom.values) <= set(self.offered(symptom_id)):
                found.append(screens.which(self.tables, symptom_id, effort, known))
        return found

    @property
    def _opening(self) -> list[Tick]:
        """The lines of the patterns that are asked first where nothing is told."""
        knowledge = self.reasoner.knowledge
        return [
            Tick(name, form)
            for name in knowledge.likelihood.screens.first
            if name in self.open_symptoms
            for form in [*knowledge.symptoms[name].values] or [PRESENT]
        ]

    @cached_property
    def next_symptom(self) -> str | None:
        """What to ask about now."""
        return self.questions[0].symptom if self.questions else None

    def offered(self, symptom: str) -> tuple[str, ...]:
        """The answers to offer: the forms that some cause possible here shows, then 'absent'.

        Where forms are left out, 'present' stands for any of them. Those of a pattern or a
        condition are a choice, and all are offered.
        """
        found = self.reasoner.knowledge.symptoms[symptom]
        if not found.values:
            return (PRESENT, ABSENT)
        if symptom in self._formless:
            return (*found.values, PRESENT)
        if found.kind in ("pattern", "condition"):
            return (*found.values, ABSENT)
        shares = self.tables.shares(symptom)
        likelier = (shares > shares[-1])[self.chances > 0].any(axis=0)
        shown = [state for state, yes in zip(found.states, likelier, strict=True) if yes]
        forms = [state for state in shown if state != ABSENT]
        if len(forms) in (0, len(found.values)):
            return (*found.values, ABSENT)
        return (*forms, PRESENT, ABSENT)

    def closure_if(self, cause: str) -> Closure:
        """Everything the rules conclude, run once more with one cause as the answer."""
        kind = self.reasoner.knowledge.causes[cause].kind
        more = [fact("cause", cause), fact("cause-kind", kind)]
        more += [fact(facts.LAST_TIME, s) for s in facts.STATES if fact(s, cause) in self.record]
        return self.reasoner.engine.close([*self.given, *more])

    def plan(self, cause: str) -> advice.Plan:
        """The plan for one cause: what the rules conclude with that cause as the answer."""
        return advice.make_plan(self.reasoner.knowledge, cause, self.closure_if(cause))

    @cached_property
    def stop(self) -> StopReason | None:
        """Why to stop asking now, or None."""
        return questions.why_stop(
            self.reasoner.knowledge,
            self.standing,
            self.plans_in_play,
            self.questions,
            self.asked,
            self.unsure_in_a_row,
        )

    @cached_property
    def plans_in_play(self) -> dict[str, object]:
        """What the leading causes would have the gardener do, where that can end the asking."""
        stop = self.reasoner.knowledge.likelihood.stop
        leading = list(takewhile(lambda pair: pair[0] != SOMETHING_ELSE, self.standing[:4]))
        plans: dict[str, object] = {}
        total = sum(chance for _, chance in leading)
        if not leading or total < stop.same_plan or leading[0][1] >= stop.clear:
            return plans
        total = 0.0
        for cause, chance in leading:
            plans[cause] = advice.same_for_gardener(self.plan(cause))
            total += chance
            if total >= stop.same_plan or len(set(plans.values())) > 1:
                break
        return plans

    @cached_property
    def unexplained(self) -> list[Observation]:
        """What was seen that the leading cause does not explain."""
        first = self.standing[0][0]
        return explain.unexplained(self.tables, first, self.counted)

    @cached_property
    def beside(self) -> pairs.Beside | None:
        """What each cause explains that the leading one leaves; None where none leads."""
        if self.leading is None:
            return None
        heard, listening, told = self.sentences, self.reasoner.listening, sentences(self.said)
        if heard is not None:
            numbers, voices = self.reasoner.knowledge.likelihood.second, None
            if listening is not None:
                voices = listening.voices(Said(self.said), self.crop, told, self.without)
            heard = pairs.spoken(numbers, heard, voices)
        return pairs.beside(self.tables, self.prior, self.leading.cause, self.counted, told, heard)

    @cached_property
    def second(self) -> pairs.Second | None:
        """A second cause, at work beside the leading one, where both are likelier than one."""
        return None if self.beside is None else pairs.second(self.tables, self.beside)

    @cached_property
    def counts(self) -> Floats:
        """The chance of each cause to be the answer and, not too small, to be at work beside it."""
        if self.beside is None:
            return self.chances
        least = self.reasoner.knowledge.likelihood.second.least
        beside = self.beside.chances
        return self.chances + beside * (beside >= least)

    @cached_property
    def three(self) -> tuple[str, ...]:
        """The causes to keep in mind: the leading one, a second proposed, and what counts most."""
        named = [found.cause for found in (self.leading, self.second) if found]
        order = np.argsort(-self.counts[:-1], kind="stable").tolist()
        likeliest = [self.tables.causes[row] for row in order[:MENTIONED] if self.counts[row]]
        return tuple(dict.fromkeys([*named, *likeliest]))[:MENTIONED]

    @property
    def out_of_season(self) -> bool:
        """Whether the leading cause is unusual at this date: far outside its season."""
        if self.leading is None:
            return False
        days = self.reasoner.days_outside(self.day, self.place)
        return days[self.leading.cause] > NEAR

    def look_again(self, plan: advice.Plan) -> date:
        """The date to look again."""
        return self.day + timedelta(days=plan.look_again_days)
