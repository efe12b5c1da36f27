"""What must be said first: sentences with the kinds of alerts that they call for.

`sentences_a.yaml` and `sentences_more.yaml` were looked at while the words were gathered;
`sentences_unseen.yaml` was only ever counted, so its figures say what to expect of other people.
Counted are the alerts that the words and the signs in them raise, not those of possible causes.
Where only the question rises whether somebody is hurt, an emergency counts as missed; of the others
it is counted by itself.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
import yaml

from diagnose.consultation import Consultation
from diagnose.documents.as_json import document
from diagnose.inputs import clean
from diagnose.pages import answer, first
from diagnose.reading import concerns
from diagnose.reasoning.alerts import EMERGENCY, SUSPECTED, of_causes, raised
from diagnose.reasoning.facts import Observation

HERE = Path(__file__).parent
LETTERS = HERE.parent / "validation" / "data" / "second_hand.yaml"
PERSONAL = ("emergency", "unknown-plant", "soil", "report")  # wrong, these alarm for nothing


@dataclass(frozen=True)
class Score:
    """How many sentences came out right, and of each kind: right, missed, raised for nothing.

    `asked` are the emergencies that were missed, but whether somebody is hurt was asked; `idle`
    those where it was asked and is none.
    """

    right: int
    count: int
    hit: Counter[str]
    missed: Counter[str]
    false: Counter[str]
    asked: int = 0
    idle: int = 0

    def recall(self, kind: str) -> float:
        """The share of a kind that was raised where it should be."""
        return self.hit[kind] / (self.hit[kind] + self.missed[kind])

    @property
    def told_to_call(self) -> float:
        """The share of emergencies where whom to call is told, or asked whether to."""
        count = self.hit[EMERGENCY] + self.missed[EMERGENCY]
        return (self.hit[EMERGENCY] + self.asked) / count


def score(blank: Consultation, name: str) -> Score:
    sentences = yaml.safe_load((HERE / f"sentences_{name}.yaml").read_text(encoding="utf-8"))
    hit, missed, false = Counter[str](), Counter[str](), Counter[str]()
    right = asked = idle = 0
    for sentence in sentences:
        told = replace(blank, crop=sentence["crop"]).told(clean(sentence["text"]))
        found = {alert.kind for alert in raised(told.reasoner.knowledge, told.trace, {})}
        wanted, allowed = set(sentence["expect"]), set(sentence.get("allow", ()))
        asked += SUSPECTED in found and EMERGENCY in wanted
        idle += SUSPECTED in found and EMERGENCY not in wanted
        found.discard(SUSPECTED)
        hit.update(found & wanted)
        missed.update(wanted - found)
        false.update(found - wanted - allowed)
        right += wanted <= found <= wanted | allowed
    return Score(right, len(sentences), hit, missed, false, asked, idle)


# The least share of sentences that come out right; of emergencies: heard, and heard or asked.
FLOORS = {"a": (0.98, 0.96, 0.96), "more": (0.92, 0.91, 0.97), "unseen": (0.85, 0.85, 0.92)}


@pytest.mark.parametrize("name", FLOORS)
def test_alerts_rise_where_they_should_and_nowhere_else(blank, name) -> None:
    found = score(blank, name)
    right, emergencies, called = FLOORS[name]
    assert found.right >= right * found.count
    assert found.recall("emergency") >= emergencies
    assert found.told_to_call >= called
    assert found.false[EMERGENCY] <= 1
    assert found.idle <= 0.05 * found.count


def test_described_troubles_of_plants_alarm_nobody(reasoner) -> None:
    """Of all described cases and letters no more than 1 in 100 speaks of hurt people or bad soil.

    All that are counted were looked at; most are right (a child was stung, a creek came over).
    """
    knowledge = reasoner.knowledge
    texts = [case.text for cause in knowledge.causes.values() for case in cause.cases if case.text]
    texts += [letter.text for letter in knowledge.letters.values()]
    texts += [case["text"] for case in yaml.safe_load(LETTERS.read_text(encoding="utf-8"))]
    kinds = _kinds(knowledge)
    alarmed = Counter(
        kind
        for text in texts
        for kind in {kinds.get(heard.concern) for heard in concerns(reasoner.lexicon, text)}
        if kind
    )
    assert sum(alarmed[kind] for kind in PERSONAL) <= 0.01 * len(texts)
    assert alarmed[EMERGENCY] <= 0.005 * len(texts)
    assert alarmed[SUSPECTED] <= 0.03 * len(texts)  # one line, asked where it may be so


def _kinds(knowledge) -> dict[str, str]:
    """The kind of alert that each concern leads to by itself."""
    return {
        concern: knowledge.alerts[str(rule.then["alert"])].kind
        for rule in knowledge.rules.values()
        if "alert" in rule.then and set(rule.when) == {"concern"}
        for concern in (
            [rule.when["concern"]]
            if isinstance(rule.when["concern"], str)
            else rule.when["concern"]
        )
    }


HARMLESS = [
    "the berries were eaten by birds", "caterpillars ate the leaves", "nobody ate any of it",
    "nobody was stung", "mice ate the bulbs", "my kids ate the ripe strawberries",
    "no mushrooms, but white threads", "it looks like mouse droppings but it is seed",
]  # fmt: skip


@pytest.mark.parametrize("text", HARMLESS)
def test_the_agent_and_the_negation_count(blank, text) -> None:
    assert [a for a in blank.told(clean(text)).alerts if a.kind == "emergency"] == []


def test_slips_capitals_and_missing_marks_are_no_bar(blank) -> None:
    for text in ("MY SON ATE A MUSHROOM", "my son ate a mushrom", "help son ate mushroom now what",
                 "my daugter swalowed slug pelets"):  # fmt: skip
        assert [a.kind for a in blank.told(clean(text)).alerts][:1] == ["emergency"], text


@pytest.mark.parametrize(
    "text",
    ["Toddler, nightshade berry, maybe two, ten minutes ago", "the twins were sharing a puffball"],
)
def test_what_may_be_meant_is_asked_in_one_line(blank, text) -> None:
    first = blank.told(clean(text)).alerts[0]
    assert first.kind == SUSPECTED
    assert first.text.startswith("Has anyone, or a pet,")


def test_no_question_where_an_emergency_is_heard(blank) -> None:
    kinds = [alert.kind for alert in blank.told(clean("my son ate a black berry")).alerts]
    assert kinds[0] == EMERGENCY
    assert SUSPECTED not in kinds


def test_because_names_the_gardeners_own_words(blank) -> None:
    first = blank.told(clean("one of the kids ate a black berry by the fence")).alerts[0]
    assert '"kids ate a black berry"' in first.because


def test_a_question_is_not_read_as_a_sign(blank) -> None:
    """Found: "can we still eat the tomatoes" was read as holes in the fruit."""
    for text in ("can we still eat the tomatoes", "is it safe to eat the tomatoes?",
                 "my kid just ate a rhubarb leaf", "what can I spray on my kale"):  # fmt: skip
        assert blank.told(clean(text)).observations == (), text


def test_at_most_two_of_a_kind_gravest_first(blank) -> None:
    told = blank.told(clean(
        "my son ate a mushroom, my daughter was stung, the dog swallowed slug bait and I cut my "
        "hand on glass. The creek came over the beds, sewage too, there is lead in the soil"
    ))  # fmt: skip
    kinds = [alert.kind for alert in told.alerts]
    assert kinds[0] == "emergency"
    assert max(Counter(kinds).values()) == 2
    assert kinds == sorted(kinds, key=lambda k: k != "emergency")


def test_eating_is_answered_the_most_careful_first(blank) -> None:
    told = blank.about("potato").told(clean("some tubers are green, can we eat them"))
    assert told.eating is not None
    assert told.eating.eat == "never"
    assert told.eating.causes[0] == "greening-tubers"
    eating = next(a for a in told.alerts if a.id == "eating-question")
    assert eating.text.startswith("Do not eat it")


def test_eating_without_anything_understood_is_no(blank) -> None:
    told = blank.told(clean("is it safe to eat the lettuce"))
    assert told.eating is None
    assert [a.id for a in told.alerts] == ["eating-nothing-understood"]


def test_an_alert_rises_at_a_later_answer(blank) -> None:
    begun = blank.about("potato")
    assert begun.alerts == []
    assert [a.id for a in begun.answer("green-tuber", "present").alerts] == ["green-potato"]


def test_what_may_be_poisonous_is_said_while_it_is_open(blank) -> None:
    """The name of the danger, and that nobody touches or eats it, on screens and in JSON."""
    told = blank.about("bean").told(clean("a tall weed with a red stalk between my beans"))
    seen = told.observe([Observation("came-up-itself", "present")])
    possible = [d for d in seen.reasoner.knowledge.dangers.values() if {*seen.named} & {*d.causes}]
    assert possible, seen.named
    told_of = " ".join(alert.text for alert in seen.alerts)
    assert any(danger.name in told_of for danger in possible)
    assert "touch or eat" in told_of
    page = " ".join(block.text for block in [*first.alerts(seen.alerts), *answer.short(seen)])
    assert told_of.split(".")[0] in page
    assert [a["text"] for a in document(seen)["alerts"]] == [a.text for a in seen.alerts]


def test_every_danger_that_a_cause_may_be_is_told_with_it(blank) -> None:
    knowledge = blank.reasoner.knowledge
    for danger in knowledge.dangers.values():
        for cause in danger.causes:
            [alert] = [a for a in of_causes(knowledge, [cause]) if danger.name in a.text]
            assert danger.until_known in alert.text
            assert knowledge.causes[cause].name in alert.because


@pytest.mark.parametrize(
    ("crop", "seen", "alert"),
    [
        ("cabbage", {"root-galls": "clubs"}, "serious-disease-hold"),
        ("onion", {}, None),
    ],
)
def test_a_likely_cause_to_report_is_told_as_such(blank, crop, seen, alert) -> None:
    told = blank.about(crop).observe(Observation(s, v) for s, v in seen.items())
    kinds = {a.id for a in told.alerts if a.kind == "report"}
    assert kinds == ({alert} if alert else set())


def test_nothing_is_said_of_dangers_where_nothing_was_understood(blank) -> None:
    assert blank.told(clean("please help me with my garden")).alerts == []
