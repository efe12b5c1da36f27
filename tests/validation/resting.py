"""On what the rules and the decisions rest: opened sources, common practice, memory.

python -m tests.validation.resting
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from diagnose.kb.model import Knowledge
from diagnose.kb.store import shipped
from diagnose.ready import open_knowledge

MEMORY, PRACTICE, OPENED, NONE = "memory", "common practice", "an opened source", "none needed"
ORDER = (OPENED, PRACTICE, MEMORY, NONE)
NOT_OPENED = {"from-memory": MEMORY, "common-practice": PRACTICE}


def resting(sources: Iterable[str | None]) -> Counter[str]:
    """How many rest on what. A rule that holds by the words themselves needs no source."""
    return Counter(NONE if s is None else NOT_OPENED.get(s, OPENED) for s in sources)


def rules(knowledge: Knowledge) -> Counter[str]:
    """Of the rules that people wrote; those that follow from the vocabulary are not counted."""
    written = (
        rule
        for rule_id, rule in knowledge.rules.items()
        if knowledge.place("rules", rule_id).startswith("rules/")
    )
    return resting(rule.source for rule in written)


def decisions(knowledge: Knowledge) -> Counter[str]:
    """Of the causes' own decisions and thresholds (`matters`)."""
    return resting(cause.matters.source for cause in knowledge.causes.values())


def table(knowledge: Knowledge) -> list[str]:
    """Both, as the lines of a table."""
    lines = ["| | " + " | ".join(ORDER) + " | in all |", "| --- " * (len(ORDER) + 2) + "|"]
    for name, found in (("rules", rules(knowledge)), ("decisions", decisions(knowledge))):
        total = found.total()
        cells = [f"{found[kind]} ({found[kind] / total:.0%})" for kind in ORDER]
        lines.append(f"| {name} | " + " | ".join(cells) + f" | {total} |")
    return lines


if __name__ == "__main__":
    print("\n".join(table(open_knowledge(shipped()))))
