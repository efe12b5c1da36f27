"""A knowledge folder, opened and made ready: from its ready-made copy where there is one."""

from __future__ import annotations

import gc
from contextlib import suppress
from pathlib import Path

from diagnose.consultation import Reasoner
from diagnose.kb import load, store
from diagnose.kb.model import Knowledge


def open_knowledge(root: Path) -> Knowledge:
    """The knowledge in a folder, from its ready-made copy where there is one.

    Raises KnowledgeError with a line for every problem.
    """
    with suppress(OSError):  # a file that cannot be read is told of below
        kept = store.copy_of(load.digest(root), Knowledge)
        if kept is not None:
            return kept
    from diagnose.checking import check

    knowledge = load.load(root, check.errors)
    store.keep(knowledge.digest, knowledge)
    return knowledge


def open_reasoner(root: Path) -> Reasoner:
    """The knowledge in a folder, made ready for consultations. Raises KnowledgeError."""
    reasoner = Reasoner(open_knowledge(root))
    gc.freeze()  # it is there to the end: no search for garbage need go through it
    return reasoner
