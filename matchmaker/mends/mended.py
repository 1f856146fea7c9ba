"""The safe mends of a folder: what is written, what is left, and where it goes."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.mends.bench import Bench, Left, Written, workbench
from matchmaker.mends.effects import Effect, Effects, Stopwatch, effect_of, measure, plan_of
from matchmaker.mends.sound import safe_mends
from matchmaker.tables.disk import reason, write_durably

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from matchmaker.checking import Check
    from matchmaker.errors import Fault
    from matchmaker.mends.reach import Reaches

MARK: Final = "made-by-check-fix.json"
"""In a mended copy: the files it was made with, so that only such a copy is ever replaced."""


ROUNDS: Final = 6
"""Times that mends are looked for anew, as one may make another safe; two are common enough."""


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
    faults = [one.fault for one in reaches.found]
    with workbench(found, faults) as bench:
        return measure(bench, found, faults, seconds=seconds)


def mend_safely(found: Check, *, books: bool, seconds: float) -> Mended:
    """Return what the safe mends of a folder come to; nothing is written into it.

    With ``books`` a table in a workbook is written as CSV, as only a copy may have it.

    Raises
    ------
    UsageError
        If a file is not any more what was read.
    """
    watch = Stopwatch(seconds)
    safe = [one for one in (*found.faults, *found.doubts) if one.safe] if books else []
    with workbench(found, safe) as bench:
        contents = {path.name: path.read_bytes() for path in bench.tables.folder.iterdir()}
        rounds = _rounds(bench, found)
        after = rounds.after
        effect = effect_of(plan_of(found, watch), after, watch) if rounds.applied else None
        return Mended(
            before=found,
            after=after,
            applied=rounds.applied,
            written=in_one(rounds.written),
            left=rounds.left,
            texts=rounds.texts,
            contents=contents,
            books=bench.books if rounds.applied else {},
            effect=effect,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rounds:
    """What came of writing safe mends until there are none left; ``written`` round by round."""

    after: Check
    applied: tuple[Fault, ...] = ()
    written: tuple[tuple[Written, ...], ...] = ()
    left: tuple[Left, ...] = ()
    texts: dict[str, str] = field(default_factory=dict)


def _rounds(bench: Bench, found: Check) -> _Rounds:
    """Write the safe mends, then those that have become safe by it, and so on."""
    done = _Rounds(after=found)
    for _ in range(ROUNDS):
        applied, left = safe_mends(bench, done.after)
        if not applied:
            return replace(done, left=left)
        texts, written = bench.texts(applied), bench.written(applied)
        bench, after = bench.settled(texts)
        done = _Rounds(
            after=after,
            applied=(*done.applied, *applied),
            written=(*done.written, written),
            texts=done.texts | texts,
        )
    return replace(done, left=safe_mends(bench, done.after)[1])


def in_one(rounds: Sequence[Sequence[Written]]) -> tuple[Written, ...]:
    """Put rounds of changes together, with rows as they stood before the first.

    Examples
    --------
    A row is taken out, which moves those below it up; then the row that was the fifth is mended
    once more.

    >>> gone = Written(file="birds.csv", row=3, column="", was="H1, hen", becomes=None)
    >>> first = Written(file="birds.csv", row=5, column="line", was="alder", becomes="Aldr")
    >>> second = Written(file="birds.csv", row=4, column="line", was="Aldr", becomes="Alder")
    >>> [(one.row, one.was, one.becomes) for one in in_one([[gone, first], [second]])]
    [(3, 'H1, hen', None), (5, 'alder', 'Alder')]
    """
    found: dict[tuple[str, int, str], Written] = {}
    gone: dict[str, list[int]] = {}
    for changes in rounds:
        placed = [replace(one, row=_row_before(one.row, gone.get(one.file, ()))) for one in changes]
        for one in placed:
            at = (one.file, one.row, one.column)
            found[at] = replace(one, was=found[at].was) if at in found else one
            if one.becomes is None:
                gone.setdefault(one.file, []).append(one.row)
    kept = (
        one
        for one in found.values()
        if one.becomes is None or one.row not in gone.get(one.file, ())
    )
    return tuple(sorted(kept, key=lambda one: (one.file, one.row, one.column)))


def _row_before(row: int, gone: Iterable[int]) -> int:
    """The number that a row had before those above it were taken out."""
    for taken in sorted(gone):
        row += taken <= row
    return row


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
        raise UsageError(f"{target} cannot be written: {reason(error)}") from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    shutil.rmtree(old, ignore_errors=True)


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
