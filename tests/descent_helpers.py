"""Pedigrees written in a line per bird."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping

POOLS = (Pool("donor"), Pool("recurrent"))
SEXES = {"cock": Sex.COCK, "hen": Sex.HEN, "?": None}


def pedigree(*lines: str) -> Pedigree:
    """Build a pedigree from lines "band sex sire dam", with a clutch's number after it if any.

    A parent is a band, a pool ("donor", "recurrent") or several of them as "A|B:0.3|donor:0.7"
    (no numbers: equally likely).
    """
    rows = [line.split() for line in lines]
    clutches = tuple(int(row[4]) if len(row) > 4 else None for row in rows)
    nodes = {pool.breed: at for at, pool in enumerate(POOLS)}
    nodes |= {row[0]: len(POOLS) + at for at, row in enumerate(rows)}
    return Pedigree(
        pools=POOLS,
        bases=((0.0, 0.0), (0.0, 0.0)),
        birds=tuple(row[0] for row in rows),
        sexes=tuple(SEXES[row[1]] for row in rows),
        sires=tuple(_links(row[2], nodes) for row in rows),
        dams=tuple(_links(row[3], nodes) for row in rows),
        clutches=clutches if any(clutch is not None for clutch in clutches) else (),
    )


def _links(cell: str, nodes: Mapping[str, int]) -> Links:
    parts = [part.split(":") for part in cell.split("|")]
    return tuple(
        (nodes[part[0]], float(part[1]) if len(part) > 1 else 1 / len(parts)) for part in parts
    )


def backcross_chain(generations: int) -> Pedigree:
    """Return X0 (the first cross), X1, X2 …: each hen goes back to the one recurrent cock R."""
    dams = ["D", *(f"X{at}" for at in range(generations))]
    crosses = [f"X{at} hen R {dam}" for at, dam in enumerate(dams)]
    return pedigree("R cock recurrent recurrent", "D hen donor donor", *crosses)


FAMILY = pedigree(
    "A cock recurrent recurrent",
    "B hen recurrent recurrent",
    "C hen recurrent recurrent",
    "S cock A B",
    "T hen A B",
    "U hen A C",
    "X hen S T",
    "Y cock S U",
)
"""Full sibs and a half sib, and their inbred young."""
