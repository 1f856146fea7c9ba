"""One write that several tests stop, refuse or hold up: a hen more and a pen more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.tables.read import read_folder
from matchmaker.tables.write_together import write_together
from tests.unit.tables_helpers import BIRDS, PENS

if TYPE_CHECKING:
    from pathlib import Path

MORE = BIRDS + "H3,hen,2026-04-02,C1,H1,Alder,,\n"


def write(folder: Path) -> None:
    files = [(folder / "birds.csv", MORE), (folder / "pens.csv", PENS + "Field,5\n")]
    write_together(files, read_folder(folder).inputs, stamp="today", told="hatch")
