"""What each module is for, room by room: ``python -m tests.rooms [ROOM]``, from its first line."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "matchmaker"


def first_line(path: Path) -> str:
    """The first line of a module's docstring."""
    said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return said.partition("\n")[0]


def main() -> None:
    """List the modules of a room, or of all of them."""
    room = PACKAGE / (sys.argv[1] if len(sys.argv) > 1 else "")
    for path in sorted(room.rglob("*.py")):
        name = path.relative_to(PACKAGE).with_suffix("")
        if name.name != "__init__":
            sys.stdout.write(f"{name!s:42} {first_line(path)}\n")


if __name__ == "__main__":
    main()
