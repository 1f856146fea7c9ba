"""Laws of genotype probabilities, and flocks whose answer can be worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.network import Problem
from matchmaker.genetics.genotypes.posterior import posterior_of
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence, seen_row
from tests.oracle.flocks_at_random import draw

LOCI = catalogue()
BACKCROSS = (
    "A cock donor donor",
    "R hen recurrent recurrent",
    "F1 cock A R",
    "R2 hen recurrent recurrent",
    "B1 hen F1 R2",
    "B2 cock F1 R2",
)


def copies(flock: Pedigree, symbol: str, bird: str, **seen: str) -> list[float]:
    locus = LOCI[symbol]
    found = genotype_probabilities(flock, locus, evidence(flock, locus, seen), "recurrent")
    row: list[float] = found.of(bird).tolist()
    return row


class TestByHand:
    def test_founders_are_pure_by_default(self) -> None:
        flock = pedigree(*BACKCROSS)
        assert copies(flock, "P", "A") == [0.0, 0.0, 1.0]
        assert copies(flock, "P", "R") == [1.0, 0.0, 0.0]
        assert copies(flock, "P", "F1") == [0.0, 1.0, 0.0]

    def test_half_a_backcross_carries(self) -> None:
        assert copies(pedigree(*BACKCROSS), "P", "B1") == [0.5, 0.5, 0.0]

    def test_a_backcross_that_shows_has_exactly_one_copy(self) -> None:
        assert copies(pedigree(*BACKCROSS), "P", "B1", B1="pea") == [0.0, 1.0, 0.0]

    def test_an_intercross_bird_that_shows_has_two_copies_in_a_third(self) -> None:
        flock = pedigree(*BACKCROSS, "X hen B2 B1")
        found = copies(flock, "P", "X", B1="pea", B2="pea", X="pea")
        assert found == pytest.approx([0.0, 2 / 3, 1 / 3])

    def test_a_chick_tells_of_its_dam(self) -> None:
        flock = pedigree(*BACKCROSS, "R3 cock recurrent recurrent", "C cock R3 B1")
        assert copies(flock, "P", "B1", C="pea") == [0.0, 1.0, 0.0]

    def test_clean_chicks_make_a_carrier_less_likely(self) -> None:
        """One of two prior, a single plain chick: 1/2 · 1/2 against 1/2."""
        flock = pedigree(*BACKCROSS, "R3 cock recurrent recurrent", "C cock R3 B1")
        assert copies(flock, "P", "B1", C="single") == pytest.approx([2 / 3, 1 / 3, 0.0])

    def test_a_crossbred_founder_has_two_gametes_of_the_mixture(self) -> None:
        flock = pedigree("M hen donor:0.25|recurrent:0.75 donor:0.25|recurrent:0.75")
        assert copies(flock, "P", "M") == pytest.approx([9 / 16, 6 / 16, 1 / 16])

    def test_a_half_founder_has_one_gamete_of_its_pool(self) -> None:
        flock = pedigree(*BACKCROSS, "H hen F1 donor")
        assert copies(flock, "P", "H") == [0.0, 0.5, 0.5]

    def test_two_possible_sires_are_weighed(self) -> None:
        flock = pedigree(*BACKCROSS, "R3 cock recurrent recurrent", "H hen F1:0.7|R3:0.3 R")
        assert copies(flock, "P", "H") == pytest.approx([0.65, 0.35, 0.0])

    def test_a_chick_that_shows_names_its_sire_and_frees_the_other(self) -> None:
        flock = pedigree(*BACKCROSS, "R3 hen recurrent recurrent", "C hen B2|A R3")
        found = copies(flock, "P", "B2", C="pea")
        assert found == pytest.approx([2 / 5, 3 / 5, 0.0])

    def test_a_bird_of_unknown_sex_at_a_z_linked_locus_is_either(self) -> None:
        flock = pedigree("A cock donor donor", "R hen recurrent recurrent", "C ? A R")
        assert copies(flock, "S", "C") == [0.0, 1.0, 0.0]
        flock = pedigree("R cock recurrent recurrent", "A hen donor donor", "C ? R A")
        assert copies(flock, "S", "C") == [0.5, 0.5, 0.0]

    def test_a_plain_bird_may_carry_where_penetrance_is_not_full(self) -> None:
        flock = pedigree(*BACKCROSS)
        locus = replace(LOCI["P"], penetrance=0.75)
        told = evidence(flock, locus, {"B1": "single"})
        found = genotype_probabilities(flock, locus, told, "recurrent")
        assert found.of("B1").tolist() == pytest.approx([0.8, 0.2, 0.0])

    def test_survivors_of_two_carriers_of_a_lethal_are_two_to_one(self) -> None:
        creeper = {"Q": "creeper", "W": "creeper"}
        flock = pedigree("Q cock donor donor", "W hen donor donor", "C hen Q W")
        assert copies(flock, "Cp", "C", **creeper) == pytest.approx([1 / 3, 2 / 3, 0.0])

    def test_chick_counts_of_a_pair_count(self) -> None:
        """Five single chicks of a possible carrier, prior one half: odds 1 to 32."""
        flock = pedigree(*BACKCROSS)
        row = seen_row(pair=("R", "B2"), what=(("single", 5),), how="day-old", locus="P")
        told = evidence(flock, LOCI["P"], {}, row)
        found = genotype_probabilities(flock, LOCI["P"], told, "recurrent")
        assert found.carrier_probability("B2") == pytest.approx(1 / 33)


class TestZLinked:
    """A hen gives her Z to her sons only (any text on sex linkage in fowl)."""

    FLOCK = pedigree(
        "A cock donor donor",
        "R hen recurrent recurrent",
        "D hen A R",
        "N cock recurrent recurrent",
        "SON cock N D",
        "DAUGHTER hen N D",
    )

    @pytest.mark.parametrize("symbol", ["S", "choc"])
    def test_all_sons_and_no_daughters_of_a_carrier_hen_carry(self, symbol: str) -> None:
        assert copies(self.FLOCK, symbol, "D") == [0.0, 1.0, 0.0]
        assert copies(self.FLOCK, symbol, "DAUGHTER") == [1.0, 0.0, 0.0]
        assert copies(self.FLOCK, symbol, "SON") == [0.0, 1.0, 0.0]

    def test_hens_never_have_two(self) -> None:
        locus = replace(LOCI["S"], frequency={"donor": 0.6, "recurrent": 0.3})
        found = genotype_probabilities(self.FLOCK, locus, (), "recurrent")
        assert found.probabilities[[1, 2, 5], 2].tolist() == [0.0, 0.0, 0.0]


class TestLaws:
    @settings(max_examples=40, deadline=None)
    @given(st.integers(0, 10**6))
    def test_probabilities_sum_to_one(self, seed: int) -> None:
        case = draw(seed, birds=14)
        try:
            found = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
        except ContradictionError:
            return
        assert np.abs(found.probabilities.sum(axis=1) - 1).max() < 1e-12
        assert found.probabilities.min() >= 0

    @settings(max_examples=40, deadline=None)
    @given(st.integers(0, 10**6))
    def test_a_descendant_nobody_saw_changes_nothing(self, seed: int) -> None:
        case = draw(seed, birds=12)
        seen = [one for one in case.evidence if "B11" not in repr(one)]
        less = _without_last(case.pedigree)
        try:
            whole = genotype_probabilities(case.pedigree, case.locus, seen, "sussex")
        except ContradictionError:
            return
        part = genotype_probabilities(less, case.locus, seen, "sussex")
        assert np.abs(whole.probabilities[:-1] - part.probabilities).max() < 1e-12

    @settings(max_examples=40, deadline=None)
    @given(st.integers(0, 10**6))
    def test_joints_have_the_marginals_as_margins(self, seed: int) -> None:
        case = draw(seed, birds=12)
        try:
            found = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
        except ContradictionError:
            return
        pairs = list(zip(case.pedigree.birds, case.pedigree.sexes, strict=True))
        hens = [bird for bird, sex in pairs if sex == "hen"]
        cocks = [bird for bird, sex in pairs if sex == "cock"]
        joint = found.joint(hens, cocks)
        for row, hen in enumerate(hens):
            for column, cock in enumerate(cocks):
                cell = joint[row, column]
                assert np.abs(cell.sum(axis=1) - found.of(hen)).max() < 1e-12
                assert np.abs(cell.sum(axis=0) - found.of(cock)).max() < 1e-12

    @pytest.mark.parametrize("seed", range(20))
    def test_the_order_of_rows_and_records_does_not_matter(self, seed: int) -> None:
        flock = pedigree(*BACKCROSS, "X hen B2 B1", "Y cock B2 B1", "Z hen Y|B2 X|B1")
        turned = pedigree(
            BACKCROSS[1],
            BACKCROSS[3],
            BACKCROSS[0],
            BACKCROSS[2],
            BACKCROSS[5],
            BACKCROSS[4],
            "Y cock B2 B1",
            "X hen B2 B1",
            "Z hen Y|B2 X|B1",
        )
        words = np.random.default_rng(seed).permutation(["pea", "single", "pea", "single"])
        seen = dict(zip(("B1", "X", "Z", "Y"), words.tolist(), strict=True))
        locus = replace(LOCI["P"], error=0.02)
        one = genotype_probabilities(flock, locus, evidence(flock, locus, seen), "recurrent")
        told = evidence(turned, locus, seen)[::-1]
        two = genotype_probabilities(turned, locus, told, "recurrent")
        for bird in flock.birds:
            assert one.of(bird) == pytest.approx(two.of(bird), abs=1e-14)


class TestJoint:
    def test_full_sibs_of_a_carrier_of_unknown_state_are_not_independent(self) -> None:
        flock = pedigree(*BACKCROSS, "R3 hen recurrent recurrent", "X hen B2 R3", "Y cock B2 R3")
        found = genotype_probabilities(flock, LOCI["P"], (), "recurrent")
        # B2 carries in one half; given that, each chick does in one half, apart from the other.
        expected = [[5 / 8, 1 / 8, 0], [1 / 8, 1 / 8, 0], [0, 0, 0]]
        assert found.joint(["X"], ["Y"])[0, 0] == pytest.approx(np.array(expected))

    def test_of_certain_birds_is_certain(self) -> None:
        found = genotype_probabilities(pedigree(*BACKCROSS), LOCI["P"], (), "recurrent")
        assert found.joint(["R"], ["A"])[0, 0, 0, 2] == 1.0

    def test_of_nobody_is_empty(self) -> None:
        found = genotype_probabilities(pedigree(*BACKCROSS), LOCI["P"], (), "recurrent")
        assert found.joint([], ["A"]).shape == (0, 1, 3, 3)


def test_the_rows_are_those_of_the_birds() -> None:
    found = genotype_probabilities(pedigree(*BACKCROSS), LOCI["P"], (), "recurrent")
    assert found.birds == ("A", "R", "F1", "R2", "B1", "B2")
    assert found.probabilities[2].tolist() == found.of("F1").tolist()
    assert not found.probabilities.flags.writeable


def test_an_unknown_band_is_a_key_error() -> None:
    found = genotype_probabilities(pedigree(*BACKCROSS), LOCI["P"], (), "recurrent")
    with pytest.raises(KeyError):
        found.of("nobody")


@pytest.mark.parametrize("chicks", [40, 2000])
def test_huge_counts_do_not_make_the_possible_impossible(chicks: int) -> None:
    """2000 plain chicks speak against a carrier with 2^-2000, but a test says he is one."""
    flock = pedigree(*BACKCROSS)
    rows = (
        seen_row(2, pair=("R", "B2"), what=(("single", chicks),), how="day-old", locus="P"),
        seen_row(3, bird="B2", what=(("1 copy", 1),), how="dna", locus="P"),
    )
    told = evidence(flock, LOCI["P"], {}, *rows)
    found = genotype_probabilities(flock, LOCI["P"], told, "recurrent")
    assert found.of("B2").tolist() == [0.0, 1.0, 0.0]


def test_a_pedigree_too_tangled_for_exact_work_is_refused_in_words_without_sampling() -> None:
    """Thirty hens that may each be the dam of any of sixty chicks with a result."""
    hens = [f"H{n} hen donor|recurrent donor|recurrent" for n in range(30)]
    dams = "|".join(f"H{n}" for n in range(30))
    chicks = [f"C{n} cock S {dams}" for n in range(60)]
    flock = pedigree("S cock recurrent recurrent", *hens, *chicks)
    seen = {f"C{n}": "pea" if n % 2 else "single" for n in range(60)}
    told = evidence(flock, LOCI["P"], seen)
    asked = Problem(
        pedigree=flock, recurrent="recurrent", loci=(LOCI["P"],), evidence=(tuple(told),)
    )
    with pytest.raises(TooTangledError, match="too tangled"):
        posterior_of(asked, sampling=False)


def test_chicks_of_many_possible_dams_are_worked_out_apart_if_nothing_was_seen_of_them() -> None:
    """The same flock without results: every chick has half a founder's chance from its dam."""
    hens = [f"H{n} hen donor|recurrent donor|recurrent" for n in range(30)]
    dams = "|".join(f"H{n}" for n in range(30))
    flock = pedigree(
        "S cock recurrent recurrent", *hens, *(f"C{n} cock S {dams}" for n in range(12))
    )
    found = genotype_probabilities(flock, LOCI["P"], (), "recurrent")
    assert found.of("C7").tolist() == pytest.approx([0.5, 0.5, 0.0])


def test_many_possible_sires_and_dams_at_once_stay_small() -> None:
    """Eight cocks and eight hens behind twenty chicks that nobody saw: a founder's average each."""
    cocks = [f"S{n} cock donor|recurrent donor|recurrent" for n in range(8)]
    hens = [f"H{n} hen donor|recurrent donor|recurrent" for n in range(8)]
    sires, dams = ("|".join(f"{letter}{n}" for n in range(8)) for letter in "SH")
    flock = pedigree(*cocks, *hens, *(f"C{n} hen {sires} {dams}" for n in range(20)))
    found = genotype_probabilities(flock, LOCI["P"], (), "recurrent")
    assert found.of("C19").tolist() == pytest.approx([0.25, 0.5, 0.25])


def test_the_pools_keep_their_own_frequencies() -> None:
    flock = Pedigree(
        pools=(Pool("a"), Pool("b", "farm"), Pool("c")),
        bases=((0.0,) * 3,) * 3,
        birds=("X",),
        sexes=(None,),
        sires=(((0, 0.5), (1, 0.5)),),
        dams=(((2, 1.0),),),
    )
    locus = Locus(symbol="X", name="X", frequency={"a": 0.1, "b": 0.5, "c": 0.2})
    found = genotype_probabilities(flock, locus, (), "c")
    assert found.of("X").tolist() == pytest.approx([0.7 * 0.8, 0.7 * 0.2 + 0.3 * 0.8, 0.3 * 0.2])


def _without_last(whole: Pedigree) -> Pedigree:
    return replace(
        whole,
        birds=whole.birds[:-1],
        sexes=whole.sexes[:-1],
        sires=whole.sires[:-1],
        dams=whole.dams[:-1],
    )
