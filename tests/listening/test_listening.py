from __future__ import annotations

import importlib.util
import shutil
import warnings
from pathlib import Path

import numpy as np
import pytest

from diagnose.checking.worked import Bench
from diagnose.inputs import LONGEST, Said, clean
from diagnose.kb.model import ABSENT, Knowledge
from diagnose.listening import Listening, encoder
from diagnose.listening.ears import OFFERED
from diagnose.listening.encoder import DATA, MOST, Encoder, available
from diagnose.listening.trust import Clue
from diagnose.listening.units import heirs
from diagnose.listening.voice import Catalog, Vectors, texts_of
from diagnose.reading import Ground
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.wording import sentences
from diagnose.tuning import fit
from diagnose.tuning.held import Held, HeldBack
from diagnose.tuning.prepare import ANNOTATED, of_yaml

pytestmark = pytest.mark.quick

TEXT = Said(
    "The lower leaves of my tomatoes have brown spots with rings. "
    "No slugs about. It rained all week."
)
TWO = "The bottoms of my tomatoes are black and leathery. Big green caterpillars with a horn."
ODD = (
    "?",
    "🐌🐌🐌",
    "LEAVES YELLOW HELP",
    "le foglie sono gialle",
    "x" * LONGEST,
    "a, b; c. " * 500,
)


def everything(text: str) -> Ground:
    """A text of which every word tells something."""
    return Ground(frozenset(range(len(text))))


@pytest.fixture(scope="module")
def listening(knowledge: Knowledge) -> Listening:
    found = Listening.of(knowledge)
    if found is None:
        pytest.skip("the run-time of the encoder is missing")
    return found


def test_what_is_retired_speaks_under_its_new_name(knowledge: Knowledge) -> None:
    """knowledge/retired.yaml: drought is a form of soil-moisture now."""
    found = heirs(knowledge, ["drought", "only-this-crop", "leaf-spots", "gone"])
    assert found["soil-moisture/dry"] == found["soil-moisture"] == [0]
    assert found["many-species/absent"] == [1]
    assert found["leaf-spots"] == [2]
    assert not any(3 in rows for rows in found.values())


def test_a_text_gives_the_same_vector_each_time_of_length_one(listening: Listening) -> None:
    first, second = (listening.encoder.hear(TEXT, "tomato") for _ in range(2))
    assert np.array_equal(first.vector, second.vector)
    assert np.linalg.norm(first.vector) == pytest.approx(1, abs=1e-5)


@pytest.mark.parametrize("text", ODD)
def test_any_text_is_heard_up_to_a_bound(listening: Listening, text: str) -> None:
    said = listening.hear(clean(text), None)
    assert len(said.heard.pieces) <= MOST
    assert np.isfinite(list(said.logits.values())).all()
    assert len(listening.proposals(clean(text), None, [], {}, everything(text))) <= OFFERED


def test_a_reading_is_trusted_by_what_the_text_says(listening: Listening) -> None:
    right = Observation("leaf-spots", "present", "text", "leaves of my tomatoes have brown spots")
    wrong = Observation("root-maggots", "present", "text", "brown spots")
    turned = Observation("slugs-seen", ABSENT, "text", "No slugs about")
    seen = [right, wrong, turned]
    clues, judge = listening.clues(TEXT, "tomato", seen), listening.ears.judge
    good, bad, none = (judge.reading(o, 0.0, c) for o, c in zip(seen, clues, strict=True))
    assert good > 0.5 > bad and none > 0.5


def test_of_a_sign_that_no_unit_speaks_for_it_cannot_say(listening: Listening) -> None:
    unjudged = [s for s in listening.knowledge.symptoms if s not in listening.ears.heirs]
    denied = Observation("soil-moisture", "not-dry", "text", "rained")
    seen = [Observation(s, "present", "text", "") for s in unjudged] + [denied]
    assert set(listening.clues(TEXT, "tomato", seen)) == {None}


def test_what_is_proposed_was_not_read_and_quotes_the_text(listening: Listening) -> None:
    first = listening.proposals(TEXT, "tomato", [], {}, everything(TEXT))
    assert {"leaf-spots", "rain"} <= {p.symptom for p in first}
    assert all(p.words in TEXT and p.words for p in first)
    assert [p.chance for p in first] == sorted((p.chance for p in first), reverse=True)
    read = [Observation("rain", "present", "text", "rained")]
    more = listening.proposals(TEXT, "tomato", read, {}, everything(TEXT))
    assert "rain" not in {p.symptom for p in more}


def test_nothing_is_proposed_but_on_the_words_that_tell_something(listening: Listening) -> None:
    assert listening.proposals(TEXT, "tomato", [], {}, Ground()) == []
    of_rain = Ground(frozenset({TEXT.index("rained")}))
    told = [p.symptom for p in listening.proposals(TEXT, "tomato", [], {}, of_rain)]
    assert told[0] == "rain" and "leaf-spots" not in told


def test_what_the_words_suggest_makes_a_reading_surer_and_its_absence_not(
    listening: Listening,
) -> None:
    judge = listening.ears.judge
    there, away = Observation("leaf-spots", "present"), Observation("leaf-spots", ABSENT)
    for clue in (None, Clue(0.0)):
        assert judge.reading(there, 1.0, clue) > judge.reading(there, 0.0, clue)
        assert judge.reading(away, 1.0, clue) == judge.reading(away, 0.0, clue)
    of = np.array([False, False, True, True]), np.array([1.0, 0.0, 1.0, 0.0])
    more, less, *away = judge.proposals(*of, np.zeros(4), judge.own(["rain"] * 4))
    assert more > less and away[0] == away[1]


def test_each_part_of_a_text_is_heard_by_itself(listening: Listening) -> None:
    """Of two troubles told in two sentences each speaks for its own cause."""
    parts = sentences(TWO)
    voices = listening.voices(clean(TWO), "tomato", parts)
    names = [*listening.knowledge.causes]
    rot, horn = names.index("blossom-end-rot"), names.index("tomato-hornworm")
    assert voices.shape == (2, len(names) + 1)
    assert voices[0, rot] > voices[0, horn] and voices[1, horn] > voices[1, rot]


def test_causes_weigh_against_their_mean_and_something_else_at_nothing(
    listening: Listening,
) -> None:
    weights = listening.voice(TEXT, "tomato")
    assert weights[-1] == 0
    assert np.exp(weights[:-1]).mean() == pytest.approx(1)
    causes = list(listening.knowledge.causes)
    assert "early-blight" in {causes[i] for i in np.argsort(-weights[:-1])[:3]}


def test_a_described_text_is_nearest_to_itself_unless_left_out(listening: Listening) -> None:
    text = next(t for t in texts_of(listening.knowledge) if t.cause == "early-blight" and t.crop)
    crop = next(c for c, known in listening.knowledge.crops.items() if known.name == text.crop)
    own = (text.cause, text.number)
    assert listening.nearest(Said(text.text), crop, text.cause) == text
    assert listening.nearest(Said(text.text), crop, text.cause, own) != text
    row = list(listening.knowledge.causes).index(text.cause)
    with_it, without = (listening.voice(Said(text.text), crop, w)[row] for w in (None, own))
    assert without < with_it


def test_every_described_text_has_its_vector_beside_the_weights(knowledge: Knowledge) -> None:
    """Else a start has to make them: python -m diagnose.tuning.fit.

    Of a few that is soon done, so that whoever adds a case need not think of it.
    """
    known = set(Vectors.known().keys.tolist())
    texts = texts_of(knowledge)
    missing = [t.cause for t in texts if t.key not in known]
    if missing:
        warnings.warn(f"{len(missing)} described texts have no vector yet", stacklevel=1)
    assert len(missing) <= 0.05 * len(texts)


def test_fitting_makes_the_vectors_that_are_missing(
    listening: Listening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(DATA, tmp_path / "data")
    few = Catalog.of(listening.knowledge)
    few = Catalog(few.keys[:5], few.place)
    monkeypatch.setattr(fit.Catalog, "of", lambda _: few)
    (tmp_path / "data" / "described.npz").unlink()
    assert fit.fit(listening.knowledge, tmp_path / "data").startswith("5 of 5")
    assert Vectors.known(tmp_path / "data").keys.tolist() == few.keys.tolist()


def test_without_the_run_time_the_program_reads_on(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = importlib.util.find_spec
    monkeypatch.setattr(
        encoder.importlib.util,
        "find_spec",
        lambda name, *more: None if name == "onnxruntime" else there(name, *more),
    )
    assert not available()
    assert Encoder.open() is None
    told = Bench.of(knowledge).blank.about("tomato").told(TEXT)
    assert "leaf-spots" in {seen.symptom for seen in told.observations}
    assert all(seen.trust is not None for seen in told.observations)


def test_what_was_held_back_is_of_this_encoder_and_of_texts_for_learning(
    knowledge: Knowledge, listening: Listening
) -> None:
    held = Held()
    assert held.units == listening.encoder.units
    rows = of_yaml(ANNOTATED)
    assert set(held.number) == {clean(row["text"]) for row in rows if row["use"] == "learn"}
    back = HeldBack(knowledge, listening.encoder, listening.ears.judge, held)
    text = Said(next(iter(held.number)))
    assert back.voice(text, None).shape == (len(knowledge.causes) + 1,)
    assert back.hear(text, None).logits != listening.hear(text, None).logits
