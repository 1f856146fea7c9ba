"""Brothers: where one follows the other, the grandparents of a doubtful chick are certain."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.flock.flock import Flock


def full_brothers(flock: Flock, cocks: Iterable[str]) -> bool:
    """Whether cocks are all sons of one sire and one dam that are both certain."""
    birds = flock.by_band()
    families = set()
    for cock in cocks:
        record = birds[cock].record
        sires, dams = record.sire.candidates, record.dam.candidates
        if len(sires) != 1 or len(dams) != 1:
            return False
        families.add((sires[0][0], dams[0][0]))
    return len(families) == 1
