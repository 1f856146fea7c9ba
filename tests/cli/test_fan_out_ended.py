"""A program with worker processes that is ended: at once, quietly, and with all of them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.run import LIMIT, environment

PROGRAM = """
import signal, sys
from pathlib import Path
{first}
from matchmaker.ahead.fan_out import fan_out
from tests.fan_tasks import Slowly

if __name__ == "__main__":
    {begin}
    try:
        fan_out(Slowly(Path(sys.argv[1]), 60.0), range(50), workers=2)
    except KeyboardInterrupt:
        sys.exit(130)
"""
AS_LIBRARY = ("", "signal.signal(signal.SIGINT, signal.default_int_handler)")
AS_COMMAND = (
    "from matchmaker.cli.interrupt import end_on_interrupt",
    "end_on_interrupt()",
)


def children(session: int) -> set[int]:
    """Processes of a session that have not ended."""
    found = set()
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text(encoding="utf-8").rsplit(")", 1)[1].split()
        except (FileNotFoundError, ProcessLookupError):
            continue
        if int(fields[3]) == session and fields[0] != "Z":
            found.add(int(stat.parent.name))
    return found


def wait_until_none(session: int) -> set[int]:
    """Processes of a session that are still there after a while."""
    until = time.monotonic() + 5.0
    while (left := children(session)) and time.monotonic() < until:
        time.sleep(0.02)
    return left


@pytest.mark.parametrize(
    ("program", "number", "code", "words"),
    [
        pytest.param(AS_LIBRARY, signal.SIGINT, 130, "", id="interrupted"),
        pytest.param(AS_COMMAND, signal.SIGINT, 130, "Interrupted.\n", id="command interrupted"),
        pytest.param(AS_LIBRARY, signal.SIGKILL, -9, "", id="killed"),
    ],
)
def test_no_process_and_no_word_is_left(
    tmp_path: Path, program: tuple[str, str], number: int, code: int, words: str
) -> None:
    script, begun = tmp_path / "program.py", tmp_path / "begun"
    script.write_text(PROGRAM.format(first=program[0], begin=program[1]), encoding="utf-8")
    begun.mkdir()
    with subprocess.Popen(
        [sys.executable, script, begun],
        env=environment(PYTHONPATH=str(Path(__file__).parents[2])),
        stderr=subprocess.PIPE,
        start_new_session=True,
    ) as process:
        until = time.monotonic() + LIMIT
        while len(list(begun.iterdir())) < 2 and time.monotonic() < until:
            time.sleep(0.02)
        assert len(children(process.pid)) >= 3
        if number == signal.SIGINT:
            os.killpg(process.pid, number)  # as a terminal does it
        else:
            process.send_signal(number)
        sent = time.monotonic()
        _, said = process.communicate(timeout=LIMIT)
    assert process.returncode == code
    assert wait_until_none(process.pid) == set()
    assert time.monotonic() - sent < 10.0
    assert said.decode("utf-8") == words
    assert len(list(begun.iterdir())) == 2
