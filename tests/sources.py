"""The tables of ``SOURCES.md``, read for the tests that hold them true and for the validation page.

A table stands under its heading; its first line of cells are the names of the columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

TESTS = Path(__file__).parent
PUBLISHED = "Outside values in tests/published"
ELSEWHERE = "Outside values and other programs elsewhere in the tests"
FACTS = "Facts that the product relies on"


@dataclass(frozen=True, kw_only=True)
class Source:
    """A row on outside values: the file that uses them, and where they come from."""

    file: str
    what: str
    source: str
    read: str
    status: str


@dataclass(frozen=True, kw_only=True)
class Fact:
    """A row on a fact of the trade: the file and the name that hold it, and where it comes from."""

    where: str
    fact: str
    value: str
    source: str
    status: str

    @property
    def file(self) -> str:
        """The file under ``matchmaker/`` that holds it."""
        return self.where.split(" ", 1)[0].strip("`")

    @property
    def name(self) -> str:
        """Its name there: a constant, a key of the settings, or a cell "row: column" of a table."""
        return self.where.split(" ", 1)[1].strip("`")


def cells_under(heading: str) -> list[list[str]]:
    """The cells of the table under a heading, row by row, without its head."""
    text = (TESTS / "SOURCES.md").read_text(encoding="utf-8")
    _, _, rest = text.partition(f"# {heading}\n")
    part = rest.split("\n# ")[0].split("\n## ")[0]
    lines = [line for line in part.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines[2:]]


@cache
def sources() -> dict[str, Source]:
    """All rows on outside values, by file below ``tests/``."""
    found = {}
    for heading, folder in ((PUBLISHED, "published/"), (ELSEWHERE, "")):
        for file, what, source, read, status in cells_under(heading):
            name = folder + file.strip("`")
            found[name] = Source(file=name, what=what, source=source, read=read, status=status)
    return found


@cache
def facts() -> tuple[Fact, ...]:
    """All rows on facts of the trade."""
    return tuple(
        Fact(where=where, fact=fact, value=value, source=source, status=status)
        for where, fact, value, source, status in cells_under(FACTS)
    )
