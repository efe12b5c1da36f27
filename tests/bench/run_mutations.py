"""How many of 100 seeded faults does `diagnose check` find?

`python -m tests.bench.run_mutations` takes a copy of the shipped knowledge, makes one fault at a
time in it, and asks whether a finding appears that was not there before. It prints a table by kind
of fault, then what was missed. It takes more than half an hour.
"""

from __future__ import annotations

import random
import re
import shutil
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from diagnose.checking.check import examine
from diagnose.kb.store import shipped

SEED, FAULTS = 20261125, 100
Fault = Callable[[random.Random, str], str | None]
INVERTED = {
    "always": "never", "usually": "hardly ever", "often": "seldom", "sometimes": "always",
    "seldom": "often", "hardly ever": "usually", "never": "always",
}  # fmt: skip


def pick(chance: random.Random, pattern: str, text: str) -> re.Match[str] | None:
    """One of the places where a pattern stands, or None."""
    found = list(re.finditer(pattern, text, re.MULTILINE))
    return chance.choice(found) if found else None


def put(text: str, found: re.Match[str], new: str, group: int = 0) -> str:
    """The text with one group of a match replaced."""
    return text[: found.start(group)] + new + text[found.end(group) :]


EVIDENCE = r"^  ([a-z-]+): (always|usually|often|sometimes|seldom|hardly ever|never)$"


def misspelt_symptom(chance: random.Random, text: str) -> str | None:
    """A symptom's id with two letters swapped."""
    found = pick(chance, EVIDENCE, text)
    if not found:
        return None
    word = found[1]
    at = chance.randrange(len(word) - 1)
    wrong = word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    return put(text, found, wrong, 1) if wrong != word else None


def inverted_word(chance: random.Random, text: str) -> str | None:
    """A frequency turned into its opposite, on a line that says much."""
    found = pick(chance, EVIDENCE.replace("sometimes|seldom|hardly ever|", ""), text)
    return put(text, found, INVERTED[found[2]], 2) if found else None


def dropped_evidence(chance: random.Random, text: str) -> str | None:
    """The first line of evidence, which says most, is gone."""
    found = pick(chance, r"(?<=^evidence:\n)  .*\n", text)
    return put(text, found, "") if found else None


def odd_word(chance: random.Random, text: str) -> str | None:
    """A word that is not on the scale."""
    found = pick(chance, EVIDENCE, text)
    return put(text, found, "mostly", 2) if found else None


def wrong_host(chance: random.Random, text: str) -> str | None:
    """The hosts are replaced by one on which it does not live."""
    found = pick(chance, r"^hosts: .*$", text)
    return put(text, found, "hosts: {rhubarb: common}") if found else None


def turned_season(chance: random.Random, text: str) -> str | None:
    """A season whose ends are exchanged."""
    found = pick(chance, r"^season: \{from: (.+), to: (.+)\}$", text)
    return put(text, found, f"season: {{from: {found[2]}, to: {found[1]}}}") if found else None


def wrong_remedy(chance: random.Random, text: str) -> str | None:
    """A remedy that is not there."""
    found = pick(chance, r"^remedies: \[([a-z-]+)", text)
    return put(text, found, found[1] + "s", 1) if found else None


def pesticide(chance: random.Random, text: str) -> str | None:
    """A remedy that names what is a pesticide in law."""
    found = pick(chance, r"text: \"?([A-Z][^\"\n]+)\.", text)
    return put(text, found, f"{found[1]}, and spray with neem oil", 1) if found else None


def one_way(chance: random.Random, text: str) -> str | None:
    """A look-alike that is no longer named."""
    found = pick(chance, r"(?<=^looks-like:\n)  .*\n", text)
    return put(text, found, "") if found else None


def twice(chance: random.Random, text: str) -> str | None:
    """A key that stands twice."""
    found = pick(chance, r"^harvest: .*\n", text)
    return put(text, found, found[0] * 2) if found else None


def dead_rule(chance: random.Random, text: str) -> str | None:
    """A rule that waits for what nothing gives."""
    found = pick(chance, r"^  when: \{([a-z-]+): ", text)
    return put(text, found, "weather", 1) if found else None


def useless_rule(chance: random.Random, text: str) -> str | None:
    """A rule that concludes what nothing uses."""
    found = pick(chance, r"^  then: \{.*\}$", text)
    return put(text, found, "  then: {mood: grim}") if found else None


def wrong_phrase(chance: random.Random, text: str) -> str | None:
    """A phrase of another symptom."""
    found = pick(chance, r"^  says: \[", text)
    return put(text, found, f"{found[0]}velvety green caterpillar, ") if found else None


def no_cases(chance: random.Random, text: str) -> str | None:
    """All cases but one are gone."""
    found = pick(chance, r"^cases:\n(  - .*\n)((?:  .*\n)+)", text)
    return put(text, found, "", 2) if found else None


def lost_caution(chance: random.Random, text: str) -> str | None:
    """The cautions are gone."""
    found = pick(chance, r"^cautions: .*\n", text)
    return put(text, found, "") if found else None


def softened_harvest(chance: random.Random, text: str) -> str | None:
    """What may be eaten says the opposite."""
    found = pick(chance, r"^harvest: .*$", text)
    return put(text, found, "harvest: All of it may be eaten.") if found else None


CAUSES, RULES, SYMPTOMS, REMEDIES = (
    "causes/*/*.yaml", "rules/*.yaml", "symptoms/*.yaml", "remedies/*.yaml",
)  # fmt: skip
KINDS: dict[Fault, str] = {
    misspelt_symptom: CAUSES, inverted_word: CAUSES, dropped_evidence: CAUSES, odd_word: CAUSES,
    wrong_host: CAUSES, turned_season: CAUSES, wrong_remedy: CAUSES, pesticide: REMEDIES,
    one_way: CAUSES, twice: CAUSES, dead_rule: RULES, useless_rule: RULES, wrong_phrase: SYMPTOMS,
    no_cases: CAUSES, lost_caution: CAUSES, softened_harvest: CAUSES,
}  # fmt: skip


def told(folder: Path) -> Counter[tuple[str, str, str]]:
    """The findings, without their lines."""
    return Counter((f.file, f.code, f.message) for f in examine(folder).findings)


def main() -> None:
    """Seed the faults one by one and print the table."""
    chance = random.Random(SEED)
    seeded: Counter[str] = Counter()
    found: Counter[str] = Counter()
    missed: list[str] = []
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(shipped(), Path(place) / "knowledge"))
        before = told(folder)
        kinds = list(KINDS)
        while sum(seeded.values()) < FAULTS:
            fault = kinds[sum(seeded.values()) % len(kinds)]
            path = chance.choice(sorted(folder.glob(KINDS[fault])))
            old = path.read_text(encoding="utf-8")
            new = fault(chance, old)
            if new is None or new == old:
                continue
            path.write_text(new, encoding="utf-8")
            name = fault.__name__.replace("_", " ")
            seeded[name] += 1
            if told(folder) - before:
                found[name] += 1
            else:
                missed.append(f"{name} in {path.relative_to(folder)}")
            path.write_text(old, encoding="utf-8")
    print(f"| {'fault':20} | seeded | found |\n|{'-' * 22}|-------:|------:|")
    for name, count in seeded.items():
        print(f"| {name:20} | {count:6} | {found[name]:5} |")
    print(f"| {'all':20} | {seeded.total():6} | {found.total():5} |\n\nMissed:")
    print("\n".join(f"- {line}" for line in missed))


if __name__ == "__main__":
    main()
