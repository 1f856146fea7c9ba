"""The catalogue of loci and what the settings make of it."""

from __future__ import annotations

from typing import Any

import pytest

from matchmaker.genetics.loci import Locus, Look, catalogue, resolve_loci
from matchmaker.genetics.words import meaning
from matchmaker.settings import Settings
from matchmaker.tables.records import Sex


def settings(**loci: dict[str, Any]) -> Settings:
    return Settings.model_validate(
        {"season": 2027, "recurrent": "sussex", "target": {"O": 2}, "loci": loci}
    )


@pytest.mark.parametrize("locus", catalogue().values(), ids=list(catalogue()))
class TestEveryCatalogueLocus:
    def test_has_words_for_what_is_seen_and_for_what_is_not(self, locus: Locus) -> None:
        assert locus.shown_words or locus.one_copy_words
        assert locus.hidden_words

    def test_reads_its_own_words_in_one_way_only(self, locus: Locus) -> None:
        for words, look in (
            (locus.shown_words, Look.SHOWN),
            (locus.one_copy_words, Look.ONE_COPY),
            (locus.hidden_words, Look.HIDDEN),
        ):
            assert all(meaning(locus, word) == frozenset({look}) for word in words)

    def test_has_sane_numbers(self, locus: Locus) -> None:
        assert locus.dominance in {"dominant", "recessive", "incomplete"}
        assert locus.shown_by in {"both", "hen", "cock"}
        assert 0 < locus.penetrance <= 1
        assert set(locus.dies) <= set(locus.lethal) <= {1, 2}
        assert 0 <= locus.safe_copies_max <= 2
        assert locus.source

    def test_never_calls_a_lethal_copy_number_safe(self, locus: Locus) -> None:
        assert all(copies > locus.safe_copies_max for copies in locus.lethal)

    def test_words_of_one_copy_only_where_one_copy_can_be_told(self, locus: Locus) -> None:
        assert not locus.one_copy_words or locus.dominance == "incomplete"


def test_symbols_differ_by_more_than_capitals() -> None:
    assert len({symbol.casefold() for symbol in catalogue()}) == len(catalogue())


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


def test_a_link_to_an_unknown_locus_is_a_fault() -> None:
    _, faults = resolve_loci(settings(O={"linked_to": "pp", "recombination": 0.04}), ["O"])
    assert [f.value for f in faults] == ["pp"]


@pytest.mark.parametrize(
    ("breed", "frequency"),
    [("sussex", 0.0), ("Sussex", 0.0), ("araucana", 1.0), ("", 0.5), ("marans", 0.25)],
)
def test_founder_frequency(breed: str, frequency: float) -> None:
    locus = Locus(symbol="X", name="X", frequency={"Marans": 0.25})
    assert locus.founder_frequency(breed, "sussex") == frequency


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
