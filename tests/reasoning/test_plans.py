"""Plans that hold together: of every cause on its crops, at four dates, and as facts change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import combinations, product

import pytest

from diagnose.consultation import Consultation
from diagnose.kb.model import Knowledge
from diagnose.reasoning.advice import Plan, contradict

DAYS = [
    date(2026, 1, 15),
    date(2026, 4, 20),
    date(2026, 6, 10),
    date(2026, 8, 10),
    date(2026, 10, 5),
    date(2026, 11, 29),
]
COVERS = ("insect-netting", "row-cover", "cover-from-planting")
TWICE_A_WEEK = (
    "crush-eggs",
    "search-leaves",
    "crush-cocoons",
    "crush-bean-beetles",
    "rub-borer-eggs",
)
EACH_WEEK = ("fork-out-roots", "starve-weed", "cover-two-summers")
DISEASES = ("bacterium", "fungus", "nematode", "oomycete", "protist", "virus")


@pytest.fixture(scope="module")
def plans(reasoner) -> list[tuple[str, str, date, Plan]]:
    """The plan of every cause on each of its crops at each date, with nothing told."""
    knowledge, home = reasoner.knowledge, reasoner.home()
    return [
        (cause_id, crop_id, day, Consultation(reasoner, day, home, crop_id).plan(cause_id))
        for cause_id, cause in knowledge.causes.items()
        for crop_id, crop in knowledge.crops.items()
        if cause.commonness(crop_id, crop.family) is not None
        for day in DAYS
    ]


def now(plan: Plan) -> list[str]:
    return [step.remedy for step in plan.now]


def test_no_plan_contradicts_itself(knowledge, plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        for one, other in combinations(now(plan), 2):
            assert not contradict(knowledge, one, other), (cause_id, crop_id, day, one, other)


def test_what_waits_for_an_answer_waits(knowledge, plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        for name in plan.referrals:
            waits = set(now(plan)) & set(knowledge.referrals[name].excludes)
            assert not waits, (cause_id, crop_id, day, name, waits)


def test_what_is_for_today_stands_first_and_what_is_for_next_season_not_now(
    knowledge, plans
) -> None:
    for cause_id, crop_id, day, plan in plans:
        seasons = [knowledge.remedies[r].season for r in now(plan)]
        assert seasons == sorted(seasons, key=("today", "now").index), (cause_id, crop_id, day)


def test_cautions_of_measures_come_with_the_measure_and_only_with_it(knowledge, plans) -> None:
    bound = {name for name, caution in knowledge.cautions.items() if caution.measure}
    concluded = {"wash-hands"}  # rules conclude it of droppings and manure too
    for cause_id, crop_id, day, plan in plans:
        called = {c for r in now(plan) for c in knowledge.remedies[r].cautions}
        assert called <= set(plan.cautions), (cause_id, crop_id, day)
        assert set(plan.cautions) & bound <= called | concluded, (cause_id, crop_id, day)


def test_every_plan_has_something_to_do_in_its_own_season(knowledge, reasoner) -> None:
    home = reasoner.home()
    for cause_id, cause in knowledge.causes.items():
        named = [crop for crop in cause.hosts if crop in knowledge.crops] or [None]
        day = next((d for d in _weeks() if reasoner.days_outside(d, home)[cause_id] == 0), DAYS[2])
        plan = Consultation(reasoner, day, home, named[0]).plan(cause_id)
        assert plan.now, (cause_id, named[0], day)


def _weeks() -> Iterator[date]:
    return (date(2026, month, day) for month, day in product((6, 7, 8, 9, 5, 4, 10, 3), (5, 20)))


ASTRAY = {
    "no collar for a root crop": ("cabbage-root-maggot", "radish", "flat-collar"),
    "no standing ring against a fly": ("cabbage-root-maggot", "cabbage", "collar"),
    "a flat collar for a cabbage": ("cabbage-root-maggot", "cabbage", None),
    "no pumpkin picked small": ("gourd-fruit-abortion", "pumpkin", "pick-small"),
    "no melon picked small": ("hollow-melons-cucumbers", "melon", "pick-small"),
    "no potato raised in a pot": ("slugs", "potato", "start-in-pots"),
    "no ear of corn on a strawberry": ("sap-beetles", "strawberry", "trim-tip"),
    "no husk for a tomato": ("sap-beetles", "tomato", "tight-husk"),
    "no fava tips on chard": ("black-bean-aphid", "chard", "pinch-fava-tips"),
    "no soil heaped to a radish": ("cabbage-root-maggot", "radish", "hill-up-stem"),
    "no twig of lettuce cut to a bud": ("cicadas", "lettuce", "cut-dead-wood"),
    "no curing of scallions": ("onion-tops-falling-normal", "scallion", "cure-bulbs"),
    "no squash seed for corn": ("corn-cross-pollination", "sweet-corn", "new-seed"),
    "no fruit to pick of a radish": ("grey-mould", "radish", "pick-ripe-often"),
    "no curing of potatoes like onions": ("sprouting-in-store", "potato", "cure-bulbs"),
}


@pytest.mark.parametrize("case", ASTRAY)
def test_a_measure_fits_the_crop(case: str, blank) -> None:
    cause, crop, astray = ASTRAY[case]
    plan = replace(blank, crop=crop).plan(cause)
    found = [step.remedy for step in (*plan.now, *plan.next_season)]
    if astray is None:
        assert "flat-collar" in found
    else:
        assert astray not in found


def test_no_cover_is_for_now(plans) -> None:
    assert not [p for *_, p in plans if set(now(p)) & set(COVERS)]


# Kinds of causes of which some are known only from what is picked: these keep their measures.
MAY_BEAR = ("physiological", "cultural", "herbicide", "weed")
PICKING = (
    "harvest-now",
    "pick-ripe-often",
    "clean-pick",
    "pick-small",
    "pick-pods-often",
    "pick-berries-daily",
    "pick-clean-fruit",
    "pick-spears-daily",
    "pick-at-blush",
)


def bears(reasoner, crop_id: str, day: date) -> bool:
    return "stage=no-harvest" not in reasoner.setting(crop_id, day, reasoner.home())


def test_nothing_is_picked_before_there_is_something_to_pick(reasoner, plans) -> None:
    causes = reasoner.knowledge.causes
    for cause_id, crop_id, day, plan in plans:
        if causes[cause_id].kind not in MAY_BEAR and not bears(reasoner, crop_id, day):
            assert not set(PICKING) & set(now(plan)), (cause_id, crop_id, day)


def test_nothing_is_picked_of_what_is_grown_to_look_at(knowledge, plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        if not knowledge.crops[crop_id].eaten:
            assert not set(PICKING) & set(now(plan)), (cause_id, crop_id, day)


SEEDS = (
    "damping-off",
    "seed-coat-stuck",
    "seedcorn-maggot",
    "cold-wet-soil-no-germination",
    "old-seed",
    "soil-crust",
    "planted-too-deep",
    "leggy-seedlings",
    "chilling-seed-potato",
    "wirestem",
    "fungus-gnats",
)


def test_nothing_is_picked_of_seeds_seedlings_weeds_and_helpers(knowledge, plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        kind = knowledge.causes[cause_id].kind
        if cause_id in SEEDS or kind in ("weed", "beneficial", "herbicide"):
            assert not set(PICKING) & set(now(plan)), (cause_id, crop_id, day)


def test_no_plan_has_what_safety_forbids_whatever_rules_prefer(knowledge, plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        must = knowledge.safety.must.get(cause_id)
        if must:
            said = {step.remedy for step in (*plan.now, *plan.next_season)}
            assert not said & set(must.without), (cause_id, crop_id, day)
            assert not must.first or now(plan)[0] == must.first, (cause_id, crop_id, day)


# Measures that say nearly the same: a plan has one of them.
ALIKE = (
    ("accept-cosmetic", "normal-growth", "watch-and-wait", "use-as-is"),
    ("accept-cosmetic", "normal-growth", "wait-for-recovery", "use-as-is"),
    ("harvest-now", "clean-pick", "pick-ripe-often", "pick-clean-fruit", "pick-small"),
    ("handpick", "tap-into-pail", "shake-into-pail", "tap-beetles-off", "search-leaves"),
    ("remove-plant", "take-out-today", "bag-sick-plants", "bag-blight-today", "lift-if-no-better"),
    ("leave-for-bees", "leave-to-flower", "let-herb-flower"),
)


@pytest.mark.parametrize("alike", ALIKE, ids=lambda alike: alike[0])
def test_nothing_is_said_twice(alike: tuple[str, ...], plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        said = set(now(plan)) & set(alike)
        assert len(said) <= 1, (cause_id, crop_id, day, said)


def test_hairy_caterpillars_are_not_picked_with_bare_hands(plans) -> None:
    bare = {"handpick", "search-leaves", "crush-cocoons", "squeeze-whorl", "pick-hornworms"}
    for cause_id, crop_id, day, plan in plans:
        if "hairy-caterpillar" in plan.cautions:
            assert not bare & set(now(plan)), (cause_id, crop_id, day)


def test_what_authorities_want_to_see_is_kept_first(plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        if cause_id == "spotted-lanternfly":
            assert now(plan)[0] == "catch-and-report", (crop_id, day)
        if cause_id == "large-white-caterpillar":
            kept = [step.text for step in plan.now if step.remedy == "pick-hairy-gloved"]
            assert all("keep one" in text for text in kept), (crop_id, day)


def test_a_wasp_nest_is_kept_clear_of_people_first(plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        if cause_id == "yellowjackets":
            assert now(plan)[0] == "keep-from-nest", (crop_id, day)
            assert "mark-nest" not in now(plan)


def test_no_creature_is_called_good_to_eat(knowledge) -> None:
    creatures = ("beneficial", "insect", "mite", "mollusc", "crustacean", "myriapod", "wildlife")
    for cause_id, cause in knowledge.causes.items():
        if cause.kind in creatures:
            assert not cause.harvest.startswith(("Good to eat", "Safe to eat", "Eat it")), cause_id


def test_a_measure_is_called_out_as_one_short_act(knowledge) -> None:
    for name, remedy in knowledge.remedies.items():
        assert remedy.short, name
        assert remedy.short[0].isupper(), name
        assert not remedy.short.endswith("."), name
        assert len(remedy.short) <= 60, name


def test_what_shows_the_crop_bears_it_whatever_the_date(blank) -> None:
    cabbage = replace(blank, crop="cabbage", day=date(2026, 6, 10))
    assert "harvest-now" not in now(cabbage.plan("black-rot"))
    assert "harvest-now" in now(cabbage.answer("split-head", "present").plan("black-rot"))


LATE = {
    "no seed in the ground for beans in August": (
        "damping-off",
        "bean",
        date(2026, 8, 10),
        "resow-now",
    ),
    "no potato set in August": ("chilling-seed-potato", "potato", date(2026, 8, 10), "resow-now"),
    "no spear cut in August": (
        "asparagus-purple-spot",
        "asparagus",
        date(2026, 8, 10),
        "pick-spears-daily",
    ),
    "no strawberries shorn in October": (
        "strawberry-leaf-spot",
        "strawberry",
        date(2026, 10, 5),
        "renovate-strawberries",
    ),
    "no straw under fruit in October": (
        "strawberry-anthracnose",
        "strawberry",
        date(2026, 10, 5),
        "straw-under-berries",
    ),
    "no water for dead potato tops": ("hollow-heart", "potato", date(2026, 10, 5), "water-evenly"),
    "no hilling of dead potato tops": ("greening-tubers", "potato", date(2026, 10, 5), "hill-up"),
    "no scapes in October": ("small-garlic", "garlic", date(2026, 10, 5), "cut-scapes"),
    "no pollen for nothing": ("puffy-tomatoes", "tomato", date(2026, 10, 5), "shake-flowers"),
    "no feed in October": ("nitrogen-shortage", "cabbage", date(2026, 10, 5), "feed-compost"),
    "no woody herb cut in fall": ("sage-woody-normal", "sage", date(2026, 10, 5), "trim-woody"),
    "no seedlings among strawberries": (
        "birds",
        "strawberry",
        date(2026, 6, 10),
        "cover-until-tall",
    ),
    "nothing sprayed picked before the frost": (
        "spray-burn",
        "bean",
        date(2026, 10, 5),
        "harvest-now",
    ),
    "no spotted fruit before the frost": (
        "late-blight",
        "tomato",
        date(2026, 10, 5),
        "harvest-now",
    ),
    "no seedlings of beans in August": ("deer", "bean", date(2026, 8, 10), "cover-until-tall"),
    "no collar on grown tomatoes": ("cutworms", "tomato", date(2026, 7, 20), "collar"),
    "nothing is sown in December": ("cutworms", "lettuce", date(2026, 12, 10), "replant-spare"),
    "no shade in October": ("lettuce-bolting", "lettuce", date(2026, 10, 5), "shade-cloth"),
    "no tomato to pick in May": ("frost-injury", "bean", date(2026, 5, 12), "harvest-now"),
    "no second squash now": ("bacterial-wilt", "squash", date(2026, 7, 30), "second-squash"),
}


@pytest.mark.parametrize("case", LATE)
def test_a_measure_fits_the_date(case: str, reasoner) -> None:
    cause, crop, day, astray = LATE[case]
    plan = Consultation(reasoner, day, reasoner.home(), crop).plan(cause)
    assert astray not in now(plan)


def test_squash_in_store_is_sorted_though_the_vines_are_at_their_end(reasoner) -> None:
    store = Consultation(reasoner, date(2026, 10, 5), reasoner.home(), "squash")
    plan = store.plan("squash-rots-in-store")
    assert plan.decision == "act"
    assert "sort-store" in now(plan)
    assert "harvest-now" not in now(plan)


def test_berries_that_the_fly_seeks_are_picked_and_chilled(reasoner) -> None:
    for crop in ("raspberry", "blueberry", "strawberry"):
        there = Consultation(reasoner, date(2026, 8, 10), reasoner.home(), crop)
        steps = now(there.plan("spotted-wing-drosophila"))
        assert {"pick-berries-daily", "chill-berries"} <= set(steps), crop


def test_high_bites_are_on_plants_that_are_no_seedlings(blank) -> None:
    bitten = replace(blank, crop="bean")
    assert "cover-until-tall" in now(bitten.plan("rabbits"))
    assert "cover-until-tall" not in now(bitten.answer("eaten-high", "present").plan("rabbits"))


@pytest.mark.parametrize("day", [date(2026, 8, 25), date(2026, 9, 25), date(2026, 10, 20)])
@pytest.mark.parametrize("cause", ["yellowjackets", "blister-beetles"])
def test_what_hurts_people_is_never_left(cause: str, day: date, reasoner) -> None:
    plan = Consultation(reasoner, day, reasoner.home(), "tomato").plan(cause)
    assert plan.decision == "act"


def test_pests_are_left_only_after_the_frost_and_not_indoors(reasoner) -> None:
    before = Consultation(reasoner, date(2026, 9, 25), reasoner.home(), "tomato")
    after = replace(before, day=date(2026, 10, 20))
    assert before.plan("stink-bugs").decision == "watch"
    left = after.plan("stink-bugs")
    assert left.decision == "leave"
    assert "frost" in left.matters
    assert "shake-into-pail" not in now(left)
    assert after.answer("indoors", "present").plan("whiteflies").decision == "watch"
    assert after.plan("bean-weevil").decision != "leave"


@pytest.mark.parametrize("cause", ["herbicide-drift", "glyphosate-injury"])
def test_evidence_is_kept_and_nothing_sprayed_is_eaten(cause: str, plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        if cause_id == cause:
            assert now(plan)[0] == "eat-nothing-sprayed", (crop_id, day)
            assert "keep-evidence" in now(plan)
            assert not {"remove-plant", "harvest-now", "snip-dead"} & set(now(plan))
            assert plan.referrals[0] == "pesticide-agency"


def test_late_blight_says_one_thing(blank) -> None:
    plan = replace(blank, crop="tomato").plan("late-blight")
    assert now(plan)[0] == "bag-blight-today"
    said = " ".join([plan.matters, *(s.text for s in plan.now)])
    said += " ".join(blank.reasoner.knowledge.referrals[r].text for r in plan.referrals)
    assert "until they answer" not in said
    assert "dry day" not in said


@pytest.mark.parametrize("cause", ["clubroot", "onion-white-rot", "ring-rot", "blackleg-brassica"])
def test_soil_diseases_to_be_reported_are_not_dug_up(cause: str, blank) -> None:
    crop = next(iter(blank.reasoner.knowledge.causes[cause].hosts))
    plan = replace(blank, crop=crop).plan(cause)
    assert now(plan)[0] == "wait-for-answer"
    assert plan.referrals[0] == "report-hold"


def test_the_next_look_is_as_soon_as_the_measures_say(knowledge: Knowledge) -> None:
    for cause_id, cause in knowledge.causes.items():
        if set(cause.remedies) & set(TWICE_A_WEEK):
            assert cause.look_again
            assert cause.look_again.days <= 4, cause_id
        if set(cause.remedies) & set(EACH_WEEK):
            assert cause.look_again
            assert cause.look_again.days <= 7, cause_id


def test_another_family_is_no_rest_from_a_disease_of_many_families(knowledge: Knowledge) -> None:
    """White mold takes some 400 kinds of plants (Florida PP276); beans after lettuce feed it."""
    for cause_id, cause in knowledge.causes.items():
        if cause.kind in DISEASES and {"rotate", "rotate-long"} & set(cause.next_season):
            hosts = [knowledge.crops[h].family if h in knowledge.crops else h for h in cause.hosts]
            assert len(set(hosts)) == 1, (cause_id, set(hosts))


def test_rules_bring_no_rest_to_a_disease_whose_own_plan_names_none(
    knowledge: Knowledge, blank
) -> None:
    """White rot outlasts "three years" (UC IPM: more than 20), and powdery mildew blows in."""
    for cause_id, cause in knowledge.causes.items():
        if cause.kind in DISEASES and "rotate" not in (*cause.remedies, *cause.next_season):
            crop = next((host for host in cause.hosts if host in knowledge.crops), None)
            yearly = replace(blank, crop=crop).answer("yearly", "present")
            plan = yearly.answer("same-family-last-year", "present").plan(cause_id)
            assert "rotate" not in [step.remedy for step in plan.next_season], cause_id


def test_tomatoes_of_dead_vines_are_not_canned(blank) -> None:
    """North Dakota State and Kansas State: fruit of dead or frozen vines is less sour."""
    tomato = replace(blank, crop="tomato")
    for cause in ("frost-injury", "late-blight", "fusarium-wilt-tomato", "bacterial-canker"):
        assert "canning-tomatoes" in tomato.plan(cause).cautions
    assert "canning-tomatoes" not in replace(blank, crop="basil").plan("frost-injury").cautions


def test_room_is_no_help_where_room_is_the_cause(knowledge: Knowledge) -> None:
    """Room bares peppers to the sun (New England guide) and makes corn sucker (Iowa State)."""
    for cause_id in ("sunscald-fruit", "corn-suckers-normal", "head-splitting"):
        assert "space-wider" not in knowledge.causes[cause_id].next_season


def test_the_soil_is_tested_before_it_is_fed(plans) -> None:
    assert not [c for c, _, _, p in plans if {"soil-test", "feed-compost"} <= set(now(p))]


def test_frosted_rhubarb_is_named(reasoner) -> None:
    plan = Consultation(reasoner, date(2026, 4, 25), reasoner.home(), "rhubarb").plan(
        "frost-injury"
    )
    assert {"frosted-rhubarb", "toxic-leaves", "poison-help"} <= set(plan.cautions)
    assert "harvest-now" not in now(plan)


# Insects that winter as pupae in the bed itself: these alone are starved out by years of rest.
IN_THE_BED = (
    "swede-midge",
    "beet-leafminer",
    "cabbage-root-maggot",
    "allium-leafminer",
)


def test_what_flies_in_is_not_starved_out_by_years_of_rest(knowledge: Knowledge) -> None:
    for cause_id, cause in knowledge.causes.items():
        if cause.kind == "insect" and cause_id not in IN_THE_BED:
            assert not {"rotate", "rotate-long"} & set(cause.next_season), cause_id


BEES = ("gourd-family", "strawberry", "raspberry", "blueberry")


def test_a_cover_from_sowing_is_opened_for_bees(knowledge: Knowledge, plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        if {crop_id, knowledge.crops[crop_id].family} & set(BEES):
            for step in plan.next_season:
                remedy = knowledge.remedies[step.remedy]
                if remedy.season == "next" and "net-check" in remedy.cautions:
                    assert "bees" in step.text, (cause_id, crop_id, day, step.remedy)


STAYS = ("asparagus", "rhubarb", "raspberry", "blueberry", "lavender", "sage", "horseradish")
SOWN = ("sow-in-season", "sow-for-fall", "sow-thin", "succession-sow", "start-in-pots")


def test_what_stays_for_years_is_not_sown_and_its_soil_not_turned(plans) -> None:
    for cause_id, crop_id, day, plan in plans:
        if crop_id in STAYS:
            later = {step.remedy for step in plan.next_season}
            assert not later & {*SOWN, "turn-soil-early"}, (cause_id, crop_id, day)


def test_one_word_of_resistant_kinds_is_for_one_family(knowledge: Knowledge) -> None:
    """Kinds bred to resist are bred crop by crop: of many hosts, those that have them are named."""
    for cause_id, cause in knowledge.causes.items():
        if "resistant-kind" in cause.next_season:
            hosts = [knowledge.crops[h].family if h in knowledge.crops else h for h in cause.hosts]
            assert len(set(hosts)) == 1, (cause_id, set(hosts))


def test_a_rule_that_prefers_something_for_next_season_says_for_which_causes(
    knowledge: Knowledge,
) -> None:
    for name, rule in knowledge.rules.items():
        told = rule.then.get("prefer", [])
        for remedy in [told] if isinstance(told, str) else told:
            if knowledge.remedies[remedy].season == "next":
                assert {"cause", "cause-kind", "found-last-year"} & set(rule.when), (name, remedy)


def test_the_date_of_today_keeps_nothing_off_next_season(reasoner) -> None:
    """Onions are cured after harvest: in June not now, but told for next year all the same."""
    june = Consultation(reasoner, date(2026, 6, 10), reasoner.home(), "onion")
    plan = june.plan("onion-sunscald")
    assert "cure-bulbs" not in {step.remedy for step in plan.now}
    assert "cure-bulbs" in {step.remedy for step in plan.next_season}
