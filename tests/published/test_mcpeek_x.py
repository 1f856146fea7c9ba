"""McPeek, KinInbcoefX (documentation page, Univ. of Chicago, read): kinship on the X.

Read: a mother and her daughter 1/4, a mother and her son 1/2, a father and his daughter 1/2, a
father and his son 0; the X inbreeding of a male is set to 1, that of a female is the kinship of
her parents. On the Z of birds cocks take the place of mothers and daughters. The values of sibs
follow from the same rule; arithmetic exact, ours.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of, ancestry_of_parents
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_matrix
from tests.descent_helpers import pedigree as flock
from tests.published.pedigrees import mirrored_z_kinship, printed

FAMILY = printed("F - -", "M - -", "S F M", "D F M")

BIRDS = flock(
    *("A cock recurrent recurrent", "B cock recurrent recurrent"),
    *("H hen recurrent recurrent", "J hen recurrent recurrent"),
    *("son1 cock A H", "son2 cock A H", "daughter1 hen A H", "daughter2 hen A H"),
    *("sire_son cock A J", "sire_daughter hen A J"),
    *("dam_son cock B H", "dam_daughter hen B H"),
)


ON_THE_X = {
    "mother and daughter": (1, 3, "1/4"),
    "mother and son": (1, 2, "1/2"),
    "father and daughter": (0, 3, "1/2"),
    "father and son": (0, 2, "0"),
}
"""Two of ``FAMILY`` by their place, and their kinship on the X."""


@pytest.mark.parametrize("kin", ON_THE_X)
def test_parents_and_offspring_on_the_x(kin: str) -> None:
    first, second, kinship = ON_THE_X[kin]
    found = mirrored_z_kinship(FAMILY, ["F", "S"])
    assert found[first][second] == Fraction(kinship)


@pytest.mark.parametrize(
    ("first", "second", "kinship"),
    [
        pytest.param("A", "son1", "1/4", id="sire and son"),
        pytest.param("A", "daughter1", "1/2", id="sire and daughter"),
        pytest.param("H", "son1", "1/2", id="dam and son"),
        pytest.param("H", "daughter1", "0", id="dam and daughter"),
        pytest.param("son1", "son2", "3/8", id="full brothers"),
        pytest.param("daughter1", "daughter2", "1/2", id="full sisters"),
        pytest.param("son1", "daughter1", "1/4", id="brother and sister"),
        pytest.param("son1", "sire_son", "1/8", id="brothers by the sire"),
        pytest.param("daughter1", "sire_daughter", "1/2", id="sisters by the sire"),
        pytest.param("son1", "sire_daughter", "1/4", id="brother and sister by the sire"),
        pytest.param("son1", "dam_son", "1/4", id="brothers by the dam"),
        pytest.param("daughter1", "dam_daughter", "0", id="sisters by the dam"),
        pytest.param("son1", "dam_daughter", "0", id="brother and sister by the dam"),
    ],
)
def test_close_kin_on_the_z(first: str, second: str, kinship: str) -> None:
    assert kinship_matrix(BIRDS, z_linked=True).between(first, second) == Fraction(kinship)


def test_the_sex_with_one_copy_has_inbreeding_one() -> None:
    found = inbreeding_of(ancestry_of(BIRDS), z_linked=True)
    hens = [bird for bird, value in zip(BIRDS.birds, found, strict=True) if value == 1]
    assert hens == ["H", "J", "daughter1", "daughter2", "sire_daughter", "dam_daughter"]


def test_brother_by_sister_on_the_z_follows_the_series_of_the_autosomes() -> None:
    """F'' = (1 + 2F' + F) / 4: a sister has her sire's Z, so kinship of the two is his with her.

    Half of it is his own, half his with their dam, his sister. Arithmetic exact, ours.
    """
    sires = [-1, -1, *(2 * (at // 2) for at in range(20))]
    dams = [-1, -1, *(2 * (at // 2) + 1 for at in range(20))]
    line = ancestry_of_parents(sires, dams, sexes=np.tile([1, 2], 11))
    series = inbreeding_of(line, line.birds[::2], z_linked=True)
    assert series[:4].tolist() == [0, 0, 1 / 4, 3 / 8]
    for older, old, new in zip(series, series[1:], series[2:], strict=False):
        assert new == (1 + 2 * old + older) / 4
