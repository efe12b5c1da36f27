"""The knowledge held against handbooks and the practice of the trade, as a table.

python tests/validation/run_handbook.py [--write]      (a second)
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from diagnose.checking.topics import handbook
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge
from tests.validation import tables


def report() -> tuple[str, bool]:
    """The table, and whether all that must agree does."""
    knowledge = open_knowledge(shipped())
    seeds = [
        f"{crop}: {line}"
        for crop, bounds in handbook.published_warmth(knowledge).items()
        for _, line in handbook.germination(knowledge, crop, bounds)
    ]
    lines: list[tuple[str, int, int, str]] = []
    for seen in ("opened", "common practice", "from memory"):
        entries = [fact for fact in knowledge.handbook.values() if fact.seen == seen]
        off = [line for fact in entries for _, line in handbook.off(knowledge, fact)]
        off += seeds if seen == "opened" else []
        lines.append((seen, len(entries), len(off), "; ".join(off)))
    ok = not any(count for seen, _, count, _ in lines if seen != "from memory")
    return tables.table(("seen", "entries", "off", "what is off"), lines), ok


def main() -> None:
    """Print the table, or write it; exit 1 where what must agree does not."""
    write = tables.options(__doc__).parse_args().write
    text, ok = report()
    tables.show("handbook", text, write)
    sys.exit(0 if ok else 1)


if __name__ == "__main__":
    main()
