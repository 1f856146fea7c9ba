"""Cells of a keeper's book as our tables get them: days, numbers, words, breeds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.intake.model import Merged
from matchmaker.intake.take import CellHints, take
from tests.intake_books import column, guessed, taken

if TYPE_CHECKING:
    from collections.abc import Mapping


def hatched(
    *days: str, hints: CellHints | None = None, answers: Mapping[str, str] | None = None
) -> list[str]:
    rows = [f"C{number};{day}" for number, day in enumerate(days, start=1)]
    found, _ = take([guessed("birds", "Ring=bird,Hatched=hatched", *rows)], answers or {}, hints)
    return column(found, "birds", "hatched")


class TestDays:
    @pytest.mark.parametrize(
        ("written", "day"),
        [
            ("2024-03-17", "2024-03-17"),
            (
                "45385",
                "2024-04-03",
            ),  # counted on from 2024-04-01 = 45383, a spreadsheet's own number
            ("17 March 2024", "2024-03-17"),
            ("ca. 17/3/2024", "2024-03-17"),
            ("17/3/2024 (late)", "2024-03-17"),
            ("spring 2024", "2024"),
            ("Easter 2024", "2024"),
            ("end of March 24", "2024"),
            ("2024", "2024"),
            ("31/2/2024", ""),
            ("?", ""),
        ],
    )
    def test_a_day_however_it_is_written(self, written: str, day: str) -> None:
        assert hatched(written) == [day]

    def test_a_number_above_twelve_decides_for_its_column(self) -> None:
        assert hatched("3/4/2024", "13/4/2024") == ["2024-04-03", "2024-04-13"]
        assert hatched("3/4/2024", "4/13/2024") == ["2024-03-04", "2024-04-13"]

    def test_without_such_a_number_it_is_asked_and_nothing_guessed(self) -> None:
        found = taken(guessed("birds", "Ring=bird,Hatched=hatched", "C1;3/4/2024"))
        assert column(found, "birds", "hatched") == [""]
        (question,) = found.questions
        assert (question.key, question.proposed) == ("order:birds.csv", None)
        assert question.choices == ("day-first", "month-first")
        assert [left.text for left in found.left] == ["3/4/2024"]

    def test_the_answer_and_the_option_settle_it(self) -> None:
        key = {"order:birds.csv": "month-first"}
        assert hatched("3/4/2024", answers=key) == ["2024-03-04"]
        assert hatched("3/4/2024", hints=CellHints(dates="day-first")) == ["2024-04-03"]

    def test_a_year_of_two_figures_is_asked_once_and_proposed_by_reason(self) -> None:
        found = taken(guessed("birds", "Ring=bird,Hatched=hatched", "C1;13/4/24", "C2;14/4/24"))
        assert [(q.proposed, len(q.places)) for q in found.questions] == [("20..", 2)]
        assert column(found, "birds", "hatched") == ["2024-04-13", "2024-04-14"]
        assert hatched("13/4/51", "13/4/1950") == ["", "1950-04-13"]  # may be 1951


BANDS = guessed("birds", "Ring=bird", "C1", "C2", "C3", "C4")


class TestNumbers:
    def weights(self, *cells: str, header: str = "Weight", **answers: str) -> list[str]:
        rows = [f"C{number};{cell}" for number, cell in enumerate(cells, start=1)]
        sheet = guessed("scores", f"Ring=bird,{header}=weight", *rows)
        found, _ = take([BANDS, sheet], answers)
        return column(found, "scores", "weight")

    def test_units_come_out_as_one(self) -> None:
        assert self.weights("2,1 kg", "2100 g", "2.2 kg", "2 lb") == [
            "2.1",
            "2.1",
            "2.2",
            "0.907185",
        ]

    def test_the_header_says_the_unit(self) -> None:
        assert self.weights("2100", "2,2 kg", header="Weight (g)") == ["2100", "2200"]

    def test_a_bare_number_far_from_the_others_is_asked(self) -> None:
        sheet = guessed("scores", "Ring=bird,W=weight", "C1;2,1 kg", "C2;2.2 kg", "C3;2300")
        found = taken(BANDS, sheet)
        assert column(found, "scores", "weight") == ["2.1", "2.2", "2.3"]
        assert [question.proposed for question in found.questions] == ["g"]

    def test_thousands_are_asked_or_left(self) -> None:
        assert self.weights("2.400 g", "1850 g", "1900 g") == ["2400", "1850", "1900"]
        left = {"thousands:scores.csv::Weight:2.400 g": "leave it out"}
        assert self.weights("2.400 g", "1850 g", **left) == ["1850"]
        assert self.weights("1,234.5") == []

    def test_what_is_no_number_is_left_and_said(self) -> None:
        found = taken(BANDS, guessed("scores", "Ring=bird,Type=type", "C1;2-3", "C2;4 (good)"))
        assert column(found, "scores", "type") == ["4"]
        assert column(found, "scores", "notes") == ["Type: good"]
        assert [left.text for left in found.left] == ["2-3", "C1"]


class TestWords:
    def test_sexes_in_many_words(self) -> None:
        rows = ("1;♀", "2;cockerel", "3;pullet?", "4;F", "5;")
        found = taken(guessed("birds", "Ring=bird,Sex=sex", *rows))
        assert column(found, "birds", "sex") == ["hen", "cock", "", "hen", ""]
        assert [doubt.kind for doubt in found.doubts] == ["sex-not-sure"]

    def test_a_word_nobody_knows_is_asked_once(self) -> None:
        rows = ("1;here", "2;here", "3;sld", "4;purple")
        found = taken(guessed("birds", "Ring=bird,State=status", *rows))
        assert column(found, "birds", "status") == ["breeder", "breeder", "sold", ""]
        proposed = {question.key: question.proposed for question in found.questions}
        assert proposed == {
            "word:birds.status:here": "breeder",
            "word:birds.status:sld": "sold",
            "word:birds.status:purple": None,
        }
        assert [left.text for left in found.left] == ["purple"]

    def test_names_written_in_two_ways(self) -> None:
        rows = ("1;Line A", "2;a", "3;A-line", "4;Line A", "5;Cedar", "6;Cedr", "7;Cedar")
        found = taken(guessed("birds", "Ring=bird,Family=line", *rows))
        assert column(found, "birds", "line") == [*["Line A"] * 4, *["Cedar"] * 3]
        assert [question.text for question in found.questions] == ['Is "Cedr" the same as "Cedar"?']

    def test_looks_are_read_by_the_words_given(self) -> None:
        hints = CellHints(
            reads_look=lambda _, text: text in {"pea", "single"},
            look_words=lambda _: ("pea", "single"),
        )
        rows = ("1;pea", "2;pee", "3;single?", "4;green")
        found = taken(guessed("birds", "Ring=bird,Comb=P", *rows), hints=hints)
        assert column(found, "birds", "P") == ["pea", "pea", "", ""]
        assert [left.text for left in found.left] == ["green"]


@pytest.mark.parametrize(
    ("written", "shares"),
    [
        ("sussex", "Sussex"),
        ("7/8 Sussex", "Sussex:0.875|Araucana:0.125"),
        ("87,5 %", "Sussex:0.875|Araucana:0.125"),
        ("Sussex x Araucana", "Sussex:0.5|Araucana:0.5"),
        ("3/4 Sussex, 1/4 Araucana", "Sussex:0.75|Araucana:0.25"),
        ("Sussex 87.5 %", "Sussex:0.875|Araucana:0.125"),
        ("Sussex/Araucana", ""),
        ("BC3", ""),
        ("half Sussex", "Sussex:0.5|Araucana:0.5"),
        ("Sussex of some sort 3", ""),
    ],
)
def test_breeds_where_they_are_certain(written: str, shares: str) -> None:
    rows = ("1;Sussex", "2;Sussex", "3;Araucana", f"4;{written}")
    found = taken(
        guessed("birds", "Ring=bird,Race=breed", *rows), hints=CellHints(recurrent="sussex")
    )
    assert column(found, "birds", "breed")[-1] == shares
    assert bool(shares) != any(written in row.get("notes", "") for row in found.tables["birds"])


def test_a_share_of_no_certain_breed_is_put_aside() -> None:
    rows = ("1;Sussex", "2;Brahma", "3;Araucana", "4;7/8 Sussex")
    found = taken(guessed("birds", "Ring=bird,Race=breed", *rows))
    assert column(found, "birds", "breed")[-1] == ""
    assert found.tables["birds"][-1]["notes"] == "Race: 7/8 Sussex"


def test_merged_cells_and_ditto_marks_hold_for_the_rows_below() -> None:
    sheet = guessed(
        "moves",
        "Pen=pen,Ring=bird,In=moved_in",
        "3;C1;2025-02-01",
        ";H1;do.",
        "4;H2;2025-02-02",
        sheet="Log",
        merged=(Merged(first=2, last=3, at=0),),
    )
    birds = guessed("birds", "Ring=bird", "C1", "H1", "H2")
    found = taken(sheet, birds)
    assert column(found, "moves", "pen") == ["3", "3", "4"]
    assert column(found, "moves", "moved_in") == ["2025-02-01", "2025-02-01", "2025-02-02"]
    assert {question.proposed for question in found.questions} >= {"yes"}
    no = {"merged:fen.xlsx:Log:Pen": "no"}
    assert column(take([sheet, birds], no)[0], "moves", "pen") == ["3", "4"]
    left = take([sheet, birds], {"ditto:fen.xlsx:Log:In": "no"})[0].left
    assert [(one.text, one.why) for one in left] == [
        ("do.", "a mark for the same as above, not to be filled in")
    ]


def test_a_ditto_mark_at_the_top_has_nothing_to_repeat() -> None:
    found = taken(guessed("birds", "Ring=bird,Line=line", "C1;do.", "C2;Old"))
    assert [(one.text, one.why) for one in found.left] == [
        ("do.", "a mark for the same as above, with nothing to repeat")
    ]
