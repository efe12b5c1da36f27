"""Both engines against a fixpoint written out here, and against the limits of their libraries."""

import os
import random
import subprocess
import sys
import threading
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.reasoning import engines
from diagnose.reasoning.clips import ClipsEngine
from diagnose.reasoning.engine import (
    Closure,
    Engine,
    EngineError,
    EngineRule,
    EngineUnavailable,
    Firing,
    RuleError,
    conclude,
)
from diagnose.reasoning.engines import make_engine

pytestmark = pytest.mark.quick

ON_LINUX = sys.platform == "linux"
NAMES = ["durable", "clips"] if ON_LINUX else ["clips"]
for_each_engine = pytest.mark.parametrize("name", NAMES)
for_durable = pytest.mark.skipif(not ON_LINUX, reason="durable_rules is used on Linux only")


def rule(id: str, when: str, gives: str) -> EngineRule:
    return EngineRule(id, tuple(when.split()), tuple(gives.split()))


def fired(closure: Closure) -> list[str]:
    return [firing.rule for firing in closure.firings]


def naive(rules: list[EngineRule], facts: list[str]) -> Closure:
    """Round after round, each rule whose conditions held before the round."""
    known, done = set(facts), set[str]()
    firings: list[Firing] = []
    while True:
        ready = [r for r in rules if r.id not in done and set(r.when) <= known]
        if not ready:
            return Closure(frozenset(known), tuple(firings))
        for r in sorted(ready, key=lambda r: r.id):
            firings.append(Firing(r.id, r.when, r.gives))
            known |= set(r.gives)
            done.add(r.id)


# Few facts, so that conditions are shared, chained, circular and repeated.
FACTS = ["leaf-mines=blotch", "leaf-mines=winding", "crop=chard", "crop", "é=½", "葉=穴"]
FACTS += [
    'say "ah"',
    "back\\slash",
    "a\nb",
    "",
    " ",
    "1",
    "True",
    "?x",
    "(fact (number 1))",
    "a\0b",
]
fact = st.one_of(st.sampled_from(FACTS[:6]), st.sampled_from(FACTS))
programs = st.lists(
    st.builds(
        EngineRule,
        id=st.text(max_size=3),
        when=st.lists(fact, min_size=1, max_size=5).map(tuple),
        gives=st.lists(fact, max_size=2).map(tuple),
    ),
    max_size=12,
    unique_by=lambda rule: rule.id,
)
fact_lists = st.lists(st.one_of(fact, st.text(max_size=4)), max_size=8)


@settings(max_examples=300, deadline=None)
@given(programs, st.lists(fact_lists, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_engines_agree_with_a_naive_fixpoint(
    rules: list[EngineRule], starts: list[list[str]], shuffler: random.Random
) -> None:
    tried: list[Engine] = [
        ClipsEngine(rules)
    ]  # not kept for the process, as make_engine would: 2 MB each
    if ON_LINUX:
        tried.append(make_engine(rules, "durable"))
    for facts in starts:
        expected = naive(rules, facts)
        for engine in tried:
            assert engine.close(facts) == expected
            assert engine.close(shuffler.sample(facts, len(facts))) == expected


@for_each_engine
def test_a_large_program(name: str) -> None:
    chance = random.Random(2)
    facts = [f"f{i}" for i in range(60)]
    rules = [
        EngineRule(f"r{i}", tuple(chance.sample(facts, 1 + i % 3)), (chance.choice(facts),))
        for i in range(300)
    ]
    engine = make_engine(rules, name)
    for _ in range(100):
        start = chance.sample(facts, 3)
        assert engine.close(start) == naive(rules, start)


@for_each_engine
def test_more_conditions_than_one_rule_set_holds(name: str) -> None:
    facts = [f"f{i}" for i in range(1200)]
    rules = [EngineRule(f"r{i:03}", tuple(facts[i : i + 2]), (f"g{i}",)) for i in range(0, 1200, 2)]
    rules.append(EngineRule("across", ("g0", "g598", "g1198"), ("end",)))
    closure = make_engine(rules, name).close(facts)
    assert closure == naive(rules, facts)
    assert fired(closure)[-1] == "across"


@for_each_engine
def test_more_rules_on_one_condition_than_one_rule_set_holds(name: str) -> None:
    rules = [EngineRule(f"r{i}", ("shared", f"f{i % 7}"), (f"g{i}",)) for i in range(600)]
    facts = ["shared", "f0", "f3"]
    closure = make_engine(rules, name).close(facts)
    assert closure == naive(rules, facts)
    assert len(closure.firings) == 172


@for_each_engine
def test_a_chain_goes_back_and_forth_between_rule_sets(name: str) -> None:
    chain = [EngineRule(f"r{i:04}", (f"f{i}",), (f"f{i + 1}",)) for i in range(900)]
    random.Random(3).shuffle(chain)
    closure = make_engine(chain, name).close(["f0"])
    assert fired(closure) == [f"r{i:04}" for i in range(900)]


@for_each_engine
def test_fifteen_conditions_work(name: str) -> None:
    facts = [f"f{i}" for i in range(15)]
    engine = make_engine([EngineRule("most", tuple(facts), ("all",))], name)
    assert engine.close(facts[1:]).firings == ()
    assert "all" in engine.close(facts).facts


@for_each_engine
@pytest.mark.parametrize("text", [*FACTS, "'", "%s", "$m", "\U0001f41b", "\ud800", "x" * 5000])
def test_odd_strings(name: str, text: str) -> None:
    engine = make_engine([EngineRule(text, (text, "other"), (text + "!",))], name)
    assert engine.close([text, "other"]).facts == {text, "other", text + "!"}
    assert engine.close([text, "another"]).firings == ()


@for_each_engine
def test_nothing_given_nothing_used(name: str) -> None:
    engine = make_engine([rule("r", "a", "b")], name)
    assert engine.close([]) == Closure(frozenset(), ())
    assert engine.close(["unused"]) == Closure(frozenset({"unused"}), ())
    assert make_engine([], name).close(["a"]) == Closure(frozenset({"a"}), ())


@for_each_engine
def test_harmless_repetition(name: str) -> None:
    rules = [rule("twice", "a a b", "c c"), rule("own", "c a", "a"), rule("none", "c", "")]
    closure = make_engine(rules, name).close(["a", "b", "a"])
    assert closure.facts == {"a", "b", "c"}
    assert fired(closure) == ["twice", "none", "own"]


@for_each_engine
def test_order_is_by_depth_then_id(name: str) -> None:
    rules = [rule("z", "a", "b"), rule("a", "b c", "d"), rule("m", "b", "c"), rule("y", "a", "c")]
    expected = ["y", "z", "a", "m"]  # c is one deep by y, though m gives it too
    for order in (rules, rules[::-1]):
        assert fired(make_engine(order, name).close(["a"])) == expected


@for_each_engine
def test_two_thousand_closes_leave_nothing_behind(name: str) -> None:
    # durable_rules holds 1,023 sessions at most.
    threads = threading.active_count()
    engine = make_engine([rule("r1", "a b", "c"), rule("r2", "c", "d")], name)
    for _ in range(1000):
        assert len(engine.close(["a", "b"]).firings) == 2
        assert engine.close(["a", "x"]).firings == ()
    assert threading.active_count() == threads
    assert not any(isinstance(thread, threading.Timer) for thread in threading.enumerate())


@for_durable
def test_rule_sets_are_cut_only_at_the_limits() -> None:
    from diagnose.reasoning.durable import split

    shared = [EngineRule(f"r{i}", ("shared", f"f{i % 7}"), ()) for i in range(600)]
    assert [len(part) for part in split(shared)] == [200, 200, 200]
    distinct = [EngineRule(f"r{i}", (f"f{i}", f"g{i}"), ()) for i in range(600)]
    assert [len(part) for part in split(distinct)] == [200, 200, 200]
    assert split(shared[:200]) == [shared[:200]]


@for_durable
def test_a_rule_waits_for_the_condition_that_fewest_rules_have() -> None:
    from diagnose.reasoning.durable import by_rarest_condition

    rules = [rule("r1", "common a", "x"), rule("r2", "common b", "y"), rule("r3", "b a c", "z")]
    found = by_rarest_condition([*rules, rule("r4", "common", "w")])
    assert {key: [r.id for r in group] for key, group in found.items()} == {
        "a": ["r1"], "b": ["r2"], "c": ["r3"], "common": ["r4"],
    }  # fmt: skip


@for_each_engine
@pytest.mark.parametrize("facts", list(permutations("abd")))
def test_a_condition_known_early_is_not_forgotten(name: str, facts: tuple[str, ...]) -> None:
    rules = [rule("r1", "a b", "c"), rule("r2", "a c", "x"), rule("r3", "a d x", "y")]
    assert fired(make_engine(rules, name).close(facts)) == ["r1", "r2", "r3"]


class Refusing(list[object]):
    """A list that a rule's action cannot append to."""

    def append(self, item: object) -> None:
        raise KeyboardInterrupt("refused")


@for_durable
def test_an_exception_in_an_action_comes_out(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = make_engine([rule("r", "a", "b"), rule("s", "b", "c")], "durable")
    with monkeypatch.context() as patch:
        patch.setattr(engine, "_fired", Refusing())
        for _ in range(1100):
            with pytest.raises(KeyboardInterrupt, match="refused"):
                engine.close(["a"])
    assert fired(engine.close(["a"])) == ["r", "s"]


@for_durable
def test_an_exception_the_library_swallowed_comes_out(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = make_engine([rule("r", "a", "b")], "durable")
    with monkeypatch.context() as patch:
        patch.setattr(engine, "_fired", Refusing())
        patch.setattr(engine, "_errors", Refusing())
        with pytest.raises(EngineError, match="refused"):
            engine.close(["a"])
    assert fired(engine.close(["a"])) == ["r"]


@for_durable
def test_a_stalled_action_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    import durable.engine

    engine = make_engine([rule("slow", "a", "b")], "durable")
    times = iter(range(0, 10_000, 60))
    with monkeypatch.context() as patch:
        patch.setattr(durable.engine, "_unix_now", lambda: next(times))
        with pytest.raises(EngineError, match="too long"):
            engine.close(["a"])
    assert fired(engine.close(["a"])) == ["slow"]


@for_durable
def test_ending_a_session_in_which_no_rule_fired() -> None:
    # The library frees a field it never set; filled memory makes that a certain crash.
    script = (
        "from diagnose.reasoning.engine import EngineRule\n"
        "from diagnose.reasoning.engines import make_engine\n"
        "make_engine([EngineRule('r', ('a', 'b'), ('c',))], 'durable').close(['a'])"
    )
    filled = {**os.environ, "MALLOC_PERTURB_": "165", "PYTHONPATH": os.pathsep.join(sys.path)}
    assert subprocess.run([sys.executable, "-c", script], env=filled, timeout=60).returncode == 0


@for_each_engine
@pytest.mark.parametrize(
    ("rules", "message"),
    [
        ([rule("r", "a", "b"), rule("r", "b", "c")], "two rules are called 'r'"),
        ([rule("r", "", "b")], "'r' has no condition"),
        ([rule("r", " ".join("abcdefghijklmnop"), "z")], "'r' has 16 conditions; at most 15"),
    ],
)
def test_rules_no_engine_can_run(name: str, rules: list[EngineRule], message: str) -> None:
    with pytest.raises(RuleError, match=message):
        make_engine(rules, name)


def test_a_firing_without_grounds_is_an_error() -> None:
    with pytest.raises(EngineError, match="'r' fired"):
        conclude(["a"], [rule("r", "b", "c")])


@for_each_engine
def test_the_same_rules_share_an_engine(name: str) -> None:
    def make(gives: str) -> Engine:
        return make_engine([rule("r", "a", gives)], name)

    assert make("b") is make("b")
    assert make("b") is not make("c")


def test_the_choice_of_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    rules = [rule("choice", "a", "b")]
    if ON_LINUX:
        assert make_engine(rules).name.startswith("durable_rules 2.")
        assert make_engine(rules) is make_engine(rules, "durable")
    assert make_engine(rules, "clips").name.startswith("CLIPS via clipspy 1.")
    with pytest.raises(ValueError, match="'prolog'"):
        make_engine(rules, "prolog")

    engines._build.cache_clear()
    monkeypatch.delitem(sys.modules, "diagnose.reasoning.durable", raising=False)
    monkeypatch.setitem(sys.modules, "durable.engine", None)
    with pytest.raises(EngineUnavailable, match="durable_rules does not load here"):
        make_engine(rules, "durable")
    assert make_engine(rules).name.startswith("CLIPS")
