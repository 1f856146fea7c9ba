"""Pens, bands and lines as the book spells them: small letters for large ones are no matter."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.hatch.told import Told
    from matchmaker.tables.folder import FolderTables


def as_booked(told: Told, tables: FolderTables) -> Told:
    """What is told, with pen, dam, sire and line spelled as in the book where that is plain."""
    bands = [bird.bird for bird in tables.birds]
    lines = [
        *(bird.line for bird in tables.birds),
        *(pen.line for pen in tables.pens),
        *(row.line for row in tables.plan),
        *(tables.settings.lines if tables.settings else ()),
    ]
    return replace(
        told,
        pen=spelled(told.pen, (pen.pen for pen in tables.pens)),
        dam=spelled(told.dam, bands),
        sire="|".join(spelled(part, bands) for part in told.sire.split("|")),
        line=spelled(told.line, lines),
    )


def spelled(text: str, known: Iterable[str]) -> str:
    """Return the only known word that is the text but for small and large letters, else the text.

    Examples
    --------
    >>> spelled("c26-001", ["C26-001", "C26-002"]), spelled("t", ["t", "T"]), spelled("x", ["A"])
    ('C26-001', 't', 'x')
    """
    words = set(known)
    alike = [word for word in words if word.casefold() == text.strip().casefold()]
    return alike[0] if len(alike) == 1 and text not in words else text
