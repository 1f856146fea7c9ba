"""What would explain a clash: each kind of mistake on a flock small enough to follow by eye."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.flock.pedigree import Pool
from matchmaker.genetics.clash import corrections
from matchmaker.genetics.clash.contradiction import irreducible
from matchmaker.genetics.clash.corrections import Clash, find_clash, meeting
from matchmaker.genetics.clash.exchange import exchangeable, exchanged, hatchings
from matchmaker.genetics.clash.suppositions import Case, ParentRight, PoolPure, SexRight, case_of
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Allele
from matchmaker.tables.records import BirdRecord, Sex
from tests.contradiction_helpers import keys_of
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence, seen_row

if TYPE_CHECKING:
    from collections.abc import Iterable
    from collections.abc import Set as AbstractSet

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.clash.suppositions import Supposition
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.loci.locus import Locus


FAMILY = (
    "A cock donor donor",
    "R hen recurrent recurrent",
    "N cock recurrent recurrent",
    "F hen A R",
    "X hen N F",
    "Y hen N R",
)


def clash(flock: Pedigree, locus: Locus, *together: str, **seen: str) -> Clash:
    found = find_clash(
        flock, locus, evidence(flock, locus, seen), "recurrent", (frozenset(together),)
    )
    assert found is not None
    return found


def single(found: Clash) -> list[tuple[str, str]]:
    return [key for keys in (keys_of([one]) for one in found.corrections) for (key,) in keys]


def test_a_chick_that_shows_what_its_parents_cannot_give() -> None:
    found = clash(pedigree(*FAMILY), catalogue()["P"], Y="pea")
    assert [one.place.words for one in found.records] == ["pea"]
    assert found.mistakes_min == 1
    assert single(found) == [("record", "Y"), ("cock", "Y"), ("hen", "Y"), ("pool", "recurrent")]


def test_bands_exchanged_at_hatching() -> None:
    """X may have got the gene from F, Y cannot have it from R."""
    found = clash(pedigree(*FAMILY), catalogue()["P"], "X", "Y", X="single", Y="pea")
    assert found.exchanges == (("X", "Y"),)


def test_birds_of_different_hatchings_are_never_exchanged() -> None:
    found = clash(pedigree(*FAMILY), catalogue()["P"], "X", "F", X="single", Y="pea")
    assert found.exchanges == ()


def test_an_exchange_explains_what_else_takes_two_mistakes() -> None:
    """Two copies from two with none, and none from two with both: each is impossible alone."""
    flock = pedigree(
        "A cock donor donor",
        "B hen donor donor",
        "N cock recurrent recurrent",
        "R hen recurrent recurrent",
        "X hen A B",
        "Y hen N R",
    )
    found = clash(flock, catalogue()["lav"], "X", "Y", X="black", Y="lavender")
    assert found.exchanges == (("X", "Y"),)
    assert found.mistakes_min == 2
    assert all(len(each) == 2 for each in found.corrections)


def test_a_sex_matters_on_the_z_unless_a_chick_vouches_for_it() -> None:
    """A pure sire gives every daughter and every son his Z: only a son may hide it."""
    flock = pedigree(
        "A cock donor donor",
        "R hen recurrent recurrent",
        "D hen A R",
        "E hen A R",
        "G cock A E",
    )
    locus = catalogue()["choc"]
    assert ("sex", "D") in single(clash(flock, locus, D="black"))
    assert ("sex", "E") not in single(clash(flock, locus, E="black"))


def test_a_bird_named_in_a_count_of_chicks_has_its_sex_from_there() -> None:
    flock = pedigree("A cock donor donor", "R hen recurrent recurrent", "D hen A R")
    locus = catalogue()["choc"]
    row = seen_row(9, pair=("D", "A"), what=(("chocolate", 3),), how="day-old", locus="choc")
    found = find_clash(flock, locus, evidence(flock, locus, {"D": "black"}, row), "recurrent")
    assert found is not None
    assert ("sex", "D") not in single(found)


def test_where_only_cocks_can_show_it_the_sex_may_be_wrong() -> None:
    """A bird feathered like a hen, out of birds without the gene, may well be a hen."""
    flock = pedigree("N cock recurrent recurrent", "R hen recurrent recurrent", "X cock N R")
    found = clash(flock, catalogue()["Hf"], X="hen feathered")
    assert single(found)[:2] == [("record", "X"), ("sex", "X")]


def test_where_only_hens_can_show_it_no_sex_is_doubted() -> None:
    """What is known of the egg leaves no doubt who laid it."""
    flock = pedigree("N cock recurrent recurrent", "R hen recurrent recurrent", "X hen N R")
    assert "sex" not in {kind for kind, _ in single(clash(flock, catalogue()["O"], X="blue"))}


def test_a_dna_result_does_not_hang_on_the_sex_off_the_z() -> None:
    flock = pedigree("N cock recurrent recurrent", "R hen recurrent recurrent", "X cock N R")
    locus = catalogue()["Hf"]
    row = seen_row(5, bird="X", what=(("1 copy", 1),), how="dna", locus="Hf")
    found = find_clash(flock, locus, evidence(flock, locus, {}, row), "recurrent")
    assert found is not None
    assert ("sex", "X") not in single(found)


def test_a_founder_parent_of_a_bird_bred_here_may_be_wrong() -> None:
    flock = pedigree("A cock donor donor", "X hen A recurrent")
    found = clash(flock, catalogue()["lav"], X="lavender")
    assert ("hen", "X") in single(found)
    doubted = next(one for (one,) in found.corrections if isinstance(one, ParentRight))
    assert doubted.parents == (Pool("recurrent"),)


def test_all_of_several_possible_parents_are_doubted_together() -> None:
    flock = pedigree(
        "N cock recurrent recurrent",
        "M cock recurrent recurrent",
        "R hen recurrent recurrent",
        "X hen N|M R",
    )
    found = clash(flock, catalogue()["P"], X="pea")
    sires = [one for (one,) in found.corrections if isinstance(one, ParentRight)]
    assert [(one.role, one.parents) for one in sires] == [
        (Sex.COCK, ("N", "M")),
        (Sex.HEN, ("R",)),
    ]


def test_a_doubted_chick_of_a_clutch_leaves_the_others_their_common_parents() -> None:
    """One dam between them: she cannot have laid the pure one and the one without."""
    family = pedigree(
        "A cock donor donor",
        "D hen donor donor",
        "R hen recurrent recurrent",
        "X hen A D|R",
        "Y hen A D|R",
        "Z hen A D|R",
    )
    flock = replace(family, clutches=(None, None, None, 1, 1, 1))
    locus = catalogue()["lav"]
    seen = {"X": "lavender", "Y": "lavender", "Z": "black"}
    found = clash(flock, locus, **seen)
    assert ("hen", "Z") in single(found)
    assert ("hen", "X") not in single(found)
    assert find_clash(family, locus, evidence(family, locus, seen), "recurrent") is None


def test_in_a_series_a_doubted_parent_may_give_any_allele() -> None:
    series = tuple(Allele(symbol=symbol, words=(symbol,)) for symbol in ("P", "Q", "p+"))
    locus = replace(catalogue()["P"], series=series, shown_words=(), hidden_words=())
    flock = pedigree("A cock donor donor", "R hen recurrent recurrent", "X hen A R", "Y hen A R")
    row = seen_row(4, bird="Y", what=(("Q/p+", 1),), how="dna", locus="P")
    found = find_clash(flock, locus, evidence(flock, locus, {}, row), "recurrent")
    assert found is not None
    assert {("cock", "Y"), ("pool", "donor")} <= set(single(found))


def test_where_the_pedigree_alone_is_impossible_no_record_is_named() -> None:
    locus = replace(catalogue()["Cp"], donor_frequency=1.0)
    flock = pedigree("A cock donor donor", "R hen recurrent recurrent")
    found = find_clash(flock, locus, evidence(flock, locus, {"R": "normal legs"}), "recurrent")
    assert found is not None
    assert (found.records, found.mistakes_min) == ((), 1)
    assert found.corrections == ((PoolPure(Pool("donor")),),)


def test_where_no_bird_could_live_nothing_explains_it() -> None:
    locus = replace(catalogue()["Cp"], lethal=(0, 1, 2), dies=(0, 1, 2))
    found = find_clash(pedigree(*FAMILY), locus, (), "recurrent")
    assert found is not None
    assert (found.records, found.corrections, found.mistakes_min) == ((), (), 0)


def test_more_mistakes_than_are_looked_for_are_counted() -> None:
    lines = ["N cock recurrent recurrent", "R hen recurrent recurrent"]
    lines += [f"D{n} cock donor donor" for n in range(4)]
    lines += [f"E{n} hen donor donor" for n in range(4)]
    flock = pedigree(*lines)
    locus = replace(catalogue()["lav"], frequency={"donor": 0.5})
    rows = [
        seen_row(2 * n + way, bird=f"D{n}", what=((f"{way} copies", 1),), how="dna", locus="lav")
        for n in range(4)
        for way in (0, 2)
    ]
    found = find_clash(flock, locus, evidence(flock, locus, {}, *rows), "recurrent")
    assert found is not None
    assert (found.corrections, found.mistakes_min) == ((), 4)


def test_the_corrections_of_several_mistakes_are_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    flock = pedigree(*FAMILY)
    locus = catalogue()["lav"]
    rows = [
        seen_row(2 * n + way, bird=bird, what=((f"{way} copies", 1),), how="dna", locus="lav")
        for n, bird in enumerate("FX", 1)
        for way in (0, 1)
    ]
    told = evidence(flock, locus, {}, *rows)
    whole = find_clash(flock, locus, told, "recurrent")
    monkeypatch.setattr(corrections, "CORRECTIONS_MAX", 1)
    part = find_clash(flock, locus, told, "recurrent")
    assert whole is not None
    assert part is not None
    assert (whole.unlisted, part.unlisted) == (False, True)
    assert part.corrections == whole.corrections[:1]


def test_what_is_too_tangled_to_be_tried_is_no_explanation(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of a doubted breed too much is open: then that explanation is left out, the rest stays."""
    possible = Case.possible

    def tangled(
        case: Case, records: Iterable[Evidence], doubted: AbstractSet[Supposition] = frozenset()
    ) -> bool:
        if any(isinstance(one, PoolPure) for one in doubted):
            raise TooTangledError(1)
        return possible(case, records, doubted)

    monkeypatch.setattr(Case, "possible", tangled)
    found = clash(pedigree(*FAMILY), catalogue()["P"], Y="pea")
    assert single(found) == [("record", "Y"), ("cock", "Y"), ("hen", "Y")]


def test_what_is_too_tangled_from_the_start_is_said_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def tangled(*_: object) -> bool:
        raise TooTangledError(1)

    monkeypatch.setattr(Case, "possible", tangled)
    with pytest.raises(TooTangledError):
        clash(pedigree(*FAMILY), catalogue()["P"], Y="pea")


def test_sets_that_meet_every_conflict() -> None:
    one, two, three = (SexRight(band) for band in "ABC")
    conflicts = [frozenset({one, two}), frozenset({two, three})]
    assert set(meeting(conflicts, 1)) == {frozenset({two})}
    assert set(meeting(conflicts, 2)) == {
        frozenset({two}),
        frozenset({one, two}),
        frozenset({one, three}),
    }


def test_nothing_is_in_conflict_where_not_even_nothing_holds() -> None:
    assert irreducible(lambda _: False, [1, 2, 3]) == []


def test_birds_of_a_year_may_belong_to_any_hatching_of_it() -> None:
    day, year = dt.date(2026, 4, 7), dt.date(2026, 5, 1)
    birds = [
        BirdRecord(row=2, bird="A", hatched=day),
        BirdRecord(row=3, bird="B", hatched=year, hatched_is_year=True),
        BirdRecord(row=4, bird="C", hatched=dt.date(2025, 4, 7)),
        BirdRecord(row=5, bird="D"),
    ]
    assert hatchings(birds) == (frozenset("B"), frozenset("C"), frozenset("AB"))


def test_bought_birds_and_full_sisters_are_not_worth_exchanging() -> None:
    flock = pedigree(*FAMILY, "Z hen N F")
    groups = (frozenset({"X", "Z", "R", "Y"}),)
    assert exchangeable(flock, ["X"], groups) == [("X", "Y")]


def test_an_exchange_puts_parents_before_their_chicks_again() -> None:
    later = exchanged(pedigree(*FAMILY, "G hen recurrent recurrent", "W cock N G"), ("F", "W"))
    assert later is not None
    nodes = later.node_of()
    at = nodes["F"] - later.first_bird
    assert later.dams[at] == ((nodes["G"], 1.0),)
    assert all(
        node > parent
        for node, sides in enumerate(zip(later.sires, later.dams, strict=True), later.first_bird)
        for links in sides
        for parent, _ in links
    )


def test_an_exchange_that_makes_a_bird_its_own_ancestor_is_none() -> None:
    flock = pedigree(*FAMILY)
    assert exchanged(flock, ("F", "X")) is None


def test_an_exchange_takes_the_clutch_along() -> None:
    flock = replace(pedigree(*FAMILY), clutches=(None, None, None, None, 7, None))
    swapped = exchanged(flock, ("X", "Y"))
    assert swapped is not None
    assert swapped.clutches == (None, None, None, None, None, 7)


def test_all_that_is_doubted_can_be_otherwise() -> None:
    flock = pedigree(*FAMILY)
    locus = catalogue()["P"]
    case = case_of(flock, locus, evidence(flock, locus, {"Y": "pea"}), "recurrent")
    everything = frozenset(case.suppositions(case.evidence))
    assert not case.possible(case.evidence)
    assert case.possible(case.evidence, everything)
