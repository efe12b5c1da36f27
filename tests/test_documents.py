"""The made parts of the docs are what the program makes now.

A page that tells of the knowledge says of which state of it. Once the knowledge alone has gone on,
such a page is only told of: it is made anew with the next change of the program.
"""

from __future__ import annotations

import warnings

from tests.documents import STAMP, pages

ANEW = "run: python -m tests.documents --write"


def test_the_pages_are_current(reasoner) -> None:
    stale, older = [], []
    for path, now, fresh in pages(reasoner):
        if now != fresh:
            of = STAMP.search(now)
            of_another = of is not None and of[1] != reasoner.knowledge.digest
            (older if of_another else stale).append(path.name)
    if older:
        warnings.warn(f"of an earlier knowledge: {', '.join(older)}; {ANEW}", stacklevel=1)
    assert not stale, f"{ANEW} ({', '.join(stale)})"
