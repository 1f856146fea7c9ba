"""Recurrent share of carriers, backcross by backcross, through the whole of what is simulated.

Any text of plant or animal breeding: 3/4, 7/8, 15/16 of the genome after one, two and three
backcrosses; carriers lag behind by the donor's piece around the gene (Stam & Zeven 1981, Euphytica
30:227). A place d Morgans from the gene is still the donor's on a carrier's strand after t
backcrosses with chance ((1 + exp(-2d))/2)^t, by Haldane's map (Haldane 1919, J Genet 8:299); own
arithmetic, over the map of the fowl that the simulation uses.
"""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.drop.reading import recurrent_share
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.shares.genome_map import chicken_map
from matchmaker.genetics.shares.share import recurrent_shares
from tests.ahead_flocks import PENS, SURE, played, watched
from tests.builders import chick, cock, dna, hen, judged
from tests.descent_helpers import backcross_chain

REPLICATES = 14
KNOWN = [{**pen, "dam_known": "yes"} for pen in PENS]
SERIES = {1: 0.75, 2: 0.875, 3: 0.9375}
FLOCK = (
    *(cock(f"S{at}", hatched="2025-02-01") for at in range(4)),
    *(hen(f"P{at}") for at in range(8)),
    hen("PD", hatched="2024-03-01", status="dead", left_on="2026-11-01"),
    cock("D", "Donor", "araucana", hatched="2024-03-01", status="dead", left_on="2026-11-01"),
    *(chick(f"AC{at}", "cock", "D", "PD", "Alder", hatched="2025-04-01") for at in range(3)),
    *(chick(f"AH{at}", "hen", "D", "PD", "Alder", hatched="2025-04-01") for at in range(4)),
)
SEEN = (
    dna("D", "O", 2),
    *(dna(row["bird"], "O", 1) for row in FLOCK if row["line"] == "Alder"),
)
SETTINGS = '[lines.Alder]\nstep = "backcross"\nchicks_wanted = 30\n' + SURE


def expected_of_carriers(backcrosses: int) -> float:
    """Share of the recurrent breed in the autosomes of carriers, the gene anywhere on its own."""
    lengths = {name: length for name, length in chicken_map().lengths.items() if name != "Z"}
    own = lengths[catalogue()["O"].chromosome] / 100
    places = (np.arange(600) + 0.5) / 600 * own
    apart = np.abs(places[:, None] - places)
    beside = (((1 + np.exp(-2 * apart)) / 2) ** backcrosses).mean()
    part = own * 100 / sum(lengths.values())
    return float(1 - (part * beside + (1 - part) * 0.5**backcrosses) / 2)


def test_the_piece_around_the_gene_makes_carriers_lag() -> None:
    for backcrosses, share in SERIES.items():
        assert share - 0.03 < expected_of_carriers(backcrosses) < share


def test_shares_by_pedigree() -> None:
    found = recurrent_shares(backcross_chain(3), "recurrent")
    assert {backcrosses: found[f"X{backcrosses}"] for backcrosses in SERIES} == SERIES


@pytest.fixture(scope="module")
def shares(tmp_path_factory: pytest.TempPathFactory) -> dict[int, list[float]]:
    """True shares of the carriers among young birds, by the number of backcrosses."""
    table = judged(tmp_path_factory.mktemp("series") / "f", FLOCK, SETTINGS, seen=SEEN, pens=KNOWN)
    player = watched(table, ("random",), seasons=3, replicates=REPLICATES, ready=1.0)
    found: dict[int, list[float]] = {backcrosses: [] for backcrosses in SERIES}
    for replicate in range(REPLICATES):
        for season in played(player, replicate)[1]:
            told = season.spring.study.recurrent_share
            of, birds = season.fate.nature, season.grown.birds
            carries = of.copies(birds)[:, of.loci.index("O")] > 0
            true = recurrent_share(of.grid, birds.bits)
            for at, band in enumerate(season.grown.bands):
                if band not in season.world.bands and carries[at] and told[band] < 1 - 1e-9:
                    backcrosses = {share: t for t, share in SERIES.items()}[round(told[band], 6)]
                    found[backcrosses].append(float(true[at]))
    return found


@pytest.mark.parametrize("backcrosses", SERIES)
def test_carriers_are_as_far_as_theory_says(
    shares: dict[int, list[float]], backcrosses: int
) -> None:
    own = np.array(shares[backcrosses])
    assert len(own) > 25
    error = own.std() / (len(own) / 3) ** 0.5  # birds of one season share parents
    assert abs(own.mean() - expected_of_carriers(backcrosses)) < 4 * error < 0.05
    assert abs(own.mean() - SERIES[backcrosses]) < 0.04
