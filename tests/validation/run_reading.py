"""What the phrases alone read, on the annotated texts for learning; never on those for scoring.

`python -m tests.validation.run_reading` counts the phrases and prints precision, recall, forms, and
the texts without a wrong line. The encoder was tuned on these very texts: a figure with it would
say nothing (`run_listening` has the texts for scoring).
"""

from __future__ import annotations

from pathlib import Path

from diagnose.bench.trial import described
from diagnose.kb.store import shipped
from diagnose.reading import Lexicon, read
from diagnose.ready import open_knowledge
from tests.validation import tables
from tests.validation.run_listening import verdict

READINGS = Path(__file__).parent / "data" / "readings.yaml"


def report() -> str:
    """The table of one line."""
    knowledge = open_knowledge(shipped())
    lexicon = Lexicon(knowledge)
    right = wrong = stated = forms = clean = named = 0
    texts = [text for text in described(knowledge, READINGS) if text.all_told]
    for text in texts:
        maybe = dict.fromkeys(text.maybe, "")
        found = read(lexicon, text.text, text.crop).observations
        judged = [(o, verdict(o.symptom, o.value, text.states, maybe)) for o in found]
        right += sum(yes is True for _, yes in judged)
        wrong += sum(yes is False for _, yes in judged)
        forms += sum(yes is True and text.states[o.symptom] == o.value for o, yes in judged)
        clean += not any(yes is False for _, yes in judged)
        stated += len(text.states)
        named += read(lexicon, text.text).crop == text.crop
    phrases = sum(
        len(spec.says) + len(spec.denies)
        for symptom in knowledge.symptoms.values()
        for spec in (symptom, *symptom.values.values())
        if not isinstance(spec, str)
    )
    head = [
        "phrases", "texts", "precision", "recall", "form right", "without a wrong line",
        "crop named rightly",
    ]  # fmt: skip
    row = [
        phrases, len(texts), f"{right / (right + wrong):.2f}", f"{right / stated:.2f}",
        f"{forms / right:.2f}", tables.percent(clean / len(texts)),
        tables.percent(named / len(texts)),
    ]  # fmt: skip
    return tables.table(head, [row])


if __name__ == "__main__":
    print(report())
