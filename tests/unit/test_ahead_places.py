from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.strands import draw_places
from matchmaker.ahead.today import prepare_past
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
from matchmaker.genetics.study import study_flock
from matchmaker.tables.read import read_folder

if TYPE_CHECKING:
    from numpy.typing import NDArray

LENGTHS = {"1": 300.0, "2": 100.0, "Z": 50.0}
DRAWS = 3000
EXAMPLES = Path(__file__).parents[2] / "examples"


def drawn(loci: list[Locus]) -> tuple[NDArray[np.str_], NDArray[np.float64]]:
    """Chromosomes and positions, each of shape (draws, loci)."""
    rng = np.random.default_rng(1)
    places = [draw_places({one.symbol: one for one in loci}, LENGTHS, rng) for _ in range(DRAWS)]
    return (
        np.array([[name for name, _ in some] for some in places]),
        np.array([[at for _, at in some] for some in places]),
    )


def test_a_known_chromosome_is_kept_and_the_place_on_it_drawn_evenly() -> None:
    chromosomes, positions = drawn([catalogue()["D"], catalogue()["S"]])
    assert set(chromosomes[:, 0]) == {"2"}
    assert set(chromosomes[:, 1]) == {"Z"}
    for at, length in enumerate((100.0, 50.0)):
        assert positions[:, at].min() >= 0
        assert positions[:, at].max() <= length
        error = length / 12**0.5 / DRAWS**0.5
        assert abs(positions[:, at].mean() - length / 2) < 5 * error


def test_an_unknown_chromosome_is_an_autosome_drawn_by_length() -> None:
    for named in ("", "44", "Z"):
        chromosomes, _ = drawn([Locus(symbol="X", name="ours", chromosome=named)])
        assert set(chromosomes[:, 0]) == {"1", "2"}
        assert abs((chromosomes[:, 0] == "1").mean() - 0.75) < 5 * (0.1875 / DRAWS) ** 0.5


@pytest.mark.parametrize(("recombination", "apart"), [(0.1, 11.157), (0.0, 0.0), (0.49, 100.0)])
def test_linked_loci_lie_as_far_apart_as_they_recombine(recombination: float, apart: float) -> None:
    """Haldane's distance, −50 ln (1 − 2r) cM; r = 0.49 would be 196, and the chromosome has 100."""
    one = Locus(symbol="X", name="ours", linked_to="D", recombination=recombination)
    chromosomes, positions = drawn([one, replace(catalogue()["D"], linkages=())])
    assert set(chromosomes.ravel()) == {"2"}
    assert np.abs(positions[:, 0] - positions[:, 1]) == pytest.approx(apart, abs=1e-3)
    assert positions.min() >= 0
    assert positions.max() <= 100
    if apart:
        first = (positions[:, 0] < positions[:, 1]).mean()
        assert abs(first - 0.5) < 5 * 0.5 / DRAWS**0.5


def test_where_all_is_on_the_z_unsure_dams_of_hens_are_drawn_as_written() -> None:
    """A dam gives her daughters no Z: nothing seen there tells who she is."""
    tables = read_folder(EXAMPLES / "tarn-croft", known_loci=frozenset(catalogue()))
    study = study_flock(build_flock(tables))
    assert all(locus.z_linked for locus in study.loci.values())
    past = prepare_past(study, 600, 3)
    pedigree = past.pedigree
    unsure = [
        at
        for at, links in enumerate(pedigree.dams)
        if len(links) > 1 and pedigree.sexes[at] == "hen"
    ]
    assert unsure
    for at in unsure:
        for node, share in pedigree.dams[at]:
            counted = (past.drawn.parents[:, at, 1] == node - pedigree.first_bird).mean()
            assert abs(counted - share) < 5 * (share * (1 - share) / 600) ** 0.5
