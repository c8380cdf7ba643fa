"""The house as it stands: which room uses which, without a circle, and as DEVELOPERS.md says.

A *room* is a package or a module directly inside ``annotator``. An import counts wherever it stands, at the top of a module or inside a
function; what is imported for the type checker alone does not.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
MODULES = {
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in (ROOT / "annotator").rglob("*.py")
}
DOORS = {"annotator", "annotator.__main__"}
LONGEST_MODULE, LONGEST_FUNCTION = 400, 60


class Imports(ast.NodeVisitor):
    """Collects what a module imports, the type checker's imports left out."""

    def __init__(self) -> None:
        self.found: set[str] = set()

    def visit_If(self, node: ast.If) -> None:
        if not (isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"):
            self.generic_visit(node)

    def visit_Import(self, node: ast.Import) -> None:
        self.found |= {alias.name for alias in node.names}

    def visit_ImportFrom(self, node: ast.ImportFrom) -> None:
        for alias in node.names:
            whole = f"{node.module}.{alias.name}"
            self.found.add(whole if whole in MODULES else str(node.module))


def imports(path: Path) -> set[str]:
    visitor = Imports()
    visitor.visit(ast.parse(path.read_text(encoding="utf-8")))
    return visitor.found


GRAPH = {name: imports(path) for name, path in MODULES.items()}


def room(module: str) -> str:
    return module.split(".")[1] if "." in module else module


def arrows() -> dict[str, set[str]]:
    """Return the rooms each room uses, the doors left out."""
    found: dict[str, set[str]] = {room(name): set() for name in MODULES if name not in DOORS}
    for name, used in GRAPH.items():
        if name not in DOORS:
            found[room(name)] |= {room(each) for each in used if each in MODULES and each not in DOORS} - {room(name)}
    return found


def test_no_circle_among_rooms_nor_among_modules() -> None:
    TopologicalSorter(arrows()).prepare()
    TopologicalSorter({name: {each for each in used if each in MODULES} - {name} for name, used in GRAPH.items()}).prepare()


def test_the_arrows_are_those_of_the_guide() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    told = {name: set(re.findall(r"[a-z]\w+", used)) for name, used in re.findall(r"^\| `(\w+)` → \| ([\w, –]*) \|$", text, re.M)}
    assert told == arrows()


def test_only_the_commands_know_the_command_line() -> None:
    users = {room(name) for name, used in GRAPH.items() if any(each.split(".")[0] == "typer" for each in used)}
    assert users == {"shell"}
    assert {room(name) for name, used in GRAPH.items() if any(room(each) == "shell" for each in used)} == {"shell", "__main__"}


def test_music21_is_used_for_other_formats_alone() -> None:
    assert {room(name) for name, used in GRAPH.items() if any(each.split(".")[0] == "music21" for each in used)} == {"formats"}


def functions(path: Path) -> Iterator[tuple[str, int]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            yield f"{path.name}:{node.name}", (node.end_lineno or 0) - node.lineno + 1


def test_no_room_is_too_large_and_no_function_needs_scrolling() -> None:
    assert [name for name, path in MODULES.items() if len(path.read_text(encoding="utf-8").splitlines()) > LONGEST_MODULE] == []
    assert [name for path in MODULES.values() for name, lines in functions(path) if lines > LONGEST_FUNCTION] == []
