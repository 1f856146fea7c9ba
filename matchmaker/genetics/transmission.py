"""Mendel's first law as tables: what a chick can be, given the gametes its parents can give."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from numpy.typing import NDArray


DIPLOID = (0.0, 0.5, 1.0)
"""Chance that the gamete of a bird with 0, 1 or 2 copies carries the allele."""

HEMIZYGOUS = (0.0, 1.0)
"""Chance that a hen's Z carries the allele, by her 0 or 1 copies."""


@dataclass(frozen=True, slots=True)
class Inheritance:
    """The part of a locus that decides how alleles pass on: where it sits and which doses die."""

    z_linked: bool
    dies: tuple[int, ...] = ()

    def states(self, sex: Sex | None) -> tuple[tuple[Sex, int], ...]:
        """(Sex, copies) of each state of a bird; a bird of unknown sex has those of both sexes.

        Off the Z the sex does not matter, so one set of three states serves (listed as a cock's).

        Examples
        --------
        >>> [(str(sex), copies) for sex, copies in Inheritance(z_linked=True).states(Sex.HEN)]
        [('hen', 0), ('hen', 1)]
        """
        cock = tuple((Sex.COCK, copies) for copies in range(3))
        hen = tuple((Sex.HEN, copies) for copies in range(2))
        if not self.z_linked or sex is Sex.COCK:
            return cock
        return hen if sex is Sex.HEN else cock + hen

    def gametes(self, sex: Sex) -> tuple[float, ...]:
        """Chance of a gamete with the allele (the Z of a hen), by the copies of the parent."""
        return HEMIZYGOUS if self.z_linked and sex is Sex.HEN else DIPLOID

    def dose(self, sex: Sex, copies: int) -> int:
        """Copies as the body feels them; a hen's only allele on the Z counts double."""
        return 2 * copies if self.z_linked and sex is Sex.HEN else copies


@lru_cache(maxsize=4096)
def chick_table(
    inheritance: Inheritance,
    sex: Sex | None,
    sire_gametes: tuple[float, ...],
    dam_gametes: tuple[float, ...],
) -> NDArray[np.float64]:
    """Return P(state of a chick | state of sire, state of dam), shape (sire, dam, chick).

    Among chicks that live: doses that die are left out and the rest scaled to one. Two parents
    who can have no living chick give a row of zeros.

    Examples
    --------
    >>> chick_table(Inheritance(z_linked=False), None, DIPLOID, DIPLOID)[1, 1].tolist()
    [0.25, 0.5, 0.25]
    >>> chick_table(Inheritance(z_linked=True), Sex.HEN, DIPLOID, HEMIZYGOUS)[0, 1].tolist()
    [1.0, 0.0]
    """
    states = inheritance.states(sex)
    both = len({which for which, _ in states}) == 2
    sire = np.array(sire_gametes)[:, None]
    dam = np.array(dam_gametes)[None, :]
    columns = [_chance(inheritance, state, sire, dam) * (0.5 if both else 1.0) for state in states]
    table = np.stack(np.broadcast_arrays(*columns), axis=-1)
    dead = [inheritance.dose(*state) in inheritance.dies for state in states]
    if any(dead):
        table = np.where(dead, 0.0, table)
        total = table.sum(axis=-1, keepdims=True)
        table = np.divide(table, total, out=np.zeros_like(table), where=total > 0)
    table.flags.writeable = False
    return table


def _chance(
    inheritance: Inheritance,
    state: tuple[Sex, int],
    sire: NDArray[np.float64],
    dam: NDArray[np.float64],
) -> NDArray[np.float64]:
    sex, copies = state
    if inheritance.z_linked and sex is Sex.HEN:
        # A daughter has her only Z from her sire; her dam gave the W.
        return (sire if copies else 1 - sire) + 0 * dam
    if copies == 1:
        return sire * (1 - dam) + (1 - sire) * dam
    return sire * dam if copies else (1 - sire) * (1 - dam)
