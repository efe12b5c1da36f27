"""New entries with marked gaps: a file of a crop or cause, or an entry at the end of a table file.

What must be known is asked or given; the rest says TO DO, which `diagnose check` points out.
Nothing that is there is ever overwritten.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from diagnose.bench import schemas
from diagnose.bench.wanted import WANTED
from diagnose.checking.gaps import TO_DO
from diagnose.checking.topics.cases import FEWEST
from diagnose.checking.topics.evidence import FEWEST_LINES
from diagnose.errors import UsageError
from diagnose.kb import load, model
from diagnose.kb.model import Knowledge
from diagnose.kb.reader import AMBIGUOUS, ID, unknown
from diagnose.terminal.askers import Asker

Words = Sequence[str]
PLAIN = re.compile("[A-Za-z][A-Za-z0-9 -]*[A-Za-z0-9]")
KIND_OF = {"cause": "causes", "crop": "crops", "symptom": "symptoms", "rule": "rules",
           "remedy": "remedies"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Need:
    """One thing to know about a new entry.

    `read` checks the words and gives the value, or raises UsageError. `default` is taken where
    nothing is said; without one it must be given.
    """

    name: str
    read: Callable[[Knowledge, str], Any]
    choices: Callable[[Knowledge], Words] = lambda knowledge: ()
    default: str | None = None


def free(_: Knowledge, words: str) -> str:
    """Any text."""
    try:
        words.encode()
    except UnicodeEncodeError:
        raise UsageError(f"{words!r} is not text in UTF-8") from None
    return words


def one(what: str, allowed: Callable[[Knowledge], Words]) -> Callable[[Knowledge, str], str]:
    """One of the allowed words."""

    def read(knowledge: Knowledge, words: str) -> str:
        if words not in allowed(knowledge):
            raise UsageError(unknown(what, words, list(allowed(knowledge))))
        return words

    return read


def several(read: Callable[[Knowledge, str], Any]) -> Callable[[Knowledge, str], list[Any]]:
    """Several of them, with commas between."""

    def split(knowledge: Knowledge, words: str) -> list[Any]:
        return [read(knowledge, part) for part in map(str.strip, words.split(",")) if part]

    return split


def pair(words: str, example: str) -> tuple[str, str]:
    """Two words with '=' between. Raises UsageError for anything else."""
    name, equals, value = (part.strip() for part in words.partition("="))
    if not (name and equals and value):
        raise UsageError(f"found {words!r}, expected as in {example}")
    return name, value


def host(knowledge: Knowledge, words: str) -> tuple[str, str]:
    """A crop or family, and how common the cause is there."""
    name, common = pair(words, "kale=common")
    return (
        one("crop or family", hosts)(knowledge, name),
        one("commonness", lambda k: COMMONNESS)(knowledge, common),
    )


def hosts(knowledge: Knowledge) -> Words:
    """Every host that a cause may name."""
    return [*knowledge.crops, *FAMILIES, model.ANY_CROP]


def seen(knowledge: Knowledge, words: str) -> tuple[str, str, str]:
    """An evidence line: a symptom, its value ('' for none), and how often it is seen."""
    name, often = pair(words, "holes-in-leaves:tiny=usually")
    symptom, _, value = name.partition(":")
    one("symptom", lambda k: list(k.symptoms))(knowledge, symptom)
    if value:
        allowed = [*knowledge.symptoms[symptom].values, model.NONE]
        one(f"value of {symptom}", lambda k: allowed)(knowledge, value)
    return symptom, value, one("frequency", lambda k: FREQUENCIES)(knowledge, often)


def fact(_: Knowledge, words: str) -> tuple[str, str]:
    """A fact of a rule, as 'crop=kale'."""
    name, value = pair(words, "crop=kale")
    if not ID.fullmatch(name):
        raise UsageError(f"{name!r} cannot be the name of a fact, which is as crop or leaf-mines")
    return name, value


def words_of(literal: Any) -> Words:
    """The words that a type of the model allows."""
    return tuple(literal.__args__)


FAMILIES, FREQUENCIES = words_of(model.Family), words_of(model.Frequency)
COMMONNESS = words_of(model.Commonness)
PARTS, RUNGS = words_of(model.Part), model.RUNGS


def choice(name: str, allowed: Words, default: str | None = None) -> Need:
    """One of a few words of the model."""
    return Need(name, one(name, lambda k: allowed), lambda k: allowed, default)


def parts(name: str, default: str | None = None) -> Need:
    """Several parts of a plant."""
    return Need(name, several(one("part", lambda k: PARTS)), lambda k: PARTS, default)


NEEDS: dict[str, tuple[Need, ...]] = {
    "crop": (
        Need("name", free),
        choice("family", FAMILIES),
        parts("parts", "leaf, stem, root, whole, soil"),
        parts("eaten"),
    ),
    "cause": (
        Need("name", free),
        choice("kind", words_of(model.CauseKind)),
        Need("hosts", several(host), hosts),
        Need("evidence", several(seen), lambda k: list(k.symptoms), ""),
        choice("decision", words_of(model.Decision), "watch"),
    ),
    "symptom": (
        Need("name", free),
        parts("part"),
        Need("ask", free, default=f"{TO_DO}: the question, as you would want to hear it"),
        choice("kind", words_of(model.SymptomKind), "symptom"),
        choice("effort", words_of(model.Effort), "look"),
        choice("background", FREQUENCIES, "seldom"),
    ),
    "rule": (
        Need("when", several(fact)),
        Need("then", several(fact)),
        Need("because", free, default=f"{TO_DO}: the reason, to follow 'because'"),
    ),
    "remedy": (
        choice("rung", RUNGS),
        choice("season", ("now", "next"), "now"),
        Need("text", free, default=f"{TO_DO}: what to do, in a sentence or two"),
    ),
}


def gather(
    what: str, knowledge: Knowledge, given: Mapping[str, str | None], asker: Asker | None
) -> dict[str, Any]:
    """Everything that a new entry needs: as given, else asked, else its default.

    Raises UsageError where something must be known and nobody can be asked.
    """
    found = {}
    missing = []
    for need in NEEDS[what]:
        words = given.get(need.name)
        if words is not None:
            found[need.name] = _read(need, knowledge, words)
        elif asker is not None:
            found[need.name] = _ask(need, WANTED[what][need.name], knowledge, asker)
        elif need.default is not None:
            found[need.name] = need.read(knowledge, need.default)
        else:
            about = WANTED[what][need.name]
            missing.append(f"--{need.name} ({about[:1].lower()}{about[1:]})")
    if missing:
        raise UsageError(f"give {'; '.join(missing)}")
    return found


def _read(need: Need, knowledge: Knowledge, words: str) -> Any:
    value = need.read(knowledge, words.strip())
    if value in ("", []) and need.default is None:
        raise UsageError(f"--{need.name} is empty")
    return value


def _ask(need: Need, question: str, knowledge: Knowledge, asker: Asker) -> Any:
    """Ask until the answer can be used; an empty one takes the default."""
    choices = need.choices(knowledge)
    few = f" ({', '.join(choices)})" if 0 < len(choices) <= 8 else ""
    usual = f" [{need.default}]" if need.default else ""
    prompt = f"{question}{few}{usual}: "
    while True:
        words = asker.ask(prompt, choices, question)
        try:
            return _read(need, knowledge, words or need.default or "")
        except UsageError as error:
            prompt = f"{error}\n{question}{usual}: "


def quoted(words: str) -> str:
    """Text as YAML reads it back, whatever is in it; without quotes where it is plain words."""
    odd = AMBIGUOUS.match(words) or words in ("true", "false", "null")
    if PLAIN.fullmatch(words) and not odd:
        return words
    return json.dumps(words, ensure_ascii=False)


def _flow(pairs: Sequence[tuple[str, str]]) -> str:
    """Names with values on one line; a name that stands twice gets a list."""
    lists: dict[str, list[str]] = {}
    for name, value in pairs:
        lists.setdefault(name, []).append(quoted(value))
    lines = (f"{n}: {v[0] if len(v) == 1 else _list(v)}" for n, v in lists.items())
    return f"{{{', '.join(lines)}}}"


def _list(words: Sequence[str]) -> str:
    return f"[{', '.join(words)}]"


def crop_text(_: str, found: Mapping[str, Any]) -> str:
    """A crop file."""
    parts = list(dict.fromkeys((*found["parts"], *found["eaten"])))
    return f"""\
name: {quoted(found["name"])}
also: []  # every name that gardeners use
family: {found["family"]}
parts: {_list(parts)}
eaten: {_list(found["eaten"])}
season: {{}}  # sow: {{from: last frost, to: longest day}}, harvest: {{from: ..., to: ...}}
normal: {{leaf: "{TO_DO}: what looks odd on it, and is natural"}}
sources: []
"""


def cause_text(_: str, found: Mapping[str, Any]) -> str:
    """A cause file."""
    lines: dict[str, list[str]] = {}
    for symptom, value, often in found["evidence"]:
        lines.setdefault(symptom, []).append(f"{value}: {often}" if value else often)
    evidence = "".join(
        f"\n  {symptom}: " + (f"{{{', '.join(v)}}}" if ":" in v[0] else v[0])
        for symptom, v in lines.items()
    )
    hint = f"  # {FEWEST_LINES} lines at least; what speaks against it: hardly ever or never"
    evidence = hint + evidence if evidence else " {}" + hint
    return f"""\
name: {quoted(found["name"])}
also: []  # every name that a gardener or an expert would give it
summary: "{TO_DO}: what it is and does, in one plain sentence"
hosts: {_flow(found["hosts"])}
season: all year  # when it is seen, as {{from: last frost - 3 weeks, to: first frost}}
evidence:{evidence}
looks-like: {{}}  # other-cause: "the one thing that tells them apart"
mechanism: "{TO_DO}: how it does the damage"
spread: "{TO_DO}: how it gets here, and how it spreads"
eat: some  # never, some or normal: no freer than the harvest text
matters: {{decision: {found["decision"]}, text: "{TO_DO}: whether it matters, and from when on"}}
harvest: "{TO_DO}: what may be eaten, and what may not"
remedies: []  # ids, gentlest first
next-season: []  # ids
look-again: {{days: 7, for: "{TO_DO}: what to look for"}}
sources: []  # ids
cases: []  # {FEWEST} at least, as {{text: "in a gardener's words", crop: kale, date: 2026-06-15}}
"""


def symptom_text(entry: str, found: Mapping[str, Any]) -> str:
    """An entry of a table of symptoms."""
    part = found["part"]
    return f"""\
{entry}:
  name: {quoted(found["name"])}
  kind: {found["kind"]}
  part: {part[0] if len(part) == 1 else _list(part)}
  ask: {quoted(found["ask"])}
  effort: {found["effort"]}
  background: {found["background"]}
  values: {{}}  # its forms, where it has any: short-id: words for it
  says: []  # what people write when they see it
"""


def rule_text(entry: str, found: Mapping[str, Any]) -> str:
    """An entry of a list of rules."""
    return f"""\
- rule: {quoted(entry)}
  when: {_flow(found["when"])}
  then: {_flow(found["then"])}
  because: {quoted(found["because"])}
"""


def remedy_text(entry: str, found: Mapping[str, Any]) -> str:
    """An entry of a table of remedies."""
    season = "" if found["season"] == "now" else f"\n  season: {found['season']}"
    return f"""\
{entry}:
  rung: {found["rung"]}{season}
  text: {quoted(found["text"])}
"""


TEXTS: dict[str, Callable[[str, Mapping[str, Any]], str]] = {
    "crop": crop_text, "cause": cause_text, "symptom": symptom_text, "rule": rule_text,
    "remedy": remedy_text,
}  # fmt: skip


def check_id(what: str, entry: str, knowledge: Knowledge) -> None:
    """Raise UsageError unless the id can be used and is not taken."""
    if not ID.fullmatch(entry):
        raise UsageError(
            f"{entry!r} cannot be an id; use small letters, digits and single dashes, as in "
            "carrot-fly"
        )
    kind = KIND_OF[what]
    if entry in getattr(knowledge, kind):
        raise UsageError(f"{what} {entry!r} is there already: {knowledge.place(kind, entry)}")


def file_for(what: str, entry: str, found: Mapping[str, Any], root: Path, file: str | None) -> Path:
    """Where a new entry goes. Raises UsageError where that is not clear or not fit."""
    kind = KIND_OF[what]
    if what == "crop":
        return root / kind / f"{entry}.yaml"
    if what == "cause":
        folder: str = found["kind"]
        return root / kind / folder / f"{entry}.yaml"
    there = [p for p in load.files(root) if schemas.kind_of(p.relative_to(root).as_posix()) == kind]
    names = [p.relative_to(root).as_posix() for p in there]
    if file is None:
        if len(there) != 1:
            raise UsageError(f"give --file, the table it goes into: {', '.join(names) or kind}")
        return there[0]
    stem = file.removeprefix(f"{kind}/").removesuffix(".yaml")
    if stem == kind and f"{kind}.yaml" in names:
        return root / f"{kind}.yaml"
    if not ID.fullmatch(stem):
        raise UsageError(f"{file!r} cannot be a file of {kind}; give its name alone, as in leaves")
    return root / kind / f"{stem}.yaml"


def add(
    what: str,
    entry: str,
    knowledge: Knowledge,
    root: Path,
    given: Mapping[str, str | None],
    asker: Asker | None = None,
    file: str | None = None,
) -> Path:
    """Add a new entry to a knowledge folder; gives the file it stands in.

    Raises UsageError where something needed is missing, unfit, or there already.
    """
    check_id(what, entry, knowledge)
    found = gather(what, knowledge, given, asker)
    path: Path = file_for(what, entry, found, root, file)
    text = TEXTS[what](entry, found)
    name = path.relative_to(root).as_posix()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if what in ("crop", "cause") or not path.exists():
            with path.open("x", encoding="utf-8") as stream:
                stream.write(f"{schemas.modeline(name)}\n{text}")
        else:
            _append(path, text)
    except FileExistsError:
        raise UsageError(f"{path} is there already, and is left as it is") from None
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from None
    return path


def _append(path: Path, text: str) -> None:
    """Add an entry at the end of a table, where the whole is then still a table."""
    old = path.read_text(encoding="utf-8")
    new = old + ("" if old.endswith("\n") or not old else "\n") + text
    try:
        loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        was, now = yaml.compose(old, loader), yaml.compose(new, loader)
    except yaml.YAMLError:
        was = now = None
    if now is None or (was is not None and len(now.value) != len(was.value) + 1):
        raise UsageError(
            f"an entry cannot be added at the end of {path}, which is not a plain table; "
            f"put it in by hand:\n{text.rstrip()}"
        )
    with path.open("a", encoding="utf-8") as stream:
        stream.write(new[len(old) :])
