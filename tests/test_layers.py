"""Which package may import which: only those below it, and nothing in a circle."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import diagnose
from diagnose.kb.store import MAKERS

PACKAGE = Path(diagnose.__file__).parent
FROM_THE_GROUND_UP = (
    "errors", "inputs", "seasons", "kb", "reasoning", "reading", "listening", "consultation",
    "cases", "journal", "checking", "ready", "settings", "shelf", "kept", "teaching", "drawings",
    "rounds", "pages",
    "documents", "terminal", "bench", "tuning", "commands",
)  # fmt: skip
ONLY_IN = {  # a library, and the one place that imports it
    "durable": {"reasoning/durable.py"},
    "clips": {"reasoning/clips.py"},
    "prompt_toolkit": {"terminal/askers.py", "terminal/slides.py"},
    "sqlite3": {"rounds/store.py"},
    "icalendar": {"rounds/calendar.py"},
    "rich": {"terminal/screen.py", "terminal/table.py"},
}


def modules() -> Iterator[tuple[str, ast.Module]]:
    for file in sorted(PACKAGE.rglob("*.py")):
        name = file.relative_to(PACKAGE).as_posix()
        if name not in ("__init__.py", "__main__.py"):
            yield name, ast.parse(file.read_text(encoding="utf-8"))


def for_types_only(tree: ast.Module) -> set[ast.AST]:
    """What stands under `if TYPE_CHECKING:`."""
    guarded = (
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
    )
    return {inner for node in guarded for inner in ast.walk(node)}


def imported(tree: ast.Module) -> Iterator[str]:
    """The modules that are imported, at the top or in a function; those for types alone are not."""
    aside = for_types_only(tree)
    for node in ast.walk(tree):
        if node in aside:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def layer(module: str) -> str:
    return module.split("/")[0].removesuffix(".py")


def test_packages_import_only_what_lies_below() -> None:
    height = {name: number for number, name in enumerate(FROM_THE_GROUND_UP)}
    wrong = [
        f"{name} imports {found}"
        for name, tree in modules()
        for found in imported(tree)
        if found.startswith("diagnose.")
        and (low := found.split(".")[1]) in height
        and height[low] > height[layer(name)]
    ]
    assert wrong == []


def test_every_package_has_its_place() -> None:
    assert {layer(name) for name, _ in modules()} == set(FROM_THE_GROUND_UP)


def test_no_modules_stand_in_a_circle() -> None:
    names = {name.removesuffix(".py").removesuffix("/__init__").replace("/", "."): (name, tree)
             for name, tree in modules()}  # fmt: skip
    graph = {
        name: {
            found.removeprefix("diagnose.")
            for found in imported(tree)
            if found.removeprefix("diagnose.") in names and found.removeprefix("diagnose.") != name
        }
        for name, (_, tree) in names.items()
    }
    TopologicalSorter(graph).prepare()  # raises where there is a circle


def test_a_library_is_known_in_one_place() -> None:
    wrong = [
        f"{name} imports {found}"
        for name, tree in modules()
        for found in imported(tree)
        if name not in ONLY_IN.get(found.split(".")[0], {name})
    ]
    assert wrong == []


def test_a_ready_made_copy_depends_on_all_that_makes_it() -> None:
    below = FROM_THE_GROUND_UP[: FROM_THE_GROUND_UP.index("ready")]
    makers = {name.removesuffix(".py") for name in MAKERS}
    assert makers == set(below) - {"errors", "journal"}  # which make nothing that is kept
