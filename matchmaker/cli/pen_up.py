"""What a plan that is kept writes into the flock folder, and what is said about it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.cli.streams import note
from matchmaker.cli.writing import write_down
from matchmaker.errors import UsageError
from matchmaker.report.days import whole_day
from matchmaker.report.sheets import plan_records
from matchmaker.report.stays import pen_up_amendment, pen_up_moves
from matchmaker.report.wording import listed
from matchmaker.tables.amend import amended, text_file
from matchmaker.tables.asked import day_asked
from matchmaker.tables.configuration import read_configuration
from matchmaker.tables.disk import content_of
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.render import table_rows
from matchmaker.tables.write import csv_text

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.report.stays import PenUp
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The files of a plan that is to be kept, each with its whole text, and words about them."""

    files: tuple[tuple[Path, str], ...]
    words: tuple[str, ...] = ()

    def write(self, tables: FolderTables, told: str) -> None:
        """Write what is not written yet, all of it or nothing, and say so."""
        new = [(path, text) for path, text in self.files if not _holds(path, text)]
        for path, _ in self.files:
            if path not in dict(new):
                note(f"{path} says so already.")
        write_down(new, tables, told)
        for sentence in self.words:
            note(sentence)


def pairs_for(folder: Path, pen_up: str | None) -> PairTable:
    """The folder's pairs, judged for pens made up on the day that is given, if one is.

    Raises
    ------
    UsageError
        If it is no day for it, or if what the pens say could not be written.
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    settings = None if pen_up is None else _settings(folder)
    if pen_up is None or settings is None:
        return verbs.pairs(folder)
    table = verbs.pairs(folder, pen_up=day_asked(pen_up, settings, "make up the pens"))
    for name in ("plan", "moves"):  # refused before any work is done
        text_file(name, table.study.flock.tables)
    return table


def plan_kept(folder: Path, plan: SeasonPlan) -> Kept:
    """The plan as ``plan.csv``.

    Raises
    ------
    UsageError
        If the standing plan is in a workbook.
    """
    path = folder / text_file("plan", plan.table.study.flock.tables)
    header, rows = table_rows("plan", plan_records(plan))
    return Kept(files=((path, csv_text(header, rows)),))


def pens_made_up(folder: Path, plan: SeasonPlan) -> Kept:
    """The plan as ``plan.csv``, and the stays it means in ``moves.csv``.

    Raises
    ------
    UsageError
        If one of the two cannot be written.
    """
    found = pen_up_moves(plan)
    change = pen_up_amendment(plan, found)
    moves = amended(folder, "moves", change, plan.table.study.flock.tables)
    return Kept(
        files=(*plan_kept(folder, plan).files, moves),
        words=(*_leaving(plan, found), *_other_day(folder, plan)),
    )


def _settings(folder: Path) -> Settings | None:
    """The settings as the file says them; ``None`` where that is for ``verbs.pairs`` to tell."""
    try:
        content = content_of(folder / SETTINGS_FILE)
    except UsageError:
        return None
    return None if content is None else read_configuration(content).settings


def _holds(path: Path, text: str) -> bool:
    with suppress(OSError):  # what cannot be read is for the writing to tell
        return path.read_bytes() == text.encode()
    return False


def _leaving(plan: SeasonPlan, found: PenUp) -> list[str]:
    if not found.leaving:
        return []
    day = plan.table.study.flock.settings.pen_up
    birds = listed(f"{bird} (from {pen})" for bird, pen in found.leaving)
    have = "have" if len(found.leaving) > 1 else "has"
    return [f"Not in the plan, {birds} {have} to leave on {whole_day(day)}."]


def _other_day(folder: Path, plan: SeasonPlan) -> list[str]:
    """What to write where the settings say another day, as the other commands go by them."""
    settings, day = _settings(folder), plan.table.study.flock.settings.pen_up
    if settings is None or settings.pen_up == day:
        return []
    says = "says" if settings.year.pen_up else "does not say when, which means"
    told = f"{SETTINGS_FILE} {says} {whole_day(settings.pen_up)}"
    write = f"For them to count from {whole_day(day)}, write there, under [year]:"
    return [f"{told}, and the other commands count from that day. {write}", f"pen_up = {day}"]
