"""What a keeper may say of a locus in his settings."""

from __future__ import annotations

from typing import Any

import pydantic
import pytest

from matchmaker.genetics.genotypes.series import TopAllele
from matchmaker.genetics.genotypes.words import meaning
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Look
from matchmaker.genetics.loci.settled import resolve_loci
from matchmaker.settings import LocusSettings, Settings

THREE = {"inheritance": "autosomal", "alleles": ["Q", "Qw", "q+"]}


def settings(**loci: dict[str, Any]) -> Settings:
    return Settings.model_validate(
        {"season": 2027, "recurrent": "sussex", "target": {"O": 2}, "loci": loci}
    )


def test_an_own_series_needs_no_dominance() -> None:
    loci, faults = resolve_loci(settings(Qw=THREE), ["Qw"])
    assert not faults
    locus = loci["Qw"]
    assert locus.alleles == ("Q", "Qw", "q+")
    assert (locus.wild_type, locus.dominance) == ("q+", "dominant")


@pytest.mark.parametrize(
    ("symbol", "alleles", "wild_type", "dominance"),
    [
        ("a", ["A", "B", "a"], "a", "recessive"),
        ("A", ["A", "B", "a"], "a", "dominant"),
        ("B", ["A+", "B", "a"], "A+", "dominant"),
    ],
)
def test_wild_type_and_dominance_of_an_own_series(
    symbol: str, alleles: list[str], wild_type: str, dominance: str
) -> None:
    own = {"inheritance": "Z", "alleles": alleles}
    loci, _ = resolve_loci(settings(**{symbol: own}), [symbol])
    assert (loci[symbol].wild_type, loci[symbol].dominance) == (wild_type, dominance)


def test_an_own_series_has_words_by_allele() -> None:
    words = {"Q": "dark", "Qw": ["pale", "washed"], "q+": ["plain"]}
    loci, faults = resolve_loci(settings(Qw={**THREE, "words": words}), ["Qw"])
    assert not faults
    assert meaning(loci["Qw"], "washed") == frozenset({TopAllele(1)})
    assert meaning(loci["Qw"], "plain") == frozenset({TopAllele(2)})
    assert meaning(loci["Qw"], "Q/q+") == frozenset({(0, 2)})


def test_an_own_locus_has_name_and_words() -> None:
    own = {
        "name": "Speckled egg",
        "inheritance": "autosomal",
        "dominance": "incomplete",
        "words": {"shown": ["all over"], "one_copy": ["few"], "hidden": "clean"},
    }
    loci, faults = resolve_loci(settings(spk=own), ["spk"])
    assert not faults
    assert loci["spk"].name == "Speckled egg"
    looks = {word: meaning(loci["spk"], word) for word in ("all over", "few", "clean")}
    assert looks == {
        "all over": frozenset({Look.SHOWN}),
        "few": frozenset({Look.ONE_COPY}),
        "clean": frozenset({Look.HIDDEN}),
    }


def test_own_words_go_before_the_catalogue_s() -> None:
    """Brown is the catalogue's word for an egg that is not blue; this keeper calls olive brown."""
    loci, faults = resolve_loci(settings(O={"words": {"shown": ["Brown"]}}), ["O"])
    assert not faults
    assert meaning(loci["O"], "brown") == frozenset({Look.SHOWN})
    assert meaning(loci["O"], "blue") == frozenset({Look.SHOWN})
    assert meaning(loci["O"], "cream") == frozenset({Look.HIDDEN})


def test_own_words_for_an_allele_of_the_catalogue_s_series() -> None:
    loci, faults = resolve_loci(settings(eWh={"words": {"eb": ["dusky"]}}), ["eWh"])
    assert not faults
    for word in ("dusky", "partridge"):
        assert meaning(loci["eWh"], word) == frozenset({TopAllele(4)})


def test_a_lethal_of_the_keeper_s_own_leaves_fewer_copies_safe() -> None:
    own = {"inheritance": "autosomal", "dominance": "dominant", "lethal": [2]}
    loci, _ = resolve_loci(settings(zz=own), ["zz"])
    assert loci["zz"].safe_copies_max == 1


@pytest.mark.parametrize(
    ("symbol", "stated", "column", "value"),
    [
        ("X", THREE, "loci.X.alleles", "X"),
        ("Qw", {**THREE, "words": {"shown": "pale"}}, "loci.Qw.words.shown", "shown"),
        ("O", {"words": {"one_copy": "faint"}}, "loci.O.words.one_copy", "one_copy"),
        ("O", {"words": {"shown": "odd", "hidden": "Odd"}}, "loci.O.words.hidden", "Odd"),
        ("eWh", {"frequency": {"sussex": {"ey": 1}}}, "loci.eWh.frequency.sussex.ey", "ey"),
        ("O", {"frequency": {"sussex": {"O": 0.5, "P": 0.5}}}, "loci.O.frequency.sussex.P", "P"),
    ],
)
def test_what_cannot_be_meant_is_a_fault_at_its_key(
    symbol: str, stated: dict[str, Any], column: str, value: str
) -> None:
    _, faults = resolve_loci(settings(**{symbol: stated}), [symbol])
    assert [(fault.kind, fault.column, fault.value) for fault in faults] == [
        ("bad-setting", column, value)
    ]


def test_frequencies_of_both_alleles_may_be_written_out() -> None:
    stated = {"frequency": {"araucana": {"O": 0.7, "o+": 0.3}}}
    loci, faults = resolve_loci(settings(O=stated), ["O"])
    assert not faults
    assert loci["O"].founder_frequency("araucana", "sussex") == 0.7
    assert loci["O"].allele_frequencies("araucana", "sussex") == (0.3, 0.7)
    assert catalogue()["O"].frequency == {}


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({"alleles": ["A", "a"]}, "three or more"),
        ({"alleles": ["A", "a", "A"]}, "each once"),
        ({"alleles": ["A", "B", "a"], "dominance": "recessive"}, "leave dominance out"),
        ({"frequency": {"sussex": {"A": 0.2, "a": 0.7}}}, "must sum to 1"),
        ({"recombination": 0.1}, "name the other by linked_to"),
    ],
)
def test_settings_that_contradict_themselves_are_refused(
    stated: dict[str, Any], words: str
) -> None:
    with pytest.raises(pydantic.ValidationError, match=words):
        LocusSettings.model_validate(stated)


@pytest.mark.parametrize("shares", [{"A": 0.2, "B": 0.8}, {"A": 0.1, "B": 0.2, "a": 0.7}])
def test_frequencies_that_sum_to_one_are_taken(shares: dict[str, float]) -> None:
    assert LocusSettings(frequency={"sussex": shares}).frequency == {"sussex": shares}
