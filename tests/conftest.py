"""What the tests share: a tiny knowledge folder to break, and the shipped one made ready."""

from __future__ import annotations

import fcntl
import re
import signal
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from diagnose.checking.check import Report, examine
from diagnose.consultation import Consultation, Reasoner
from diagnose.kb.model import Knowledge
from diagnose.kb.store import shipped
from diagnose.listening.encoder import Encoder
from diagnose.listening.trust import Judge
from diagnose.ready import open_reasoner

STOP = """\
stop:
  clear: 0.8
  same-plan: 0.95
  least-bits: 0.03
  most-questions: 12
  most-unsure: 4
"""


def plain_numbers(text: str) -> str:
    """The shipped numbers, but what is told taken at its word; wording, light, and stops fixed."""
    text = re.sub(r"^# yaml-language-server.*\n", "", text)
    text = re.sub(r"(?<=: )\{seen: [\d.]+, form: [^}]+\}", "{seen: 1, form: 1}", text)
    text = re.sub(r"(?m)^channel: .*$", "channel: {read: 1, slip: 0.000001}", text)
    text = re.sub(r"(?m)^  first: .*$", "  first: []", text)
    wording = "share: 0.5, weight: 0.25, company: 0, case: 3, phrases: 0.1, prose: 0.1, pairs: 0.1"
    text = re.sub(r"(?m)^wording: .*$", f"wording: {{{wording}}}", text)
    return re.sub(r"(?m)^stop:\n(?:  .*\n?)+", STOP, text)


TINY = {
    "crops/kale.yaml": """\
name: Kale
also: [curly kale]
family: cabbage-family
parts: [leaf, stem, root, whole, soil]
eaten: [leaf]
season: {harvest: {from: last frost + 4 weeks, to: first frost + 8 weeks}}
""",
    "crops/potato.yaml": """\
name: Potato
also: [spud]
family: nightshade-family
parts: [leaf, stem, tuber, whole, soil]
eaten: [tuber]
""",
    "symptoms/all.yaml": """\
holes:
  name: holes in the leaves
  part: leaf
  ask: Are there holes in the leaves?
  background: sometimes
  values:
    ragged: {name: large ragged holes, says: [ragged holes]}
    tiny: {name: many tiny holes, says: [tiny holes, shot holes]}
  says: [holes in leaves]
green-tuber:
  name: green tubers
  part: tuber
  ask: Are any tubers green?
  effort: dig
  background: hardly ever
  says: [green potatoes]
droppings:
  name: green droppings
  kind: sign
  part: leaf
  ask: Are there green crumbs on the leaves?
  background: hardly ever
  says: [green droppings]
long-days:
  name: long days
  kind: condition
  part: whole
  ask: Are the days long?
  background: sometimes
  derived: true
""",
    "causes/insect/caterpillar.yaml": """\
name: Caterpillar
summary: It eats leaves.
hosts: {cabbage-family: common}
season: {from: last frost, to: first frost}
evidence:
  holes: {ragged: often, tiny: seldom}
  droppings: often
  long-days: sometimes
matters: {decision: watch, text: It matters on small plants.}
harvest: Wash the leaves and eat them.
remedies: [pick]
""",
    "causes/insect/flea-beetle.yaml": """\
name: Flea beetle
summary: It nibbles leaves.
hosts: {cabbage-family: common, potato: occasional}
evidence:
  holes: {tiny: often, ragged: sometimes}
  droppings: never
  long-days: sometimes
matters: {decision: leave, text: Plants outgrow it.}
harvest: Eat the leaves.
remedies: [wait]
next-season: [cover]
""",
    "causes/physiological/greening.yaml": """\
name: Greening
summary: Light has reached the tuber.
hosts: {potato: common}
evidence:
  green-tuber: always
  holes: seldom
  droppings: never
matters: {decision: act, text: Green tubers are not safe.}
harvest: Do not eat green tubers.
remedies: [hill]
""",
    "rules/all.yaml": """\
- rule: long-days
  when: {day-length: over 14 h}
  then: {long-days: present}
  because: the day is longer than 14 hours
- rule: only-greening-if-green
  when: {green-tuber: absent}
  then: {rule-out: greening}
  because: no tuber is green
- rule: swallowed
  when: {concern: child-ate}
  then: {alert: swallowed}
  because: a child ate berries
""",
    "remedies.yaml": """\
pick: {rung: hands, text: Pick them off.}
wait: {rung: leave, text: Wait.}
hill: {rung: growing, text: Draw soil over the tubers.}
cover: {rung: hands, season: next, text: Cover it with a net., cautions: [net]}
""",
    "cautions.yaml": "wash: {text: Wash your hands.}\n",
    "cautions/nets.yaml": "net: {text: Check the net., measure: net}\n",
    "referrals.yaml": "extension: {to: your extension service, text: Ask them.}\n",
    "alerts.yaml": """\
swallowed: {kind: emergency, text: Call for help., because: someone ate it, sources: [from-memory]}
""",
    "dangers.yaml": """\
nightshade:
  name: Nightshade
  kind: plant
  look: Black berries.
  harm: It is poisonous.
  first-aid: Call for help.
  until-known: Keep away.
  eat: Nothing of it.
  ask: [poison-center]
  sources: [from-memory]
""",
    "concerns.yaml": """\
other-sense: [berry bush]
things: [berry]
classes:
  child: [child]
  ate: [ate]
  berry: [berry]
concerns:
  child-ate: {of: person, says: ["{child} .. {ate} .. {berry}"]}
""",
    "sources.yaml": "from-memory: {title: Recalled, seen: from memory, used-for: all}\n",
    "seasons.yaml": """\
place: {latitude: 42, last-frost: 05-10, first-frost: 10-05}
stretches: {spring: {from: last frost - 4 weeks, to: last frost + 4 weeks}}
day-length-over: [14]
""",
    "words.yaml": """\
same: {leaf: [leaves], hole: [holes]}
small: [the, in, a, my, are]
negators: ["no", not]
breaks: [but]
hedges: [i think]
sought: [looked for]
fine: [fine]
past: [last year]
numbers: {hot-degrees: [85, 120]}
plain: []
describing: [green]
parts: [leaf]
classes: {crop: {crops: all}, leaf: {words: [leaf], crops: [leaf]}, root: {words: [root]}}
likened: [size of]
sized: [sized]
beside: [next to]
alike: [too]
asks: [should i]
general: [bad]
slots:
  few: [one, two]
namesakes: [beetle]
""",
    "safety.yaml": """\
must:
  greening: {decision: act, harvest: Do not eat}
never:
  all-is-safe: {says: "\\\\b[Aa]ll is safe\\\\b", because: not all of it is food}
products:
  names: [neem, sulfur]
  stuffs: [soap]
  doings: [spray, mix]
  praises: [helps]
  forbids: [never]
  spared: [soapy water]
""",
    "likelihood.yaml": plain_numbers((shipped() / "likelihood.yaml").read_text(encoding="utf-8")),
}


def heeding_signals() -> None:
    """For a child process: heed them, also where the tests run behind others and ignore them."""
    for one in (signal.SIGHUP, signal.SIGINT, signal.SIGTERM):
        signal.signal(one, signal.SIG_DFL)


def write(folder: Path, files: dict[str, str]) -> Path:
    """Write files below a folder, and give the folder."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return folder


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small, whole knowledge folder of one's own to break.

    Every reading counts: how far to trust them was learned on the shipped knowledge.
    """
    monkeypatch.setattr(Encoder, "open", lambda: None)
    monkeypatch.setattr(Judge, "of", lambda *_: None)
    return write(tmp_path / "tiny", TINY)


@pytest.fixture(autouse=True, scope="session")
def own_cache(pytestconfig: pytest.Config) -> Iterator[None]:
    """Keep ready-made copies out of the user's folder, but from one test run to the next."""
    assert pytestconfig.cache
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(pytestconfig.cache.mkdir("diagnose")))
        yield


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep what the program stores out of the user's folders."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture(scope="session")
def reasoner() -> Reasoner:
    """The shipped knowledge, made ready."""
    return open_reasoner(shipped())


@pytest.fixture(scope="session")
def knowledge(reasoner: Reasoner) -> Knowledge:
    """The shipped knowledge."""
    return reasoner.knowledge


@pytest.fixture(scope="session")
def report(pytestconfig: pytest.Config) -> Report:
    """What a check of the shipped knowledge finds, and what comes of its cases.

    Of several workers one works the cases; the others wait, and find the outcomes kept.
    """
    assert pytestconfig.cache
    with open(pytestconfig.cache.mkdir("diagnose") / "working", "w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)  # until the file is closed
        return examine(shipped())


@pytest.fixture
def blank(reasoner: Reasoner) -> Consultation:
    """A consultation on a June day at the usual place."""
    return Consultation(reasoner, date(2026, 6, 15), reasoner.home())
