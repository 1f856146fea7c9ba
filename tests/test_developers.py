"""DEVELOPERS.md speaks of what there is: every room, and no module or path that is gone."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "matchmaker"
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| `([\w/]+)/`([^|]*)\| (.*) \|$", TEXT, re.MULTILINE)
"""Of the table of rooms: the room, what the row is of, and what it says."""

PATHS = {
    f"/{found}"
    for path in PACKAGE.rglob("*")
    for found in (path.relative_to(PACKAGE), path.relative_to(PACKAGE).with_suffix(""))
}
"""Every room and module, and every file with its ending too."""

ROOMS = sorted({name for name, _, _ in ROWS})


def named_in(room: str) -> set[str]:
    """What the rows of a room put into backticks: modules, and names out of them."""
    rows = [said for name, _, said in ROWS if room == name]
    return set(re.findall(r"`([\w/*.]+)`", " ".join(rows)))


def test_every_room_stands_in_the_table() -> None:
    top = {path.name for path in PACKAGE.iterdir() if (path / "__init__.py").exists()}
    assert top - {room.split("/")[0] for room in ROOMS} == set()


@pytest.mark.parametrize("room", ROOMS)
def test_what_the_table_names_is_there(room: str) -> None:
    assert (PACKAGE / room).is_dir()
    code = "\n".join(path.read_text("utf-8") for path in (PACKAGE / room).rglob("*.py"))
    unknown = [
        name
        for name in named_in(room)
        if not any(fnmatchcase(path, f"*/{name.rstrip('/')}") for path in PATHS)
        and not re.search(rf"\b{re.escape(name.rpartition('.')[2])}\b", code)
    ]
    assert unknown == []


def test_every_path_that_is_spoken_of_is_there() -> None:
    spoken = re.findall(r"`((?:tests|examples|matchmaker|\.ci)/[\w./-]+)`", TEXT)
    assert [path for path in spoken if not _found(path)] == []


def _found(path: str) -> bool:
    return (ROOT / path).exists() or (ROOT / f"{path}.py").exists()


def test_the_top_level_holds_nothing_else() -> None:
    held = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    made = {name for name in held if name.endswith(".egg-info") or name == "__pycache__"}
    assert held - made == {
        *("README.md", "DEVELOPERS.md", "pyproject.toml"),
        *("matchmaker", "tests", "examples"),
    }
