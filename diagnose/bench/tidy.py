"""The knowledge files in one layout, so that a review shows what changed and nothing else.

Comments, the order of keys and most quotes stay. Long lines are broken, indents are the same
everywhere, and characters that only look plain become plain. Nothing that a file says is changed: a
file that would read otherwise afterwards is left as it is.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from diagnose.inputs import write_whole
from diagnose.kb.reader import ODD, Reader

WIDTH = 110
PLAIN = {
    "\ufeff": "", "\r\n": "\n", "\u00a0": " ", "\u202f": " ", "\u200b": "", "\u201c": '"',
    "\u201d": '"', "\u2018": "'", "\u2019": "'", "\u2010": "-", "\u2011": "-", "\u2013": "-",
    "\u2014": "-", "\u2212": "-",
}  # fmt: skip
assert PLAIN.keys() == ODD.keys()


class Tidied(NamedTuple):
    """A file: what it would be in the layout, or why it is left as it is."""

    path: Path
    text: str
    fresh: str
    problem: str = ""

    @property
    def untidy(self) -> bool:
        """Whether there is something to write."""
        return not self.problem and self.text != self.fresh


@cache
def _yaml() -> Any:
    from ruamel.yaml import YAML

    made = YAML()
    made.preserve_quotes = True
    made.width = WIDTH
    made.indent(mapping=2, sequence=4, offset=2)
    made.allow_duplicate_keys = False
    return made


def _unescaped(value: Any) -> None:
    """Let texts with backslashes, as patterns have, stand in single quotes, where none is doubled.

    In double quotes a line cannot be broken beside one without changing the text.
    """
    from ruamel.yaml.scalarstring import DoubleQuotedScalarString, SingleQuotedScalarString

    for key, inner in list(value.items() if isinstance(value, dict) else enumerate(value)):
        if isinstance(inner, DoubleQuotedScalarString) and "\\" in inner and inner.isprintable():
            value[key] = SingleQuotedScalarString(inner)
        elif isinstance(inner, (dict, list)):
            _unescaped(inner)


def _opened_up(value: Any, depth: int = 0) -> None:
    """Let keys in braces that do not fit on a line stand one below the other."""
    inner = list(value.values()) if isinstance(value, dict) else list(value)
    style = getattr(value, "fa", None)
    if isinstance(value, dict) and style and style.flow_style() and depth + _long(value) > WIDTH:
        style.set_block_style()
    for part in inner:
        if isinstance(part, (dict, list)):
            _opened_up(part, depth + 2)


def _long(value: Any) -> int:
    """About how many characters a value takes on one line."""
    if isinstance(value, dict):
        return sum(len(str(key)) + _long(part) + 4 for key, part in value.items()) + 2
    if isinstance(value, list):
        return sum(_long(part) + 2 for part in value) + 2
    quotes = 2 * (isinstance(value, str) and type(value) is not str)
    return len(str(value)) + quotes


def layout(text: str, change: Callable[[Any], None] | None = None) -> str:
    """A file's text in the layout, changed where that is asked for. Raises ValueError."""
    from ruamel.yaml.error import YAMLError

    made = _yaml()
    try:
        data = made.load(text)
        if isinstance(data, (dict, list)):
            _unescaped(data)
            _opened_up(data, len("limits: "))
        if change:
            change(data)
        out = io.StringIO()
        made.indent(mapping=2, sequence=2 if isinstance(data, list) else 4,
                    offset=0 if isinstance(data, list) else 2)  # fmt: skip
        made.dump(data, out)
    except YAMLError as error:
        raise ValueError(str(error).splitlines()[0]) from None
    return _aligned("\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n")


def _aligned(text: str) -> str:
    """A text with the lines on which a bracket or a quote goes on set in by the same everywhere."""
    import yaml

    lines = text.split("\n")
    waiting: list[Any] = [yaml.compose(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))]
    while waiting:
        node = waiting.pop()
        first, last = node.start_mark.line, node.end_mark.line
        if node.id != "scalar" and not node.flow_style:
            waiting += [
                n for part in node.value for n in (part if node.id == "mapping" else [part])
            ]
        elif first < last and getattr(node, "style", None) not in ("|", ">"):
            start = lines[first]
            indent = len(start) - len(start.lstrip(" -")) + 2
            for number in range(first + 1, last + bool(node.end_mark.column)):
                lines[number] = " " * indent + lines[number].lstrip()
    return "\n".join(lines)


def tidied(root: Path, path: Path) -> Tidied:
    """A file as it would be. Raises OSError."""
    text = path.read_bytes().decode("utf-8", "replace")
    plain = text
    for odd, instead in PLAIN.items():
        plain = plain.replace(odd, instead)
    try:
        fresh = layout(plain)
        again = fresh if fresh == plain else layout(fresh)
    except ValueError as error:
        return Tidied(path, text, text, f"it cannot be read: {error}")
    if again != fresh or (fresh != plain and _said(root, plain) != _said(root, fresh)):
        return Tidied(path, text, text, "in this layout it would read otherwise")
    return Tidied(path, text, fresh)


def _said(root: Path, text: str) -> Any:
    """What a text says to the program; None where it cannot be read."""
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "text.yaml"
        file.write_text(text, encoding="utf-8")
        found = Reader(Path(place)).document(file)
        return found.data if found else None


def write(files: Iterable[Tidied]) -> Iterator[Path]:
    """Write the untidy ones; gives their paths. Raises OSError."""
    for one in files:
        if one.untidy:
            write_whole(one.path, one.fresh.encode())
            yield one.path
