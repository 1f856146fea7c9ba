"""The check command's work: find, weigh, mend what is safe, and show all of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import typer

from matchmaker import verbs
from matchmaker.checking import Depth
from matchmaker.cli.options import refuse_beside, refuse_without
from matchmaker.cli.streams import note
from matchmaker.cli.writing import write_down
from matchmaker.errors import ExitCode
from matchmaker.mends.effects import Effects
from matchmaker.mends.mended import (
    copy_beside,
    measure_mends,
    mend_safely,
    write_copy,
)
from matchmaker.mends.reach import reach_of
from matchmaker.report.check_document import check_document
from matchmaker.report.findings import Shown
from matchmaker.report.mended import print_mended
from matchmaker.report.sheets import findings_sheet
from matchmaker.report.terminal import print_check
from matchmaker.tables.flock_folder import as_typed

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.checking import Check
    from matchmaker.cli.output import Output
    from matchmaker.mends.mended import Mended

SECONDS: Final = 60.0
"""How long plans are made again unless told otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked beside the findings themselves."""

    everything: bool = False
    weigh: bool = False
    fix: bool = False
    write: bool = False
    time_limit: float | None = None

    @property
    def seconds(self) -> float:
        """How long plans may be made again."""
        return SECONDS if self.time_limit is None else self.time_limit


def run_check(folder: Path, asked: Asked, output: Output) -> None:
    """Find, show and, if that is asked, mend; faults that are left are an exit code.

    Raises
    ------
    UsageError
        If options do not go together, or something cannot be read or written.
    WouldOverwriteError
        If a copy or a file exists that is not to be replaced.
    """
    if not asked.fix:
        refuse_without("--fix", {"--write": asked.write})
    if not (asked.fix or asked.weigh):
        refuse_without("--weigh or --fix", {"--time-limit": asked.time_limit is not None})
    if asked.fix:
        refuse_beside("--fix", {"--weigh": asked.weigh, "--csv": output.csv is not None})
        left = _mend(folder, asked, output)
    else:
        left = _look(folder, asked, output)
    if left.faults:
        raise typer.Exit(ExitCode.FAULTS)


def _look(folder: Path, asked: Asked, output: Output) -> Check:
    found = verbs.check(folder, Depth.QUICK)
    reaches = reach_of(found)
    effects = measure_mends(found, reaches, seconds=asked.seconds) if asked.weigh else Effects()
    shown = Shown(reaches=reaches, effects=effects, everything=asked.everything)
    output.show(
        lambda console: print_check(console, found, shown),
        lambda: check_document(found, shown),
        lambda: findings_sheet(reaches.found, effects),
    )
    if not found.faults:
        note(f"Next: matchmaker plan --in {as_typed(folder)}")
    return found


def _mend(folder: Path, asked: Asked, output: Output) -> Check:
    target = folder if asked.write else copy_beside(folder)
    mended = mend_safely(
        verbs.check(folder, Depth.QUICK), books=not asked.write, seconds=asked.seconds
    )
    if mended.written:
        _write(mended, target, asked, force=output.force)
        for name in _newly_encoded(mended):
            note(f"{name} is written as UTF-8 now: look at names with accents.")
    reaches = reach_of(mended.after)
    shown = Shown(reaches=reaches, everything=asked.everything)
    place = target if mended.written else None
    output.show(
        lambda console: print_mended(console, mended, reaches, everything=asked.everything),
        lambda: check_document(mended.after, shown, (mended, place)),
    )
    if mended.written:
        note(f"Next: matchmaker check --in {as_typed(target)}")
    return mended.after


def _newly_encoded(mended: Mended) -> list[str]:
    """Files whose letters were in an old encoding, which are written in a new one."""
    old = {one.file for one in mended.before.doubts if one.kind == "old-encoding"}
    return sorted(old & set(mended.texts))


def _write(mended: Mended, target: Path, asked: Asked, *, force: bool) -> None:
    if not asked.write:
        write_copy(mended, target, force=force)
        note(f"Wrote {target}; {mended.before.tables.folder} is as it was.")
        return
    tables = mended.before.tables
    write_down(mended.files, tables, "check --fix --write")
