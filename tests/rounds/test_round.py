"""A bed's record in a consultation, its weather, look-outs, and the commands of the round."""

from __future__ import annotations

import io
import re
import shlex
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from diagnose.commands import main
from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.journal import Answered, Journal, Told
from diagnose.kb.model import WeatherSign
from diagnose.pages import reasons
from diagnose.reasoning.facts import RECORDED
from diagnose.rounds import exchange, warmth
from diagnose.rounds.calendar import ics
from diagnose.rounds.history import BedRecord, begin, facts, observed, record_of
from diagnose.rounds.lookouts import look_outs
from diagnose.rounds.model import Bed, Done, Due, Finding, Garden, Planting, Result, Visit, Weather
from diagnose.rounds.store import Store
from diagnose.rounds.visits import BedKeeper, kept_of, open_findings, unfinished, visit_on, went_on
from diagnose.seasons.weather import Daily
from tests.rounds.season import EXAMPLE, played

pytestmark = pytest.mark.quick

HOME = Garden("g", "Hill", 42.0, "05-10", "10-05")
BED = Bed("b", "g", "North")
DAY = date(2026, 6, 10)


@pytest.fixture
def store(tmp_path: Path):
    with Store(tmp_path / "rounds.sqlite") as store:
        store.put(HOME, BED, Planting("p", "b", "beet", "2026-05-01"))
        yield store


def found(store: Store, day: str, cause: str, ident: str) -> Finding:
    finding = Finding(ident, f"v{ident}", "", cause)
    store.put(Visit(f"v{ident}", "b", day), finding)
    return finding


def blank(reasoner: Reasoner, store: Store, day: date = DAY) -> Consultation:
    return begin(reasoner, record_of(store, BED), day)


# what the record says


def test_a_bed_knows_its_crop_and_place(reasoner: Reasoner, store: Store) -> None:
    now = blank(reasoner, store)
    assert (now.crop, now.place) == ("beet", HOME.place)
    store.put(Planting("q", "b", "chard", "2026-05-01"))
    assert blank(reasoner, store).crop is None  # two crops: it is asked which
    assert record_of(store, BED).growing(DAY) == ["beet", "chard"]
    assert record_of(store, BED).growing(date(2026, 4, 30)) == []


def test_last_year_makes_it_likelier_and_the_reasons_say_so(
    reasoner: Reasoner, store: Store
) -> None:
    before = dict(blank(reasoner, store).standing)["beet-leafminer"]
    found(store, "2025-06-12", "beet-leafminer", "f")
    now = blank(reasoner, store)
    assert "found-last-year=beet-leafminer" in now.record
    after = dict(now.standing)["beet-leafminer"]
    factor = reasoner.knowledge.likelihood.record.likelier
    assert after / (1 - after) == pytest.approx(factor * before / (1 - before), rel=0.05)
    said = reasons.starting_point(now, "beet-leafminer")
    assert "likelier in this bed, because leaf miners were in this bed last year" in said
    assert "row-cover" not in [s.remedy for s in now.plan("beet-leafminer").next_season]


def test_what_comes_later_or_long_ago_is_no_record(reasoner: Reasoner, store: Store) -> None:
    found(store, "2024-06-12", "beet-leafminer", "f")
    found(store, "2026-06-10", "slugs", "h")
    assert facts(reasoner, record_of(store, BED), DAY) == ()


def test_south_of_the_equator_last_year_is_the_last_growing_year(
    reasoner: Reasoner, tmp_path: Path
) -> None:
    with Store(tmp_path / "south") as store:
        store.put(Garden("g", "Far", -42.0, "10-10", "04-20"), BED)
        store.put(Planting("p", "b", "beet", "2025-10-20"))
        found(store, "2025-11-20", "beet-leafminer", "f")
        record = record_of(store, BED)
        assert "found-this-year=beet-leafminer" in facts(reasoner, record, date(2026, 2, 1))
        assert "found-last-year=beet-leafminer" in facts(reasoner, record, date(2026, 11, 1))


def test_the_same_family_two_years_running(reasoner: Reasoner, store: Store) -> None:
    store.put(
        Planting("x", "b", "kale", "2024-05-01", "2024-09-01"),
        Planting("y", "b", "cabbage", "2025-05-01", "2025-09-01"),
    )
    store.put(Planting("p", "b", "broccoli", "2026-05-01"))
    now = blank(reasoner, store)
    assert {"family-last-year=cabbage-family", "family-two-years=cabbage-family"} <= set(now.record)
    assert "two years running" in reasons.starting_point(now, "clubroot")
    [seen] = [o for o in now.observations if o.symptom == "same-family-last-year"]
    assert (seen.value, seen.source) == ("present", RECORDED)


def test_a_net_makes_caterpillars_less_likely(reasoner: Reasoner, store: Store) -> None:
    store.put(Planting("p", "b", "kale", "2026-05-01"))
    before = dict(blank(reasoner, store).standing)["imported-cabbageworm"]
    store.put(Visit("v", "b", "2026-05-02"), Done("d", "v", "insect-netting"))
    now = blank(reasoner, store)
    assert dict(now.standing)["imported-cabbageworm"] < before / 2
    assert "less likely in this bed, because a net" in reasons.starting_point(
        now, "diamondback-moth"
    )
    assert "under-cover" in {o.symptom for o in now.observations}
    store.put(Visit("w", "b", "2026-06-02"), Done("e", "w", "uncover-for-bees"))
    assert "under-cover" not in {o.symptom for o in blank(reasoner, store).observations}
    evidence = reasoner.knowledge.causes["imported-cabbageworm"].evidence
    assert "under-cover" in evidence  # which is why no rule says it again


def test_no_rule_says_again_what_the_record_shows(reasoner: Reasoner) -> None:
    knowledge = reasoner.knowledge
    shown = {knowledge.rounds.bed.covered, knowledge.rounds.bed.fenced}
    twice = [
        (name, cause)
        for name, rule in knowledge.rules.items()
        if "done" in rule.when
        for causes in [rule.then.get("less-likely", [])]
        for cause in ([causes] if isinstance(causes, str) else causes)
        if shown & set(knowledge.causes[cause].evidence)
    ]
    assert twice == []


def test_worse_in_spite_of_it_goes_to_the_extension_service(
    reasoner: Reasoner, store: Store
) -> None:
    finding = found(store, "2026-06-01", "imported-cabbageworm", "f")
    assert "extension" not in blank(reasoner, store).plan("imported-cabbageworm").referrals
    store.put(Result("r", finding.id, "2026-06-08", "worse"))
    now = blank(reasoner, store)
    assert "extension" in now.plan("imported-cabbageworm").referrals
    assert "extension" not in now.plan("slugs").referrals  # of that nothing was said


def test_a_record_is_no_answer_and_no_sign(reasoner: Reasoner, store: Store) -> None:
    now = blank(reasoner, store)
    assert now.observations
    assert now.verdict == "nothing understood"
    assert now.asked == 0


def test_words_at_the_bed_go_before_the_record(reasoner: Reasoner, store: Store) -> None:
    weather = warmth.observed(reasoner.knowledge.rounds.weather, climate(5), DAY)
    now = begin(reasoner, record_of(store, BED), DAY, weather)
    assert ("cold", RECORDED) in {(o.symptom, o.source) for o in now.observations}
    told = now.told(clean("there was a cold spell, with cold nights"))
    assert ("cold", "text") in {(o.symptom, o.source) for o in told.observations}


# the weather


def climate(rain: float | None, low: float | None = 12, high: float | None = 24) -> warmth.Climate:
    days = {DAY - timedelta(n): Daily(DAY - timedelta(n), low, high, rain) for n in range(1, 21)}
    return warmth.Climate(days, {}, ())


def shown(known: warmth.Climate, reasoner: Reasoner) -> dict[str, str]:
    signs = reasoner.knowledge.rounds.weather
    return {o.symptom: o.value for o in warmth.observed(signs, known, DAY)}


def test_what_the_weather_shows(reasoner: Reasoner) -> None:
    assert shown(climate(0), reasoner) == {
        "warm-nights": "absent", "cold": "absent", "dry-weather": "present",
    }  # fmt: skip
    hot = shown(climate(4, 22, 33), reasoner)
    assert {"heat", "warm-nights", "rain", "warm-wet"} <= {
        s for s, v in hot.items() if v == "present"
    }
    cold = shown(climate(4, -1, 9), reasoner)
    assert {"frost", "cold", "rain", "cool-wet"} <= {s for s, v in cold.items() if v == "present"}
    assert shown(climate(None, None, None), reasoner) == {}
    assert shown(warmth.Climate({}, {}, ()), reasoner) == {}


def test_days_that_could_decide_it_leave_it_open() -> None:
    sign = WeatherSign(shows="cold", within=14, days=2, low_at_most=10, denies=True)
    whole = climate(0)
    one_gap = warmth.Climate(
        {d: day for d, day in whole.days.items() if d != DAY - timedelta(3)}, {}, ()
    )
    two_gaps = warmth.Climate(
        {d: day for d, day in one_gap.days.items() if d != DAY - timedelta(5)}, {}, ()
    )
    assert [o.value for o in warmth.observed([sign], one_gap, DAY)] == ["absent"]
    assert warmth.observed([sign], two_gaps, DAY) == []


def test_every_weather_sign_names_a_condition(reasoner: Reasoner) -> None:
    signs = reasoner.knowledge.rounds
    kinds = {reasoner.knowledge.symptoms[s.shows].kind for s in signs.weather}
    assert kinds == {"condition"}
    assert {*signs.bed.covers, *signs.bed.fences} <= set(reasoner.knowledge.remedies)


# look-outs


def test_look_outs_come_in_order_and_move_with_the_record(reasoner: Reasoner, store: Store) -> None:
    record = record_of(store, BED)
    first = look_outs(reasoner, record, DAY)
    assert 0 < len(first) <= 6
    worth = [one.worth for one in first]
    assert worth == sorted(worth, reverse=True)
    found(store, "2025-06-12", "beet-leafminer", "f")
    after = look_outs(reasoner, record_of(store, BED), DAY)
    places = [[o.symptom for o in outs].index("leaf-mines") for outs in (first, after)]
    assert places[1] < places[0]
    assert after[places[1]].shows[0].cause == "beet-leafminer"
    assert after[places[1]].worth > 2 * first[places[0]].worth
    assert (
        look_outs(reasoner, record_of(store, BED), date(2026, 4, 1)) == []
    )  # nothing stands there


def test_a_model_moves_its_cause(reasoner: Reasoner, store: Store) -> None:
    store.put(Planting("p", "b", "onion", "2026-04-10"))
    record = record_of(store, BED)
    event = warmth.Expected("flies", date(2026, 6, 5), DAY, date(2026, 6, 20))
    far = warmth.Expected("flies", date(2026, 8, 5), date(2026, 8, 9), date(2026, 8, 20))

    def worth(one: warmth.Expected | None) -> float:
        stages = {"onion-maggot": warmth.Outlook("onion-maggot", (one,), 0, 0, 0)} if one else {}
        outs = look_outs(reasoner, record, DAY, stages=stages, most=99)
        return next(o.worth for o in outs if "onion-maggot" in {s.cause for s in o.shows})

    assert worth(far) < worth(None) < worth(event)


# a consultation kept in the record


def test_a_consultation_is_kept_whole_and_gone_on_with(reasoner: Reasoner, store: Store) -> None:
    journal = Journal.begin(blank(reasoner, store))
    keeper = BedKeeper(store, BED, HOME)
    assert keeper.save(journal)
    assert store.all(Finding) == []  # nothing was said
    journal = journal.then(Told("pale papery blotches inside the beet leaves, maggots in them"))
    assert keeper.save(journal)
    left = unfinished(record_of(store, BED))
    assert left is not None
    journal = journal.then(Answered("leaf-mines", "blotch"), Answered("mine-contents", "present"))
    assert BedKeeper(store, BED, HOME, left).save(journal, finished=True, answer="miner")
    [finding] = store.all(Finding)
    assert finding.cause == "beet-leafminer"
    kept = kept_of(finding)
    assert (kept.state, kept.knowledge) == ("finished", reasoner.knowledge.digest)
    assert kept.steps == journal.steps
    [due] = store.all(Due)
    assert due.what.startswith("look again: Beet and spinach leafminer")
    from diagnose.kept import opened

    again = opened(kept, reasoner).journal.now
    assert again.record == journal.now.record
    assert again.standing == journal.now.standing


def test_a_follow_up_settles_what_was_due(reasoner: Reasoner, store: Store) -> None:
    finding = found(store, "2026-06-01", "beet-leafminer", "f")
    due = went_on(store, reasoner, BED, finding, DAY, "better", 3)
    assert due is not None and due.day > DAY.isoformat()
    went_on(store, reasoner, BED, finding, DAY, "same", 4)  # the same day puts it right
    [result] = store.all(Result)
    assert (result.state, result.count) == ("same", 4)
    record = record_of(store, BED)
    assert open_findings(record, DAY + timedelta(5)) == [finding]
    assert went_on(store, reasoner, BED, finding, DAY + timedelta(5), "gone") is None
    assert all(due.settled for due in store.all(Due))
    assert open_findings(record_of(store, BED), DAY + timedelta(9)) == []


def test_two_visits_on_a_day_are_one(store: Store) -> None:
    visit_on(store, BED, DAY, "one")
    visit_on(store, BED, DAY, "two")
    visit_on(store, BED, DAY, "two")
    assert [visit.notes for visit in store.all(Visit)] == ["one\ntwo"]


def test_a_record_with_what_the_knowledge_no_longer_has(reasoner: Reasoner, store: Store) -> None:
    store.put(Planting("z", "b", "moonflower", "2026-05-01"))
    found(store, "2025-06-12", "no-such-cause", "f")
    record: BedRecord = record_of(store, BED)
    assert facts(reasoner, record, DAY) == ()
    assert observed(reasoner, record, DAY)
    assert look_outs(reasoner, record, DAY)


def test_the_calendar_is_read_by_a_library() -> None:
    due = [Due("d1", "b", "2026-06-20", "look again: leaf miner; eggs, mines\nand more")]
    made = ics(due, {"b": "North"}, datetime(2026, 6, 1, tzinfo=UTC))
    [event] = Calendar.from_ical(made).walk("VEVENT")
    assert event["uid"] == "d1@rounds.diagnose"
    assert event["dtstart"].dt == date(2026, 6, 20)
    assert str(event["summary"]) == "North: look again: leaf miner; eggs, mines\nand more"


# the commands


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, reasoner: Reasoner):
    monkeypatch.setattr("diagnose.ready.open_reasoner", lambda root: reasoner)

    def one(line: str, *typed: str) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{t}\n" for t in typed)))
        code = main([*shlex.split(line), "--plain"])
        return code, *capsys.readouterr()

    return one


def test_what_is_missing_is_asked(run) -> None:
    assert run("visit")[0] == 2
    assert "no bed is kept yet" in run("visit")[2]
    assert "no garden is kept yet" in run("beds --add North")[2]
    assert run("gardens --add Hill")[0] == 0
    assert run("beds --add North")[0] == 0
    assert run("beds --add South")[0] == 0
    code, out, _ = run("beds --plant beet --date 2026-05-01", "south")
    assert (code, "beet, from 1 May 2026" in out) == (0, True)
    code, _, error = run("beds --plant beet", "")
    assert (code, "nothing was typed for 'Which bed?" in error) == (2, True)
    assert "did you mean 'Hill/South'" in run("visit Soouth")[2]


def test_what_a_terminal_would_obey_is_shown_as_text(run, tmp_path: Path) -> None:
    run("gardens --add Hill")
    run("beds --add North")
    evil = "\x1b[2Jgone\x07"
    with Store() as store:
        [bed] = store.all(Bed)
        store.put(Visit("v", bed.id, "2026-06-01", evil), Done("d", "v", evil))
        store.put(Due("u", bed.id, "2026-06-08", evil), Finding("f", "v", "", evil, 1.0, evil))
    for line in ("beds North", "report", "sheet", "season", "report --year 2026"):
        code, out, _ = run(f"{line} --date 2026-06-01")
        assert code == 0
        assert "\x1b" not in out and "\x07" not in out, line
    assert run("visit --note '\x1b[2Jnew' --date 2026-06-02")[0] == 0
    with Store() as store:
        assert [v.notes for v in store.all(Visit, day="2026-06-02")] == ["new"]
    source = tmp_path / "x.json"
    source.write_text(
        '{"format": 1, "gardens": [{"id": "g", "name": "a\\u001bb", "latitude": 42.0, '
        '"last_frost": "05-10", "first_frost": "10-05"}]}', encoding="utf-8",
    )  # fmt: skip
    assert "gardens, row 1" in run(f"records import {source}")[2]


def test_values_of_options_are_asked_for_too(run) -> None:
    assert "- Hill (latitude" in run("gardens --add", "Hill")[1]
    assert "North, Hill" in run("beds --add", "North")[1]
    assert "kale, from 1 May 2026" in run("beds North --plant --date 2026-05-01", "kale")[1]
    assert "Nearest, Hill" in run("beds North --rename", "Nearest")[1]
    assert "to 1 June 2026" in run("beds Nearest --clear --date 2026-06-01", "kale")[1]


def test_measures_of_the_plan_are_chosen_by_number(run) -> None:
    run("gardens --add Hill")
    run("beds --add North")
    run("beds --plant kale --date 2026-05-01")
    run("visit --found imported-cabbageworm --date 2026-06-01")
    _, out, _ = run("visit --date 2026-06-05", "better", "1", "", "", "no")
    first = out.partition("1. ")[2].partition("\n")[0]
    assert f"done: {first}" in out


def test_a_clock_that_jumps_is_said_and_visits_stay_in_the_order_of_their_days(run) -> None:
    run("gardens --add Hill")
    run("beds --add North")
    assert "lies ahead of this machine's clock" in run("visit --note later --date 2099-06-01")[1]
    run("visit --note earlier --date 2026-06-01")
    _, out, _ = run("beds North")
    assert out.index("later") < out.index("earlier")


def test_what_was_entered_wrongly_is_taken_out(run) -> None:
    run("gardens --add Hill")
    run("beds --add North")
    run("beds --plant kale --date 2026-05-01")
    run("visit --found slugs --did handpick --date 2026-06-01")
    run("visit --state better --did evening-pick --date 2026-06-08")
    code, _, error = run("visit --forget --date 2026-06-01")
    assert (code, "Give --yes" in error) == (2, True)
    assert "6 entries taken out" in run("visit --forget --yes --date 2026-06-01")[1]
    assert "no visit to North" in run("visit --forget --yes --date 2026-06-01")[2]
    _, out, _ = run("beds North")
    assert ("Slugs" in out, "8 June 2026" in out) == (False, True)
    assert "Nothing yet" in run("beds North --unplant kale")[1]
    assert "was never entered" in run("beds North --unplant kale")[2]


def test_all_of_it_at_one_prompt(run) -> None:
    code, out, _ = run(
        "round", "gardens --add Hill", "beds --add North",
        "beds North --plant kale --date 2026-05-01",
        "visit North --found slugs --date 2026-05-20", "visit North --date 2026-05-27", "better",
        "", "", "no", "fly", 'visit "', "report --year 2026", "leave",
    )  # fmt: skip
    assert code == 0
    assert (
        "found: Slugs and snails; 27 May 2026 better" in out or "better since the last time" in out
    )
    assert "I know no 'fly' here" in out
    assert "No closing quotation" in out
    assert "Slugs and snails: 20 May 2026, in North" in out


def test_what_cannot_be_entered_is_refused_whole(run) -> None:
    run("gardens --add Hill")
    run("beds --add North")
    run("beds --plant kale --date 2026-05-01")
    for line, words in (
        ("visit --found slugs --count many", "'many' is no count"),
        ("visit --state better", "nothing was found in North of late"),
        ("visit --found slug-things", "no one cause is called"),
        ("visit --found slugs --due soon", "'soon' is no date"),
        ("beds North --plant moonflower", "moonflower"),
        ("beds North --plant kale", "kale stands in North already"),
        ("beds North --clear beet", "no beet stands in North"),
        ("report --year next", "'next' is no year"),
        ("sheet --to sheet.txt", "must end in .html or .md"),
        ("weather nowhere.csv", "cannot be read"),
    ):
        code, _, error = run(f"{line} --date 2026-06-01")
        assert (code, words in error) == (2, True), (line, error)
    with Store() as store:
        assert store.all(Visit) == []


def test_weather_that_was_guessed_needs_a_yes(run, tmp_path: Path) -> None:
    file = tmp_path / "days.csv"
    file.write_text("date,low,high\n2026-06-01,50,77\n2026-06-02,52,80\n", encoding="utf-8")
    run("gardens --add Hill")
    code, out, error = run(f"weather {file}")
    assert (code, "Give --yes" in error) == (2, True)
    assert "degrees Fahrenheit, since the highest is 80" in out
    assert run(f"weather {file} --yes")[0] == 0
    assert run(f"weather {file} --degrees F")[0] == 0  # told, so nothing is guessed
    with Store() as store:
        assert [w.high for w in store.all(Weather)] == [25.0, 26.67]


def test_pages_as_files(run, tmp_path: Path) -> None:
    run("records example")
    for line in ("sheet", "report --year 2026", "season", "lookout"):
        for ending in (".html", ".md"):
            target = tmp_path / f"{line.split()[0]}{ending}"
            assert run(f"{line} --to {target} --date 2026-06-20")[0] == 0
            text = target.read_text(encoding="utf-8")
            assert "Quince Lane School" in text
            assert "http-equiv" not in text and "<script" not in text
            if ending == ".html" and line != "sheet" and "look" not in line:
                assert "<svg" in text and "<title>" in text
    assert run(f"season --to {tmp_path / 'due.ics'} --date 2026-06-08")[0] == 0
    events = Calendar.from_ical((tmp_path / "due.ics").read_bytes()).walk("VEVENT")
    assert len(events) == 1 or len(events) == 2
    assert "is there already" in run(f"season --to {tmp_path / 'due.ics'}")[2]


def test_the_season_of_a_southern_garden_begins_in_july(run, tmp_path: Path) -> None:
    run("gardens --add Far --latitude -42 --last-frost 10-10 --first-frost 04-20")
    run("beds --add North")
    run("beds --plant kale --date 2026-10-25")
    target = tmp_path / "season.html"
    assert run(f"season --to {target} --date 2027-01-10")[0] == 0
    written = target.read_text(encoding="utf-8")
    assert "The season, Far, 2026" in written
    letters = re.findall(r'text-anchor="middle">([A-Z])</text>', written)
    assert "".join(letters) == "JASONDJFMAMJ"
    assert written.index("October 2026") < written.index("April 2027")


def test_a_consultation_for_a_bed_and_the_next_day(run) -> None:
    run("gardens --add Hill")
    run("beds --add North")
    run("beds --plant beet --date 2026-05-01")
    code, out, _ = run(
        "--bed north --date 2026-06-05", "pale papery blotches in the leaves", "leave"
    )
    assert (code, "North, Hill: beet." in out) == (0, True)
    code, out, _ = run("--bed north --date 2026-06-06", "yes", "yes", "leave")
    assert "A consultation of this bed was left" in out
    assert "you wrote: pale papery" in out
    code, out, _ = run("beds North --whole 2026-06-05")
    assert (code, "pale papery blotches" in out) == (0, True)
    assert "no consultation of North is kept from" in run("beds North --whole 2026-06-07")[2]


def test_the_example_is_what_the_season_leaves() -> None:
    _, made = played()
    one, two = (re.sub(rb'knowledge\\":\\"[0-9a-f]+', b"", b) for b in (made, EXAMPLE.read_bytes()))
    assert one == two, "run: python -m tests.rounds.season --write"
    tables = exchange.read(EXAMPLE)
    assert len(tables["visits"]) > 12
