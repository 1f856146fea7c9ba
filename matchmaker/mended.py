"""The safe mends of a folder: what is written, what is left, and where it goes."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.effects import Effect, Effects, Stopwatch, effect_of, measure, plan_of
from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.mending import Bench, Left, Written, safe_mends, workbench
from matchmaker.tables.disk import write_durably

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.checking import Check
    from matchmaker.errors import Fault
    from matchmaker.reach import Reaches

MARK: Final = "made-by-check-fix.json"
"""In a mended copy: the files it was made with, so that only such a copy is ever replaced."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """The safe mends, written out but not put anywhere yet.

    ``texts`` are the files they change and ``contents`` all files as a copy has them without;
    ``books`` are the workbooks whose sheet is a CSV table there, by table. ``after`` is what is
    found once the mends are written, and ``effect`` what they do to the plan (``None``: not known
    in time).
    """

    before: Check
    after: Check
    applied: tuple[Fault, ...]
    written: tuple[Written, ...]
    left: tuple[Left, ...]
    texts: Mapping[str, str]
    contents: dict[str, bytes]
    books: Mapping[str, str]
    effect: Effect | None

    @property
    def files(self) -> list[tuple[Path, str]]:
        """The files of the folder itself that the mends change, with what they shall hold."""
        folder = self.before.tables.folder
        return [(folder / name, text) for name, text in sorted(self.texts.items())]


def measure_mends(found: Check, reaches: Reaches, *, seconds: float) -> Effects:
    """Return what each mend that is told cell by cell would change in the plan, made again.

    Those that reach furthest come first; what is not measured in so many seconds is left out, and
    said to be.

    Raises
    ------
    UsageError
        If a file is not any more what was read.
    """
    with workbench(found) as bench:
        return measure(bench, found, [one.fault for one in reaches.found], seconds=seconds)


def mend_safely(found: Check, *, books: bool, seconds: float) -> Mended:
    """Return what the safe mends of a folder come to; nothing is written into it.

    With ``books`` a table in a workbook is written as CSV, as only a copy may have it.

    Raises
    ------
    UsageError
        If a file is not any more what was read.
    """
    watch = Stopwatch(seconds)
    with workbench(found, books=books) as bench:
        applied, left = safe_mends(bench, found)
        texts = bench.texts(applied)
        after = bench.check(texts)
        effect = effect_of(plan_of(found, watch), after, watch) if applied else None
        return Mended(
            before=found,
            after=after,
            applied=applied,
            written=bench.written(applied),
            left=left,
            texts=texts,
            contents=_contents(bench),
            books=bench.books,
            effect=effect,
        )


def copy_beside(folder: Path) -> Path:
    """Return where the mended copy of a folder goes.

    Examples
    --------
    >>> from pathlib import Path
    >>> copy_beside(Path("flocks/fen")).as_posix()
    'flocks/fen-mended'
    """
    named = folder if folder.name else folder.resolve()
    return named.with_name(f"{named.name}-mended")


def refuse_copy(target: Path, *, force: bool) -> None:
    """Refuse a place for the copy that is taken; with ``force`` only what is not such a copy.

    Raises
    ------
    WouldOverwriteError
        If something would be lost.
    """
    if not target.exists() and not target.is_symlink():
        return
    if not force:
        raise WouldOverwriteError(
            f"{target} exists already: look at it, move it away, or make it anew with --force"
        )
    if not _untouched(target):
        raise WouldOverwriteError(
            f"{target} is not as check --fix made it, so it is not replaced: move it away, or "
            "delete it if nothing in it is needed"
        )


def write_copy(mended: Mended, target: Path, *, force: bool) -> None:
    """Write the mended tables to a folder of their own, whole or not at all.

    Raises
    ------
    WouldOverwriteError
        If something would be lost.
    UsageError
        If it cannot be written.
    """
    refuse_copy(target, force=force)
    aside, old = (
        target.with_name(f".{target.name}.{os.getpid()}.{what}") for what in ("tmp", "old")
    )
    files = mended.contents | {name: text.encode() for name, text in mended.texts.items()}
    digests = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    files[MARK] = (json.dumps({"files": digests}, indent=2) + "\n").encode()
    try:
        aside.mkdir()
        for name, content in files.items():
            write_durably(aside / name, content)
        if target.exists():
            target.rename(old)
        aside.rename(target)
    except OSError as error:
        if old.exists() and not target.exists():
            with suppress(OSError):
                old.rename(target)
        raise UsageError(f"{target} cannot be written: {error.strerror or error}") from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    shutil.rmtree(old, ignore_errors=True)


def _contents(bench: Bench) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(bench.tables.folder.iterdir())}


def _untouched(target: Path) -> bool:
    """Whether a folder holds just what ``write_copy`` put there."""
    try:
        told = json.loads((target / MARK).read_text(encoding="utf-8"))["files"]
        names = {path.name for path in target.iterdir()} - {MARK}
        return names == set(told) and all(
            hashlib.sha256((target / name).read_bytes()).hexdigest() == digest
            for name, digest in told.items()
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return False
