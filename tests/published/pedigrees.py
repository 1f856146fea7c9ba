"""Printed pedigrees as pedigrees of our own, and their relationships in exact fractions."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

Matrix: TypeAlias = list[list[Fraction]]
Parents: TypeAlias = tuple[str, str, str]
"""Animal, sire, dam; "" for an unknown one, which the sources take as an unrelated founder."""


def printed(*lines: str) -> list[Parents]:
    """Read lines "animal sire dam", a dash for an unknown parent."""
    cells = [[cell.replace("-", "") for cell in line.split()] for line in lines]
    return [(animal, sire, dam) for animal, sire, dam in cells]


def pedigree_of(rows: Iterable[Parents], sexes: Mapping[str, Sex] | None = None) -> Pedigree:
    """Return the pedigree; rows may stand in any order that has parents first."""
    rows = list(rows)
    node = {"": 0} | {animal: at for at, (animal, _, _) in enumerate(rows, 1)}
    return Pedigree(
        pools=(Pool("any"),),
        bases=((0.0,),),
        birds=tuple(animal for animal, _, _ in rows),
        sexes=tuple((sexes or {}).get(animal) for animal, _, _ in rows),
        sires=tuple(((node[sire], 1.0),) for _, sire, _ in rows),
        dams=tuple(((node[dam], 1.0),) for _, _, dam in rows),
    )


def kinship(rows: Iterable[Parents], chosen: Sequence[str] | None = None) -> Matrix:
    """Return kinship as exact fractions: floats hold it without rounding at these depths."""
    values = kinship_matrix(pedigree_of(rows), chosen).values
    return [[Fraction(cell) for cell in row] for row in values.tolist()]


def mirrored_z_kinship(rows: Iterable[Parents], males: Iterable[str]) -> Matrix:
    """Return kinship on the Z of a pedigree with sexes, and so sire and dam, exchanged.

    Males with one X become hens with one Z, so this is the X kinship of the pedigree as printed.
    """
    rows = list(rows)
    sexes = dict.fromkeys((animal for animal, _, _ in rows), Sex.COCK)
    sexes |= dict.fromkeys(males, Sex.HEN)
    mirrored = [(animal, dam, sire) for animal, sire, dam in rows]
    values = kinship_matrix(pedigree_of(mirrored, sexes), z_linked=True).values
    return [[Fraction(cell) for cell in row] for row in values.tolist()]


def inbreeding(rows: Iterable[Parents]) -> dict[str, Fraction]:
    """Return each animal's inbreeding as an exact fraction."""
    found = kinship_matrix(pedigree_of(rows)).inbreeding()
    return {animal: Fraction(value) for animal, value in found.items()}


def fractions(*lines: str) -> Matrix:
    """Read a printed matrix of fractions, whole numbers and decimals."""
    return [[Fraction(cell) for cell in line.split()] for line in lines]


def inverse(matrix: Matrix) -> Matrix:
    """Return the inverse by elimination in exact fractions."""
    size = len(matrix)
    work = [[*row, *(Fraction(at == k) for k in range(size))] for at, row in enumerate(matrix)]
    for at in range(size):
        lead = work[at][at]  # never 0: a relationship matrix is positive definite
        work[at] = [cell / lead for cell in work[at]]
        for other in range(size):
            if other != at:
                factor = work[other][at]
                pairs = zip(work[other], work[at], strict=True)
                work[other] = [cell - factor * pivot for cell, pivot in pairs]
    return [row[size:] for row in work]


def relationship(rows: Iterable[Parents]) -> Matrix:
    """Return the numerator relationship matrix, which is twice the kinship."""
    return [[2 * cell for cell in row] for row in kinship(rows)]


def by_elimination(rows: Iterable[Parents]) -> Matrix:
    """Return the inverse of the relationships, from the relationships."""
    return inverse(relationship(rows))


def by_descent(rows: Iterable[Parents]) -> Matrix:
    """Return it as merit has it, from what each animal owes its parents, with no relationships."""
    values = kindred_of(ancestry_of(pedigree_of(rows))).dense_inverse()
    return [[Fraction(cell) for cell in row] for row in values.tolist()]


INVERSES = (by_elimination, by_descent)


def rounded(matrix: Matrix, digits: int) -> Matrix:
    """Return the matrix to the digits printed."""
    return [[round(cell, digits) for cell in row] for row in matrix]
