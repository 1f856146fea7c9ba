"""The catalogue of loci and what the settings make of it."""

from __future__ import annotations

from typing import Any

import pytest

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus, Look, cautions, linkages_of, recombination_between
from matchmaker.genetics.loci.settled import resolve_loci
from matchmaker.settings import Settings
from matchmaker.tables.records import Sex


def settings(**loci: dict[str, Any]) -> Settings:
    return Settings.model_validate(
        {"season": 2027, "recurrent": "sussex", "target": {"O": 2}, "loci": loci}
    )


@pytest.mark.parametrize("symbol", ["Cp", "Et"])
def test_two_copies_of_a_lethal_die_before_banding(symbol: str) -> None:
    """Cutler 1925 (creeper, abstract read); Somes and Pabilonia 1981 (ear tufts)."""
    locus = catalogue()[symbol]
    assert not locus.lives(2, Sex.HEN)
    assert locus.lives(1, Sex.HEN)


def test_two_copies_of_frizzle_are_to_be_avoided_but_live() -> None:
    """Hutt 1930, J Genet 22:109: extreme frizzles were bred from."""
    frizzle = catalogue()["F"]
    assert frizzle.is_lethal(2, Sex.COCK)
    assert frizzle.lives(2, Sex.COCK)


@pytest.mark.parametrize("symbol", ["K", "S", "Id", "dw", "choc", "y", "n", "pop"])
def test_sex_linked_loci_are_on_the_z(symbol: str) -> None:
    """Bitgood 1999, Poult Sci 78:1100, and OMIA entries, as listed in the handbook."""
    assert catalogue()[symbol].z_linked


def test_a_catalogue_locus_needs_no_settings() -> None:
    loci, faults = resolve_loci(settings(), ["O", "P"])
    assert loci == {"O": catalogue()["O"], "P": catalogue()["P"]}
    assert not faults


def test_settings_change_only_what_they_name() -> None:
    loci, _ = resolve_loci(settings(O={"error": 0.02, "frequency": {"sussex": 0.01}}), ["O"])
    assert loci["O"].error == 0.02
    assert loci["O"].frequency == {"sussex": 0.01}
    assert loci["O"].shown_by == "hen"


def test_an_own_locus_takes_what_is_given() -> None:
    own = {"inheritance": "Z", "dominance": "recessive", "lethal": [2], "shows_at_days": 30}
    loci, faults = resolve_loci(settings(zz=own), ["zz"])
    assert not faults
    assert (loci["zz"].z_linked, loci["zz"].dominance) == (True, "recessive")
    assert (loci["zz"].lethal, loci["zz"].dies) == ((2,), (2,))


def test_naming_a_lethal_again_does_not_kill_birds_known_to_live() -> None:
    loci, _ = resolve_loci(settings(F={"lethal": [2]}), ["F"])
    assert loci["F"].dies == ()


@pytest.mark.parametrize(("typed", "guess"), [("o", "O"), ("cp", "Cp"), ("chocc", "choc")])
def test_a_misspelt_locus_is_a_fault_with_a_guess(typed: str, guess: str) -> None:
    loci, faults = resolve_loci(settings(), [typed])
    assert not loci
    assert [(f.kind, f.file, f.column) for f in faults] == [
        ("unknown-locus", "matchmaker.toml", f"loci.{typed}")
    ]
    assert f"did you mean {guess}?" in faults[0].mend


def test_an_own_locus_without_dominance_is_a_fault() -> None:
    _, faults = resolve_loci(settings(zz={"inheritance": "autosomal"}), ["zz"])
    assert [f.kind for f in faults] == ["incomplete-locus"]
    assert "dominance" in faults[0].problem
    assert "inheritance" not in faults[0].problem


@pytest.mark.parametrize(
    ("stated", "kind", "problem"),
    [
        ({"linked_to": "pp", "recombination": 0.04}, "unknown-locus", "no known locus"),
        ({"linked_to": "O", "recombination": 0.04}, "bad-setting", "linked to itself"),
        ({"linked_to": "Cr"}, "incomplete-locus", "nothing says how tightly"),
    ],
)
def test_a_link_that_cannot_be_used_is_a_fault(
    stated: dict[str, Any], kind: str, problem: str
) -> None:
    _, faults = resolve_loci(settings(O=stated), ["O"])
    assert [(f.kind, f.column, f.value) for f in faults] == [
        (kind, "loci.O.linked_to", stated["linked_to"])
    ]
    assert problem in faults[0].problem


def test_a_link_without_a_figure_takes_the_catalogue_s() -> None:
    loci, faults = resolve_loci(settings(O={"linked_to": "P"}), ["O", "P"])
    assert not faults
    assert recombination_between(loci["O"], loci["P"]) == 0.04


def test_two_figures_for_one_link_are_a_fault() -> None:
    one = {"linked_to": "P", "recombination": 0.03}
    two = {"linked_to": "O", "recombination": 0.05}
    _, faults = resolve_loci(settings(O=one, P=two), ["O"])
    assert ["given twice" in fault.problem for fault in faults] == [True]


def test_the_settings_word_on_a_link_goes_before_the_catalogue_s() -> None:
    loci, _ = resolve_loci(settings(P={"linked_to": "O", "recombination": 0.02}), ["O", "P"])
    assert recombination_between(loci["O"], loci["P"]) == 0.02
    assert recombination_between(loci["P"], loci["O"]) == 0.02
    (link,) = [link for link in linkages_of(loci["O"], loci) if link.symbol == "P"]
    assert (link.recombination, link.source) == (0.02, "your settings")


def test_loci_not_known_to_be_linked_have_no_recombination() -> None:
    assert recombination_between(catalogue()["O"], catalogue()["lav"]) is None


def test_links_are_told_only_of_loci_at_hand() -> None:
    some = {symbol: catalogue()[symbol] for symbol in ("O", "cha")}
    assert [link.symbol for link in linkages_of(some["O"], some)] == ["cha"]


def test_alleles_of_one_locus_cannot_be_followed_as_two_loci() -> None:
    _, faults = resolve_loci(settings(), ["eWh", "O", "eb"])
    assert [(f.kind, f.value) for f in faults] == [("one-locus-twice", "eb")]
    assert "keep eWh alone" in faults[0].mend
    _, faults = resolve_loci(settings(), ["I^D", "I"])
    assert [f.mend for f in faults] == ["keep I^D or I, not both"]


def test_cautions_are_those_that_can_hurt() -> None:
    some = {symbol: catalogue()[symbol] for symbol in ("O", "Cp")}
    assert list(cautions(some)) == ["Cp"]


@pytest.mark.parametrize(
    ("breed", "frequency"),
    [("sussex", 0.0), ("Sussex", 0.0), ("araucana", 1.0), ("", 0.5), ("marans", 0.25)],
)
def test_founder_frequency(breed: str, frequency: float) -> None:
    locus = Locus(symbol="X", name="X", frequency={"Marans": 0.25})
    assert locus.founder_frequency(breed, "sussex") == frequency


@pytest.mark.parametrize(
    ("frequency", "shares"),
    [
        (None, (0, 0, 1, 0, 0)),
        (0.25, (0, 0, 0.25, 0.75, 0)),
        ({"E": 0.5, "eWh": 0.2, "eb": 0.3}, (0.5, 0, 0.2, 0, 0.3)),
    ],
)
def test_allele_frequencies_of_a_series(
    frequency: float | dict[str, float] | None, shares: tuple[float, ...]
) -> None:
    """In the order E, ER, eWh, e+, eb; what is not said goes to the wild type."""
    stated = {} if frequency is None else {"faverolles": frequency}
    loci, _ = resolve_loci(settings(eWh={"frequency": stated}), ["eWh"])
    assert loci["eWh"].allele_frequencies("Faverolles", "sussex") == shares
    assert loci["eWh"].founder_frequency("faverolles", "sussex") == shares[2]


def test_what_is_not_wild_type_is_shared_out_evenly() -> None:
    loci, _ = resolve_loci(settings(**{"e+": {"frequency": {"sussex": 0.2}}}), ["e+"])
    assert loci["e+"].allele_frequencies("sussex", "sussex") == (0.2, 0.2, 0.2, 0.2, 0.2)


@pytest.mark.parametrize("symbol", ["O", "eWh", "e+", "E"])
@pytest.mark.parametrize("breed", ["sussex", "araucana", ""])
def test_allele_frequencies_sum_to_one(symbol: str, breed: str) -> None:
    shares = catalogue()[symbol].allele_frequencies(breed, "sussex")
    assert sum(shares) == pytest.approx(1)
    named = catalogue()[symbol].alleles.index(symbol)
    assert shares[named] == catalogue()[symbol].founder_frequency(breed, "sussex")


def test_a_donor_of_a_gene_kept_in_one_copy_is_not_taken_as_pure() -> None:
    assert catalogue()["Cp"].founder_frequency("donor", "recurrent") == 0.5


@pytest.mark.parametrize(
    ("symbol", "sex", "looks"),
    [
        ("O", Sex.HEN, "hidden shown shown"),
        ("O", Sex.COCK, "hidden hidden hidden"),
        ("Hf", Sex.HEN, "hidden hidden hidden"),
        ("lav", Sex.COCK, "hidden hidden shown"),
        ("Bl", Sex.HEN, "hidden one copy shown"),
        ("choc", Sex.COCK, "hidden hidden shown"),
    ],
)
def test_phenotype(symbol: str, sex: Sex, looks: str) -> None:
    locus = catalogue()[symbol]
    assert " ".join(locus.phenotype(copies, sex) for copies in range(3)) == looks


def test_a_hen_shows_her_only_allele_on_the_z() -> None:
    assert catalogue()["choc"].phenotype(1, Sex.HEN) is Look.SHOWN
    assert list(catalogue()["choc"].copy_numbers(Sex.HEN)) == [0, 1]
