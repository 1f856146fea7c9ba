"""Two programs never write at once; a write that was stopped is taken up by the next command."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from typing import TYPE_CHECKING

import filelock
import pytest

from matchmaker.errors import UsageError
from matchmaker.tables import lock, read
from matchmaker.tables.history import HISTORY_FILE, Stage, left_over, read_history, save_history
from matchmaker.tables.lock import LOCK_FILE, NotWritableError, locked
from matchmaker.tables.read import read_folder
from matchmaker.tables.unfinished import settle
from matchmaker.tables.write_together import write_together
from tests.cli.run import contents, run_here
from tests.failing_disk import Disk, Stopped, whole_files
from tests.unit import tables_helpers
from tests.unit.one_write import MORE, write
from tests.unit.tables_helpers import BIRDS, PENS

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sound folder, on a disk that is quick."""
    monkeypatch.setattr(os, "fsync", lambda _: None)
    made = tmp_path / "fen"
    made.mkdir()
    return tables_helpers.folder(made)


def stopped_at(folder: Path, call: str) -> None:
    """Write, and be stopped at the first call to the system that begins and ends so."""
    begins, _, ends = call.partition(" ")
    with pytest.MonkeyPatch.context() as patch:
        disk = Disk(None, Stopped())
        disk.put_under(patch.setattr)
        count = disk.count

        def counted(name: str, *more: object) -> None:
            if disk.at is None and name.startswith(begins) and name.endswith(ends):
                disk.at = len(disk.calls) + 1
            count(name, *more)  # type: ignore[arg-type]

        patch.setattr(disk, "count", counted)
        with pytest.raises(Stopped):
            write(folder)


def test_a_reader_completes_what_was_stopped_and_says_so(folder: Path) -> None:
    stopped_at(folder, "replace /pens.csv")
    tables = read_folder(folder)
    assert [bird.bird for bird in tables.birds] == ["C1", "C2", "H1", "H2", "H3"]
    assert [pen.pen for pen in tables.pens] == ["Orchard", "Yard", "Field"]
    (doubt,) = [one for one in tables.doubts if one.kind == "write-finished"]
    assert "matchmaker hatch on 2" in doubt.problem
    assert "is now completed: birds.csv, pens.csv" in doubt.problem
    assert "write-finished" not in {one.kind for one in read_folder(folder).doubts}


def test_a_reader_takes_back_what_had_hardly_begun(folder: Path) -> None:
    before = contents(folder)
    stopped_at(folder, "open pens.csv.today.bak")
    assert len(whole_files(folder)) > len(before)
    tables = read_folder(folder)
    assert "write-taken-back" in {one.kind for one in tables.doubts}
    assert whole_files(folder) == before


def test_the_command_line_says_so_too(folder: Path) -> None:
    stopped_at(folder, "replace /pens.csv")
    ran = run_here("flock", "--in", folder)
    assert ran.err.startswith("matchmaker hatch on 2")
    assert "is now completed: birds.csv, pens.csv" in ran.err
    assert "completed" not in run_here("flock", "--in", folder).err


def test_what_was_changed_by_hand_meanwhile_stays(folder: Path) -> None:
    """The first table is new already, the second got a row from the keeper: the first goes back."""
    stopped_at(folder, "replace /pens.csv")
    assert (folder / "birds.csv").read_text() == MORE
    (folder / "pens.csv").write_text(PENS + "Loft,4\n")
    tables = read_folder(folder)
    assert [pen.pen for pen in tables.pens] == ["Orchard", "Yard", "Loft"]
    assert (folder / "birds.csv").read_text() == BIRDS
    assert "write-taken-back" in {one.kind for one in tables.doubts}
    assert not list(folder.glob(".*.tmp"))


def test_what_can_be_neither_completed_nor_taken_back_is_a_fault(folder: Path) -> None:
    stopped_at(folder, "replace /pens.csv")
    (folder / "pens.csv").write_text(PENS + "Loft,4\n")
    (folder / "birds.csv.today.bak").unlink()
    before = whole_files(folder)
    (fault,) = read_folder(folder).faults
    assert fault.kind == "write-stuck"
    assert "birds.csv (what it held before should be in birds.csv.today.bak)" in fault.mend
    with pytest.raises(UsageError, match="some of these may be new and some old"):
        write_together([(folder / "wishes.csv", "bird,with,wish\n")], {})
    assert run_here("plan", "--in", folder).code == 3
    assert whole_files(folder) == before


@pytest.mark.parametrize(
    ("call", "stops"), [("replace /pens.csv", True), ("replace /birds.csv", False)]
)
def test_where_nobody_can_write_it_is_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch, call: str, *, stops: bool
) -> None:
    stopped_at(folder, call)
    before = whole_files(folder)

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(filelock.FileLock, "acquire", refused)
    found = read_folder(folder)
    (told,) = [one for one in (*found.faults, *found.doubts) if one.kind == "write-unfinished"]
    assert (told in found.faults) is stops
    assert "Permission denied" in told.mend
    assert whole_files(folder) == before


def test_another_program_that_writes_is_waited_for_and_named(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped_at(folder, "replace /pens.csv")
    monkeypatch.setattr(lock, "WAIT", 0.1)
    with locked(folder):
        with pytest.raises(UsageError, match=r"by another program \(process \d+: matchmaker hatch"):
            settle(folder)
        with pytest.raises(UsageError, match="wait until it has ended"):
            write(folder)
    assert settle(folder) is not None


def test_the_system_lets_go_of_the_lock_of_a_program_that_was_killed(folder: Path) -> None:
    code = (
        "import sys, time, pathlib; from matchmaker.tables.lock import locked\n"
        "with locked(pathlib.Path(sys.argv[1])): print('held', flush=True); time.sleep(60)"
    )
    holder = subprocess.Popen([sys.executable, "-c", code, folder], stdout=subprocess.PIPE)
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        with pytest.raises(UsageError, match="by another program"), locked(folder, wait=0.05):
            pass
    finally:
        holder.kill()
        holder.communicate()
    with locked(folder, wait=5):
        pass


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (PermissionError(13, "Permission denied"), "cannot be written to: Permission denied"),
        (OSError(30, "Read-only file system"), "cannot be written to: Read-only file system"),
        (OSError(37, "No locks available"), "copy the folder to a disk of this computer"),
    ],
)
def test_a_disk_without_locks_is_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch, error: OSError, words: str
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise error

    before = contents(folder)
    monkeypatch.setattr(filelock.FileLock, "acquire", refused)
    with pytest.raises(NotWritableError, match=words):
        write(folder)
    assert contents(folder) == before


def test_a_folder_that_is_written_while_it_is_read_is_read_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = read._read
    readings = []

    def interrupted(*words: object) -> object:
        tables = whole(*words)  # type: ignore[arg-type]
        readings.append(tables)
        if len(readings) == 1:
            files = [(folder / "birds.csv", MORE)]
            write_together(files, tables.inputs)
        return tables

    monkeypatch.setattr(read, "_read", interrupted)
    assert len(read_folder(folder).birds) == 5
    assert [len(tables.birds) for tables in readings] == [4, 5]


def test_a_history_that_was_never_finished_is_tidied_away(folder: Path) -> None:
    lying = left_over(folder)
    lying.write_text('{"schema": ')
    assert settle(folder) is None
    assert not lying.exists()


def test_a_damaged_history_costs_the_way_back_and_nothing_else(folder: Path) -> None:
    (folder / HISTORY_FILE).write_text("[1, 2")
    assert read_folder(folder).faults == ()
    write(folder)
    assert len(read_history(folder).writes) == 1
    assert (folder / f"{HISTORY_FILE}.1.bak").read_text() == "[1, 2"


@pytest.mark.parametrize("name", ["../birds.csv", "/etc/passwd", "..", "a\\b.csv", ""])
def test_a_history_made_by_somebody_else_reaches_no_other_folder(folder: Path, name: str) -> None:
    stopped_at(folder, "replace /pens.csv")
    document = json.loads((folder / HISTORY_FILE).read_text())
    document["writes"][-1]["files"][0]["name"] = name
    (folder / HISTORY_FILE).write_text(json.dumps(document))
    assert read_history(folder).damaged
    before = whole_files(folder)
    assert settle(folder) is None
    assert whole_files(folder) == before


def test_a_pipe_in_the_place_of_the_history_is_not_waited_for(folder: Path) -> None:
    os.mkfifo(folder / HISTORY_FILE)
    assert read_folder(folder).faults == ()


def test_only_the_newest_writes_are_remembered(folder: Path) -> None:
    write(folder)
    (one,) = read_history(folder).writes
    many = read_history(folder)
    for number in range(70):
        many = many.with_write(
            type(one)(
                token=f"{number:08x}",
                told="hatch",
                when=one.when,
                process=1,
                stage=Stage.DONE,
                files=one.files,
            )
        )
    save_history(folder, many)
    assert [write.token for write in read_history(folder).writes][-1] == f"{69:08x}"
    assert len(read_history(folder).writes) == 50


def test_the_lock_stays_empty(folder: Path) -> None:
    write(folder)
    assert (folder / LOCK_FILE).read_bytes() == b""
