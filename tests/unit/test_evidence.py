"""A keeper's words turned into evidence, faults and doubts."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from matchmaker.genetics.genotypes.evidence import EvidenceReading, read_evidence, unknown_loci
from matchmaker.genetics.genotypes.observed import ChickCount, Sighting
from matchmaker.genetics.genotypes.words import meaning, weights
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Dominance, Locus
from matchmaker.tables.records import BirdRecord, SeenRecord, Sex
from tests.locus_helpers import seen_row

EGG, COMB, SILVER = (catalogue()[symbol] for symbol in "OPS")
HEN = BirdRecord(row=2, bird="H1", sex=Sex.HEN, hatched=dt.date(2025, 4, 1))
COCK = BirdRecord(row=3, bird="C1", sex=Sex.COCK, hatched=dt.date(2025, 4, 1))


def read(locus: Locus, *rows: SeenRecord, hen: str = "", cock: str = "") -> EvidenceReading:
    birds = [
        replace(HEN, seen={locus.symbol: hen} if hen else {}),
        replace(COCK, seen={locus.symbol: cock} if cock else {}),
    ]
    return read_evidence(birds, rows, locus)


def only_sighting(reading: EvidenceReading) -> Sighting:
    assert not reading.faults
    assert not reading.doubts
    (found,) = reading.evidence
    assert isinstance(found, Sighting)
    return found


class TestWords:
    @pytest.mark.parametrize("word", ["blue", " Olive ", "BLUE  egg", "yes", "shows"])
    def test_words_for_shown(self, word: str) -> None:
        assert only_sighting(read(EGG, hen=word)).weights[1] == (0.0, 1.0, 1.0)

    @pytest.mark.parametrize("word", ["white", "cream", "not blue", "no", "does not show"])
    def test_words_for_hidden(self, word: str) -> None:
        assert only_sighting(read(EGG, hen=word)).weights[1] == (1.0, 0.0, 0.0)

    @pytest.mark.parametrize(
        ("word", "row"),
        [
            ("0", (1.0, 0.0, 0.0)),
            ("1 copy", (0.0, 1.0, 0.0)),
            ("2 copies", (0.0, 0.0, 1.0)),
            ("carrier", (0.0, 1.0, 1.0)),
        ],
    )
    def test_copies_count_for_a_bird_that_cannot_show(
        self, word: str, row: tuple[float, ...]
    ) -> None:
        assert only_sighting(read(EGG, cock=word)).weights[0] == row

    def test_one_copy_of_an_incomplete_dominant(self) -> None:
        assert only_sighting(read(catalogue()["Bl"], cock="blue")).weights[0] == (0.0, 1.0, 0.0)

    def test_a_plain_yes_to_an_incomplete_dominant_leaves_both(self) -> None:
        assert only_sighting(read(catalogue()["Bl"], cock="yes")).weights[0] == (0.0, 1.0, 1.0)

    def test_words_for_either_are_read_as_either(self) -> None:
        found = only_sighting(read(catalogue()["Na"], cock="naked neck"))
        assert found.weights[0] == (0.0, 1.0, 1.0)

    def test_a_hen_shows_a_z_linked_incomplete_in_full(self) -> None:
        own = replace(catalogue()["Bl"], z_linked=True)
        assert only_sighting(read(own, hen="blue")).weights[1] == (0.0, 1.0)

    def test_a_bird_of_unknown_sex_may_have_two_copies_on_the_z(self) -> None:
        bird = BirdRecord(row=2, bird="X", seen={"S": "2"})
        found = only_sighting(read_evidence([bird], [], SILVER))
        assert found.weights == ((0.0, 0.0, 1.0), (0.0, 0.0))

    def test_an_unknown_word_is_a_fault_that_lists_the_known(self) -> None:
        (fault,) = read(COMB, hen="peaa").faults
        assert (fault.kind, fault.file, fault.row, fault.column) == (
            "unknown-class",
            "birds.csv",
            2,
            "P",
        )
        assert fault.value == "peaa"
        assert "single comb" in fault.mend

    @pytest.mark.parametrize("word", ["", "?", " Unknown "])
    def test_a_blank_is_no_evidence(self, word: str) -> None:
        assert read(EGG, hen=word) == EvidenceReading(evidence=(), faults=(), doubts=())

    def test_a_hen_has_no_second_copy_on_the_z(self) -> None:
        assert [fault.kind for fault in read(SILVER, hen="2").faults] == ["impossible-copies"]

    def test_a_hen_carrier_on_the_z_has_one_copy(self) -> None:
        assert only_sighting(read(SILVER, hen="carrier")).weights[1] == (0.0, 1.0)


class TestChances:
    def test_penetrance_leaves_carriers_among_the_plain(self) -> None:
        locus = replace(COMB, penetrance=0.8)
        hidden = meaning(locus, "no")
        assert hidden is not None
        assert weights(locus, hidden)[0] == pytest.approx((1.0, 0.2, 0.2))

    def test_error_mixes_the_looks(self) -> None:
        locus = replace(COMB, error=0.1)
        shown = meaning(locus, "pea")
        assert shown is not None
        assert weights(locus, shown)[0] == pytest.approx((0.1, 0.9, 0.9))

    def test_error_of_three_looks_is_split(self) -> None:
        locus = replace(catalogue()["Bl"], error=0.1)
        one = meaning(locus, "blue")
        assert one is not None
        assert weights(locus, one)[0] == pytest.approx((0.05, 0.9, 0.05))

    @pytest.mark.parametrize("dominance", ["dominant", "recessive", "incomplete"])
    def test_all_looks_together_are_certain(self, dominance: Dominance) -> None:
        locus = Locus(symbol="X", name="X", dominance=dominance, penetrance=0.7, error=0.04)
        rows = []
        for word in ("yes", "no"):
            meant = meaning(locus, word)
            assert meant is not None
            rows.append(weights(locus, meant)[0])
        assert [sum(column) for column in zip(*rows, strict=True)] == pytest.approx([1, 1, 1])

    def test_dna_is_exact(self) -> None:
        locus = replace(COMB, error=0.1, penetrance=0.5)
        row = seen_row(bird="C1", what=(("pea", 1),), how="dna", locus="P")
        assert only_sighting(read(locus, row)).weights[0] == (0.0, 1.0, 1.0)

    def test_a_report_is_taken_as_a_sighting(self) -> None:
        row = seen_row(bird="H1", what=(("pea", 1),), how="report", locus="P")
        assert only_sighting(read(replace(COMB, error=0.1), row)).weights[1][0] == 0.1

    def test_a_plain_answer_of_a_laboratory_to_a_recessive_is_refused(self) -> None:
        row = seen_row(bird="C1", what=(("yes", 1),), how="dna", locus="lav")
        assert [f.kind for f in read(catalogue()["lav"], row).faults] == ["unknown-class"]


class TestPrecedence:
    def test_a_seen_row_replaces_the_column(self) -> None:
        row = seen_row(9, bird="H1", what=(("white", 1),))
        found = only_sighting(read(EGG, row, hen="blue"))
        assert (found.place.file, found.place.row) == ("seen.csv", 9)

    def test_a_blank_seen_row_does_not(self) -> None:
        row = seen_row(9, bird="H1", what=(("?", 1),))
        assert only_sighting(read(EGG, row, hen="blue")).place.file == "birds.csv"

    def test_a_row_of_another_locus_does_not(self) -> None:
        row = seen_row(9, bird="H1", what=(("pea", 1),), locus="P")
        assert only_sighting(read(EGG, row, hen="blue")).place.file == "birds.csv"

    def test_two_seen_rows_both_count(self) -> None:
        rows = (
            seen_row(2, bird="H1", what=(("blue", 1),)),
            seen_row(3, bird="H1", what=(("1", 1),)),
        )
        assert len(read(EGG, *rows).evidence) == 2

    def test_capitals_of_the_symbol_do_not_matter(self) -> None:
        row = seen_row(bird="H1", what=(("blue", 1),), locus="o")
        assert len(read(EGG, row).evidence) == 1


class TestSetAside:
    def test_what_the_sex_cannot_show(self) -> None:
        reading = read(EGG, cock="white")
        assert not reading.evidence
        assert [doubt.kind for doubt in reading.doubts] == ["sex-cannot-show"]

    def test_what_a_bird_of_unknown_sex_may_be_unable_to_show(self) -> None:
        bird = BirdRecord(row=2, bird="X", seen={"O": "white"})
        assert [d.kind for d in read_evidence([bird], [], EGG).doubts] == ["sex-cannot-show"]

    @pytest.mark.parametrize(("day", "kept"), [(179, 0), (180, 1)])
    def test_hidden_before_it_shows(self, day: int, kept: int) -> None:
        date = dt.date(2025, 4, 1) + dt.timedelta(days=day)
        reading = read(EGG, seen_row(bird="H1", what=(("white", 1),), date=date))
        assert (len(reading.evidence), len(reading.doubts)) == (kept, 1 - kept)

    def test_shown_early_counts(self) -> None:
        row = seen_row(bird="H1", what=(("blue", 1),), date=dt.date(2025, 6, 1))
        only_sighting(read(EGG, row))

    def test_hidden_at_a_day_old_needs_no_dates(self) -> None:
        bird = replace(HEN, hatched=None)
        row = seen_row(bird="H1", what=(("smooth", 1),), how="day-old", locus="F")
        (doubt,) = read_evidence([bird], [row], catalogue()["F"]).doubts
        assert doubt.kind == "too-young-to-show"

    def test_a_column_counts_as_seen_today(self) -> None:
        bird = replace(HEN, seen={"O": "white"})
        early = read_evidence([bird], [], EGG, today=dt.date(2025, 6, 1))
        assert [doubt.kind for doubt in early.doubts] == ["too-young-to-show"]
        assert read_evidence([bird], [], EGG, today=dt.date(2026, 1, 1)).evidence

    def test_a_year_alone_counts_from_its_end(self) -> None:
        bird = replace(HEN, hatched=dt.date(2025, 1, 1), hatched_is_year=True)
        row = seen_row(bird="H1", what=(("white", 1),), date=dt.date(2026, 2, 1))
        (doubt,) = read_evidence([bird], [row], EGG).doubts
        assert "H1, of which only the year of hatching is written, may have been" in doubt.problem
        assert doubt.mend == "write the day on which it hatched, or look again when it is older"

    @pytest.mark.parametrize(
        ("day", "told"),
        [(2, "H1 was seen at 1 day:"), (11, "at 10 days:"), (-5, "H1 was seen before it hatched:")],
    )
    def test_how_young_it_was_is_told_in_days(self, day: int, told: str) -> None:
        date = dt.date(2025, 3, 31) + dt.timedelta(days=day)
        (doubt,) = read(EGG, seen_row(bird="H1", what=(("white", 1),), date=date)).doubts
        assert told in doubt.problem

    def test_a_test_counts_at_any_age_and_sex(self) -> None:
        row = seen_row(bird="C1", what=(("0", 1),), how="dna", date=dt.date(2025, 4, 2))
        assert only_sighting(read(EGG, row)).weights[0] == (1.0, 0.0, 0.0)


class TestCounts:
    def test_chicks_of_a_named_pair(self) -> None:
        row = seen_row(
            pair=("H1", "C1"), what=(("pea", 9), ("single", 4)), how="day-old", locus="P"
        )
        (count,) = read(COMB, row).evidence
        assert isinstance(count, ChickCount)
        assert (count.hen, count.cock, count.sex) == ("H1", "C1", None)
        assert [number for _, number in count.classes] == [9, 4]

    @pytest.mark.parametrize("pair", [("H1", ""), ("", "C1"), ("", "")])
    def test_chicks_without_both_parents_are_set_aside(self, pair: tuple[str, str]) -> None:
        row = seen_row(pair=pair, what=(("pea", 9),), locus="P")
        reading = read(COMB, row)
        assert not reading.evidence
        assert [doubt.kind for doubt in reading.doubts] == ["chicks-without-parents"]

    @pytest.mark.parametrize(
        ("pair", "pen", "says"),
        [
            (("H1", ""), "", "chicks of H1 have no cock named"),
            (("", "C1"), "", "chicks of C1 have no hen named"),
            (("", ""), "Long Run", "chicks of pen Long Run have no hen and no cock named"),
        ],
    )
    def test_the_doubt_says_which_parent_is_missing(
        self, pair: tuple[str, str], pen: str, says: str
    ) -> None:
        row = replace(seen_row(pair=pair, what=(("pea", 9),), locus="P"), pen=pen)
        (doubt,) = read(COMB, row).doubts
        assert says in doubt.problem

    def test_only_daughters_are_judged_by_their_eggs(self) -> None:
        row = seen_row(pair=("H1", "C1"), what=(("blue", 2), ("white", 3)))
        (count,) = read(EGG, row).evidence
        assert isinstance(count, ChickCount)
        assert count.sex is Sex.HEN

    def test_tested_chicks_are_of_both_sexes(self) -> None:
        row = seen_row(pair=("H1", "C1"), what=(("carrier", 2), ("0", 3)), how="dna")
        (count,) = read(EGG, row).evidence
        assert isinstance(count, ChickCount)
        assert count.sex is None

    def test_day_old_chicks_are_too_young_for_a_late_gene(self) -> None:
        row = seen_row(pair=("H1", "C1"), what=(("smooth", 3),), how="day-old", locus="F")
        assert [d.kind for d in read(catalogue()["F"], row).doubts] == ["too-young-to-show"]

    def test_a_pair_of_the_wrong_sexes_is_a_fault(self) -> None:
        row = seen_row(pair=("C1", "H1"), what=(("pea", 9),), locus="P")
        assert [fault.kind for fault in read(COMB, row).faults] == ["wrong-sex", "wrong-sex"]

    def test_an_unknown_band_is_a_fault(self) -> None:
        row = seen_row(pair=("H1", "C9"), what=(("pea", 9),), locus="P")
        assert [(f.kind, f.value) for f in read(COMB, row).faults] == [("unknown-bird", "C9")]

    def test_an_unknown_class_is_a_fault_and_nothing_counts(self) -> None:
        row = seen_row(pair=("H1", "C1"), what=(("pea", 9), ("odd", 1)), locus="P")
        reading = read(COMB, row)
        assert [fault.kind for fault in reading.faults] == ["unknown-class"]
        assert not reading.evidence

    def test_one_bird_cannot_be_counted(self) -> None:
        row = seen_row(bird="H1", what=(("pea", 2),), locus="P")
        assert [fault.kind for fault in read(COMB, row).faults] == ["one-bird-counted"]

    def test_an_unknown_bird_is_a_fault(self) -> None:
        row = seen_row(bird="H9", what=(("pea", 1),), locus="P")
        assert [(f.kind, f.column) for f in read(COMB, row).faults] == [("unknown-bird", "bird")]


def test_rows_and_columns_of_no_known_locus_are_faults() -> None:
    birds = [replace(HEN, seen={"Q": "yes", "o": "blue"})]
    rows = [seen_row(7, bird="H1", what=(("yes", 1),), locus="Zz")]
    faults = unknown_loci(birds, rows, {"O": EGG})
    assert [(f.file, f.row, f.value) for f in faults] == [
        ("birds.csv", 2, "Q"),
        ("seen.csv", 7, "Zz"),
    ]


def test_a_hen_has_two_looks_on_the_z_and_an_error_is_a_mistake_for_the_other() -> None:
    locus = Locus(symbol="X", name="X", z_linked=True, dominance="incomplete", error=0.1)
    shown, hidden = (meaning(locus, words) for words in ("yes", "no"))
    assert shown is not None
    assert hidden is not None
    assert weights(locus, hidden)[1] == pytest.approx((0.9, 0.1))
    assert weights(locus, shown)[1] == pytest.approx((0.1, 0.9))
