"""Standard output is turned away while solvers run, however many threads they run in."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from collections.abc import Iterator

WAIT = 20.0
"""Seconds after which a thread counts as hung."""


@contextlib.contextmanager
def written(file: Path) -> Iterator[None]:
    """Within this block a file takes what is written to file descriptor 1."""
    sys.stdout.flush()
    kept = os.dup(1)
    target = os.open(file, os.O_WRONLY | os.O_CREAT)
    os.dup2(target, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(target)


def test_nothing_comes_through_and_all_does_again_after(tmp_path: Path) -> None:
    file = tmp_path / "out"
    with written(file):
        os.write(1, b"before ")
        with quiet_stdout():
            os.write(1, b"lost ")
            with quiet_stdout():
                os.write(1, b"lost ")
            os.write(1, b"still lost ")
        os.write(1, b"after")
    assert file.read_bytes() == b"before after"


def test_it_comes_back_after_a_failure(tmp_path: Path) -> None:
    file = tmp_path / "out"
    with written(file):
        with pytest.raises(ValueError, match="bad"), quiet_stdout():
            raise ValueError("bad")
        os.write(1, b"after")
    assert file.read_bytes() == b"after"


def test_the_first_of_two_threads_to_leave_turns_nothing_back(tmp_path: Path) -> None:
    """One comes, the other comes, the first goes, then the other: the order that once lost it."""
    first_in, second_in, first_out = (threading.Event() for _ in range(3))

    def first() -> None:
        with quiet_stdout():
            first_in.set()
            assert second_in.wait(WAIT)
        first_out.set()

    def second() -> None:
        assert first_in.wait(WAIT)
        with quiet_stdout():
            second_in.set()
            assert first_out.wait(WAIT)
            os.write(1, b"lost ")

    file = tmp_path / "out"
    with written(file):
        threads = [threading.Thread(target=one) for one in (first, second)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(WAIT)
            assert not thread.is_alive()
        os.write(1, b"after")
    assert file.read_bytes() == b"after"


def test_no_file_is_left_open() -> None:
    before = len(list(Path("/dev/fd").iterdir()))
    for _ in range(5):
        with quiet_stdout(), quiet_stdout():
            pass
    assert len(list(Path("/dev/fd").iterdir())) == before


def test_without_standard_output_there_is_nothing_to_turn_away() -> None:
    script = (
        "import os, sys\n"
        "from matchmaker.plan.solvers.quiet import quiet_stdout\n"
        "os.close(1)\n"
        "with quiet_stdout():\n"
        "    sys.stderr.write('went on')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False, timeout=WAIT
    )
    assert (done.returncode, done.stderr.startswith("went on")) == (0, True), done.stderr
