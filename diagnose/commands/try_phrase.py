"""diagnose try-phrase: which of all described texts a phrase would catch."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose.commands.common import FINE, screen, the_reasoner
from diagnose.commands.parser import Commands
from diagnose.errors import UsageError


def register(commands: Commands) -> None:
    """Put it on the command line."""
    made = commands.add(
        "try-phrase", run, "which described texts a phrase would catch, rightly and wrongly",
        'diagnose try-phrase "hole {leaf}" --symptom holes-in-leaves',
    )  # fmt: skip
    made.add_argument("phrase", metavar="PHRASE", help="as it would stand under says")
    made.add_argument(
        "--symptom", metavar="ID", default=None, help="the symptom it would speak for"
    )
    made.add_argument(
        "--readings", metavar="FILE", type=Path, default=None,
        help="annotated texts, as tests/validation/data/readings.yaml",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """The texts, those caught rightly first."""
    from diagnose.bench import trial
    from diagnose.kb.reader import unknown

    reasoner = the_reasoner(options)
    knowledge = reasoner.knowledge
    if options.symptom and options.symptom not in knowledge.symptoms:
        raise UsageError(unknown("symptom", options.symptom, list(knowledge.symptoms)))
    texts = trial.described(knowledge, options.readings)
    catches = trial.caught(reasoner.lexicon, texts, options.phrase, options.symptom)
    screen(options).show(trial.page(knowledge, options.phrase, options.symptom, catches))
    return FINE
