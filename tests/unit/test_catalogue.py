"""Every row of the shipped catalogue is whole and agrees with itself."""

from __future__ import annotations

import pytest

from matchmaker.genetics.genotypes.series import TopAllele, as_series
from matchmaker.genetics.genotypes.words import meaning
from matchmaker.genetics.loci.catalogue import catalogue, not_one_gene
from matchmaker.genetics.loci.locus import Linkage, Locus, Look
from matchmaker.genetics.loci.selection import Selection, selected

LEVELS = {"high", "medium", "low"}
LINKS = [(locus, link) for locus in catalogue().values() for link in locus.linkages]


@pytest.mark.parametrize("locus", catalogue().values(), ids=list(catalogue()))
class TestEveryLocus:
    def test_has_words_for_what_is_seen_and_for_what_is_not(self, locus: Locus) -> None:
        assert locus.shown_words or locus.one_copy_words
        assert locus.hidden_words

    def test_reads_its_own_words_in_one_way_only(self, locus: Locus) -> None:
        for words, look in (
            (locus.shown_words, Look.SHOWN),
            (locus.one_copy_words, Look.ONE_COPY),
            (locus.hidden_words, Look.HIDDEN),
        ):
            meant = as_series(locus, {look}) if locus.series else {look}
            assert all(meaning(locus, word) == meant for word in words)

    def test_has_its_kinds_out_of_fixed_sets(self, locus: Locus) -> None:
        assert locus.dominance in {"dominant", "recessive", "incomplete"}
        assert locus.shown_by in {"both", "hen", "cock"}
        assert locus.one_copy_told in {"yes", "sometimes", "no"}
        assert locus.gene_status in {"causal", "candidate", "mapped", "unknown"}
        assert locus.confidence in LEVELS

    def test_has_sane_numbers(self, locus: Locus) -> None:
        assert 0 < locus.penetrance <= 1
        assert 0 <= locus.donor_frequency <= 1
        assert 0 <= locus.shows_at_days <= 365
        assert 0 <= locus.safe_copies_max <= 2

    def test_says_what_it_is_and_who_says_so(self, locus: Locus) -> None:
        assert locus.name
        assert locus.source
        assert locus.what
        told = (locus.what, locus.caution, locus.note)
        assert not any(text.endswith(".") for text in told)

    def test_lies_on_the_z_if_it_is_inherited_so(self, locus: Locus) -> None:
        assert (locus.chromosome == "Z") == locus.z_linked

    def test_names_a_gene_that_is_known_and_a_place_that_is_mapped(self, locus: Locus) -> None:
        assert locus.gene or locus.gene_status != "causal"
        assert locus.chromosome or locus.gene_status in {"unknown"}
        assert not locus.gene or locus.gene_status in {"causal", "candidate"}

    def test_never_calls_a_lethal_copy_number_safe(self, locus: Locus) -> None:
        assert set(locus.dies) <= set(locus.lethal) <= {1, 2}
        assert all(copies > locus.safe_copies_max for copies in locus.lethal)

    def test_warns_where_a_copy_number_is_not_safe(self, locus: Locus) -> None:
        assert locus.caution or locus.safe_copies_max == 2

    def test_a_donor_breed_cannot_be_pure_for_what_must_not_be_doubled(self, locus: Locus) -> None:
        assert (locus.donor_frequency == 1) == (locus.safe_copies_max == 2 and locus.symbol != "Bl")

    def test_words_of_one_copy_only_where_one_copy_can_be_told(self, locus: Locus) -> None:
        assert not locus.one_copy_words or locus.dominance == "incomplete"
        assert locus.one_copy_told == "yes" or locus.dominance != "incomplete"
        assert locus.one_copy_told == "no" or locus.dominance != "recessive" or locus.series

    def test_has_its_own_allele_among_its_alleles(self, locus: Locus) -> None:
        assert locus.symbol in locus.alleles
        assert locus.wild_type in locus.alleles
        assert len(set(locus.alleles)) == len(locus.alleles)


def test_symbols_differ_by_more_than_capitals() -> None:
    assert len({symbol.casefold() for symbol in catalogue()}) == len(catalogue())


def test_the_series_at_the_extension_locus_stands_in_order() -> None:
    """Order from a digest of the literature and from memory (Smyth in Crawford 1990)."""
    rows = [locus for locus in catalogue().values() if locus.shared_name == "E"]
    assert [locus.symbol for locus in rows] == ["E", "ER", "eWh", "e+", "eb"]
    assert all(locus.alleles == ("E", "ER", "eWh", "e+", "eb") for locus in rows)
    assert all(locus.wild_type == "e+" for locus in rows)


def test_the_words_of_a_series_name_one_allele_each() -> None:
    series = catalogue()["eWh"].series
    words = [word for allele in series for word in allele.words]
    assert len(set(words)) == len(words)
    for number, allele in enumerate(series):
        for word in allele.words:
            assert meaning(catalogue()["eWh"], word) == frozenset({TopAllele(number)})


@pytest.mark.parametrize("symbol", ["S", "I", "K", "c", "mo"])
def test_loci_of_two_alleles_stay_so(symbol: str) -> None:
    assert catalogue()[symbol].series == ()
    assert len(catalogue()[symbol].alleles) == 2


@pytest.mark.parametrize(
    ("locus", "link"), LINKS, ids=[f"{locus.symbol}-{link.symbol}" for locus, link in LINKS]
)
class TestEveryLinkage:
    def test_names_a_locus_of_the_same_kind_of_chromosome(
        self, locus: Locus, link: Linkage
    ) -> None:
        other = catalogue()[link.symbol]
        assert other is not locus
        assert other.z_linked == locus.z_linked
        assert other.chromosome == locus.chromosome

    def test_is_told_alike_from_both_sides(self, locus: Locus, link: Linkage) -> None:
        back = [one for one in catalogue()[link.symbol].linkages if one.symbol == locus.symbol]
        figure = (link.recombination, link.source, link.confidence)
        assert [(one.recombination, one.source, one.confidence) for one in back] == [figure]

    def test_has_a_figure_of_linkage_or_none(self, locus: Locus, link: Linkage) -> None:
        assert link.recombination is None or 0 < link.recombination < 0.5
        assert link.source, locus.symbol
        assert link.confidence in LEVELS


def test_what_fanciers_say_of_blue_shell_and_pea_comb_is_unconfirmed() -> None:
    (link,) = [one for one in catalogue()["O"].linkages if one.symbol == "P"]
    assert (link.recombination, link.confidence) == (0.04, "low")


def test_every_allele_of_a_locus_has_its_linkages() -> None:
    assert [link.symbol for link in catalogue()["I^D"].linkages] == ["Cr", "F"]
    assert {"I", "I^D"} <= {link.symbol for link in catalogue()["Cr"].linkages}


def test_traits_of_many_genes_say_what_to_do_instead() -> None:
    assert all(trait.words and trait.why and trait.instead for trait in not_one_gene())
    assert {trait.confidence for trait in not_one_gene()} <= LEVELS


@pytest.mark.parametrize(
    ("wanted", "among", "not_among"),
    [
        (Selection(), {"O", "Cp", "S"}, set()),
        (Selection(z_linked=True), {"S", "choc"}, {"O", "Cp"}),
        (Selection(day_old=True), {"P", "Cp", "S"}, {"O", "Id", "Hf"}),
        (Selection(caution=True), {"Cp", "R"}, {"O", "P"}),
        (Selection(linked=True), {"O", "Cp", "S"}, {"lav", "Et"}),
        (Selection(z_linked=True, caution=True), {"K", "n"}, {"S", "Cp"}),
    ],
)
def test_selection(wanted: Selection, among: set[str], not_among: set[str]) -> None:
    found = set(selected(catalogue(), wanted))
    assert among <= found
    assert not found & not_among


def test_a_locus_linked_by_the_settings_alone_counts_as_linked() -> None:
    own = Locus(symbol="zz", name="zz", linked_to="O", recombination=0.1)
    assert Selection(linked=True).holds(own)
