"""The installed command on a terminal of its own: what it shows, and keys to send."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import time
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tests.cli.run import LIMIT, MATCHMAKER, environment

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(slots=True)
class Terminal:
    """A process on a terminal of its own: what it shows, and keys to send."""

    process: subprocess.Popen[bytes]
    control: int
    shown: str = ""

    def expect(self, text: str) -> None:
        """Read until the text has been shown after all that was expected before."""
        end = time.monotonic() + LIMIT
        while text not in self.shown:
            assert time.monotonic() < end, self.shown
            ready, _, _ = select.select([self.control], [], [], 0.1)
            if ready:
                self.shown += self._read()
        self.shown = self.shown.split(text, 1)[1]

    def _read(self) -> str:
        try:
            return os.read(self.control, 4096).decode("utf-8")
        except OSError as error:  # the other end is closed
            raise AssertionError(self.shown) from error

    def send(self, keys: str) -> None:
        """Type."""
        os.write(self.control, keys.encode("utf-8"))


@contextmanager
def at_a_terminal(*arguments: object) -> Iterator[Terminal]:
    """Run the command on a terminal, and end it at last."""
    control, end = pty.openpty()
    with subprocess.Popen(
        [MATCHMAKER, *map(str, arguments)],
        env=environment(TERM="dumb"),
        stdin=end,
        stdout=end,
        stderr=end,
        start_new_session=True,
    ) as process:
        os.close(end)
        try:
            yield Terminal(process, control)
        finally:
            process.kill()
            os.close(control)
