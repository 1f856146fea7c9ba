"""Several files written together: all of them or none, whatever fails, wherever it fails."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.cli import interrupt
from matchmaker.errors import UsageError
from matchmaker.tables import write
from matchmaker.tables import write_together as together
from matchmaker.tables.write_together import write_together
from tests.cli.run import contents

if TYPE_CHECKING:
    from collections.abc import Callable

FILES = {"eggs.csv": "old eggs\n", "birds.csv": "old birds\n"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two tables, one of them with a copy kept before; there is no third."""
    for name, text in FILES.items():
        (tmp_path / name).write_text(text)
    (tmp_path / "eggs.csv.yesterday.bak").write_text("older eggs\n")
    return tmp_path


def inputs() -> dict[str, str]:
    return {name: hashlib.sha256(text.encode()).hexdigest() for name, text in FILES.items()}


def new(folder: Path) -> list[tuple[Path, str]]:
    return [(folder / name, f"new {name}\n") for name in (*FILES, "seen.csv")]


def failing(at: int, error: BaseException, whole: Callable[..., Any]) -> Callable[..., Any]:
    """The same function, but that its call number ``at`` fails."""
    calls = iter(range(1, 100))

    def call(*words: Any, **more: Any) -> Any:
        if next(calls) == at:
            raise error
        return whole(*words, **more)

    return call


def test_all_are_written_and_copies_kept(folder: Path) -> None:
    done = write_together(new(folder), inputs(), stamp="today")
    assert [(one.path.name, one.copy and one.copy.name) for one in done] == [
        ("eggs.csv", "eggs.csv.today.bak"),
        ("birds.csv", "birds.csv.today.bak"),
        ("seen.csv", None),
    ]
    found = contents(folder)
    assert found["seen.csv"] == b"new seen.csv\n"
    assert found["birds.csv.today.bak"] == b"old birds\n"
    assert len(found) == 6


@pytest.mark.parametrize("at", [1, 2, 3])
@pytest.mark.parametrize("error", [OSError(28, "No space left"), KeyboardInterrupt()], ids=repr)
def test_a_replacement_that_fails_leaves_the_folder_as_it_was(
    folder: Path, monkeypatch: pytest.MonkeyPatch, at: int, error: BaseException
) -> None:
    before = contents(folder)
    monkeypatch.setattr(Path, "replace", failing(at, error, Path.replace))
    with pytest.raises((UsageError, KeyboardInterrupt)):
        write_together(new(folder), inputs(), stamp="today")
    assert contents(folder) == before


@pytest.mark.parametrize("step", ["_write_to_disk", "_keep", "_take_permissions"])
@pytest.mark.parametrize("at", [1, 2, 3])
def test_so_does_every_step_before_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch, step: str, at: int
) -> None:
    if step == "_keep" and at == 3:
        at = 2  # nothing is kept of a file that is new
    before = contents(folder)
    fails = failing(at, OSError(5, "Input/output error"), getattr(write, step))
    monkeypatch.setattr(write, step, fails)
    with pytest.raises(UsageError, match=r"cannot be written"):
        write_together(new(folder), inputs())
    assert contents(folder) == before


def test_permissions_come_back_too(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "eggs.csv").chmod(0o640)
    monkeypatch.setattr(Path, "replace", failing(2, OSError(5, "broken"), Path.replace))
    with pytest.raises(UsageError):
        write_together(new(folder), inputs())
    assert (folder / "eggs.csv").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("name", ["birds.csv", "seen.csv"])
def test_a_file_changed_meanwhile_is_left_alone(folder: Path, name: str) -> None:
    (folder / name).write_text("typed just now\n")
    before = contents(folder)
    with pytest.raises(UsageError, match=f"{name} was changed"):
        write_together(new(folder), inputs())
    assert contents(folder) == before


def test_what_cannot_be_read_is_refused(folder: Path) -> None:
    (folder / "seen.csv").mkdir()
    with pytest.raises(UsageError, match="cannot be read"):
        write_together(new(folder), inputs())


def test_where_even_putting_back_fails_the_copy_stays(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Path, "replace", failing(2, OSError(5, "broken"), Path.replace))

    def broken(*_: object) -> None:
        raise OSError(5, "broken for good")

    monkeypatch.setattr(together, "_same_mode", broken)
    with pytest.raises(UsageError, match=r"by hand: .*eggs\.csv \(what it held is in eggs\.csv\.t"):
        write_together(new(folder), inputs(), stamp="today")
    assert (folder / "eggs.csv.today.bak").read_text() == "old eggs\n"
    assert (folder / "birds.csv").read_text() == "old birds\n"


def test_a_new_file_that_cannot_be_taken_away_is_named(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = [*reversed(new(folder))]
    monkeypatch.setattr(Path, "replace", failing(2, OSError(5, "broken"), Path.replace))

    def broken(*_: object, **__: object) -> None:
        raise OSError(5, "broken for good")

    monkeypatch.setattr(Path, "unlink", broken)
    with pytest.raises(UsageError, match=r"seen\.csv \(there was none before: delete it\)"):
        write_together(files, inputs(), stamp="today")


def test_ctrl_c_waits_while_files_that_belong_together_are_written() -> None:
    assert not interrupt._whole.locked()
    with interrupt.written_whole():
        assert interrupt._whole.locked()
    assert not interrupt._whole.locked()
