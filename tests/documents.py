"""The parts of the docs that are made by running the program.

`python -m tests.documents --write` makes them anew; a test fails where they are stale.
"""

from __future__ import annotations

import contextlib
import inspect
import io
import math
import re
import sys
from collections import defaultdict
from datetime import date
from pathlib import Path
from typing import get_args

import msgspec

from diagnose.consultation import Consultation, Reasoner
from diagnose.inputs import clean
from diagnose.journal import Journal
from diagnose.kb import model, shapes
from diagnose.kb.model import Knowledge
from diagnose.kb.store import shipped
from diagnose.pages.demonstration import slides
from diagnose.pages.readings import how_read
from diagnose.ready import open_knowledge
from diagnose.reasoning.facts import Observation
from diagnose.reasoning.ranking import distribution, host_odds, season_odds
from diagnose.teaching.demonstration import case_journal
from diagnose.teaching.hidden import Wish, hide
from diagnose.teaching.practice import Round
from diagnose.terminal.askers import LineAsker
from diagnose.terminal.dialogue import Dialogue, Leave
from diagnose.terminal.practising import Practising
from diagnose.terminal.screen import PlainScreen
from diagnose.terminal.slides import told
from tests.rounds.season import played as season_played
from tests.teaching.players import Player
from tests.validation import resting

DOCS = Path(__file__).resolve().parent.parent / "docs"
DAY = date(2026, 6, 5)
SAID = (
    "The lower leaves of my tomatoes have brown spots with rings, the peppers next to them are fine. "
    "No slugs. It rained all week."
)
STRUCTS = [
    found
    for found in vars(model).values()
    if isinstance(found, type) and issubclass(found, model.Struct) and found is not model.Struct
]
TYPED = (
    "Something is wrong with the beets. Pale squiggly trails inside the leaves, no bugs on them",
    "yes", "unsure", "why", "so far", "yes", "stop", "reasons", "more", "leave",
)  # fmt: skip


def transcript(reasoner: Reasoner) -> str:
    """A scripted consultation, as it stands on the screen."""
    out = io.StringIO()
    asker = LineAsker(io.StringIO("".join(line + "\n" for line in TYPED)), out)
    start = Consultation(reasoner, DAY, reasoner.home())
    with contextlib.suppress(Leave):
        Dialogue(PlainScreen(out, 88), asker, Journal.begin(start)).run()
    return f"```\n{out.getvalue().strip()}\n```"


def demonstration(reasoner: Reasoner) -> str:
    """A demonstration line by line, as with --plain."""
    out = io.StringIO()
    start = Consultation(reasoner, DAY, reasoner.home())
    case = reasoner.knowledge.causes["beet-leafminer"].cases[1]
    name = reasoner.knowledge.causes["beet-leafminer"].name
    made = slides(case_journal(case, start), case.text, name)
    told(made, PlainScreen(out, 88), LineAsker(io.StringIO("\n" * len(made)), out))
    return f"```\n{out.getvalue().strip()}\n```"


def practice(reasoner: Reasoner, good: bool) -> str:
    """A round of practice, played well or badly."""
    out = io.StringIO()
    start = Consultation(reasoner, DAY, reasoner.home())
    hidden = hide(start, Wish("middle", ("early-summer",), ("beet", "chard", "spinach")), 4)
    player = Player(out, good)
    game = Practising(PlainScreen(out, 88), player, Round(start, hidden, 4, ("Reds", "Blues")))
    player.game = game
    game.run()
    return f"```\n{out.getvalue().strip()}\n```"


def example(reasoner: Reasoner) -> str:
    """The worked example of docs/reasoning.md."""
    knowledge, tables = reasoner.knowledge, reasoner.tables
    numbers, scale = knowledge.likelihood.frequency, knowledge.likelihood
    cause, other = "beet-leafminer", "cercospora-leaf-spot"
    blank = Consultation(reasoner, DAY, reasoner.home(), "beet")
    season = season_odds(knowledge, reasoner.days_outside(DAY, blank.place))
    odds = {c: common * season[c] for c, common in host_odds(knowledge, "beet").items()}
    seen = blank.observe([Observation("leaf-mines", "blotch")])
    trust = scale.trust["answer"]
    symptom = knowledge.symptoms["leaf-mines"]
    words = knowledge.causes[cause].evidence["leaf-mines"]
    exact = distribution(symptom, words, numbers)
    back = tables.column(seen.observations[0])[-1]
    told = {c: math.exp(tables.column(seen.observations[0])[tables.row[c]]) for c in (cause, other)}
    share = 1 - scale.something_else
    total = sum(odds.values())
    prior = {c: share * odds[c] / total for c in (cause, other)}
    there = 1 - exact["absent"]
    forms = len(symptom.values)
    weight = 10 * math.log10(told[cause] / math.exp(back))
    chance = {r.cause: r.chance for r in seen.ranked}
    said = ", ".join(f"{value}: {word}" for value, word in words.items())
    common = {c: knowledge.causes[c].hosts.get("beet") for c in (cause, other)}
    return f"""\
Beets on 5 June at the place assumed; the gardener answers that there are wide papery blotches inside
the leaves (`leaf-mines: blotch`).

*Before.* {len(odds)} causes live on beet. The beet leafminer is {common[cause]} there and in season:
odds {odds[cause]:g}. Cercospora leaf spot is {common[other]} there, and the date lies
{reasoner.days_outside(DAY, blank.place)[other]} days outside its season: odds {odds[other]:g}. All odds
add up to {total:.1f}, and something else takes {scale.something_else:g}. So

- beet leafminer: {share:g} x {odds[cause]:g} / {total:.1f} = {prior[cause]:.4f}
- cercospora leaf spot: {share:g} x {odds[other]:g} / {total:.1f} = {prior[other]:.4f}

*The observation.* The leafminer's file says `leaf-mines: {{{said}}}`. In numbers
{numbers["usually"]:g} and {numbers["sometimes"]:g}, scaled to add up to 0.98: blotch
{exact["blotch"]:.4f}, and some form at all {there:.4f}. The background is "{symptom.background}",
{numbers[symptom.background]:g}, shared by {forms} forms. An answer names the form rightly with chance
{trust.form:g}, and is right that there is one with chance {trust.seen:g}:

- the form: {trust.form:g} x {exact["blotch"]:.4f} + {1 - trust.form:.2f} x {there:.4f} / {forms} =
  {trust.form * exact["blotch"] + (1 - trust.form) * there / forms:.4f}
- told: {trust.seen:g} x that + {1 - trust.seen:.2f} x {math.exp(back):.5f} = {told[cause]:.4f}
- its weight: 10 log10({told[cause]:.4f} / {math.exp(back):.5f}) = {weight:+.1f} points

Cercospora's file says `leaf-mines: {knowledge.causes[other].evidence["leaf-mines"]}`, so the same
answer comes there with chance {told[other]:.5f}.

*After.* Prior times observation: {prior[cause]:.4f} x {told[cause]:.4f} =
{prior[cause] * told[cause]:.5f} for the leafminer, {prior[other]:.4f} x {told[other]:.5f} =
{prior[other] * told[other]:.6f} for cercospora. Scaled so that all causes and something else sum to 1:
**{chance[cause]:.1%}** and {chance[other]:.2%}; something else keeps {chance["something-else"]:.1%}."""


def apart(reasoner: Reasoner) -> str:
    """A text taken apart, as it stands on the screen."""
    said, out = clean(SAID), io.StringIO()
    told = Consultation(reasoner, DAY, reasoner.home()).told(said)
    PlainScreen(out, 100).show(how_read(told, said))
    return f"> {SAID}\n\n```\n{out.getvalue().strip()}\n```"


def sources(knowledge: Knowledge) -> str:
    """What rests on what, in shares, and a table of every source: the most used first."""
    used: dict[str, list[str]] = defaultdict(list)
    for cause_id, cause in knowledge.causes.items():
        for source in {*cause.sources, cause.matters.source} - {None}:
            used[str(source)].append(cause_id)
    for kind in ("crops", "alerts", "dangers"):
        for entry_id, entry in getattr(knowledge, kind).items():
            for source in entry.sources:
                used[source].append(f"{entry_id} ({kind[:-1]})")
    for rule in knowledge.rules.values():
        if rule.source:
            used[rule.source].append(f"{rule.rule} (rule)")
    lines = [*resting.table(knowledge), ""]
    lines += ["| source | of | read | used for | used by |", "| --- | --- | --- | --- | --- |"]
    ranked = sorted(knowledge.sources.items(), key=lambda item: (-len(used[item[0]]), item[0]))
    for source_id, source in ranked:
        named = f"[{source.title}]({source.where})" if source.where else source.title
        of = ", ".join(p for p in (source.publisher, str(source.year or "")) if p)
        read = source.read if source.seen == "opened" else "no"
        by = sorted(used[source_id])
        some = ", ".join(by[:3]) + (f" and {len(by) - 3} more" if len(by) > 3 else "")
        cells = (f"`{source_id}` {named}", of, read, source.used_for, some)
        lines.append("| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |")
    return "\n".join(lines)


def reference() -> str:
    """Every kind of entry with its fields: what they hold and whether they must be there."""
    lines = []
    for kind in msgspec.inspect.multi_type_info(STRUCTS):
        assert isinstance(kind, msgspec.inspect.StructType)
        lines += [f"## {kind.cls.__name__}\n", inspect.cleandoc(kind.cls.__doc__ or ""), ""]
        lines += ["| field | holds | must be there |", "| --- | --- | --- |"]
        for field in kind.fields:
            must = "yes" if field.required else "no"
            lines.append(f"| `{field.encode_name}` | {holds(field.type)} | {must} |")
        lines.append("")
    return "\n".join(lines).rstrip()


def drawn() -> str:
    """Every shape and mark of a drawing, with what may be said of it."""
    lines = []
    for union, name in ((shapes.AnyShape, "shape"), (shapes.AnyMark, "mark")):
        lines += [f"| {name} | what it is | what may be said of it |", "| --- | --- | --- |"]
        kinds = [kind for kind in get_args(union) if isinstance(kind, type)]
        for kind in msgspec.inspect.multi_type_info(kinds):
            assert isinstance(kind, msgspec.inspect.StructType)
            fields = "; ".join(
                f"`{field.encode_name}` {holds(field.type)}"
                for field in kind.fields
                if field.encode_name != "marks"
            )
            about = " ".join((kind.cls.__doc__ or "").split())
            lines.append(f"| `{kind.tag}` | {about} | {fields.replace('|', 'or')} |")
        lines.append("")
    return "\n".join(lines).rstrip()


def holds(kind: msgspec.inspect.Type) -> str:
    """A type in plain words."""
    match kind:
        case msgspec.inspect.StrType():
            return "an id" if kind.pattern == "^[a-z0-9]+(-[a-z0-9]+)*$" else "text"
        case msgspec.inspect.IntType():
            return f"a whole number{_bounds(kind)}"
        case msgspec.inspect.FloatType():
            return f"a number{_bounds(kind)}"
        case msgspec.inspect.BoolType():
            return "true or false"
        case msgspec.inspect.LiteralType():
            return "one of " + ", ".join(f"`{value}`" for value in kind.values)
        case msgspec.inspect.TupleType():
            return "a point"
        case msgspec.inspect.ListType():
            return f"a list: {holds(kind.item_type)}"
        case msgspec.inspect.DictType():
            return f"keys ({holds(kind.key_type)}) with {holds(kind.value_type)}"
        case msgspec.inspect.StructType():
            return f"a {kind.cls.__name__}"
        case msgspec.inspect.UnionType():
            found = [t for t in kind.types if not isinstance(t, msgspec.inspect.NoneType)]
            return ", or ".join(holds(t) for t in found)
    return str(kind)


def _bounds(kind: msgspec.inspect.IntType | msgspec.inspect.FloatType) -> str:
    """From where to where a number may go, where both ends are set."""
    return "" if kind.ge is None or kind.le is None else f" ({kind.ge:g} to {kind.le:g})"


STAMP = re.compile(r"<!-- of the knowledge ([0-9a-f]{12}) -->")


def page(name: str, *made: tuple[str, str], of: str = "") -> tuple[Path, str, str]:
    """A page's path, its present text, and its text with the parts between marks made anew.

    With the digest of the knowledge that it tells `of`, so that a page of an earlier one is known.
    """
    stamp = f"\n<!-- of the knowledge {of} -->" if of else ""
    path = DOCS / name
    now = fresh = path.read_text(encoding="utf-8")
    for mark, part in made:
        pattern = rf"(<!-- {mark}: [^>]*-->\n).*?(<!-- end of {mark} -->)"
        fresh = re.sub(
            pattern, lambda m, part=part: f"{m[1]}{part}{stamp}\n{m[2]}", fresh, flags=re.DOTALL
        )
    return path, now, fresh


def pages(reasoner: Reasoner) -> list[tuple[Path, str, str]]:
    """Every page with made parts."""
    of = reasoner.knowledge.digest
    return [
        page("reasoning.md", ("example", example(reasoner)), of=of),
        page("reading.md", ("apart", apart(reasoner)), of=of),
        page("consultation.md", ("transcript", transcript(reasoner)), of=of),
        page(
            "teaching.md",
            ("demonstration", demonstration(reasoner)),
            ("played well", practice(reasoner, good=True)),
            ("played badly", practice(reasoner, good=False)),
            of=of,
        ),
        page("sources.md", ("list", sources(reasoner.knowledge)), of=of),
        page("reference.md", ("fields", reference())),
        page("round.md", ("season", season_played()[0]), of=of),
        page("drawings.md", ("shapes", drawn())),
    ]


if __name__ == "__main__":
    for path, now, fresh in pages(Reasoner(open_knowledge(shipped()))):
        if "--write" in sys.argv:
            path.write_text(fresh, encoding="utf-8")
        print(f"{path.name}: {'as made' if now == fresh else 'made anew'}")
