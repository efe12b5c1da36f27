"""The live loop: what moved and because of which line; calm while a file is half written."""

from __future__ import annotations

import io
import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from diagnose.bench import live
from diagnose.checking.changes import key
from diagnose.kb.reader import Document, Finding, Reader
from diagnose.terminal.screen import PlainScreen
from tests.bench.conftest import CATERPILLAR, FLEA_BEETLE, swap, weigh_wording

pytestmark = pytest.mark.quick

WEAKER = ("holes: {tiny: usually}", "holes: {tiny: seldom, ragged: always}")


class Desk:
    """A folder with what the loop keeps from look to look."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.kept = live.Kept({}, {})
        self.state = live.begin(root, self.kept)

    def save(self, name: str, old: str, new: str) -> live.Changes:
        swap(self.root, name, old, new)
        return self.look()

    def look(self) -> live.Changes:
        before = self.state
        self.state = live.warn(live.rework(live.look(self.root, self.kept, before), 60))
        return live.changes(before, self.state)


@pytest.fixture
def desk(cased: Path) -> Desk:
    return Desk(cased)


def lines(found: live.Changes) -> list[str]:
    out = io.StringIO()
    PlainScreen(out, 500).show(live.report(found))
    return out.getvalue().splitlines()


def test_every_case_is_worked_at_first(desk: Desk) -> None:
    assert len(desk.state.outcomes) == 5
    assert desk.state.waiting == desk.state.errors == ()


def test_which_case_moved_and_because_of_which_line(desk: Desk) -> None:
    said = lines(desk.save(FLEA_BEETLE, *WEAKER))
    first = said.index('worse: flea-beetle 1 "tiny holes": first -> second, behind caterpillar')
    assert said[first + 1].startswith("  - flea-beetle, holes in the leaves: many tiny holes: ")
    assert said[first + 1].endswith(f"({FLEA_BEETLE}:5)")
    assert 'moved: flea-beetle 3 "ragged holes": second -> first' in said


def test_going_back_takes_everything_back(desk: Desk) -> None:
    before = {k: o.result for k, o in desk.state.outcomes.items()}
    desk.save(FLEA_BEETLE, *WEAKER)
    found = desk.save(FLEA_BEETLE, WEAKER[1], WEAKER[0])
    assert any(str(move).endswith("second -> first") for move, _ in found.moves)
    assert {k: o.result for k, o in desk.state.outcomes.items()} == before


RULE = """\
- rule: no-flea
  when: {crop: kale}
  then: {rule-out: flea-beetle}
  because: it is a test
"""


@pytest.mark.parametrize(
    ("cause", "index", "name", "old", "new", "reason"),
    [
        ("flea-beetle", 0, "rules/all.yaml", "- rule: only", f"{RULE}- rule: only",
         "flea-beetle is now ruled out, because it is a test"),
        ("caterpillar", 1, CATERPILLAR, "family: common", "family: rare",
         "caterpillar, how common it is here and now: -"),
        ("caterpillar", 1, CATERPILLAR, "from: last frost,", "from: first frost - 9 days,",
         "caterpillar, how common it is here and now: -"),
        ("caterpillar", 1, "symptoms/all.yaml", "says: [ragged holes]", "says: [torn holes]",
         "reads holes: ragged -> nothing"),
        ("caterpillar", 0, "symptoms/all.yaml", "background: hardly ever\n  says: [green dropp",
         "background: usually\n  says: [green dropp", "(symptoms/all.yaml:"),
        ("caterpillar", 0, CATERPILLAR, "droppings: often", "droppings: seldom",
         f"({CATERPILLAR}:7)"),
    ],
)  # fmt: skip
def test_reasons(
    desk: Desk, cause: str, index: int, name: str, old: str, new: str, reason: str
) -> None:
    assert desk.state.knowledge is not None
    case = desk.state.knowledge.causes[cause].cases[index]
    before = desk.state.outcomes[key(cause, case)]
    desk.save(name, old, new)
    found = live.reasons(before, desk.state.outcomes[key(cause, case)])
    assert any(reason in line for line in found), found
    assert len(found) <= live.MOST_REASONS


def test_what_is_only_told_moves_no_case_and_none_is_worked_again(desk: Desk) -> None:
    found = desk.save("rules/all.yaml", "no tuber is green", "none is green")
    assert (found.moves, found.waiting, found.settled) == ((), 0, False)
    assert lines(found) == []


def test_the_wording_can_be_the_reason(cased: Path) -> None:
    weigh_wording(cased, 1)
    desk = Desk(cased)
    assert desk.state.knowledge is not None
    case = desk.state.knowledge.causes["flea-beetle"].cases[0]
    before = desk.state.outcomes[key("flea-beetle", case)]
    desk.save(FLEA_BEETLE, "It nibbles leaves", "Tiny holes, tiny holes, tiny holes")
    found = live.reasons(before, desk.state.outcomes[key("flea-beetle", case)])
    assert any(line.startswith("flea-beetle, the wording: ") for line in found), found
    assert any(f"({FLEA_BEETLE}:1)" in line for line in found), found


def test_cases_of_what_changed_come_first(desk: Desk) -> None:
    swap(desk.root, FLEA_BEETLE, *WEAKER)
    seen = live.look(desk.root, desk.kept, desk.state)
    assert [one[0] for one in seen.waiting] == ["flea-beetle"] * 3 + ["caterpillar"] * 2
    once = live.rework(seen, 0)
    assert len(once.waiting) == 4
    assert live.changes(seen, once).settled is False
    assert live.changes(once, live.rework(once, 60)).settled is True


def test_a_half_written_file_is_one_calm_line(desk: Desk) -> None:
    before = desk.state
    whole = (desk.root / CATERPILLAR).read_text(encoding="utf-8")
    for size in range(0, len(whole), 7):
        (desk.root / CATERPILLAR).write_text(whole[:size], encoding="utf-8")
        found = desk.look()
        if found.broken:
            assert len(lines(found)) == 1, size
            assert found.moves == found.new == ()
    (desk.root / CATERPILLAR).write_text(whole, encoding="utf-8")
    desk.look()
    assert {k: o.result for k, o in desk.state.outcomes.items()} == {
        k: o.result for k, o in before.outcomes.items()
    }


def test_findings_come_and_go(desk: Desk) -> None:
    found = desk.save(CATERPILLAR, "droppings: often", "dropings: often")
    said = lines(found)
    assert len(said) == 1
    assert said[0].startswith(f"new: {CATERPILLAR}:")
    assert "'droppings'" in said[0]
    swap(desk.root, CATERPILLAR, "name: Caterpillar\n", "# moved down\nname: Caterpillar\n")
    assert lines(desk.look()) == []  # the same finding, a line further down
    found = desk.save(CATERPILLAR, "dropings: often", "droppings: often")
    assert lines(found)[0].startswith("mended: ")


def test_a_marked_gap_is_a_finding(desk: Desk) -> None:
    found = desk.save(CATERPILLAR, "Wash the leaves and eat them.", "'TO DO: what may be eaten'")
    assert "to-do" in lines(found)[0]


def test_a_cause_that_goes_takes_its_cases_along(desk: Desk) -> None:
    (desk.root / FLEA_BEETLE).unlink()
    desk.look()
    assert {one[0] for one in desk.state.outcomes} == {"caterpillar"}


def test_a_folder_that_goes_away_is_one_line(desk: Desk) -> None:
    shutil.rmtree(desk.root)
    assert len(lines(desk.look())) == 1


def test_a_folder_that_cannot_be_used_at_first_is_watched_until_it_can(cased: Path) -> None:
    swap(cased, CATERPILLAR, "remedies: [pick]", "remedies: [pik]")
    desk = Desk(cased)
    assert desk.state.bench is None
    found = desk.save(CATERPILLAR, "remedies: [pik]", "remedies: [pick]")
    assert len(found.gone) == 1
    assert len(desk.state.outcomes) == 5


def test_only_changed_files_are_parsed_again(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    parsed: list[str] = []
    document = Reader.document

    def counted(self: Reader, path: Path) -> Document | None:
        parsed.append(path.name)
        return document(self, path)

    monkeypatch.setattr(Reader, "document", counted)
    desk.save(FLEA_BEETLE, *WEAKER)
    assert parsed == ["flea-beetle.yaml"]


def test_the_words_are_made_ready_again_only_where_they_changed(desk: Desk) -> None:
    assert desk.state.bench is not None
    phrases = desk.state.bench.lexicon.phrases
    desk.save(FLEA_BEETLE, *WEAKER)
    assert desk.state.bench.lexicon.phrases is phrases
    assert desk.state.bench.lexicon.knowledge is desk.state.knowledge
    desk.save(FLEA_BEETLE, "name: Flea beetle", "name: Leaf flea")
    assert desk.state.bench.lexicon.phrases is not phrases


def test_slight_moves_are_only_counted(desk: Desk) -> None:
    found = desk.save(FLEA_BEETLE, *WEAKER)
    for move, _ in found.moves:
        assert live._tells(move)
    far = found.moves[0][0]
    far = far._replace(
        before=live.replace(far.before, place=9), after=live.replace(far.after, place=8)
    )
    assert not live._tells(far)
    assert lines(found._replace(moves=(), slight=2)) == ["2 cases moved below place 3"]


def test_many_findings_are_not_a_flood(desk: Desk) -> None:
    many = tuple(Finding("a.yaml", n, "unknown-id", f"no {n}") for n in range(100))
    said = lines(live.changes(live.State(), live.State(errors=many)))
    assert len(said) == live.SHOWN + 1
    assert said[-1] == "and 88 more new"


def played(*saves: Callable[[], None]) -> Callable[[Path], Iterator[set[str]]]:
    """Saves one after another, with quiet moments between, then the end."""

    def events(_: Path) -> Iterator[set[str]]:
        for save in saves:
            save()
            yield {FLEA_BEETLE}
            yield set()

    return events


def test_the_loop(cased: Path) -> None:
    out = io.StringIO()
    live.watch_folder(
        cased, PlainScreen(out, 500),
        played(
            lambda: swap(cased, FLEA_BEETLE, *WEAKER),
            lambda: swap(cased, FLEA_BEETLE, "evidence:", "evidence: ["),
            lambda: swap(cased, FLEA_BEETLE, "evidence: [", "evidence:"),
        ),
    )  # fmt: skip
    text = out.getvalue()
    assert text.index("right first") < text.index("Watching") < text.index("worse: flea-beetle")
    assert text.count("not-yaml") == 1
    assert text.count("Nothing moved.") == 1
    assert "All 5 cases: right first 3, in the first three 5." in text


def test_saves_are_seen_and_hidden_files_are_not(cased: Path) -> None:
    events = live.saves(cased)
    timer = threading.Timer(0.3, lambda: (
        (cased / ".hidden.yaml").write_text("x: 1\n", encoding="utf-8"),
        (cased / "notes.txt").write_text("x", encoding="utf-8"),
        (cased / FLEA_BEETLE).write_text("name: x\n", encoding="utf-8"),
    ))  # fmt: skip
    timer.start()
    seen = next(names for _, names in zip(range(100), events, strict=False) if names)
    timer.join()
    assert seen == {FLEA_BEETLE}


def test_keys_of_the_outcomes_are_those_of_the_cases(desk: Desk) -> None:
    assert desk.state.knowledge is not None
    case = desk.state.knowledge.causes["caterpillar"].cases[0]
    assert desk.state.outcomes[key("caterpillar", case)].result.place == 1
