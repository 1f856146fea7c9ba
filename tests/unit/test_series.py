"""More than two alleles, and genotypes written with their symbols."""

from __future__ import annotations

from dataclasses import replace

import pytest

from matchmaker.genetics.genotypes.evidence import read_evidence
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.naming import genotype_names, written_genotype
from matchmaker.genetics.genotypes.observed import Sighting
from matchmaker.genetics.genotypes.series import TopAllele
from matchmaker.genetics.genotypes.words import accepted, meaning, weights
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Allele, Dominance, Locus, Look
from matchmaker.tables.records import BirdRecord, Sex
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence, seen_row

DOWN = Locus(
    symbol="eWh",
    name="Wheaten",
    wild_type="e+",
    series=(
        Allele(symbol="E", words=("black",)),
        Allele(symbol="eWh", words=("cream", "cream down")),
        Allele(symbol="e+", name="Wild type", words=("striped",)),
        Allele(symbol="eb", words=("brown", "dark")),
    ),
    frequency={"donor": {"eWh": 1.0}, "recurrent": {"E": 0.25, "eb": 0.75}},
)
"""Four alleles in order of dominance, of which the second is followed."""

GENOTYPES = genotype_names(DOWN)


def fitting(words: str, locus: Locus = DOWN, *, dna: bool = False) -> set[str]:
    """Genotypes of a cock that words allow at all."""
    meant = meaning(locus, words, dna=dna)
    assert meant is not None
    row = weights(locus, meant, dna=dna)[0]
    return {name for name, weight in zip(genotype_names(locus), row, strict=True) if weight}


class TestLooks:
    def test_a_bird_looks_like_its_most_dominant_allele(self) -> None:
        assert fitting("striped") == {"e+/e+", "e+/eb"}
        assert fitting("black") == {"E/E", "E/eWh", "E/e+", "E/eb"}

    def test_the_lowest_allele_shows_alone(self) -> None:
        assert fitting("Brown") == {"eb/eb"}

    def test_the_name_of_an_allele_is_a_word_for_it(self) -> None:
        assert fitting("wild type") == fitting("striped")

    def test_yes_and_no_speak_of_the_named_allele(self) -> None:
        assert fitting("yes") == {"eWh/eWh", "eWh/e+", "eWh/eb"}
        assert fitting("no") == set(GENOTYPES) - fitting("yes")

    def test_looks_of_the_named_allele_are_read_in_its_series(self) -> None:
        assert weights(DOWN, frozenset({Look.SHOWN})) == weights(DOWN, frozenset({TopAllele(1)}))

    def test_copies_count_the_named_allele(self) -> None:
        assert fitting("2 copies") == {"eWh/eWh"}
        assert fitting("1") == {"E/eWh", "eWh/e+", "eWh/eb"}

    def test_a_word_of_two_alleles_means_either(self) -> None:
        alike = tuple(
            replace(one, words=("partridge",)) if one.symbol.startswith("e") else one
            for one in DOWN.series
        )
        found = meaning(replace(DOWN, series=alike), "partridge")
        assert found == frozenset(map(TopAllele, (1, 2, 3)))

    def test_a_laboratory_cannot_say_yes_to_an_allele_that_others_hide(self) -> None:
        assert meaning(DOWN, "yes", dna=True) is None
        assert meaning(replace(DOWN, symbol="E"), "yes", dna=True) is not None

    def test_a_hen_on_the_z_shows_her_one_allele(self) -> None:
        own = replace(DOWN, z_linked=True)
        meant = meaning(own, "striped")
        assert meant is not None
        assert weights(own, meant)[1] == (0.0, 0.0, 1.0, 0.0)

    def test_the_message_lists_the_words_of_all_alleles(self) -> None:
        assert {"black", "cream", "Wild type", "dark", "carrier"} <= set(accepted(DOWN).split(", "))


class TestChances:
    def test_the_error_is_spread_over_the_other_looks(self) -> None:
        meant = meaning(DOWN, "striped")
        assert meant is not None
        row = weights(replace(DOWN, error=0.3), meant)[0]
        by_name = dict(zip(GENOTYPES, row, strict=True))
        assert by_name["e+/eb"] == pytest.approx(0.7)
        assert by_name["eb/eb"] == by_name["E/E"] == pytest.approx(0.1)

    @pytest.mark.parametrize(("words", "chance"), [("cream", 0.8), ("brown", 0.2), ("striped", 0)])
    def test_an_allele_that_fails_to_show_leaves_the_other_one(
        self, words: str, chance: float
    ) -> None:
        meant = meaning(DOWN, words)
        assert meant is not None
        row = weights(replace(DOWN, penetrance=0.8), meant)[0]
        assert dict(zip(GENOTYPES, row, strict=True))["eWh/eb"] == pytest.approx(chance)

    def test_two_copies_that_fail_to_show_leave_the_wild_type(self) -> None:
        meant = meaning(DOWN, "striped")
        assert meant is not None
        row = weights(replace(DOWN, penetrance=0.8), meant)[0]
        assert dict(zip(GENOTYPES, row, strict=True))["eWh/eWh"] == pytest.approx(0.2)

    @pytest.mark.parametrize("dominance", ["dominant", "recessive"])
    @pytest.mark.parametrize("words", ["yes", "no", "carrier", "2", "A/b", "b/b"])
    @pytest.mark.parametrize("shown_by", ["both", "hen"])
    def test_a_series_of_two_is_a_plain_locus(
        self, dominance: Dominance, words: str, shown_by: str
    ) -> None:
        plain = Locus(
            symbol="A" if dominance == "dominant" else "b",
            name="plain",
            wild_type="b" if dominance == "dominant" else "A",
            dominance=dominance,
            penetrance=0.7,
            error=0.04,
        )
        plain = replace(plain, shown_by="hen") if shown_by == "hen" else plain
        series = replace(plain, series=(Allele(symbol="A"), Allele(symbol="b")))
        of_plain, of_series = (meaning(locus, words) for locus in (plain, series))
        assert of_plain is not None
        assert of_series is not None
        by_name = [
            dict(zip(genotype_names(locus), weights(locus, meant)[1], strict=True))
            for locus, meant in ((plain, of_plain), (series, of_series))
        ]
        assert by_name[0] == pytest.approx(by_name[1])


class TestProbabilities:
    FLOCK = pedigree("A cock donor donor", "R hen recurrent recurrent", "F cock A R", "C hen F R")

    def test_every_genotype_has_its_chance(self) -> None:
        found = genotype_probabilities(self.FLOCK, DOWN, (), "recurrent")
        assert found.alleles("A") == {"eWh/eWh": 1.0}
        assert found.alleles("F") == pytest.approx({"E/eWh": 0.25, "eWh/eb": 0.75})
        assert found.of("F").tolist() == [0.0, 1.0, 0.0]

    def test_a_look_tells_of_alleles_that_are_not_followed(self) -> None:
        """F is black, so R gave him E: she has one at least, and is mostly eb besides."""
        told = evidence(self.FLOCK, DOWN, {"F": "black"})
        found = genotype_probabilities(self.FLOCK, DOWN, told, "recurrent")
        assert found.alleles("F") == {"E/eWh": 1.0}
        assert found.alleles("R") == pytest.approx({"E/E": 0.25, "E/eb": 0.75})

    def test_counts_of_chicks_go_by_looks(self) -> None:
        """Cream chicks have eWh from F and nothing above it from R, who so is not black pure."""
        row = seen_row(pair=("R", "F"), what=(("cream", 2),), locus="eWh")
        told = evidence(self.FLOCK, DOWN, {}, row)
        found = genotype_probabilities(self.FLOCK, DOWN, told, "recurrent")
        assert "E/E" not in found.alleles("R")

    def test_unknown_sex_on_the_z_keeps_both(self) -> None:
        own = replace(DOWN, z_linked=True)
        flock = pedigree("A cock donor donor", "R hen recurrent recurrent", "C ? A R")
        found = genotype_probabilities(flock, own, (), "recurrent").alleles("C")
        assert found == pytest.approx({"eWh/W": 0.5, "E/eWh": 0.125, "eWh/eb": 0.375})

    def test_a_lethal_dose_of_the_named_allele_is_not_among_the_living(self) -> None:
        deadly = replace(DOWN, lethal=(2,), dies=(2,), frequency={"donor": {"eWh": 0.5, "e+": 0.5}})
        flock = pedigree("A cock donor donor")
        found = genotype_probabilities(flock, deadly, (), "recurrent").alleles("A")
        assert found == pytest.approx({"eWh/e+": 2 / 3, "e+/e+": 1 / 3})


class TestWritten:
    @pytest.mark.parametrize("words", ["O/o+", "o+/O", " O / o+ ", "O/o"])
    def test_two_symbols_are_a_genotype(self, words: str) -> None:
        assert fitting(words, catalogue()["O"]) == {"O/o+"}

    def test_capitals_tell_alleles_apart(self) -> None:
        assert written_genotype(catalogue()["O"], "o/o") == (0, 0)
        assert written_genotype(catalogue()["O"], "O/O") == (1, 1)

    @pytest.mark.parametrize("words", ["S/W", "S"])
    def test_a_hen_on_the_z_has_one(self, words: str) -> None:
        silver = catalogue()["S"]
        meant = meaning(silver, words)
        assert meant is not None
        assert weights(silver, meant) == ((0.0, 0.0, 0.0), (0.0, 1.0))

    def test_one_symbol_is_no_genotype_off_the_z(self) -> None:
        assert meaning(catalogue()["O"], "O") is None
        assert meaning(catalogue()["O"], "O/W") is None

    @pytest.mark.parametrize("how", ["dna", "report", "adult"])
    def test_it_is_certain_whoever_says_so(self, how: str) -> None:
        blurred = replace(catalogue()["O"], error=0.1)
        row = seen_row(bird="C1", what=(("O/o+", 1),), how=how)
        (one,) = read_evidence(
            [BirdRecord(row=2, bird="C1", sex=Sex.COCK)], [row], blurred
        ).evidence
        assert isinstance(one, Sighting)
        assert one.weights[0] == (0.0, 1.0, 0.0)

    @pytest.mark.parametrize(("sex", "words"), [(Sex.HEN, "S/s+"), (Sex.COCK, "S/W")])
    def test_the_wrong_number_of_alleles_for_the_sex_is_a_fault(self, sex: Sex, words: str) -> None:
        bird = BirdRecord(row=2, bird="X", sex=sex, seen={"S": words})
        (fault,) = read_evidence([bird], [], catalogue()["S"]).faults
        assert fault.kind == "impossible-copies"
        assert f"is a {sex}" in fault.problem

    def test_a_laboratory_may_write_a_recessive_genotype(self) -> None:
        assert fitting("Lav+/lav", catalogue()["lav"], dna=True) == {"Lav+/lav"}


def test_a_look_in_a_series_before_its_age_is_set_aside() -> None:
    late = replace(DOWN, shows_at_days=60)
    bird = BirdRecord(row=2, bird="X")
    row = seen_row(bird="X", what=(("cream", 1),), how="day-old", locus="eWh")
    assert [doubt.kind for doubt in read_evidence([bird], [row], late).doubts] == [
        "too-young-to-show"
    ]
    assert read_evidence([bird], [row], DOWN).evidence
