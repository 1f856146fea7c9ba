"""Edits of a keeper's files, made to the files themselves from what a document says to write."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from tests.cli.run import read_rows, write_rows

if TYPE_CHECKING:
    from pathlib import Path


def follow(folder: Path, edit: dict[str, Any]) -> None:
    """Do what one edit says."""
    _FOLLOW[edit["act"]](folder, edit)


def _write(folder: Path, edit: dict[str, Any]) -> None:
    *section, key = edit["key"]
    heading = f"[{'.'.join(section)}]"
    _settings(folder, heading, key, f"{key} = {json.dumps(edit['to'])}")


def _remove(folder: Path, edit: dict[str, Any]) -> None:
    *section, key = edit["key"]
    _settings(folder, f"[{'.'.join(section)}]", key, "")


def _settings(folder: Path, heading: str, key: str, line: str) -> None:
    """Put a line in place of a key's line, or under its section where there is none."""
    path = folder / "matchmaker.toml"
    lines = path.read_text(encoding="utf-8").splitlines()
    if heading not in lines:
        lines += ["", heading]
    start = lines.index(heading) + 1
    end = next((at for at in range(start, len(lines)) if lines[at].startswith("[")), len(lines))
    held = [at for at in range(start, end) if lines[at].split("=")[0].strip() == key]
    if held:
        lines[held[0]] = line
    else:
        lines.insert(start, line)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _cell(folder: Path, edit: dict[str, Any]) -> None:
    rows = read_rows(folder / edit["file"])
    rows[edit["row"] - 2][edit["column"]] = str(edit["to"])
    write_rows(folder / edit["file"], rows)


def _delete(folder: Path, edit: dict[str, Any]) -> None:
    rows = read_rows(folder / edit["file"])
    del rows[edit["row"] - 2]
    write_rows(folder / edit["file"], rows)


def _add(folder: Path, edit: dict[str, Any]) -> None:
    rows = read_rows(folder / edit["file"])
    write_rows(folder / edit["file"], [*rows, dict.fromkeys(rows[0], "") | edit["to"]])


def _open_row(folder: Path, edit: dict[str, Any]) -> None:
    path = folder / "matchmaker.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n" + edit["to"], encoding="utf-8")


_FOLLOW = {
    "write": _write,
    "remove": _remove,
    "cell": _cell,
    "delete": _delete,
    "add": _add,
    "open-row": _open_row,
}
