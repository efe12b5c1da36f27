"""Makes what lies beside the weights fit today's knowledge: `python -m diagnose.tuning.fit`.

The vectors of described texts that are new or have changed are made, so that no start has to. The
encoder and its units stay: what is retired speaks under its new name, and a sign that is new stands
unjudged, as its phrases find it, until the encoder is tuned again. Takes seconds on a CPU, a minute
where every text is new.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from diagnose.kb.model import Knowledge
from diagnose.kb.store import in_use
from diagnose.listening.encoder import DATA, Encoder
from diagnose.listening.units import heirs
from diagnose.listening.voice import Catalog, Vectors, texts_of
from diagnose.ready import open_knowledge


def fit(knowledge: Knowledge, folder: Path = DATA) -> str:
    """Write the vectors beside the weights, and tell what is new. Raises OSError."""
    encoder = Encoder(folder)
    known, keys = Vectors.known(folder), Catalog.of(knowledge).keys
    known.of(keys, lambda: texts_of(knowledge), encoder).keep(folder)
    new = int(np.isin(keys, known.keys, invert=True).sum())
    signs = [name for name, rows in heirs(knowledge, encoder.units).items() if not rows]
    unjudged = [name for name in signs if name in knowledge.symptoms]
    return f"{new} of {len(keys)} described texts were new; unjudged signs: {unjudged or 'none'}"


def main() -> None:
    """Fit to the knowledge in use. Raises KnowledgeError."""
    print(fit(open_knowledge(in_use())))


if __name__ == "__main__":
    main()
