"""Several files written together: all of them or none, whatever fails, wherever it fails."""

from __future__ import annotations

import hashlib
import os
import shutil
from contextlib import suppress
from typing import TYPE_CHECKING, Final

import pytest

from matchmaker.cli import interrupt
from matchmaker.errors import UsageError
from matchmaker.tables.history import read_history
from matchmaker.tables.undo import take_back
from matchmaker.tables.unfinished import settle
from matchmaker.tables.write_together import write_together
from tests.failing_disk import Disk, Stopped, whole_files

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

FILES: Final = {"eggs.csv": "old eggs\n", "birds.csv": "old birds\n"}
OLDER: Final = {"eggs.csv.yesterday.bak": "older eggs\n"}
NEW: Final = {name: f"new {name}\n" for name in (*FILES, "seen.csv")}


@pytest.fixture(autouse=True)
def quick_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """No call here waits for a real disk; that each is made in its place is looked at."""
    monkeypatch.setattr(os, "fsync", lambda _: None)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two tables, one of them with a copy kept before; there is no third."""
    made = tmp_path / "fen"
    made.mkdir()
    for name, text in (FILES | OLDER).items():
        (made / name).write_text(text)
    return made


def inputs(folder: Path) -> dict[str, str]:
    tables = [folder / name for name in NEW if (folder / name).exists()]
    return {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in tables}


def write(folder: Path) -> None:
    known = {name: hashlib.sha256(text.encode()).hexdigest() for name, text in FILES.items()}
    files = [(folder / name, text) for name, text in NEW.items()]
    write_together(files, known, stamp="today", told="hatch")


def undo(folder: Path) -> None:
    take_back(folder, stamp="later")


def tables(folder: Path) -> dict[str, str]:
    return {name: (folder / name).read_text() for name in NEW if (folder / name).exists()}


def others(folder: Path) -> dict[str, str]:
    """The kept copies, and whatever should not be there."""
    found = whole_files(folder)
    return {name: text.decode() for name, text in found.items() if name not in NEW}


WRITTEN: Final = {f"{name}.today.bak": text for name, text in FILES.items()}
TAKEN: Final = {f"{name}.later.bak": text for name, text in NEW.items()}


def sound(folder: Path, work: Callable[[Path], None]) -> str:
    """Which of the two the folder is, once it is looked into: all old or all new; else it fails."""
    old, new, kept, more = (FILES, NEW, OLDER, WRITTEN)
    if work is undo:
        old, new, kept, more = (NEW, FILES, OLDER | WRITTEN, TAKEN)
    if tables(folder) == old:
        assert others(folder) == kept
        return "old"
    assert (tables(folder), others(folder)) == (new, kept | more)
    return "new"


@pytest.fixture(params=[write, undo])
def work(request: pytest.FixtureRequest, folder: Path) -> Callable[[Path], None]:
    """Something that changes the folder; for ``undo`` there is something to take back."""
    if request.param is undo:
        write(folder)
    done: Callable[[Path], None] = request.param
    return done


def calls_of(folder: Path, work: Callable[[Path], None], tmp_path: Path) -> list[str]:
    """The calls to the system that the work makes, done on a copy."""
    copy = shutil.copytree(folder, tmp_path / "copy")
    with pytest.MonkeyPatch.context() as patch:
        disk = Disk(None, Stopped())
        disk.put_under(patch.setattr)
        work(copy)
    return [call.replace("/copy", "/fen") for call in disk.calls]


def test_all_are_written_and_copies_kept(folder: Path) -> None:
    files = [(folder / name, text) for name, text in NEW.items()]
    done = write_together(files, inputs(folder), stamp="today")
    assert [(one.path.name, one.copy and one.copy.name) for one in done] == [
        ("eggs.csv", "eggs.csv.today.bak"),
        ("birds.csv", "birds.csv.today.bak"),
        ("seen.csv", None),
    ]
    assert sound(folder, write) == "new"


def test_everything_is_on_the_disk_before_the_first_file_changes(
    folder: Path, tmp_path: Path
) -> None:
    calls = [call.split(" ") for call in calls_of(folder, write, tmp_path)]
    table = [
        at
        for at, words in enumerate(calls)
        if words[0] == "replace" and words[-1].endswith(tuple(NEW))
    ]
    assert len(table) == len(NEW)
    before = [words[0] for words in calls[: table[0]]]
    opened = [words for words in calls[: table[0]] if words[:2] == ["open", "xb"]]
    assert len(opened) == len(NEW) + len(FILES) + 2  # and the history, twice
    assert before.count("fsync") >= len(opened) + 3  # and the folder
    assert "fsync" in [words[0] for words in calls[table[-1] :]]


def test_a_stop_at_any_call_leaves_all_old_or_all_new(
    folder: Path, work: Callable[[Path], None], tmp_path: Path
) -> None:
    """As the power going off: not even what tidies up runs; then somebody looks into the folder."""
    number = len(calls_of(folder, work, tmp_path))
    seen = []
    for at in range(1, number + 1):
        trial = shutil.copytree(folder, tmp_path / str(at))
        with pytest.MonkeyPatch.context() as patch:
            Disk(at, Stopped()).put_under(patch.setattr)
            with pytest.raises(Stopped):
                work(trial)
        settle(trial)
        seen.append(sound(trial, work))
        assert read_history(trial).unfinished is None
        assert settle(trial) is None
    assert seen == sorted(seen, reverse=True)  # from one call on it is new
    assert set(seen) == {"old", "new"}


@pytest.mark.parametrize("lasting", [False, True])
def test_a_disk_that_fails_at_any_call_changes_nothing_or_all(
    folder: Path, work: Callable[[Path], None], tmp_path: Path, *, lasting: bool
) -> None:
    number = len(calls_of(folder, work, tmp_path))
    for at in range(1, number + 1):
        trial = shutil.copytree(folder, tmp_path / str(at))
        told = ""
        with pytest.MonkeyPatch.context() as patch:
            Disk(at, OSError(28, "No space left on device"), lasting=lasting).put_under(
                patch.setattr
            )
            try:
                work(trial)
            except UsageError as error:
                told = str(error)
        assert not told or "No space left" in told
        settle(trial)
        found = sound(trial, work)
        if "completes all of it or takes all back" not in told:
            assert found == ("old" if told else "new"), told


def test_a_stop_while_it_is_taken_back_is_taken_up_again(folder: Path, tmp_path: Path) -> None:
    """Two stops: one in the work, one in what the next command does about it."""
    number = len(calls_of(folder, write, tmp_path))
    for at in range(number // 2, number, 3):
        for second in range(1, 25, 5):
            trial = shutil.copytree(folder, tmp_path / f"{at} {second}")
            for work, when in ((write, at), (settle, second)):
                with pytest.MonkeyPatch.context() as patch:
                    Disk(when, Stopped()).put_under(patch.setattr)
                    with suppress(Stopped):
                        work(trial)
            settle(trial)
            sound(trial, write)


def test_permissions_stay(folder: Path) -> None:
    (folder / "eggs.csv").chmod(0o640)
    write(folder)
    assert (folder / "eggs.csv").stat().st_mode & 0o777 == 0o640
    assert (folder / "eggs.csv.today.bak").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("name", ["birds.csv", "seen.csv"])
def test_a_file_changed_meanwhile_is_left_alone(folder: Path, name: str) -> None:
    (folder / name).write_text("typed just now\n")
    before = whole_files(folder)
    with pytest.raises(UsageError, match=f"{name} was changed"):
        write(folder)
    assert whole_files(folder) == before


def test_what_cannot_be_read_is_refused(folder: Path) -> None:
    (folder / "seen.csv").mkdir()
    with pytest.raises(UsageError, match="cannot be read: this is not a file"):
        write(folder)


def test_where_even_putting_back_fails_it_says_where_what_was_lost_is(
    folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    calls = calls_of(folder, write, tmp_path)
    at = next(
        i
        for i, call in enumerate(calls, 1)
        if call.endswith("/fen/birds.csv") and "replace" in call
    )
    disk = Disk(at, OSError(5, "broken for good"), lasting=True)
    disk.put_under(monkeypatch.setattr)
    with pytest.raises(
        UsageError,
        match=r"put back now: .*eggs\.csv \(what it held before should be in eggs\.csv\.t",
    ):
        write(folder)
    disk.on = False
    assert (folder / "eggs.csv.today.bak").read_text() == "old eggs\n"
    assert (folder / "birds.csv").read_text() == "old birds\n"
    settled = settle(folder)  # and once the disk works again, it is all as one wants it
    assert settled is not None
    assert settled.fault.kind == "write-finished"
    assert sound(folder, write) == "new"


def test_ctrl_c_waits_while_files_that_belong_together_are_written() -> None:
    assert not interrupt._whole.locked()
    with interrupt.written_whole():
        assert interrupt._whole.locked()
    assert not interrupt._whole.locked()
