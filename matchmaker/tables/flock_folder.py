"""Whether a folder is a flock's at all: what is named by mistake is told so at once."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from matchmaker.errors import UsageError
from matchmaker.tables.disk import in_words
from matchmaker.tables.findings import listed
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.nearness import near
from matchmaker.tables.raw import BOOKS, TEXT_FILES, table_named

MARKS: Final = ("birds", "pens")
"""A folder with one of these tables, or with settings, is meant as a flock's."""

FOLDERS_LOOKED_INTO: Final = 200
"""More folders than these are not searched for flocks: it may be a whole disk."""

FLOCKS_TOLD: Final = 5


def refuse_other_folders(folder: Path) -> None:
    """Refuse what is no flock folder, and say where one may lie.

    A folder with settings but no tables, or the other way round, is a flock's with faults.

    Raises
    ------
    UsageError
        If it is not there, is a file, or holds neither settings nor a table of birds or pens.
    """
    if folder.is_file():
        raise UsageError(_a_file(folder))
    if not folder.is_dir():
        raise UsageError(_not_there(folder))
    with in_words(folder):
        if not is_flock(folder):
            raise UsageError(_no_flock(folder))


def is_flock(folder: Path) -> bool:
    """Whether a folder holds settings, or a table of birds or pens."""
    return (folder / SETTINGS_FILE).exists() or any(
        table_named(path.name) in MARKS for path in folder.iterdir()
    )


def _a_file(path: Path) -> str:
    if is_flock(path.parent):
        return f"{path} is a file: name the folder it lies in, --in {as_typed(path.parent)}"
    if path.suffix.lower() in TEXT_FILES | BOOKS:
        begin = f"matchmaker new my-flock --from {as_typed(path)}"
        return f"{path} is a file, not a flock's folder. To begin a flock with it: {begin}"
    return f"{path} is a file, not the folder of a flock"


def _not_there(folder: Path) -> str:
    meant = near(folder.name, [one.name for one in _flocks_in(folder.parent)])
    where = "" if folder.is_absolute() else f" (in {Path.cwd()})"
    if meant is not None:
        return f"there is no folder {folder}{where}. Did you mean {folder.parent / meant}?"
    return (
        f"there is no folder {folder}{where}. To begin a flock: matchmaker new {as_typed(folder)}"
    )


def _no_flock(folder: Path) -> str:
    where = folder.resolve()
    lacks = f"no flock is in {where}: neither {SETTINGS_FILE} nor a table of birds or pens"
    flocks = _flocks_in(folder)
    if flocks:
        names = listed([one.name for one in flocks], FLOCKS_TOLD)
        return f"{lacks}. It has flocks in it ({names}): name one, --in {as_typed(flocks[0])}"
    return (
        f"{lacks}. Name your flock's folder with --in FOLDER, or begin a flock: "
        "matchmaker new my-flock"
    )


def _flocks_in(folder: Path) -> list[Path]:
    """The flock folders directly in a folder, as far as anybody here may look."""
    try:
        inside = sorted(path for path in folder.iterdir() if path.is_dir())
    except OSError:
        return []
    return [path for path in inside[:FOLDERS_LOOKED_INTO] if _is_open_flock(path)]


def _is_open_flock(folder: Path) -> bool:
    try:
        return is_flock(folder)
    except OSError:
        return False


def as_typed(folder: Path) -> str:
    """Return a folder as it is typed on a command line.

    Examples
    --------
    >>> from pathlib import Path
    >>> as_typed(Path("fen")), as_typed(Path("my flock"))
    ('fen', '"my flock"')
    """
    return f'"{folder}"' if " " in str(folder) else str(folder)
