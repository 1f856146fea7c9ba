"""Today's birds as they may truly be, beside what is known of them.

Bounds are five standard errors of what is counted over the replicates.
"""

from __future__ import annotations

import pickle
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.assumed import doubts_of_the_past
from matchmaker.ahead.strands import held_strands
from matchmaker.ahead.today import prepare_past
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.drop.reading import (
    breed_mixed,
    inbreeding,
    kinship,
    labels_at,
    recurrent_share,
)
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.study import study_flock
from matchmaker.tables.read import read_folder
from tests.builders import chick, cock, dna, hen, table, write_flock

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matchmaker.ahead.birds import Bits, Matrix, Truth
    from matchmaker.ahead.today import Past
    from matchmaker.genetics.drop.grid import Grid
    from matchmaker.genetics.study import Study
    from tests.builders import Row

EXAMPLES = Path(__file__).parents[2] / "examples"
REPLICATES = 250
FEWER = 150
"""Of the small flocks."""


def study_of(folder: Path) -> Study:
    return study_flock(build_flock(read_folder(folder, known_loci=frozenset(catalogue()))))


@pytest.fixture(scope="module")
def holm_fen() -> Study:
    """Two hundred and fifty birds, two linked loci, some parents unsure, traits scored."""
    return study_of(EXAMPLES / "holm-fen")


@pytest.fixture(scope="module")
def past(holm_fen: Study) -> Past:
    return prepare_past(holm_fen, REPLICATES, 5)


@pytest.fixture(scope="module")
def truths(past: Past) -> list[Truth]:
    return [past.truth(replicate) for replicate in range(REPLICATES)]


def within(counted: Matrix, expected: Matrix, draws: int = REPLICATES) -> None:
    """Frequencies are no more than five standard errors off, and nothing impossible is there."""
    error = np.sqrt(expected * (1 - expected) / draws)
    assert (np.abs(counted - expected) <= 5 * error + 1e-12).all()


class TestOfHolmFen:
    def test_the_birds_are_the_living_in_order(self, holm_fen: Study, truths: list[Truth]) -> None:
        one = truths[0]
        assert one.bands == tuple(bird.band for bird in holm_fen.flock.living)
        assert list(one.bands) == sorted(one.bands)
        assert len(one.birds) == len(one.bands)
        known = [bird.sex for bird in holm_fen.flock.living]
        for truth in truths[:20]:
            told = [sex == "hen" for sex in known if sex]
            assert [h for h, sex in zip(truth.birds.hens, known, strict=True) if sex] == told

    def test_copies_are_as_frequent_as_they_are_likely(
        self, holm_fen: Study, truths: list[Truth]
    ) -> None:
        copies = np.array([truth.nature.copies(truth.birds) for truth in truths])
        for at, symbol in enumerate(truths[0].nature.loci):
            likely = np.array([holm_fen.genotypes[symbol].of(band) for band in truths[0].bands])
            counted = np.stack([(copies[:, :, at] == number).mean(axis=0) for number in range(3)])
            within(counted.T, likely)

    def test_copies_of_two_birds_go_together_as_they_are_likely_to(
        self, holm_fen: Study, truths: list[Truth]
    ) -> None:
        """Hens with cocks, relatives among them, from the joint probabilities of each pair."""
        bands = truths[0].bands
        hens = [at for at in range(len(bands)) if truths[0].birds.hens[at]][:20]
        cocks = [at for at in range(len(bands)) if not truths[0].birds.hens[at]][:10]
        symbol = truths[0].nature.loci[0]
        copies = np.array([truth.nature.copies(truth.birds)[:, 0] for truth in truths])
        which = np.eye(3)[copies]
        counted = np.einsum("rhi,rcj->hcij", which[:, hens], which[:, cocks]) / REPLICATES
        names = [bands[at] for at in hens], [bands[at] for at in cocks]
        within(counted, holm_fen.genotypes[symbol].joint(*names))

    def test_phase_is_as_frequent_as_it_is_likely(
        self, holm_fen: Study, truths: list[Truth]
    ) -> None:
        found = holm_fen.linked["O", "P"]
        at = [truths[0].nature.loci.index(symbol) for symbol in ("O", "P")]
        for bird, band in list(enumerate(truths[0].bands))[::5]:
            coupled = np.mean(
                [
                    sorted(map(tuple, truth.birds.alleles[bird][:, at].tolist()))
                    == [(0, 0), (1, 1)]
                    for truth in truths
                ]
            )
            names = found.haplotypes(band)
            likely = names.get("O P/o+ p+", 0.0) + names.get("o+ p+/O P", 0.0)
            within(np.array(coupled), np.array(likely))

    def test_breeding_values_are_what_is_predicted_on_the_mean(
        self, holm_fen: Study, truths: list[Truth]
    ) -> None:
        values = np.array([truth.birds.values for truth in truths])
        forecast = holm_fen.forecast
        at = [forecast.position(band) for band in truths[0].bands]
        for trait, found in enumerate(forecast.traits):
            error = np.sqrt(forecast.bird_errors[at, trait, trait])
            off = values[:, :, trait].mean(axis=0) - found.values[at]
            assert (np.abs(off) < 5 * error / REPLICATES**0.5).all()
            spread = values[:, :, trait].std(axis=0, ddof=1)
            assert spread == pytest.approx(error, rel=5 * (0.5 / REPLICATES) ** 0.5)

    def test_what_all_birds_have_in_common_is_that_of_the_forecast(
        self, holm_fen: Study, truths: list[Truth]
    ) -> None:
        nature, forecast = truths[0].nature, holm_fen.forecast
        assert nature.traits == tuple(aim.trait for aim in forecast.aims)
        assert nature.genetic_sd == pytest.approx([one.genetic_sd for one in forecast.traits])
        whole = nature.genetic_sd**2 + nature.lasting_sd**2 + nature.residual_sd**2
        assert whole**0.5 == pytest.approx(
            [one.prediction.phenotypic_sd for one in forecast.traits if one.prediction]
        )
        slopes = np.array([truth.nature.share_slope for truth in truths])
        error = np.array([one.share_error for one in forecast.traits])
        off = slopes.mean(axis=0) - [one.share_slope for one in forecast.traits]
        assert (np.abs(off) < 5 * error / REPLICATES**0.5).all()

    def test_every_allele_passed_on_is_one_that_the_parent_has(self, past: Past) -> None:
        parents, alleles = past.drawn.parents, past.drawn.alleles
        for replicate in range(0, REPLICATES, 40):
            for side in (0, 1):
                of = parents[replicate, :, side]
                born = np.flatnonzero(of >= 0)
                passed = alleles[replicate, born, side]
                held = alleles[replicate, of[born]]
                assert ((held == passed[:, None]).any(axis=1) | (passed < 0)).all()

    def test_parents_are_among_those_written(self, past: Past) -> None:
        pedigree = past.pedigree
        assert any(len(links) > 1 for links in pedigree.dams)
        for side, links_of in enumerate((pedigree.sires, pedigree.dams)):
            for at, links in enumerate(links_of):
                nodes = {node for node, _ in links}
                drawn = set(np.unique(past.drawn.parents[:, at, side]).tolist())
                first = pedigree.first_bird
                assert drawn <= {n - first if n >= first else -1 - n for n in nodes}
        several = [at for at, links in enumerate(pedigree.dams) if len(links) > 1]
        assert any(len(np.unique(past.drawn.parents[:, at, 1])) > 1 for at in several)

    def test_what_could_not_be_drawn_exactly_is_said(self, past: Past) -> None:
        assert list(doubts_of_the_past(past)) == []
        sampled = replace(past, method="sampled", given_parents=("P", "R"))
        by_sampling, no_help = doubts_of_the_past(sampled)
        assert "drawn by sampling" in by_sampling
        assert no_help.startswith("what was seen of P, R tells nothing of who the unsure parents")

    def test_a_replicate_is_the_same_whoever_asks(self, holm_fen: Study, past: Past) -> None:
        few = pickle.loads(pickle.dumps(prepare_past(holm_fen, 3, 5)))  # noqa: S301
        for replicate in (2, 0):
            mine, other = past.truth(replicate), few.truth(replicate)
            for name in ("hens", "bits", "alleles"):
                assert np.array_equal(getattr(mine.birds, name), getattr(other.birds, name))
            # products of larger matrices are rounded otherwise
            assert other.birds.values == pytest.approx(mine.birds.values, rel=1e-9)
            assert np.array_equal(mine.nature.grid.positions, other.nature.grid.positions)

    def test_replicates_and_seeds_differ(self, holm_fen: Study, past: Past) -> None:
        one, two = past.truth(0), past.truth(1)
        other = prepare_past(holm_fen, 1, 6).truth(0)
        assert not np.array_equal(one.birds.values, two.birds.values)
        assert not np.array_equal(one.birds.bits, two.birds.bits)
        assert not np.array_equal(one.birds.values, other.birds.values)
        assert not np.array_equal(one.birds.bits, other.birds.bits)

    def test_a_replicate_that_is_not_there_is_refused(self, holm_fen: Study, past: Past) -> None:
        for replicate in (-1, REPLICATES):
            with pytest.raises(IndexError, match=str(replicate)):
                past.truth(replicate)
        with pytest.raises(ValueError, match="at least one"):
            prepare_past(holm_fen, 0, 1)


FAMILY: tuple[Row, ...] = (
    cock("S"),
    cock("A", "Alder", "araucana"),
    *(hen(f"H{at}") for at in range(3)),
    chick("X0", "cock", "A", "H0", "Alder", hatched="2024-04-01"),
    chick("X1", "hen", "A", "H1", "Alder", hatched="2024-04-01"),
    chick("Y0", "cock", "X0", "X1", "Alder", hatched="2025-04-01"),
    chick("Y1", "hen", "X0", "H2", "Alder", hatched="2025-04-01"),
    chick("Z0", "hen", "Y0", "Y1", "Alder"),
    chick("Z1", "hen", "Y0", "X1", "Alder"),
)
"""A first cross, chicks of half sibs, and of relatives again."""

OLD = [{**row, "hatched": "2022-03-01"} if row["sire"] == "founder" else row for row in FAMILY]

UNTOLD = "\n[loci.O]\nfrequency = {sussex = 0.5, araucana = 0.5}\n"
"""Both breeds have the gene alike, so that it tells nothing of the breed."""


def drawn(
    path: Path,
    settings: str = UNTOLD,
    birds: Sequence[Row] = OLD,
    seen: Sequence[Row] = (),
    replicates: int = FEWER,
) -> tuple[Study, list[Truth]]:
    folder = write_flock(path, birds, settings)
    if seen:
        (folder / "seen.csv").write_text(table(seen), encoding="utf-8")
    study = study_of(folder)
    past = prepare_past(study, replicates, 9)
    return study, [past.truth(replicate) for replicate in range(replicates)]


def means_agree(drawn_values: Matrix, expected: Matrix | float) -> None:
    error = drawn_values.std(axis=0, ddof=1) / len(drawn_values) ** 0.5
    assert (np.abs(drawn_values.mean(axis=0) - expected) <= 5 * error + 1e-12).all()


def test_what_strands_show_is_what_the_pedigree_says_on_the_mean(tmp_path: Path) -> None:
    settings = UNTOLD + "\n[breeds.sussex]\nbase = 0.1\n"
    study, truths = drawn(tmp_path, settings, replicates=REPLICATES)
    bands, forecast = truths[0].bands, study.forecast
    at = [forecast.position(band) for band in bands]

    def seen(read: Callable[[Grid, Bits], Matrix]) -> Matrix:
        return np.array([read(truth.nature.grid, truth.birds.bits) for truth in truths])

    means_agree(seen(recurrent_share), forecast.shares[at])
    means_agree(seen(inbreeding), forecast.inbreeding[at])
    means_agree(seen(breed_mixed), forecast.heterozygosity[at])
    related = study.kinship_with(bands)
    for one, two in (("Z0", "Z1"), ("Y0", "Y1"), ("H0", "H1"), ("X0", "Z0"), ("A", "Z1")):
        pair = bands.index(one), bands.index(two)
        between = np.array(
            [kinship(t.nature.grid, t.birds.bits[pair[0]], t.birds.bits[pair[1]]) for t in truths]
        )
        means_agree(between, related.between(one, two))


def test_strands_of_one_founder_carry_its_allele(tmp_path: Path) -> None:
    """Unrelated founders: a label stands for one strand, and that has one allele at each locus."""
    _, truths = drawn(tmp_path, UNTOLD.replace("[loci.O]", "[loci.S]\n[loci.lav]\n[loci.O]"))
    for truth in truths[:60]:
        labels = labels_at(truth.birds.bits, truth.nature.grid.placed_at)
        there = truth.birds.alleles >= 0
        for at in range(len(truth.nature.loci)):
            pairs = zip(
                labels[..., at][there[..., at]].tolist(),
                truth.birds.alleles[..., at][there[..., at]].tolist(),
                strict=True,
            )
            found = set(pairs)
            assert len(found) == len({label for label, _ in found})


def test_carriers_have_the_donor_around_their_gene(tmp_path: Path) -> None:
    """The gene is the donor's alone, and all proven carriers are of the donor at its place."""
    _, truths = drawn(tmp_path, "", seen=[dna("Z0", "O", 1), dna("Z1", "O", 2)])
    for truth in truths[:50]:
        at = truth.nature.grid.placed_at
        place = int(at[truth.nature.loci.index("O")])
        bit = (truth.birds.bits[:, :, 0, place // 64] >> np.uint64(place % 64)) & np.uint64(1)
        gene = truth.birds.alleles[..., truth.nature.loci.index("O")]
        assert np.array_equal(bit == 0, gene == 1)
        copies = truth.nature.copies(truth.birds)[:, 0]
        assert [copies[truth.bands.index(band)] for band in ("Z0", "Z1")] == [1, 2]


def test_linked_genes_of_untested_chicks_part_as_often_as_they_recombine(tmp_path: Path) -> None:
    chicks = [chick(f"C{at}", "hen", "X0", "H0", "Alder", hatched="2025-04-01") for at in range(40)]
    linked = '\n[loci.P]\nlinked_to = "O"\nrecombination = 0.2\nfrequency = {sussex = 0.0}\n'
    _, truths = drawn(tmp_path, linked, [*OLD[:7], *chicks])
    loci = truths[0].nature.loci
    at = [loci.index("O"), loci.index("P")]
    bird = [truths[0].bands.index(f"C{number}") for number in range(40)]
    gametes = np.array([truth.birds.alleles[bird][:, 0][:, at] for truth in truths]).reshape(-1, 2)
    parted = gametes[:, 0] != gametes[:, 1]
    assert abs(parted.mean() - 0.2) < 5 * (0.16 / len(parted)) ** 0.5
    assert abs(gametes.mean() - 0.5) < 5 * 0.5 / (len(parted) / 4) ** 0.5
    for truth in truths[:20]:
        positions = truth.nature.grid.positions[truth.nature.grid.placed_at][at]
        assert abs(positions[0] - positions[1]) == pytest.approx(-50 * np.log(1 - 0.4))


def test_birds_of_unknown_sex_are_hens_half_the_time(tmp_path: Path) -> None:
    unsexed = [{**OLD[-1], "sex": ""}]
    _, truths = drawn(tmp_path, birds=[*OLD[:-1], *unsexed])
    share = np.mean([truth.birds.hens[truth.bands.index("Z1")] for truth in truths])
    assert abs(share - 0.5) < 5 * 0.5 / FEWER**0.5


def test_crossbred_founders_have_strands_of_either_breed_by_their_share(tmp_path: Path) -> None:
    mixed = hen("M", "Alder", "sussex:0.75|araucana:0.25", hatched="2022-03-01")
    _, truths = drawn(tmp_path, birds=[*OLD, mixed])
    at = truths[0].bands.index("M")
    strands = np.array([truth.birds.bits[at, :, 0, 0] & np.uint64(1) for truth in truths])
    assert abs(strands.mean() - 0.75) < 5 * (0.1875 / (2 * FEWER)) ** 0.5
    crossed = (strands[:, 0] != strands[:, 1]).mean()
    assert abs(crossed - 0.375) < 5 * (0.234 / FEWER) ** 0.5


def test_a_crossbred_founder_that_carries_what_no_one_breed_has_is_drawn_all_the_same(
    tmp_path: Path,
) -> None:
    """One gamete with a gene of each breed: no strand of one breed has both."""
    mixed = [
        hen("M", "Alder", "sussex:0.5|araucana:0.5", hatched="2022-03-01"),
    ]
    settings = "\n[loci.lav]\nfrequency = {sussex = 1.0, araucana = 0.0}\n"
    told = [dna("M", "O", 2), dna("M", "lav", 2)]
    _, truths = drawn(tmp_path, settings, [*OLD, *mixed], seen=told)
    at = truths[0].bands.index("M")
    breeds = np.array([truth.birds.bits[at, :, 0, 0] & np.uint64(1) for truth in truths])
    assert 0.3 < breeds.mean() < 0.7
    assert all((truth.birds.alleles[at] == 1).all() for truth in truths)


def test_clutch_mates_out_of_an_unwritten_sire_are_full_sibs(tmp_path: Path) -> None:
    """Their unwritten sire is one bird: labels of strand 0 are of two founder strands at most."""
    mates = [
        chick(f"C{at}", "hen", "founder", "H0", "Pure", breed="sussex", clutch="one")
        for at in range(5)
    ]
    _, truths = drawn(tmp_path, birds=[*OLD[:5], *mates])
    at = [truths[0].bands.index(f"C{number}") for number in range(5)]
    several = 0
    for truth in truths[:60]:
        labels = labels_at(truth.birds.bits[at], np.arange(0, truth.nature.grid.places, 40))[:, 0]
        assert len(np.unique(labels)) <= 2
        several += len(np.unique(labels)) == 2
    assert several > 55


def test_strands_are_held_where_only_one_has_the_allele() -> None:
    parents = np.array([[[0], [1]], [[1], [0]], [[1], [1]], [[0], [-1]]], dtype=np.int8)
    passed = np.array([[1], [1], [1], [0]], dtype=np.int8)
    assert held_strands(parents, passed)[:, 0].tolist() == [1, 0, -1, 0]
