"""The floors of the house: a file imports only from floors below its own; siblings never import each other."""

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "trysquare"
#: Lowest first; rooms on one floor are siblings.
FLOORS = (
    {"core"},
    {"chance", "geometry"},
    {"surroundings", "instruments", "networks", "tolerances"},
    {"jobs"},
    {"choose"},
    {"report"},
    {"demo"},
    {"cli"},
)
LEVEL = {room: level for level, rooms in enumerate(FLOORS) for room in rooms}


def _imports(path: Path) -> set[str]:
    """Rooms of the house that a file imports, from anywhere in it."""
    here = path.relative_to(SOURCE.parent).with_suffix("").parts
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom):
            base = here[: len(here) - node.level] if node.level else ()
            found.add((*base, *(node.module or "").split(".")) if node.module else base)
            if node.level and not node.module:
                found |= {(*base, alias.name) for alias in node.names}
        elif isinstance(node, ast.Import):
            found |= {tuple(alias.name.split(".")) for alias in node.names}
    return {parts[1] for parts in found if parts[:1] == ("trysquare",) and len(parts) > 1 and parts[1] in LEVEL}


def broken(files: dict[str, set[str]]) -> list[str]:
    """Imports against the floors, as sentences; `files` maps a path below the package to the rooms it imports."""
    out = []
    for name, rooms in sorted(files.items()):
        own = name.split("/")[0]
        if own not in LEVEL:
            continue
        out += [f"{name} imports {room}" for room in sorted(rooms - {own}) if LEVEL[room] >= LEVEL[own]]
    return out


def test_every_file_keeps_its_floor():
    files = {p.relative_to(SOURCE).as_posix(): _imports(p) for p in SOURCE.rglob("*.py")}
    assert len(files) > 40
    assert broken(files) == []


@pytest.mark.parametrize("bad", [{"core/x.py": {"chance"}}, {"geometry/x.py": {"chance"}}, {"jobs/x.py": {"cli"}}])
def test_the_check_can_fail(bad):
    """Negative twin: upward and sideways imports are found."""
    assert len(broken(bad)) == 1


def test_every_room_stands_on_a_floor():
    rooms = {p.name for p in SOURCE.iterdir() if p.is_dir() and any(p.glob("*.py"))}
    assert rooms == set(LEVEL)


def test_no_file_is_a_god_file():
    long = {p.name: n for p in SOURCE.rglob("*.py") if (n := len(p.read_text().splitlines())) > 300}
    assert long == {}
