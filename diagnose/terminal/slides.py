"""Slides on a terminal: one at a time, forth and back with a key; nothing scrolls.

Each is laid out anew for the terminal's size. What does not fit goes on with the next key.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.pages.blocks import heading, text
from diagnose.pages.demonstration import as_page, direction
from diagnose.pages.sayings import percent
from diagnose.pages.slide import Bar, Slide
from diagnose.terminal import gallery
from diagnose.terminal.askers import Asker
from diagnose.terminal.screen import Screen, lines
from diagnose.terminal.typed import plainly

LEAST_WIDE, LEAST_HIGH = 40, 16  # columns and lines
WIDEST = 100  # columns of text
NAMES = 36  # columns of a bar's name beside it
BESIDE = 72  # columns from which names stand beside their bars
BLOCKS = "▏▎▍▌▋▊▉█"
KEYS = "Space: on.  b: back.  q: leave."
FIGURE = len("over 97 % down")


@dataclass(frozen=True, slots=True)
class Shape:
    """The room there is: columns, lines, and whether bars may be drawn in Unicode."""

    width: int
    height: int
    unicode: bool = True

    @property
    def too_small(self) -> str:
        """One line on a terminal that is too small; empty where it is not."""
        if self.width >= LEAST_WIDE and self.height >= LEAST_HIGH:
            return ""
        return (
            f"the terminal has {self.width} columns and {self.height} lines; this needs "
            f"{LEAST_WIDE} and {LEAST_HIGH}, or --plain"
        )


def laid_out(slides: Sequence[Slide], shape: Shape) -> list[list[str]]:
    """The screens of some slides, each no wider and no higher than the room there is."""
    found = []
    for number, slide in enumerate(slides, 1):
        found += _screens(slide, f"{number} of {len(slides)}", shape)
    return found


def _screens(slide: Slide, count: str, shape: Shape) -> list[list[str]]:
    width = min(shape.width - 2, WIDEST)
    head = [*_head(slide.title, count, width), ""]
    body = [line for block in slide.page for line in lines(block, width)]
    room = shape.height - len(head) - 2  # a line is left empty before the keys
    drawn = _bars(slide.bars, width, shape.unicode, room // 2 if body else room)
    left = room - len(body) - len(drawn) - bool(body and drawn)
    pictures = gallery.beside(slide.figures, width, left - 1, shape.unicode)
    body += ["", *pictures] if pictures else []
    first = room - len(drawn) - bool(drawn)
    parts = [[*body[:first], *([""] if drawn else []), *drawn]]
    parts += [body[at : at + room] for at in range(first, len(body), room)]
    return [_whole(head, part, shape, width) for part in parts]


def _whole(head: Sequence[str], body: Sequence[str], shape: Shape, width: int) -> list[str]:
    margin = " " * max((shape.width - width) // 2, 1)
    filled = [*head, *body]
    filled += [""] * (shape.height - 1 - len(filled))
    return [(margin + line).rstrip() for line in (*filled, KEYS)]


def _head(title: str, count: str, width: int) -> list[str]:
    found = textwrap.wrap(title, max(width - len(count) - 2, 10)) or [""]
    return [found[0].ljust(width - len(count)) + count, *found[1:]]


def _bars(bars: Sequence[Bar], width: int, unicode: bool, room: int) -> list[str]:
    """The bars in the room there is, with a line between if they fit; the lowest are left out."""
    if not bars:
        return []
    each = 1 if width >= BESIDE else 2
    most = max(room // each, 2)
    kept = sorted(bars, key=lambda bar: -bar.peak)[:most]
    shown = [bar for bar in bars if bar in kept]
    apart = len(shown) * (each + 1) <= room
    found: list[str] = []
    for bar in shown:
        found += _bar(bar, width, unicode)
        if apart:
            found.append("")
    return found[:-1] if apart else found


def _bar(bar: Bar, width: int, unicode: bool) -> list[str]:
    figure = f"{percent(bar.now)} {direction(bar)}".strip()
    if width >= BESIDE:
        room = width - NAMES - FIGURE - 2
        name = _cut(bar.name, NAMES)
        return [f"{name} {_strip(bar.now, room, unicode).ljust(room)} {figure}"]
    name = _cut(bar.name, width - FIGURE - 1)
    return [f"{name} {figure}", _strip(bar.now, width, unicode)]


def _cut(name: str, width: int) -> str:
    return (name if len(name) <= width else name[: width - 3] + "...").ljust(width)


def _strip(chance: float, width: int, unicode: bool) -> str:
    """A bar as long as its chance; a dot where it is too short to be drawn."""
    if not unicode:
        return "#" * round(chance * width) or "."
    whole, part = divmod(round(chance * width * 8), 8)
    return "█" * whole + (BLOCKS[part - 1] if part else "") or "·"


class Show:
    """Slides on the whole screen, by prompt_toolkit: a key for the next or the last one."""

    def __init__(self, slides: Sequence[Slide], unicode: bool = True) -> None:
        self.slides, self.unicode = slides, unicode
        self.at = 0
        self.laid: dict[Shape, list[list[str]]] = {}  # for the present size alone

    def run(self) -> None:
        """Show them until the last was left."""
        from prompt_toolkit.application import Application
        from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
        from prompt_toolkit.layout import FormattedTextControl, Layout, Window

        keys = KeyBindings()

        @keys.add(" ")
        @keys.add("enter")
        @keys.add("right")
        @keys.add("pagedown")
        @keys.add("n")
        def _on(event: KeyPressEvent) -> None:
            if self.at + 1 >= len(self.screens(_shape(event.app.output.get_size(), self.unicode))):
                event.app.exit()
            self.at += 1

        @keys.add("b")
        @keys.add("left")
        @keys.add("backspace")
        @keys.add("pageup")
        def _back(_: KeyPressEvent) -> None:
            self.at = max(self.at - 1, 0)

        @keys.add("q")
        @keys.add("c-c")
        @keys.add("c-d")
        def _leave(event: KeyPressEvent) -> None:
            event.app.exit()

        control = FormattedTextControl(lambda: self._text(app.output.get_size()), show_cursor=False)
        app: Application[None] = Application(
            Layout(Window(control, wrap_lines=False)), key_bindings=keys, full_screen=True
        )
        app.run()

    def screens(self, shape: Shape) -> list[list[str]]:
        """All screens in the room there is, laid out once for it, so that a step costs nothing."""
        if shape not in self.laid:
            self.laid = {shape: laid_out(self.slides, shape)}
        return self.laid[shape]

    def _text(self, size: object) -> str:
        shape = _shape(size, self.unicode)
        if shape.too_small:
            return "\n".join(textwrap.wrap(f"Here {shape.too_small}.", max(shape.width, 10)))
        screens = self.screens(shape)
        return "\n".join(screens[min(self.at, len(screens) - 1)])


def _shape(size: object, unicode: bool) -> Shape:
    return Shape(getattr(size, "columns", 80), getattr(size, "rows", 24), unicode)


def told(slides: Sequence[Slide], screen: Screen, asker: Asker) -> None:
    """Slides line by line, for pipes and screen readers: Enter for the next, back, leave.

    At the end of input the rest is shown at once, so that a pipe gets them all.
    """
    at, waiting = 0, True
    while at < len(slides):
        title = f"{at + 1} of {len(slides)}: {slides[at].title}"
        screen.show([heading(title), *as_page(slides[at])[1:]])
        line = "on"
        if waiting:
            try:
                line = plainly(asker.ask("Enter: on; back; leave: ", ("back", "leave"), ""))
            except EOFError:
                waiting = False
        if line in ("leave", "quit", "q", "stop"):
            return
        at = max(at - 1, 0) if line in ("back", "b") else at + 1
    screen.show([text("That was the last.")])
