"""The knowledge as typed values: what a file of each kind may hold.

Field names are the keys of the YAML files (with dashes for underscores).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Annotated, Any, Literal, TypeAlias

import msgspec

from diagnose.kb.shapes import Drawing
from diagnose.seasons.degree_days import Method

Text: TypeAlias = Annotated[str, msgspec.Meta(min_length=1)]
Short: TypeAlias = Annotated[str, msgspec.Meta(min_length=1, max_length=44)]
Id: TypeAlias = Annotated[str, msgspec.Meta(pattern="^[a-z0-9]+(-[a-z0-9]+)*$")]
DateText: TypeAlias = Annotated[str, msgspec.Meta(pattern=r"^\d{4}-\d{2}-\d{2}$")]

Frequency = Literal["always", "usually", "often", "sometimes", "seldom", "hardly ever", "never"]
Commonness = Literal["very common", "common", "occasional", "rare"]
# A word of likelihood.yaml; in knowledge that is estimated from data, the number itself.
HowOften: TypeAlias = Frequency | Annotated[float, msgspec.Meta(gt=0, lt=1)]
HowCommon: TypeAlias = Commonness | Annotated[float, msgspec.Meta(gt=0)]
Effort = Literal["look", "turn", "dig", "wait"]
Decision = Literal["act", "watch", "leave", "refer"]
Rung = Literal["leave", "growing", "hands", "helpers"]
RUNGS: tuple[Rung, ...] = ("leave", "growing", "hands", "helpers")
Family = Literal[
    "goosefoot-family", "cabbage-family", "lettuce-family", "pea-family", "nightshade-family",
    "gourd-family", "onion-family", "carrot-family", "mint-family", "grass-family", "rose-family",
    "asparagus-family", "knotweed-family", "mallow-family", "morning-glory-family",
    "malabar-family", "daisy-family", "nasturtium-family", "heath-family", "borage-family",
    "plantain-family", "other-family",
]  # fmt: skip
Part = Literal[
    "leaf", "stem", "root", "tuber", "bulb", "flower", "fruit", "pod", "ear", "head", "crown",
    "seed", "whole", "soil",
]  # fmt: skip
SymptomKind = Literal["symptom", "sign", "pattern", "condition"]
CauseKind = Literal[
    "insect", "mite", "mollusc", "crustacean", "myriapod", "fungus", "oomycete", "protist",
    "bacterium", "phytoplasma", "virus", "nematode", "nutrient", "physiological", "weather",
    "cultural", "wildlife", "weed", "herbicide", "beneficial", "normal",
]  # fmt: skip

AlertKind = Literal["emergency", "maybe-hurt", "unknown-plant", "soil", "eating", "spray", "report"]
FactKind = Literal[
    "germination", "sowing", "inches", "weeks", "figure", "number", "words", "has", "absent",
    "degree-days", "evidence", "mobility", "codes",
]  # fmt: skip
# Whether what shows a cause may be eaten: none of it, some of it or with care, or as usual, washed.
Eat = Literal["never", "some", "normal"]
DangerKind = Literal["plant", "food", "soil", "litter", "spray", "animal"]
Spoken = Literal["cautions", "referrals", "alerts", "dangers", "remedies"]
Helper = Literal[
    "poison-center", "emergency-number", "vet", "doctor", "extension", "soil-lab",
    "health-department", "pesticide-agency", "weed-office", "state-agriculture", "site-manager",
    "wildlife-office",
]  # fmt: skip

PRESENT = "present"
ABSENT = "absent"
NONE = "none"  # in an evidence line: how often the symptom is absent
ANY_CROP = "any"
UNSURE = "unsure"  # an answer that tells nothing
DENIED = "not-"  # before a form, in what was observed: whatever it is, not this
AND = "+"  # between forms, in what was observed: these together


def figure(word: str | float, scale: Mapping[Any, float]) -> float:
    """What a word stands for on a scale; a number stands for itself."""
    return scale[word] if isinstance(word, str) else word


class Struct(msgspec.Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """A value read from a file: frozen, no unknown keys, dashes in key names."""


class Span(Struct, frozen=True):
    """A stretch of the year between two moments, as text (see diagnose.seasons.calendar)."""

    from_: Text = msgspec.field(name="from")
    to: Text


Season: TypeAlias = Span | Literal["all year"] | list[Span]


class CropSeason(Struct, frozen=True):
    """When a crop is sown or set out, and when it is harvested."""

    sow: Season | None = None
    harvest: Season | None = None


class Range(Struct, frozen=True):
    """Temperatures in degrees Celsius: least, best (from, to) and most."""

    min: float | None = None
    best: list[float] = []
    max: float | None = None


class Sowing(Struct, frozen=True):
    """Depth and distance in the row, each (from, to) in centimetres."""

    depth_cm: list[float] = []
    apart_cm: list[float] = []


class Crop(Struct, frozen=True):
    """A plant grown in the bed."""

    name: Text
    family: Family
    parts: list[Part]
    eaten: list[Part]
    also: list[Text] = []
    kin: list[Text] = []  # plants that are not known themselves and are nearest to it
    code: Text | None = None
    season: CropSeason = CropSeason()
    germination_c: Range | None = None
    growth_c: Range | None = None
    sowing: Sowing | None = None
    shade: Literal["bears", "sun"] = "sun"
    rotation: Text | None = None
    limits: dict[str, Text] = {}
    normal: dict[str, Text] = {}
    sources: list[Id] = []


class SymptomValue(Struct, frozen=True):
    """One of the forms a symptom takes, and the words people use for it."""

    name: Text
    look: Text | None = None
    says: list[Text] = []
    denies: list[Text] = []
    order: list[Text] = []


class Where(Struct, frozen=True):
    """How often a symptom is seen anyway in some stretches of the year, or on some crops."""

    is_: HowOften = msgspec.field(name="is")
    season: Id | list[Id] = []
    crop: Id | list[Id] = []
    family: Family | list[Family] = []

    @property
    def when(self) -> dict[str, list[str]]:
        """The names of facts with their values, of each of which one must hold."""
        named = {"season": self.season, "crop": self.crop, "family": self.family}
        listed = {name: [v] if isinstance(v, str) else [*v] for name, v in named.items()}
        return {name: values for name, values in listed.items() if values}


class Symptom(Struct, frozen=True):
    """Something that a person can notice, with its question.

    Where it is there, what it `settles` need not be asked; where all that it is `only_with` is
    denied, it need not be asked itself.
    """

    name: Text
    part: Part | list[Part]
    ask: Text
    background: HowOften | dict[Id, HowOften]
    background_where: list[Where] = []  # the first that holds; else `background`
    kind: SymptomKind = "symptom"
    effort: Effort = "look"
    look: Text | None = None
    counts: Text | None = None
    values: dict[Id, Text | SymptomValue] = {}
    says: list[Text] = []
    denies: list[Text] = []
    order: list[Text] = []  # what is told by the order of words, of the classes in `slots`
    overlaps: Id | None = None
    settles: list[Id] = []
    only_with: list[Id] = []
    derived: bool = False
    many: bool = False

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts of the plant on which it is looked for."""
        return (self.part,) if isinstance(self.part, str) else tuple(self.part)

    def value_name(self, value: str) -> str:
        """How a value is said to a person; 'yes' and 'no' where there are no forms."""
        if value == ABSENT:
            return "none of these" if self.values else "no"
        if value == PRESENT:
            return "another kind" if self.values else "yes"
        if value.startswith(DENIED):
            return f"not {self.value_name(value.removeprefix(DENIED))}"
        found = [self.values[form] for form in self.forms(value)]
        return ", and ".join(form if isinstance(form, str) else form.name for form in found)

    def forms(self, value: str) -> tuple[str, ...]:
        """The forms that a value says are there, in the order of the file."""
        told = value.split(AND)
        return tuple(form for form in self.values if form in told)

    def allows(self, value: str) -> bool:
        """Whether it can be observed so: a state, 'present', a denied form, or several forms."""
        if value in self.states or value == PRESENT:
            return True
        if value.startswith(DENIED):
            return value.removeprefix(DENIED) in self.values
        return self.many and AND.join(self.forms(value)) == value

    def phrases(self, value: str) -> list[str]:
        """What people say where it is there in this form: of the form, and of the symptom."""
        form = self.values.get(value)
        return [*(form.says if isinstance(form, SymptomValue) else ()), *self.says]

    @property
    def states(self) -> tuple[str, ...]:
        """Every value that an answer can take; 'absent' first."""
        return (ABSENT, *self.values) if self.values else (ABSENT, PRESENT)


class Matters(Struct, frozen=True):
    """Whether a cause is worth acting on, and from what level of damage."""

    decision: Decision
    text: Text
    threshold: Text | None = None
    source: Id | None = None


class LookAgain(Struct, frozen=True):
    """When to look again, in days from today, and for what."""

    days: Annotated[int, msgspec.Meta(ge=0, le=365)]
    for_: Text = msgspec.field(name="for")


class Case(Struct, frozen=True):
    """A described problem with its known cause."""

    text: str = ""
    crop: Text | None = None
    date: DateText | None = None
    observations: dict[Id, Text] = {}
    expect: Text | list[Text] = []
    id: Text | None = None
    eppo: list[Text] = []
    kind: Text | None = None
    difficulty: Text | None = None
    source: Text | None = None

    @property
    def names(self) -> list[str]:
        """The accepted names of the right answer, best first."""
        return [self.expect] if isinstance(self.expect, str) else self.expect


class Letter(Struct, frozen=True):
    """A published question of a gardener, reworded, with the cause that the expert's answer names.

    `answer` lists the names that are that answer, best first.
    """

    cause: Id
    text: Text
    answer: list[Text]
    source: Text
    crop: Id | None = None
    date: DateText | None = None


class DegreeDays(Struct, frozen=True):
    """A published model: degree-days Celsius, counted from a moment, at which events come.

    Where the source does not say how or from when it counts, `method` or `start` is None.
    """

    lower_c: float
    events: dict[Text, Annotated[float, msgspec.Meta(gt=0)]]
    sources: list[Id]
    upper_c: float | None = None
    method: Method | None = None
    start: Text | None = None


class Cause(Struct, frozen=True):
    """What may be behind a problem, and what to do about it.

    Where all that it `needs` is denied, it cannot be.
    """

    name: Text
    summary: Text
    hosts: dict[Id, HowCommon]
    evidence: dict[Id, HowOften | dict[Id, HowOften]]
    matters: Matters
    harvest: Text
    eat: Eat = "some"  # the careful word where none is told
    also: list[Text] = []
    code: Text | None = None
    season: Season = "all year"
    needs: list[Id] = []
    degree_days: DegreeDays | None = None
    looks_like: dict[Id, Text] = {}
    mechanism: Text | None = None
    spread: Text | None = None
    remedies: list[Id] = []
    next_season: list[Id] = []
    look_again: LookAgain | None = None
    referral: Id | None = None
    cautions: list[Id] = []
    sources: list[Id] = []
    cases: list[Case] = []
    kind: CauseKind = "normal"  # given by the folder, never written in the file

    def commonness(self, crop: str, family: str) -> HowCommon | None:
        """How common it is on a crop: the crop's own entry, else its family's, else `any`."""
        return self.hosts.get(crop) or self.hosts.get(family) or self.hosts.get(ANY_CROP)


class Rule(Struct, frozen=True):
    """When these facts hold, conclude those. A list of values means any one of them."""

    rule: Id
    when: dict[Id, Text | list[Text]]
    then: dict[Id, Text | list[Text]]
    because: Text
    source: Id | None = None


class Remedy(Struct, frozen=True):
    """A measure on a rung of the least-harm ladder: for today, where a day counts, or now, or next.

    `excludes` names measures that contradict it. `fits` names the crops, families and eaten parts
    that it is for, where it is for these only; see diagnose.kb.fits. `short` is how a gardener
    would call it out: the short answer says it in place of the text's first sentence.
    """

    rung: Rung
    text: Text
    short: Short | None = None
    season: Literal["today", "now", "next"] = "now"
    cautions: list[Id] = []
    excludes: list[Id] = []
    fits: list[Id] = []


class Kin(Struct, frozen=True):
    """Causes that are one answer to a gardener where they call for the same.

    In a `joint` group they may all share in a trouble, and are named together.
    """

    name: Text
    members: list[Id]
    joint: bool = False


class Caution(Struct, frozen=True):
    """A warning in plain words.

    With `measure`, a regular expression, it hangs on the measures whose text has such words.
    """

    text: Text
    measure: Text | None = None


class Referral(Struct, frozen=True):
    """The person or office to turn to; `excludes` names the measures that wait for the answer."""

    to: Text
    text: Text
    excludes: list[Id] = []


class Alert(Struct, frozen=True):
    """What must be said first: its kind, its words, the general reason, and its sources.

    It stands in the place of those in `instead_of`, which are less to the point. With `answered`
    the causes that are still possible say what may be eaten, before its own words.
    """

    kind: AlertKind
    text: Text
    because: Text
    sources: list[Id]
    instead_of: list[Id] = []
    answered: bool = False


class Double(Struct, frozen=True):
    """Something harmless that a danger is taken for, and what tells them apart."""

    of: Text
    tell: Text


class Danger(Struct, frozen=True):
    """Something that can hurt: how it looks, how it harms, what to do first, whom to ask.

    Where one of its `causes` may be the answer, that is said first.
    """

    name: Text
    kind: DangerKind
    look: Text
    harm: Text
    first_aid: Text
    until_known: Text
    eat: Text
    ask: list[Helper]
    sources: list[Id]
    also: list[Text] = []
    doubles: list[Double] = []
    causes: list[Id] = []


class Term(Struct, frozen=True):
    """A word of the trade and what it means, in two lines at most."""

    name: Text
    text: Annotated[str, msgspec.Meta(min_length=1, max_length=150)]
    also: list[Text] = []


class Concern(Struct, frozen=True):
    """Something that words may be about beside the plant; see diagnose.reading.concerns.

    `of` a question or a person: the words that tell it are not read as signs of the plant too.
    """

    says: list[Text]
    of: Literal["question", "person", "garden"]
    reach: Annotated[int, msgspec.Meta(ge=1, le=40)] = 5  # words that `..` may stand for
    bars: list[Id] = []  # classes that may not stand where `..` does
    unless: list[Id] = []  # classes that may not stand in it, nor shortly before or after


class Concerns(Struct, frozen=True):
    """The words of concerns, by class, and how they stand together.

    Words of `other_sense` are taken whole, and so mean nothing else. Those of `things` may be read
    as signs of the plant although a concern holds them; those of `acts` only someone alive does. A
    class holds its words and, of its `verbs`, all forms that tell of it done; `irregular` has past
    and participle of those that need it.
    """

    other_sense: list[Text]
    things: list[Id]
    classes: dict[Id, list[Text]]
    concerns: dict[Id, Concern]
    acts: list[Id] = []
    irregular: dict[Text, list[Text]] = {}
    verbs: dict[Id, list[Text]] = {}


class Source(Struct, frozen=True):
    """Where a fact comes from, whether it was opened, and how much of it was read.

    `read` says the least that was read: where nothing more is known, an excerpt.
    """

    title: Text
    seen: Literal["opened", "from memory"]
    used_for: Text
    read: Literal["page", "excerpt", "abstract"] = "excerpt"
    publisher: Text | None = None
    year: int | None = None
    where: Text | None = None


class Stop(Struct, frozen=True):
    """When to stop asking."""

    clear: float
    same_plan: float
    least_bits: float
    most_questions: int
    most_unsure: int  # one after another


class SeasonOdds(Struct, frozen=True):
    """How much less likely a cause is near to, and far from, its season."""

    in_: float = msgspec.field(name="in")
    near: float
    out: float


class Trust(Struct, frozen=True):
    """How often an observation is right that something is there, and about its form."""

    seen: Annotated[float, msgspec.Meta(gt=0, le=1)]
    form: Annotated[float, msgspec.Meta(gt=0, le=1)]


class Channel(Struct, frozen=True):
    """How far a description in the gardener's own words is believed.

    What is read in it counts `read` times; with chance `slip` it says nothing of the cause.
    """

    read: Annotated[float, msgspec.Meta(gt=0, le=1)]
    slip: Annotated[float, msgspec.Meta(gt=0, lt=1)]


class WordingNumbers(Struct, frozen=True):
    """How a sentence's wording is weighed; see diagnose.reasoning.wording."""

    share: Annotated[float, msgspec.Meta(ge=0, lt=1)]
    weight: Annotated[float, msgspec.Meta(ge=0)]
    company: Annotated[float, msgspec.Meta(ge=0, le=1)]
    case: Annotated[float, msgspec.Meta(gt=0)]
    phrases: Annotated[float, msgspec.Meta(ge=0)]
    prose: Annotated[float, msgspec.Meta(ge=0)]
    pairs: Annotated[float, msgspec.Meta(ge=0, le=1)]


class SecondNumbers(Struct, frozen=True):
    """When a second cause is proposed; see diagnose.reasoning.pairs.

    `odds` that there is one at all; the wording of a sentence counts `words` times for it, and what
    the encoder hears in it `voice` times. A cause is kept in mind as a second from the chance
    `least` upward.
    """

    odds: Annotated[float, msgspec.Meta(gt=0)]
    words: Annotated[float, msgspec.Meta(ge=0)]
    voice: Annotated[float, msgspec.Meta(ge=0)] = 0.0
    least: Annotated[float, msgspec.Meta(ge=0, le=1)] = 0.0


class ScreenNumbers(Struct, frozen=True):
    """How things to tick are put on one screen; see diagnose.reasoning.screens.

    At most so many `lines` of so many `signs`, of those (`of`) that tell most by themselves, as
    long as no cause has the chance `until`. A further form of a sign takes `form` as much to read
    as a sign of its own. Of what is there a share is `noticed`. Creatures are shown where what was
    told makes them `spoken` times as likely as before. A screen is due `after_unsure` questions in
    a row that could not be answered. With chance `part_right` the part that is told is where the
    cause shows. `first` are the patterns asked where nothing is told. Where the second likeliest
    cause has the chance `rival`, what `settles` it between the first two by so many bits is asked
    before all else.
    """

    lines: Annotated[int, msgspec.Meta(ge=0)]
    signs: Annotated[int, msgspec.Meta(ge=0)]
    form: Annotated[float, msgspec.Meta(gt=0, le=1)]
    until: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    of: Annotated[int, msgspec.Meta(ge=0)]
    noticed: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    spoken: Annotated[float, msgspec.Meta(ge=1)]
    after_unsure: Annotated[int, msgspec.Meta(ge=1)]
    part_right: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    rival: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    settles: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    first: list[Id] = []


class ReadingNumbers(Struct, frozen=True):
    """How far a reading must be trusted to be understood, or offered, and how many are offered.

    Beside the encoder's voice on causes, which counts `voice` times, the wording counts `wording`
    times, and what is read `read` times as often as without it: all three hear the same words.
    """

    understood: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    offered: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    most: Annotated[int, msgspec.Meta(ge=0)]
    voice: Annotated[float, msgspec.Meta(ge=0)]
    wording: Annotated[float, msgspec.Meta(ge=0)]
    read: Annotated[float, msgspec.Meta(gt=0, le=1)]


class VerdictNumbers(Struct, frozen=True):
    """When an answer is clear, likely, or worth a word; see diagnose.reasoning.verdict."""

    clear: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    likely: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    named: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    words: dict[Text, Annotated[float, msgspec.Meta(ge=0, lt=1)]]  # surest first


class Likelihood(Struct, frozen=True):
    """Every number of the reasoning."""

    frequency: dict[Frequency, float]
    commonness: dict[Commonness, float]
    season: SeasonOdds
    something_else: Annotated[float, msgspec.Meta(gt=0, lt=1)]
    effort: dict[Effort, float]
    sooner: Annotated[float, msgspec.Meta(gt=0)]  # the effort counted where a rule asks for a look
    trust: dict[Literal["text", "answer"], Trust]
    channel: Channel
    wording: WordingNumbers
    second: SecondNumbers
    screens: ScreenNumbers
    stop: Stop
    verdict: VerdictNumbers
    reading: ReadingNumbers
    record: RecordNumbers
    look_out: LookOutNumbers


class RecordNumbers(Struct, frozen=True):
    """What a rule from a bed's record makes of the odds of a cause; see docs/round.md."""

    likelier: Annotated[float, msgspec.Meta(gt=1)]
    less_likely: Annotated[float, msgspec.Meta(gt=0, lt=1)]


class LookOutNumbers(Struct, frozen=True):
    """How look-outs are weighed; see diagnose.rounds.lookouts.

    `harm` by what a cause calls for; `helps` by what can be done about it now; the `minutes` that a
    look of an effort takes. By a degree-day
    model a cause counts `not_yet` times before its first event and `soon` times near one.
    """

    harm: dict[Decision, Annotated[float, msgspec.Meta(ge=0)]]
    helps: dict[Rung, Annotated[float, msgspec.Meta(ge=0)]]
    minutes: dict[Effort, Annotated[int, msgspec.Meta(ge=1)]]
    not_yet: Annotated[float, msgspec.Meta(gt=0, le=1)]
    soon: Annotated[float, msgspec.Meta(ge=1)]
    spread: Annotated[float, msgspec.Meta(gt=0, lt=1)]  # of a sum: how far it may be off


class Home(Struct, frozen=True):
    """The place assumed when none is given."""

    latitude: float
    last_frost: Text
    first_frost: Text


class Seasons(Struct, frozen=True):
    """Named stretches of the year, day-length marks (hours) and the place assumed."""

    place: Home
    stretches: dict[Id, Season]
    day_length_over: list[float]


class WordClass(Struct, frozen=True):
    """Words that a phrase means by `{name}`; `crops` adds the names of those so eaten, or all."""

    words: list[Text] = []
    crops: Literal["all"] | list[Part] = []


class WeatherSign(Struct, frozen=True):
    """What a record of the weather shows of the last `within` days: that `shows` is so.

    On at least `days` of them a day's minimum and maximum (C) kept to the bounds; over all of them
    the rain (mm) and the mean temperature did. With `denies`, that it is not so is told too.
    """

    shows: Id
    within: Annotated[int, msgspec.Meta(ge=1, le=60)]
    days: Annotated[int, msgspec.Meta(ge=0)] = 0
    low_at_least: float | None = None
    low_at_most: float | None = None
    high_at_least: float | None = None
    rain_at_least: float | None = None
    rain_at_most: float | None = None
    mean_at_least: float | None = None
    mean_at_most: float | None = None
    denies: bool = False


class BedSigns(Struct, frozen=True):
    """What a bed's own record shows, by the ids of symptoms, and the measures that are covers."""

    same_family: Id | None = None  # the family grew there last year
    set_out: Id | None = None  # planted within `set_out_days`
    set_out_days: int = 14
    seedling_days: int = 42  # after which nobody looks for seed and seedlings
    covered: Id | None = None  # one of the `covers` was put on
    covers: list[Id] = []
    uncovers: list[Id] = []  # which take it off again
    fenced: Id | None = None  # one of the `fences` was put up
    fences: list[Id] = []


class Rounds(Struct, frozen=True):
    """What records of beds and weather show, so that it need not be asked; see docs/round.md.

    Gaps of up to `bridge` days in daily temperatures are bridged.
    """

    bed: BedSigns = BedSigns()
    weather: list[WeatherSign] = []
    bridge: Annotated[int, msgspec.Meta(ge=0, le=7)] = 3


class Words(Struct, frozen=True):
    """How gardeners' words are read; see docs/reading.md."""

    same: dict[Id, list[Text]]
    classes: dict[Id, WordClass]
    small: list[Text]
    negators: list[Text]
    breaks: list[Text]
    hedges: list[Text]
    sought: list[Text]
    fine: list[Text]
    past: list[Text]
    likened: list[Text]
    sized: list[Text]
    beside: list[Text]
    alike: list[Text]
    asks: list[Text]
    general: list[Text]
    slots: dict[Id, list[Text]]
    namesakes: list[Text]
    numbers: dict[Id, list[int]]
    plain: list[Text]
    describing: list[Text]
    parts: list[Text]


class Must(Struct, frozen=True):
    """What a cause must carry; `harvest` is a regular expression that its text must match.

    The `alert` is what rules must raise where the trouble shows.
    """

    decision: Decision | None = None
    referral: Id | None = None
    cautions: list[Id] = []
    alert: Id | None = None
    eat: Eat | None = None
    harvest: Text | None = None
    first: Id | None = None
    without: list[Id] = []


class Never(Struct, frozen=True):
    """What no text may say, of some causes or kinds or of any; `says` is a regular expression."""

    says: Text
    because: Text
    causes: list[Id] = []
    kinds: list[CauseKind] = []


class Products(Struct, frozen=True):
    """The words of products and recipes, as regular expressions; see docs/findings."""

    names: list[Text] = []
    stuffs: list[Text] = []
    doings: list[Text] = []
    praises: list[Text] = []
    forbids: list[Text] = []
    spared: list[Text] = []


class Safety(Struct, frozen=True):
    """What must never change unseen; `check` holds the knowledge to it.

    `says` has regular expressions that the texts of an entry must match, by kind and id; `inedible`
    the parts of crops that are never eaten; `phones` all telephone numbers that a text may give.
    """

    must: dict[Id, Must] = {}
    says: dict[Spoken, dict[Id, list[Text]]] = {}
    inedible: dict[Id, list[Part]] = {}
    phones: list[Text] = []
    never: dict[Id, Never] = {}
    products: Products = Products()


class Format(Struct, frozen=True):
    """Which form the files of a folder have; see `diagnose migrate`."""

    format: Annotated[int, msgspec.Meta(ge=0)]


class Fact(Struct, frozen=True):
    """A published figure or saying that the knowledge is held against, and where it stands.

    What of it the knowledge must have depends on the kind; see diagnose.checking.topics.handbook.
    Figures are in the units of the source: degrees Fahrenheit (`rows` of germination: least, best
    from and to, most), inches, weeks from the last frost, degree-days Fahrenheit.
    """

    id: Text
    kind: FactKind
    source: Text
    seen: Literal["opened", "from memory", "common practice"]
    note: Text | None = None
    rows: dict[Id, list[float | None]] = {}
    at: Text | list[Text] = []
    find: Text | None = None
    within: list[float] = []
    tolerance: float = 0
    says: list[Text] = []
    items: list[Text | float] = []
    crop: Id | None = None
    crops: list[Id] = []
    depth: list[float] = []
    apart: list[float] = []
    weeks: list[int] = []
    cause: Id | None = None
    causes: list[Id] = []
    key: Text | None = None
    symptom: Id | None = None
    value: Id | None = None
    least: Frequency | None = None
    mobile: list[Id] = []
    immobile: list[Id] = []
    lower_f: float | None = None
    upper_f: float | None = None
    events_f: list[float] = []
    tolerance_f: float = 1
    method: Text | None = None
    start: Text | None = None
    of: Literal["crops", "causes"] | None = None
    codes: dict[Id, Text | None] = {}


TOLD: Mapping[type[msgspec.Struct], frozenset[str]] = {
    Cause: frozenset({"degree-days", "next-season", "look-again", "sources"}),
    Crop: frozenset({
        "kin", "code", "germination-c", "growth-c", "sowing", "shade", "rotation", "limits",
        "normal", "sources",
    }),
    Symptom: frozenset({"counts"}),
    Rule: frozenset({"because", "source"}),
    Caution: frozenset({"text", "measure"}),
    Referral: frozenset({"to", "text"}),
    Alert: frozenset({"kind", "text", "because", "sources", "instead-of", "answered"}),
    Danger: frozenset({
        "name", "kind", "look", "harm", "first-aid", "until-known", "eat", "ask", "sources", "also",
        "doubles",
    }),
    Source: frozenset({"title", "seen", "used-for", "read", "publisher", "year", "where"}),
    Letter: frozenset({"source"}),
    Kin: frozenset({"name"}),
    Term: frozenset({"name", "text", "also"}),
    Drawing: frozenset({"shows", "words", "draw"}),
    Safety: frozenset({"must", "says", "inedible", "phones", "never", "products"}),
    Format: frozenset({"format"}),
    Fact: frozenset(field.encode_name for field in msgspec.structs.fields(Fact)),
}  # fmt: skip
"""The fields from which no reading, no chance and no question follows; all others can move a case.

Most prose moves cases: a slip of the pen is mended to its words, and a cause's are its wording.
"""


class Places:
    """Where every entry stands; unpacked when first asked for.

    `packed` holds by entry, as in "causes/beet-leafminer", the file and the line of every path
    within the entry, as in "evidence/leaf-mines".
    """

    def __init__(self, packed: bytes | memoryview) -> None:
        self.packed = packed

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Places) and self.packed == other.packed

    def __hash__(self) -> int:
        return hash(bytes(self.packed))

    @classmethod
    def at(cls, lines: Mapping[str, tuple[str, Mapping[str, int | str]]]) -> Places:
        """Packed from the file and lines of each entry; 'file:line' where the file is another."""
        return cls(msgspec.msgpack.encode(lines))

    @cached_property
    def _lines(self) -> dict[str, tuple[str, dict[str, int | str]]]:
        kind = dict[str, tuple[str, dict[str, int | str]]]
        return msgspec.msgpack.decode(self.packed, type=kind)

    def of(self, path: Sequence[str]) -> str:
        """The file and line of an entry, or of the nearest entry around it, or nothing."""
        file, lines = self._lines.get("/".join(path[:2]), ("", {}))
        for end in range(len(path), 1, -1):
            line = lines.get("/".join(path[2:end]))
            if line:
                return line if isinstance(line, str) else f"{file}:{line}"
        return ""


class Knowledge(msgspec.Struct, frozen=True):
    """The whole of it, checked in itself."""

    crops: dict[str, Crop]
    symptoms: dict[str, Symptom]
    causes: dict[str, Cause]
    rules: dict[str, Rule]
    remedies: dict[str, Remedy]
    cautions: dict[str, Caution]
    referrals: dict[str, Referral]
    alerts: dict[str, Alert]
    dangers: dict[str, Danger]
    sources: dict[str, Source]
    letters: dict[str, Letter]
    kin: dict[str, Kin]
    glossary: dict[str, Term]
    drawings: dict[str, Drawing]
    likelihood: Likelihood
    seasons: Seasons
    words: Words
    safety: Safety
    retired: dict[str, str]  # "old-id" or "old-id/form" -> "new-id" or "new-id/form"
    concerns: Concerns
    handbook: dict[str, Fact]
    rounds: Rounds
    format: Format
    digest: str
    places: Places | None = None
    laid: dict[str, str] = {}  # "causes/slugs" -> the name of the last folder that changed it

    def folder(self, kind: str, entry: str) -> str | None:
        """The name of the folder laid over the others from which an entry is; None for the base."""
        return self.laid.get(f"{kind}/{entry}")

    def place(self, *path: str) -> str:
        """The file and line of an entry, or of the nearest entry around it."""
        return self.places.of(path) if self.places else ""

    def crop_named(self, text: str) -> str | None:
        """The id of the crop that goes by this id, name or plural, or None."""
        wanted = text.strip().casefold()
        if wanted in self.crops:
            return wanted
        for crop_id, crop in self.crops.items():
            names = {crop_id, crop_id.replace("-", " "), crop.name.casefold()}
            names |= {name.casefold() for name in crop.also}
            if wanted in names or any(wanted in (n + "s", n + "es") for n in names):
                return crop_id
        return None
