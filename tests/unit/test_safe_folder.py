"""Folders as they come: links, marks of open files, full disks, names with blanks, own settings."""

from __future__ import annotations

import os
import re
import shutil
import stat
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import filelock  # noqa: F401  before we are somebody who may not read it
import pytest

from matchmaker.errors import UsageError
from matchmaker.tables.lock import LOCK_FILE
from matchmaker.tables.read import read_folder
from matchmaker.tables.undo import take_back
from matchmaker.tables.write import write_text_atomically
from matchmaker.tables.write_together import write_together
from tests.failing_disk import whole_files
from tests.unit import tables_helpers
from tests.unit.one_write import MORE, write
from tests.unit.tables_helpers import BIRDS

if TYPE_CHECKING:
    from collections.abc import Iterator

MOUNT, UNMOUNT = shutil.which("mount"), shutil.which("umount")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sound folder with a name that keepers give."""
    monkeypatch.setattr(os, "fsync", lambda _: None)
    made = tmp_path / "Hühner Öster 'o'"
    made.mkdir()
    return tables_helpers.folder(made)


def refused(folder: Path, words: str) -> None:
    """Nothing at all is changed, and no file is left lying about."""
    before = whole_files(folder)
    with pytest.raises(UsageError, match=words):
        write(folder)
    assert whole_files(folder) == before


@pytest.mark.parametrize("mark", [".~lock.pens.csv#", "~$pens.csv"])
def test_a_table_open_in_a_spreadsheet_is_not_written(folder: Path, mark: str) -> None:
    (folder / mark).write_text(",keeper,shed,02.03.2027 10:00,file:///home;")
    refused(folder, f"pens.csv seems to be open in a spreadsheet.*delete .*{re.escape(mark)}")
    (folder / mark).unlink()
    write(folder)
    (folder / ".~lock.birds.csv#").touch()
    with pytest.raises(UsageError, match=r"birds\.csv seems to be open"):
        take_back(folder)
    assert (folder / "pens.csv").read_text().endswith("Field,5\n")


def test_a_table_set_to_read_only_is_not_written(folder: Path) -> None:
    (folder / "birds.csv").chmod(0o444)
    refused(folder, "birds.csv is set to be read only.*allow writing to it first")


def test_a_table_that_is_a_link_stays_one(folder: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (folder / "birds.csv").rename(elsewhere / "all birds.csv")
    (folder / "birds.csv").symlink_to(elsewhere / "all birds.csv")
    write(folder)
    assert (folder / "birds.csv").is_symlink()
    assert (elsewhere / "all birds.csv").read_text() == MORE
    assert (elsewhere / "all birds.csv.today.bak").read_text() == BIRDS
    take_back(folder, stamp="later")
    assert (folder / "birds.csv").is_symlink()
    assert (elsewhere / "all birds.csv").read_text() == BIRDS
    assert sorted(file.name for file in elsewhere.iterdir()) == [
        "all birds.csv",
        "all birds.csv.later.bak",
        "all birds.csv.today.bak",
    ]


def test_a_mark_beside_the_file_a_link_leads_to_counts(folder: Path, tmp_path: Path) -> None:
    (folder / "birds.csv").rename(tmp_path / "birds.csv")
    (folder / "birds.csv").symlink_to(tmp_path / "birds.csv")
    (tmp_path / ".~lock.birds.csv#").touch()
    refused(folder, "birds.csv seems to be open")


def test_a_link_that_leads_nowhere_is_refused(folder: Path, tmp_path: Path) -> None:
    inputs = read_folder(folder).inputs
    for target in (tmp_path / "none.csv", folder / "wishes.csv"):  # the second leads to itself
        (folder / "wishes.csv").symlink_to(target)
        before = whole_files_but(folder, "wishes.csv")
        with pytest.raises(UsageError, match=r"wishes\.csv is a link that leads nowhere"):
            write_together([(folder / "wishes.csv", "bird\n")], inputs)
        assert whole_files_but(folder, "wishes.csv") == before
        assert any("wishes.csv" in fault.file for fault in read_folder(folder).faults)
        (folder / "wishes.csv").unlink()


def whole_files_but(folder: Path, name: str) -> dict[str, bytes]:
    names = [file for file in folder.iterdir() if file.name not in {name} | OWN]
    return {file.name: file.read_bytes() for file in names}


OWN = {".matchmaker.lock", ".matchmaker-writes.json"}


def test_a_folder_that_is_a_link_is_written_through(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "fen").symlink_to(folder)
    write(tmp_path / "fen")
    assert (folder / "birds.csv").read_text() == MORE
    assert (tmp_path / "fen").is_symlink()


def test_permissions_stay_and_a_new_file_gets_the_usual_ones(folder: Path) -> None:
    (folder / "birds.csv").chmod(0o660)
    write_together([(folder / "wishes.csv", "bird,with,wish\n")], read_folder(folder).inputs)
    write(folder)
    modes = {
        name: stat.S_IMODE((folder / name).stat().st_mode) for name in ("birds.csv", "wishes.csv")
    }
    usual = os.umask(0)
    os.umask(usual)
    assert modes == {"birds.csv": 0o660, "wishes.csv": 0o666 & ~usual}


def test_names_too_long_for_the_disk_are_refused(folder: Path) -> None:
    name = "n" * 250
    with pytest.raises(UsageError, match="cannot be read or written: File name too long"):
        write_together([(folder / name, "x")], {})
    assert not [file for file in folder.iterdir() if file.name.startswith((".n", "n"))]


def test_a_pipe_or_a_folder_in_the_place_of_a_table_is_not_written(folder: Path) -> None:
    os.mkfifo(folder / "wishes.csv")
    (folder / "eggs.csv").mkdir()
    for name in ("wishes.csv", "eggs.csv"):
        with pytest.raises(UsageError, match="this is not a file"):
            write_together([(folder / name, "bird\n")], {})


def test_a_pipe_or_a_folder_in_the_place_of_an_export_is_not_written(folder: Path) -> None:
    os.mkfifo(folder / "pipe.csv")
    (folder / "folder.csv").mkdir()
    for name in ("pipe.csv", "folder.csv"):
        with pytest.raises(UsageError, match="this is not a file"):
            write_text_atomically(folder / name, "bird\n", overwrite=True)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB, as the administrator alone can make one: ``.ci/run`` is run by him.

    Elsewhere failures under each system call stand for it (``test_write_together``).
    """
    place = tmp_path / "disk"
    place.mkdir()
    if os.geteuid() != 0 or MOUNT is None or UNMOUNT is None:
        pytest.skip(reason="only the administrator can make a small disk")
    mount = [MOUNT, "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(place)]
    if subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        pytest.skip(reason="no disk can be mounted here, as in some containers")
    yield place
    subprocess.run([UNMOUNT, str(place)], check=True)


def test_a_disk_that_is_really_full_changes_nothing(small_disk: Path) -> None:
    folder = tables_helpers.folder(small_disk)
    spare, told = folder / "photo.jpg", []
    for room in range(0, 40_000, 4096):
        free = os.statvfs(folder).f_bavail * 4096
        spare.write_bytes(b"x" * max(free - room, 0))
        before = whole_files(folder)
        try:
            write(folder)
        except UsageError as error:
            told.append(str(error))
            assert whole_files(folder) == before
            spare.unlink()
            continue
        break
    assert len(told) >= 4
    assert all("No space left on device" in words for words in told)
    assert (folder / "birds.csv").read_text() == MORE


def test_a_disk_that_is_read_only_changes_nothing(small_disk: Path) -> None:
    folder = tables_helpers.folder(small_disk)
    inputs = read_folder(folder).inputs
    assert MOUNT is not None
    subprocess.run([MOUNT, "-o", "remount,ro", str(small_disk)], check=True)
    before = whole_files(folder)
    assert read_folder(folder).faults == ()
    with pytest.raises(UsageError, match="cannot be written to: Read-only file system"):
        write_together([(folder / "birds.csv", MORE)], inputs)
    assert whole_files(folder) == before


@contextmanager
def as_somebody(folder: Path) -> Iterator[None]:
    """Within this block we are no administrator, who may write everywhere; the folder is ours."""
    if os.geteuid() != 0:
        yield
        return
    nobody = 65534
    os.chown(folder, nobody, nobody)
    os.seteuid(nobody)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.mark.parametrize("locked_before", [False, True])
def test_a_read_only_folder_changes_nothing(*, locked_before: bool) -> None:
    with tempfile.TemporaryDirectory() as name:  # that of pytest is closed to others
        Path(name).chmod(0o755)
        folder = tables_helpers.folder(Path(name))
        inputs, before = read_folder(folder).inputs, whole_files(folder)
        if locked_before:
            (folder / LOCK_FILE).touch()
            (folder / LOCK_FILE).chmod(0o666)
        folder.chmod(0o555)
        with as_somebody(folder):
            assert read_folder(folder).faults == ()
            with pytest.raises(UsageError, match=r"written.*: Permission denied"):
                write_together([(folder / "birds.csv", MORE)], inputs)
            assert whole_files(folder) == before
        folder.chmod(0o755)
