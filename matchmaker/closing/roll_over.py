"""From the folder of the season that ends to the folder of the next one; the old one stays."""

from __future__ import annotations

import datetime as dt
import os
import shutil
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from matchmaker.closing.change import Change, NextSeason, Step
from matchmaker.closing.settings_text import next_settings
from matchmaker.closing.tables_text import (
    Closing,
    bird_changes,
    pen_changes,
    stay_changes,
    wish_changes,
)
from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.rebalance.eggs import HATCH_DAYS, SET_WITHIN
from matchmaker.tables.amend import amended
from matchmaker.tables.disk import reason, sync_folders, sync_within, write_durably
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.history import OWN_MARK

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.tables.read_verdicts import Verdict

LAST_EGGS: Final = dt.timedelta(days=SET_WITHIN + HATCH_DAYS)
"""From the last day of collecting to the last hatch: set within a week, hatched in three."""

TABLES: Final = {
    "birds": bird_changes,
    "moves": stay_changes,
    "wishes": wish_changes,
    "pens": pen_changes,
}
"""Which rule changes which table."""


def next_season(
    flock: Flock, *, day: dt.date, into: Path | None = None, verdicts: Mapping[str, Verdict]
) -> NextSeason:
    """Return the folder of the next season as it would be written; nothing is written.

    Raises
    ------
    UsageError
        If the season is not over on that day, or a file that must change cannot be.
    WouldOverwriteError
        If the folder for the next season holds anything already.
    """
    settings, tables = flock.settings, flock.tables
    _refuse_too_early(flock, day)
    target = into or beside(tables.folder, settings.season)
    _refuse_target(target, tables.folder)
    text, changes = next_settings(_text_of(tables.folder / SETTINGS_FILE))
    texts = {SETTINGS_FILE: text}
    closing = Closing(flock=flock, day=day, verdicts=verdicts)
    for table, rule in TABLES.items():
        found, amendment = rule(closing)
        changes += found
        if not amendment.empty:
            path, text = amended(tables.folder, table, amendment, tables)
            texts[path.name] = text
    renamed = _plan_kept(flock)
    kept = tuple(
        Change(step=Step.PLAN_KEPT, file=old, row=None, subject=old, old=old, new=new)
        for old, new in renamed.items()
    )
    return NextSeason(
        folder=tables.folder,
        into=target,
        season=settings.season + 1,
        closed_on=day,
        changes=changes + kept,
        texts=texts,
        renamed=renamed,
    )


def _refuse_target(target: Path, folder: Path) -> None:
    """Refuse a folder for the next season that is filled, or lies in that of this one."""
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise WouldOverwriteError(
            f"{target} exists already and is not empty: name another folder with --into"
        )
    if target.resolve().is_relative_to(folder.resolve()):
        raise UsageError(
            f"{target} lies inside {folder}, and that folder stays as it is: name one beside it "
            "with --into"
        )


def beside(folder: Path, season: int) -> Path:
    """Return the folder for the next season: beside the old one, named after the year.

    Examples
    --------
    >>> beside(Path("flocks/fen-2027"), 2027).as_posix(), beside(Path("fen"), 2027).as_posix()
    ('flocks/fen-2028', 'fen-2028')
    """
    named = folder if folder.name else folder.resolve()
    name = named.name
    if str(season) in name:
        return named.with_name(name.replace(str(season), str(season + 1)))
    return named.with_name(f"{name}-{season + 1}")


@contextmanager
def written_aside(season: NextSeason) -> Iterator[Path]:
    """Write the next season's folder under a passing name, and take it away at the end.

    Raises
    ------
    UsageError
        If it cannot be written.
    """
    aside = season.into.resolve().with_name(f".{season.into.name}.{os.getpid()}.tmp")
    made = [one for one in aside.parents if not one.exists()]
    _clear_left(aside)
    try:
        shutil.copytree(season.folder, aside, ignore=lambda _, names: _passing(names))
        for old, new in season.renamed.items():
            (aside / old).rename(aside / new)
        for name, text in season.texts.items():
            fresh = aside / f"{OWN_MARK}-{name}"
            write_durably(fresh, text.encode(), like=aside / name)
            fresh.replace(aside / name)
    except (OSError, shutil.Error) as error:
        _take_away(aside, made)
        raise UsageError(f"{season.into} cannot be written: {error}") from error
    try:
        yield aside
    finally:
        _take_away(aside, made)


def _clear_left(aside: Path) -> None:
    """Delete what programs that were stopped while they closed this season left lying about."""
    if os.name == "nt" or not aside.parent.is_dir():
        return  # whether a program still runs cannot be asked there without harm
    named = aside.name.removesuffix(f"{os.getpid()}.tmp")
    for one in aside.parent.iterdir():
        process = one.name.removeprefix(named).removesuffix(".tmp")
        own = one.name == f"{named}{process}.tmp" and process.isdecimal()
        if own and not _runs(int(process)):
            shutil.rmtree(one, ignore_errors=True)


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)  # asks only
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        pass
    return True


def _take_away(aside: Path, made: list[Path]) -> None:
    """Remove what was written aside, and the folders made for it that hold nothing."""
    shutil.rmtree(aside, ignore_errors=True)
    with suppress(OSError):
        for one in made:
            one.rmdir()


def put_in_place(season: NextSeason, aside: Path) -> None:
    """Give the folder written aside its name, in one step.

    Raises
    ------
    UsageError
        If that cannot be done; the folder of the season that ends is untouched either way.
    """
    try:
        sync_within(aside)
        with suppress(FileNotFoundError):
            season.into.rmdir()  # only an empty one
        aside.rename(season.into.resolve())
        sync_folders([season.into.resolve()])
    except OSError as error:
        raise UsageError(f"{season.into} cannot be written: {reason(error)}") from error


def _refuse_too_early(flock: Flock, day: dt.date) -> None:
    settings = flock.settings
    over = settings.collect_until + LAST_EGGS
    if day < over:
        raise UsageError(
            f"the season {settings.season} is not over on {day}: eggs are kept until "
            f"{settings.collect_until}, and the last of them hatch by {over}; close it later, or "
            "give the day with --on"
        )


def _text_of(path: Path) -> str:
    return path.read_bytes().decode("utf-8-sig")


def _plan_kept(flock: Flock) -> Mapping[str, str]:
    """Return the new name of the plan's file: what stood last season is no standing plan now."""
    old = flock.tables.files.get("plan")
    if old is None:
        return {}
    path = Path(old)
    name, at = f"{path.stem}-{flock.settings.season}", 1
    while (flock.tables.folder / f"{name}{path.suffix}").exists():
        at += 1
        name = f"{path.stem}-{flock.settings.season}-{at}"
    return {old: f"{name}{path.suffix}"}


def _passing(names: list[str]) -> set[str]:
    """Marks of files another program has open, and what is kept for taking writes back.

    Copies of files that were replaced stay in the folder of the season that ends, and so does the
    history of its writes.
    """
    passing = ("~$", ".~lock.", OWN_MARK)
    return {name for name in names if name.startswith(passing) or name.endswith(".bak")}
