"""The rules of the house: imports run one way, codes are documented, the top level is closed."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
BUILDER = ROOT / "builder"

# A room may import rooms of a lower floor, and files of its own. Rooms on one floor don't know
# each other.
FLOORS = (
    {"place"},
    {"faults", "names", "terminal", "progress"},
    {"model", "settings", "own_file"},
    {"pgn"},
    {"source", "draw"},
    {"counting", "openings"},
    {"book"},
    {"proof"},
    {"proved"},
    {"editions"},
    {"render"},
    {"press", "write"},
    {"outputs"},
    {"pipeline"},
    {"errands"},
    {"intake", "preview", "starter"},
    {"speech"},
    {"commands"},
    {"commands"},
    {"__main__"},
)
FLOOR_OF = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}
SOURCES = sorted(
    path for path in BUILDER.rglob("*.py") if path.relative_to(BUILDER).parts != ("__init__.py",)
)


def room_of(path: Path) -> str:
    first = path.relative_to(BUILDER).parts[0]
    return first.removesuffix(".py")


def imported_rooms(path: Path) -> set[str]:
    """The rooms of builder/ that a file imports, also inside functions."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            names = [node.module]
            if node.module == "builder":
                names = [f"builder.{alias.name}" for alias in node.names]
        found |= {name.split(".")[1] for name in names if name.startswith("builder.")}
    return found - {"__version__"}


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(BUILDER)))
def test_imports_run_one_way(path):
    room = room_of(path)
    assert room in FLOOR_OF, f"{room} has no floor: add it to FLOORS"
    for other in imported_rooms(path) - {room}:
        assert FLOOR_OF[other] < FLOOR_OF[room], f"{room} imports {other}"


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(BUILDER)))
def test_no_state_in_modules(path):
    """No `global`, and no list, dict or set made at the top that something could fill."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.Global)]
    for node in tree.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            empty = isinstance(node.value, ast.List | ast.Dict | ast.Set) and not (
                getattr(node.value, "elts", None) or getattr(node.value, "keys", None)
            )
            assert not empty, f"line {node.lineno}"


def fault_codes() -> set[str]:
    """Every code that builder/ tells, from its calls of `error`, `warning` and `notice`."""
    found = set()
    for path in SOURCES:
        text = path.read_text(encoding="utf-8")
        found |= set(re.findall(r'\.(?:error|warning|notice|_error)\(\s*"([a-z][a-z-]+)"', text))
        found |= set(re.findall(r'Explanation\(\s*"([a-z-]+)"', text))
    return found


def test_codes_are_in_the_guide():
    guide = "".join(path.read_text(encoding="utf-8") for path in (BUILDER / "guide").glob("*.md"))
    listed = set(re.findall(r"^\| `([a-z-]+)` \|", guide, re.M))
    assert fault_codes() - listed == set()


def test_top_level_is_closed():
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "builder", "content",
               "themes", "tests", "demo", "site"}  # fmt: skip
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= allowed
