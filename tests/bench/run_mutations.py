"""How many seeded faults does `diagnose check` find, by kind of fault?

`python -m tests.bench.run_mutations [--kinds KIND ...] [--each N] [--seed S]` takes a copy of the
shipped knowledge, approves it (`diagnose baseline`), makes one fault at a time in it, and asks
whether a finding appears that was not there before. It prints a table by kind of fault, with the
codes that found it, then what was missed. A fault takes some seconds: the cases near to it are
worked, as `diagnose check` does while one edits. `--without-baseline` tells what is found without.
"""

from __future__ import annotations

import argparse
import random
import re
import shutil
import tempfile
from collections import Counter, defaultdict
from collections.abc import Callable
from pathlib import Path

from diagnose.checking import baseline
from diagnose.checking.check import examine
from diagnose.kb import load
from diagnose.kb.store import shipped

SEED, EACH = 20261125, 3
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
WORD = "always|usually|often|sometimes|seldom|hardly ever|never"


def swapped(pattern: str, new: str, group: int = 0) -> Fault:
    """A fault that puts a text in one place where a pattern stands; \\1 is its first group."""

    def fault(chance: random.Random, text: str) -> str | None:
        found = pick(chance, pattern, text)
        return put(text, found, found.expand(new), group) if found else None

    return fault


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


def twice(chance: random.Random, text: str) -> str | None:
    """A key that stands twice."""
    found = pick(chance, r"^harvest: .*\n", text)
    return put(text, found, found[0] * 2) if found else None


def two_words_swapped(chance: random.Random, text: str) -> str | None:
    """The words of two values of one symptom change places."""
    found = pick(chance, rf"^  [a-z-]+: \{{[a-z-]+: ({WORD}), [a-z-]+: ({WORD})", text)
    if not found or found[1] == found[2]:
        return None
    return put(put(text, found, found[1], 2), found, found[2], 1)


def all_often(chance: random.Random, text: str) -> str | None:
    """Every line that says only how often says "often"."""
    new = re.sub(EVIDENCE, r"  \1: often", text, flags=re.MULTILINE)
    return new if new != text else None


def copied_telling(chance: random.Random, text: str) -> str | None:
    """The sentence on one look-alike stands under the next one too."""
    found = pick(chance, r'(?<=^looks-like:\n)  [a-z-]+: (".*")\n  [a-z-]+: (.*)$', text)
    return put(text, found, found[1], 2) if found else None


def pasted_case(chance: random.Random, text: str) -> str | None:
    """A case stands twice in one file."""
    found = pick(chance, r"^  - text: .*\n(?:    .*\n)+", text)
    return put(text, found, found[0] * 2) if found else None


def celsius_as_fahrenheit(chance: random.Random, text: str) -> str | None:
    """A band of growth in Fahrenheit, where Celsius belongs."""
    found = pick(chance, r"^growth-c: \{best: \[([\d.]+), ([\d.]+)\]", text)
    if not found:
        return None
    low, high = (round(float(found[n]) * 1.8 + 32) for n in (1, 2))
    return put(text, found, f"growth-c: {{best: [{low}, {high}]")


def depth_in_millimeters(chance: random.Random, text: str) -> str | None:
    """A depth of sowing in millimeters, where centimeters belong."""
    found = pick(chance, r"depth-cm: \[([\d.]+), ([\d.]+)\]", text)
    if not found:
        return None
    low, high = (f"{float(found[n]) * 10:g}" for n in (1, 2))
    return put(text, found, f"depth-cm: [{low}, {high}]")


def crop_seasons_swapped(chance: random.Random, text: str) -> str | None:
    """Sowing and harvest change places."""
    found = pick(chance, r"^season: \{sow: (\{.*?\}), harvest: (\{.*?\})\}$", text)
    return put(text, found, f"season: {{sow: {found[2]}, harvest: {found[1]}}}") if found else None


CAUSES, RULES, SYMPTOMS, REMEDIES, CROPS, CAUTIONS = (
    "causes/*/*.yaml", "rules/*.yaml", "symptoms/*.yaml", "remedies/*.yaml", "crops/*.yaml",
    "cautions.yaml",
)  # fmt: skip
# Each kind of fault: the files that it is made in, and how.
KINDS: dict[str, tuple[str, Fault]] = {
    # shape
    "misspelt symptom": (CAUSES, misspelt_symptom),
    "odd word": (CAUSES, swapped(EVIDENCE, "mostly", 2)),
    "wrong remedy": (CAUSES, swapped(r"^remedies: \[([a-z-]+)", r"\1s", 1)),
    "key twice": (CAUSES, twice),
    "dead rule": (RULES, swapped(r"^  when: \{([a-z-]+): ", "weather", 1)),
    "useless rule": (RULES, swapped(r"^  then: \{.*\}$", "  then: {mood: grim}")),
    "one way": (CAUSES, swapped(r"(?<=^looks-like:\n)  .*\n", "")),
    "no cases": (CAUSES, swapped(r"^cases:\n  - .*\n(?:    .*\n)+((?:  .*\n)+)", "", 1)),
    # evidence
    "inverted word": (CAUSES, inverted_word),
    "weaker word": (CAUSES, swapped(r"^  [a-z-]+: (usually)$", "seldom", 1)),
    "side line always": (CAUSES, swapped(r"^  [a-z-]+: (sometimes|seldom)$", "always", 1)),
    "two words swapped": (CAUSES, two_words_swapped),
    "all often": (CAUSES, all_often),
    "first line gone": (CAUSES, swapped(r"(?<=^evidence:\n)  .*\n", "")),
    "wrong host": (CAUSES, swapped(r"^hosts: .*$", "hosts: {rhubarb: common}")),
    "rare is very common": (CAUSES, swapped(r"^hosts: .*: (rare|occasional)\b", "very common", 1)),
    "turned season": (
        CAUSES, swapped(r"^season: \{from: (.+), to: (.+)\}$", r"season: {from: \2, to: \1}"),
    ),
    # what can hurt
    "pesticide": (
        REMEDIES, swapped(r"text: \"?([A-Z][^\"\n]+)\.", r"\1, and spray with neem oil", 1),
    ),
    "home brew": (CAUSES, swapped(r"^mechanism: \"?(\w)", r"Dish soap in water kills it. \1", 1)),
    "lost caution": (CAUSES, swapped(r"^cautions: .*\n", "")),
    "lost referral": (CAUSES, swapped(r"^referral: .*\n", "")),
    "softened harvest": (CAUSES, swapped(r"^harvest: .*$", "harvest: All of it may be eaten.")),
    "ban inverted": (CAUSES, swapped(r"^harvest: .*(Do not eat|Never eat)", "Eat", 1)),
    "eaten as usual": (CAUSES, swapped(r"^eat: (never|some)$", "normal", 1)),
    "left alone": (CAUSES, swapped(r"^matters: \{decision: (act|refer)", "leave", 1)),
    "help called wrongly": ("alerts.yaml", swapped(r"1-800-222-122(2)", "3", 1)),
    "ban of an alert": ("alerts.yaml", swapped(r"\b[Dd]o (not )(?:eat|make|rub|touch)", "", 1)),
    "no food is eaten": (CROPS, swapped(r"^eaten: \[", r"\g<0>root, ")),
    "rule turned": (RULES, swapped(r"^  when: \{[a-z-]+: (present)", "absent", 1)),
    # numbers
    "Fahrenheit for Celsius": (CROPS, celsius_as_fahrenheit),
    "pair off": (CROPS, swapped(r"\d F \((\d+) C\)", r"9\1", 1)),
    "sown as deep as a spade": (CROPS, depth_in_millimeters),
    "looked at in months": (CAUSES, swapped(r"look-again: \{days: (\d+)", r"1\g<1>0", 1)),
    "sowing and harvest swapped": (CROPS, crop_seasons_swapped),
    # what stands once
    "telling copied": (CAUSES, copied_telling),
    "case pasted": (CAUSES, pasted_case),
    "case mended": (CAUSES, swapped(r"(?<=^    observations: \{)[a-z-]+: (present)", "absent", 1)),
    "code of another": (CAUSES, swapped(r"^code: ([A-Z]{6})$", "PHYTIN", 1)),
    "name of another": (CAUSES, swapped(r"^also: \[", "also: [late blight, ")),
    # words
    "phrase of another": (SYMPTOMS, swapped(r"^  says: \[", r"\g<0>velvety green caterpillar, ")),
    "question denied": (SYMPTOMS, swapped(r"^  ask: \"?(?:Are|Is) the [a-z]+ ", r"\g<0>not ")),
}  # fmt: skip


def told(folder: Path) -> Counter[tuple[str, str, str]]:
    """The findings, without their lines."""
    return Counter((f.file, f.code, f.message) for f in examine(folder, every=False).findings)


def seeded(folder: Path, kind: str, chance: random.Random) -> tuple[Path, str] | None:
    """A file and its text with a fault of a kind; None where no file has room for it."""
    where, fault = KINDS[kind]
    paths = sorted(folder.glob(where))
    chance.shuffle(paths)
    for path in paths:
        old = path.read_text(encoding="utf-8")
        new = fault(chance, old)
        if new is not None and new != old:
            return path, new
    return None


def main() -> None:
    """Seed the faults one by one and print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--kinds", nargs="+", choices=KINDS, default=list(KINDS), metavar="KIND")
    asked.add_argument("--each", type=int, default=EACH, help="faults of a kind")
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--without-baseline", action="store_true")
    options = asked.parse_args()
    chance = random.Random(options.seed)
    made: Counter[str] = Counter()
    found: Counter[str] = Counter()
    by: dict[str, Counter[str]] = defaultdict(Counter)
    missed: list[str] = []
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(shipped(), Path(place) / "knowledge"))
        (folder / baseline.FILE).unlink(missing_ok=True)
        results = examine(folder).results
        if not options.without_baseline:
            baseline.write(folder, baseline.made(load.read(folder).readable, results))
        before = told(folder)
        for kind in options.kinds:
            for _ in range(options.each):
                fault = seeded(folder, kind, chance)
                if fault is None:
                    break
                path, new = fault
                old = path.read_bytes()
                path.write_text(new, encoding="utf-8")
                after = told(folder)
                path.write_bytes(old)
                made[kind] += 1
                codes = {code for _, code, _ in after - before}
                found[kind] += bool(codes)
                by[kind].update(codes)
                if not codes:
                    missed.append(f"{kind} in {path.relative_to(folder)}")
    print("| fault | seeded | found | by |\n| --- | ---: | ---: | --- |")
    for kind, count in made.items():
        codes = ", ".join(code for code, _ in by[kind].most_common(3))
        print(f"| {kind} | {count} | {found[kind]} | {codes} |")
    print(f"| all | {made.total()} | {found.total()} | |\n\nMissed:")
    print("\n".join(f"- {line}" for line in missed))


if __name__ == "__main__":
    main()
