from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from matchmaker.tables.cells import read_cell
from matchmaker.tables.columns import TABLES
from matchmaker.tables.reading import Hints, Reading
from matchmaker.tables.records import Origin, Parentage, Sex, Status
from tests.unit.tables_helpers import places, read

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.tables.schema import Column

ISO = Hints(season=2027)


def column(path: str) -> Column:
    table, _, name = path.partition(".")
    return TABLES[table].column(name)


def cell(path: str, text: str, hints: Hints = ISO) -> Reading:
    return read_cell(text, column(path), hints)


def kind_of(reading: Reading) -> str | None:
    return reading.issue.kind if reading.issue else None


class TestSex:
    @pytest.mark.parametrize(
        "word", ["m", "M", "male", "Cock", "cockerel", "ROOSTER", "♂", "♂\ufe0f"]
    )
    def test_words_for_a_cock(self, word: str) -> None:
        assert cell("birds.sex", word) == Reading(Sex.COCK)

    @pytest.mark.parametrize("word", ["f", "F", "female", "Hen", "pullet", "♀"])
    def test_words_for_a_hen(self, word: str) -> None:
        assert cell("birds.sex", word) == Reading(Sex.HEN)

    @pytest.mark.parametrize("word", ["?", "unknown", "-", "u", "N/A"])
    def test_words_for_not_known(self, word: str) -> None:
        assert cell("birds.sex", word) == Reading()

    @pytest.mark.parametrize(
        ("word", "kind"), [("0", "sex-number"), ("1", "sex-number"), ("2", "sex-number")]
    )
    def test_numbers_are_refused(self, word: str, kind: str) -> None:
        assert kind_of(cell("birds.sex", word)) == kind

    def test_other_words_are_refused(self) -> None:
        assert kind_of(cell("birds.sex", "capon")) == "bad-sex"


class TestDates:
    @pytest.mark.parametrize(
        "text",
        [
            *("2026-03-17", "2026-3-17", "2026/03/17", "2026-03-17 00:00:00", "2026-03-17T08:30"),
            *("17 Mar 2026", "17 March 2026", "17-mar-2026", "March 17, 2026", "17th March 2026"),
        ],
    )
    def test_clear_dates_need_no_setting(self, text: str) -> None:
        assert cell("scores.date", text) == Reading(dt.date(2026, 3, 17))

    @pytest.mark.parametrize("text", ["3/4/2026", "3.4.2026", "03-04-2026", "3. 4. 2026"])
    def test_order_of_day_and_month_is_as_set(self, text: str) -> None:
        by_day, by_month = Hints(dates="day-first"), Hints(dates="month-first")
        assert cell("scores.date", text, by_day) == Reading(dt.date(2026, 4, 3))
        assert cell("scores.date", text, by_month) == Reading(dt.date(2026, 3, 4))

    @pytest.mark.parametrize("text", ["17/3/2026", "3/17/2026"])
    def test_an_only_reading_is_taken_with_a_doubt(self, text: str) -> None:
        reading = cell("scores.date", text)
        assert reading.value == dt.date(2026, 3, 17)
        assert reading.issue is not None
        assert (reading.issue.kind, reading.issue.doubt) == ("date-form", True)

    def test_the_same_day_both_ways_is_an_only_reading(self) -> None:
        assert cell("scores.date", "5/5/2026").value == dt.date(2026, 5, 5)

    @pytest.mark.parametrize(
        ("text", "kind"),
        [
            ("3/4/2026", "ambiguous-date"),
            ("17/3/26", "two-digit-year"),
            ("17 Mar 26", "two-digit-year"),
            ("2026-13-40", "impossible-date"),
            ("30 Feb 2026", "impossible-date"),
            ("31/31/2026", "impossible-date"),
            ("45368", "date-as-number"),
            ("1026-03-17", "strange-year"),
            ("3/4/9026", "strange-year"),
            ("spring", "bad-date"),
            ("2026", "bad-date"),
            ("17 Foo 2026", "bad-date"),
        ],
    )
    def test_what_is_refused(self, text: str, kind: str) -> None:
        reading = cell("scores.date", text)
        assert (reading.value, kind_of(reading)) == (None, kind)

    def test_a_date_against_the_set_order_is_refused(self) -> None:
        reading = cell("scores.date", "3/17/2026", Hints(dates="day-first"))
        assert (reading.value, kind_of(reading)) == (None, "impossible-date")

    def test_a_day_number_names_the_day_it_may_mean(self) -> None:
        # 45368 is 2024-03-17 in the 1900 date system of spreadsheets (ECMA-376 part 1, 18.17.4.1;
        # from memory, and recomputed from its origin)
        issue = cell("scores.date", "45368").issue
        assert issue is not None
        assert "2024-03-17" in issue.problem

    def test_a_year_alone_will_do_for_hatching(self) -> None:
        assert cell("birds.hatched", "2024").value == (dt.date(2024, 5, 1), True)

    @pytest.mark.parametrize("text", ["2028-01-01", "2028"])
    def test_hatching_after_the_season_is_refused(self, text: str) -> None:
        assert kind_of(cell("birds.hatched", text)) == "future-date"

    def test_hatching_within_the_season_is_taken(self) -> None:
        assert cell("birds.hatched", "2027-12-31").value == (dt.date(2027, 12, 31), False)


class TestParents:
    def test_one_parent(self) -> None:
        value = Parentage(origin=Origin.KNOWN, candidates=(("C04", 1.0),))
        assert cell("birds.sire", "C04") == Reading(value)

    def test_several_parents_are_equally_likely(self) -> None:
        value = Parentage(origin=Origin.KNOWN, candidates=(("C04", 0.5), ("C07", 0.5)))
        assert cell("birds.sire", "C04 | C07") == Reading(value)

    @pytest.mark.parametrize("text", ["C04:0.7|C07:0.3", "C04:70%|C07:30%", "C04: 0,7 | C07: 0,3"])
    def test_parents_with_probabilities(self, text: str) -> None:
        reading = cell("birds.sire", text).value
        assert isinstance(reading, Parentage)
        assert dict(reading.candidates) == pytest.approx({"C04": 0.7, "C07": 0.3})

    @pytest.mark.parametrize("text", ["founder", "Founder"])
    def test_founder(self, text: str) -> None:
        assert cell("birds.dam", text) == Reading(Parentage(origin=Origin.FOUNDER))

    @pytest.mark.parametrize("text", ["?", "unknown", "-", "Unknown"])
    def test_unknown(self, text: str) -> None:
        assert cell("birds.dam", text) == Reading(Parentage(origin=Origin.UNKNOWN))

    def test_a_parent_banded_na_is_a_bird(self) -> None:
        value = Parentage(origin=Origin.KNOWN, candidates=(("NA", 1.0),))
        assert cell("birds.dam", "NA") == Reading(value)

    @pytest.mark.parametrize(
        ("text", "kind"),
        [
            ("C04:0.7|C07:0.2", "parent-shares"),
            ("C04:0.33|C07:0.33|C08:0.33", "parent-shares"),
            ("C04|C04", "same-parent-twice"),
            ("C04:0.7|C07", "bad-parent"),
            ("C04:0|C07:1", "bad-parent"),
            ("C04|", "bad-parent"),
            ("C04 or C07", "bad-parent"),
            ("C04|founder", "bad-parent"),
            ("C04|?", "bad-parent"),
        ],
    )
    def test_what_is_refused(self, text: str, kind: str) -> None:
        reading = cell("birds.sire", text)
        assert (reading.value, kind_of(reading)) == (None, kind)


class TestBreeds:
    @pytest.mark.parametrize(
        ("text", "shares"),
        [
            ("sussex", {"sussex": 1.0}),
            ("sussex:0.75|araucana:0.25", {"sussex": 0.75, "araucana": 0.25}),
            ("sussex:7/8|araucana:1/8", {"sussex": 0.875, "araucana": 0.125}),
            ("sussex:75%|araucana:25%", {"sussex": 0.75, "araucana": 0.25}),
            ("sussex|araucana", {"sussex": 0.5, "araucana": 0.5}),
        ],
    )
    def test_shares(self, text: str, shares: dict[str, float]) -> None:
        assert cell("birds.breed", text) == Reading(shares)

    @pytest.mark.parametrize(
        ("text", "kind"),
        [
            ("sussex:0.75|araucana:0.2", "breed-shares"),
            ("sussex|sussex", "same-breed-twice"),
            ("sussex:1/0|araucana:1", "bad-breed"),
        ],
    )
    def test_what_is_refused(self, text: str, kind: str) -> None:
        assert kind_of(cell("birds.breed", text)) == kind


class TestNumbers:
    @pytest.mark.parametrize(
        ("text", "number"),
        [("4", 4.0), ("4.5", 4.5), ("4,5", 4.5), ("4.5 eggs", 4.5), (".5", 0.5), ("0,450", 0.45)],
    )
    def test_numbers_in_the_column_s_unit(self, text: str, number: float) -> None:
        assert cell("birds.lay_per_week", text) == Reading(number)

    @pytest.mark.parametrize("text", ["", "?", "-", "NA", "n/a"])
    def test_blank(self, text: str) -> None:
        assert cell("birds.lay_per_week", text) == Reading()

    @pytest.mark.parametrize(
        ("text", "kind"),
        [
            *(("nan", "bad-number"), ("inf", "bad-number"), ("1e999", "bad-number")),
            *(("many", "bad-number"), ("2.5.1", "bad-number"), ("1e", "other-unit")),
            *(("1,000", "unclear-number"), ("1.234,5", "unclear-number")),
            *(("1 000", "unclear-number"), ("2.5 lb", "other-unit")),
            *(("-1", "out-of-range"), ("11", "out-of-range"), ("\u22121", "out-of-range")),
        ],
    )
    def test_what_is_refused(self, text: str, kind: str) -> None:
        reading = cell("birds.lay_per_week", text)
        assert (reading.value, kind_of(reading)) == (None, kind)

    @pytest.mark.parametrize(("text", "share"), [("85 %", 0.85), ("0.85", 0.85), ("100%", 1.0)])
    def test_probabilities_may_be_per_cent(self, text: str, share: float) -> None:
        assert cell("birds.fertility", text) == Reading(share)

    @pytest.mark.parametrize("text", ["85", "-0.1", "101%"])
    def test_probabilities_stay_between_none_and_all(self, text: str) -> None:
        assert kind_of(cell("birds.fertility", text)) == "out-of-range"

    @pytest.mark.parametrize("text", ["8", "8.0", "8 hens"])
    def test_counts(self, text: str) -> None:
        reading = cell("pens.hens_max", text)
        assert (reading.value, type(reading.value)) == (8, int)

    @pytest.mark.parametrize(
        ("text", "kind"), [("8.5", "bad-count"), ("0", "out-of-range"), ("x", "bad-number")]
    )
    def test_counts_refused(self, text: str, kind: str) -> None:
        assert kind_of(cell("pens.hens_max", text)) == kind


class TestWords:
    @pytest.mark.parametrize("status", list(Status))
    def test_every_status(self, status: Status) -> None:
        assert cell("birds.status", status.value.upper()) == Reading(status)

    @pytest.mark.parametrize(
        ("path", "text", "value"),
        [
            ("birds.status", "died", Status.DEAD),
            ("birds.status", "reserve", Status.SPARE),
            ("pens.dam_known", "Y", True),
            ("pens.dam_known", "x", True),
            ("pens.dam_known", "0", False),
            ("wishes.wish", "Keep apart", "apart"),
            ("pens.use", "Keep pure", "hold"),
            ("pens.use", "test mating", "test"),
            ("seen.how", "DNA", "dna"),
            ("seen.how", "day old", "day-old"),
            ("birds.defects", "wry tail; crossed beak", ("wry tail", "crossed beak")),
            ("birds.defects", "none", ()),
            ("birds.line", "-", ""),
        ],
    )
    def test_synonyms(self, path: str, text: str, value: object) -> None:
        assert cell(path, text) == Reading(value)

    @pytest.mark.parametrize(
        ("path", "text", "kind"),
        [
            ("birds.status", "retired", "bad-status"),
            ("pens.open", "maybe", "bad-yes-no"),
            ("pens.use", "love", "bad-use"),
            ("wishes.wish", "love", "bad-wish"),
            ("seen.how", "guess", "bad-how"),
        ],
    )
    def test_what_is_refused(self, path: str, text: str, kind: str) -> None:
        assert kind_of(cell(path, text)) == kind


class TestBands:
    @pytest.mark.parametrize("text", ["0017", "NA", "C-2024/017", "1E5", "null", "[blue] 4"])
    def test_every_text_is_a_band(self, text: str) -> None:
        assert cell("birds.bird", text) == Reading(text)

    @pytest.mark.parametrize("text", ["founder", "?", "-", "unknown", "A|B", "A:1"])
    def test_words_that_mean_something_else_are_none(self, text: str) -> None:
        assert kind_of(cell("birds.bird", text)) == "no-band"


class TestClassesSeen:
    @pytest.mark.parametrize(
        ("text", "value"),
        [
            ("blue", (("blue", None),)),
            ("not blue", (("not blue", None),)),
            ("2 copies", (("2 copies", None),)),
            ("1 copy", (("1 copy", None),)),
            ("2", (("2", None),)),
            ("9 pea, 4 single", (("pea", 9), ("single", 4))),
            ("9 pea; 4 single", (("pea", 9), ("single", 4))),
            ("9 pea", (("pea", 9),)),
            ("9 x pea, 4x single", (("pea", 9), ("single", 4))),
            ("3 0 copies, 4 1 copy", (("0 copies", 3), ("1 copy", 4))),
        ],
    )
    def test_classes(self, text: str, value: object) -> None:
        assert cell("seen.what", text) == Reading(value)

    @pytest.mark.parametrize("text", ["9 pea, single", "9 pea, 4 pea", ","])
    def test_what_is_refused(self, text: str) -> None:
        assert kind_of(cell("seen.what", text)) == "bad-classes"

    def test_counts_stand_in_what_or_in_count(self, tmp_path: Path) -> None:
        table = 'hen,cock,locus,what,count\nH1,C1,P,"9 pea, 4 single",\nH1,C1,P,pea,5\n'
        first, second = read(tmp_path, seen=table).seen
        assert (first.what, second.what) == ((("pea", 9), ("single", 4)), (("pea", 5),))
        assert first.how == "report"

    @pytest.mark.parametrize(
        ("row", "place"),
        [
            ("H1,,,O,2 blue,", ("bad-count", "seen.csv", 2, "what", "2 blue")),
            ("H1,,,O,blue,3", ("bad-count", "seen.csv", 2, "what", "blue")),
            (",H1,C1,P,pea,", ("bad-count", "seen.csv", 2, "count", "")),
            (",H1,C1,P,4 pea,4", ("bad-count", "seen.csv", 2, "count", "4")),
            ("H1,H1,,P,pea,", ("subject", "seen.csv", 2, "hen", "H1")),
            (",,,P,pea,3", ("subject", "seen.csv", 2, "bird", "")),
        ],
    )
    def test_rows_refused(
        self, tmp_path: Path, row: str, place: tuple[str, str, int, str, str]
    ) -> None:
        tables = read(tmp_path, seen=f"bird,hen,cock,locus,what,count\n{row}\n")
        assert places(tables.faults) == [place]
        assert tables.seen == ()
