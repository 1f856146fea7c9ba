"""Pedigrees written in a line per bird."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.flock.pedigree import pedigree_of

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree


def pedigree(*lines: str) -> Pedigree:
    """Build a pedigree of two breeds, "donor" and "recurrent", as ``pedigree_of`` reads lines."""
    return pedigree_of(*lines, breeds=("donor", "recurrent"))


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
