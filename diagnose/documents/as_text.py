"""A page as Markdown, or as a printable page of HTML that needs nothing from outside."""

from __future__ import annotations

from html import escape

from diagnose.drawings import shown
from diagnose.drawings.as_svg import svg
from diagnose.pages.blocks import Block, Figure, Page

STYLE = """\
body { font: 12pt/1.45 Georgia, serif; max-width: 42em; margin: 2em auto; padding: 0 1em;
       color: #111; background: #fff; }
h1 { font-size: 1.5em; } h2 { font-size: 1.15em; margin-bottom: .3em; }
p, li { margin: .3em 0; } .note { color: #444; font-size: .9em; }
.figures { display: flex; flex-wrap: wrap; gap: .8em; }
figure { width: 10.5em; margin: 0; break-inside: avoid; }
figure svg { width: 100%; height: auto; } figcaption { font-size: .8em; line-height: 1.2; }
.warning { border-left: .3em solid #111; padding-left: .6em; }
figure { margin: .8em 0; } figure svg { max-width: 100%; height: auto; }
figcaption { color: #444; font-size: .9em; } .line { border-bottom: 1px solid #888; height: 2em; }
@media print { body { margin: 0; max-width: none; } h2 { break-after: avoid; } }
"""


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
    body = "\n".join(_html(block) for block in page)
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(name)}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n"
        f"{body}\n</main>\n</body>\n</html>\n"
    )


def _named(figure: Figure) -> str:
    return f"{figure.mark} {figure.name}".strip() or figure.drawing.symptom


def _figure(figure: Figure) -> str:
    """A picture with its name; what it shows is told to those who cannot see it."""
    name, words = _named(figure), figure.drawing.words
    drawn = svg(shown.picture_of(figure.drawing), name, words)
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
            mark = "" if block.mark == "-" else f"{escape(block.mark)} "
            return f'<p style="margin-left: {1 + block.level * 1.5}em">{mark}{words}</p>'
        case "warning":
            return f'<p class="warning"><strong>{escape(block.mark)}</strong> {words}</p>'
        case "note":
            return f'<p class="note">{words}</p>'
        case "chart":
            return f"<figure>{block.svg}<figcaption>{words}</figcaption></figure>"
        case "room":
            return f"<p>{words}</p>{'<div class=line></div>' * block.level}"
    indent = f' style="margin-left: {block.level * 1.5}em"' if block.level else ""
    return f"<p{indent}>{words}</p>"
