"""A knowledge folder, opened and made ready: from its ready-made copy where there is one.

The copy holds all that does not change: the knowledge, the chances that it states, its phrases
cut into keys, the wordings of its causes, and the keys of the vectors of their described texts.
"""

from __future__ import annotations

import gc
from contextlib import suppress

import msgspec

from diagnose.consultation import Reasoner
from diagnose.kb import load, store
from diagnose.kb.garbage import uncollected
from diagnose.kb.load import Root
from diagnose.kb.model import Knowledge, Places
from diagnose.kb.store import Parts
from diagnose.listening.voice import Catalog


def open_knowledge(root: Root) -> Knowledge:
    """The knowledge in a folder, or several, from its ready-made copy where there is one.

    Raises KnowledgeError with a line for every problem.
    """
    return _opened(root)[0]


def open_reasoner(root: Root) -> Reasoner:
    """The knowledge in a folder, made ready for consultations. Raises KnowledgeError."""
    with uncollected():
        knowledge, parts = _opened(root)
        reasoner = Reasoner(knowledge, parts=parts)
    gc.freeze()  # it is there to the end: no search for garbage need go through it
    return reasoner


def make(root: Root) -> tuple[Knowledge, Parts]:
    """The knowledge in a folder made ready, and the parts to keep. Raises KnowledgeError."""
    from diagnose.checking import check

    knowledge = load.load(root, check.errors)
    reasoner = Reasoner(knowledge)
    assert knowledge.places is not None
    without = msgspec.structs.replace(knowledge, places=None)
    return knowledge, {
        "knowledge": msgspec.msgpack.encode(without),
        "places": knowledge.places.packed,
        **reasoner.tables.stated.parts(),
        **reasoner.lexicon.ready.parts(),
        **reasoner.wording.counts.parts(),
        **Catalog.of(knowledge).parts(),
    }


def _opened(root: Root) -> tuple[Knowledge, Parts]:
    """The knowledge in a folder with the parts of its copy, which is made where it is missing."""
    with suppress(OSError):  # a file that cannot be read is told of below
        parts = store.copy_of(load.digest(root))
        with suppress(KeyError, msgspec.MsgspecError):
            if parts is not None:
                return _knowledge(parts), parts
    knowledge, made = make(root)
    store.keep(knowledge.digest, made)
    return knowledge, made


def _knowledge(parts: Parts) -> Knowledge:
    found = msgspec.msgpack.decode(parts["knowledge"], type=Knowledge)
    return msgspec.structs.replace(found, places=Places(parts["places"]))
