"""The small program that ``tests.kill`` kills: ``write|undo FOLDER [CALL]``."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

from matchmaker.tables.disk import digest
from matchmaker.tables.undo import take_back
from matchmaker.tables.write_together import write_together
from tests.failing_disk import Disk, Stopped

ROWS = {"birds.csv": "Z27-001,hen,,founder,founder,Sussex,sussex\n", "pens.csv": "9,5\n"}


def small_write(folder: Path) -> None:
    """Write a bird and a pen more, as one write."""
    texts = {
        folder / name: (folder / name).read_bytes().decode() + row for name, row in ROWS.items()
    }
    inputs = {path.name: digest(path) or "" for path in texts}
    write_together([*texts.items()], inputs, stamp="killed", told="hatch")


class KillingDisk(Disk):
    """A disk at whose call the whole process is killed, by the system."""

    def fail(self) -> None:
        """Kill the process; it cannot know of it, nor do anything about it."""
        os.kill(os.getpid(), signal.SIGKILL)


def main() -> None:
    """Do the work; be killed at the call that is named."""
    what, folder, *at = sys.argv[1:]
    if at:
        KillingDisk(int(at[0]), Stopped()).put_under(setattr)
    if what == "write":
        small_write(Path(folder))
    else:
        take_back(Path(folder), stamp="killed")


if __name__ == "__main__":
    main()
