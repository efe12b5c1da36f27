"""A page as Markdown, or as a printable page of HTML that needs nothing from outside."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import groupby

from diagnose.drawings import shown
from diagnose.pages.blocks import Block, Figure, Page

STYLE = """\
body { font: 12pt/1.45 Georgia, serif; max-width: 42em; margin: 2em auto; padding: 0 1em;
       color: #111; background: #fff; }
h1 { font-size: 1.5em; } h2 { font-size: 1.15em; margin-bottom: .3em; }
p, li { margin: .3em 0; } ul, ol { margin: .3em 0; padding-left: 1.6em; }
.note, figcaption { color: #444; } .note { font-size: .9em; }
.warning { border-left: .3em solid; padding-left: .6em; }
.bare { list-style: none; padding-left: 1em; }
.figures { display: flex; flex-wrap: wrap; gap: .8em; }
figure { width: 10.5em; margin: 0; } figure svg { width: 100%; height: auto; }
figcaption { font-size: .8em; line-height: 1.2; }
.chart { width: auto; margin: .8em 0; } .chart svg { width: auto; max-width: 100%; }
.field { display: flex; gap: .5em; align-items: end; }
.line { flex: 1; border-bottom: 1px solid #777; height: 1.8em; }
.box { border: 1px solid #777; }
@media screen and (prefers-color-scheme: dark) {
  body { color: #eee; background: #161616; } .note, figcaption { color: #bbb; }
}
@media print {
  body { font-size: 10pt; line-height: 1.3; margin: 0; padding: 0; max-width: none; }
  h1 { margin: 0 0 .4em; } h2 { margin: .7em 0 .2em; break-after: avoid; }
  p, li { margin: .2em 0; } figure:not(.chart) { width: 8.6em; }
  figure, .warning, .box, .field { break-inside: avoid; }
  section + section { break-before: page; }
}
@page { margin: 13mm; }
"""
LINE = 1.8  # em: the height of a line to write on


def markdown(page: Page) -> str:
    """A page as Markdown."""
    return "\n".join(_markdown(block) for block in page).strip() + "\n"


def _markdown(block: Block) -> str:
    indent = "   " * block.level
    match block.kind:
        case "figures":
            return "".join(f"- {_named(f)}: {f.drawing.words}\n" for f in block.figures)
        case "title":
            return f"# {block.text}\n"
        case "heading":
            return f"\n## {block.text}\n"
        case "item" | "entry":
            return f"{indent}{_mark(block.mark)} {block.text}"
        case "warning":
            return f"\n> **{block.mark}** {block.text}\n"
        case "room":
            return f"\n{block.text}\n" + "\n. . . . . . . . . . . . . . . .\n" * block.level
    return f"{indent}{block.text}\n"


def _mark(mark: str) -> str:
    """What begins a line of a list: a number or a dash; another mark stands in its text."""
    return mark if mark == "-" or mark.rstrip(".").isdecimal() else f"- {mark}".rstrip()


def html(page: Page, name: str) -> str:
    """A page as HTML, with a title."""
    return sheets([page], name)


def sheets(pages: Sequence[Page], name: str) -> str:
    """Pages as one file of HTML, with a title; in print each begins on a sheet of its own."""
    body = "\n".join(f"<section>\n{_section(page)}\n</section>" for page in pages)
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(name)}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n"
        f"{body}\n</main>\n</body>\n</html>\n"
    )


def _section(page: Page) -> str:
    """The blocks of a page; lines of a list that follow one another are together."""
    parts = []
    for kind, found in groupby(page, key=_together):
        lines = "\n".join(map(_html, found))
        parts.append(f"{LISTS[kind]}\n{lines}\n</{LISTS[kind][1:3]}>" if kind in LISTS else lines)
    return "\n".join(parts)


LISTS = {"dashed": "<ul>", "numbered": "<ol>", "bare": '<ul class="bare">'}


def _together(block: Block) -> str:
    """What a block stands together with: the kind of its list, or its own kind."""
    if block.kind not in ("item", "entry"):
        return block.kind
    if block.mark == "-":
        return "dashed"
    return "numbered" if block.mark.rstrip(".").isdecimal() else "bare"


def _named(figure: Figure) -> str:
    return f"{figure.mark} {figure.name}".strip() or figure.drawing.symptom


def _figure(figure: Figure) -> str:
    """A picture with its name; what it shows is told to those who cannot see it."""
    name = _named(figure)
    drawn = shown.svg_of(figure.drawing, name)
    return f"<figure>{drawn}<figcaption>{escape(name)}</figcaption></figure>"


def _html(block: Block) -> str:
    words = escape(block.text)
    match block.kind:
        case "figures":
            return f'<div class="figures">{"".join(map(_figure, block.figures))}</div>'
        case "title":
            return f"<h1>{words}</h1>"
        case "heading":
            return f"<h2>{words}</h2>"
        case "item" | "entry":
            return _item(block, words)
        case "warning":
            return f'<p class="warning"><strong>{escape(block.mark)}</strong> {words}</p>'
        case "note":
            return f'<p class="note">{words}</p>'
        case "chart":
            return f'<figure class="chart">{block.svg}<figcaption>{words}</figcaption></figure>'
        case "room":
            return _room(block, words)
    indent = f' style="margin-left: {block.level * 1.5}em"' if block.level else ""
    return f"<p{indent}>{words}</p>"


def _item(block: Block, words: str) -> str:
    indent = f' style="margin-left: {block.level * 1.5}em"' if block.level else ""
    number = block.mark.rstrip(".")
    if number.isdecimal():
        return f'<li value="{int(number)}"{indent}>{words}</li>'
    mark = f"<strong>{escape(block.mark)}</strong> " if block.mark not in ("", "-") else ""
    return f"<li{indent}>{mark}{words}</li>"


def _room(block: Block, words: str) -> str:
    """Room to write in: lines, the first beside its words; or a box."""
    if block.mark == "box":
        return f'<p>{words}</p>\n<div class="box" style="height: {block.level * LINE:.1f}em"></div>'
    first = f'<div class="field"><span>{words}</span><span class="line"></span></div>'
    return "\n".join([first, *['<div class="field"><span class="line"></span></div>'] *
                      (block.level - 1)])  # fmt: skip
