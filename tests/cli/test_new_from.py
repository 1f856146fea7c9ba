"""A flock folder from a keeper's own book: shown, asked, accepted, taken in once more."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.cli.run import LIMIT, Ran, contents, edit_text, read_rows, run_here
from tests.cli.terminal import at_a_terminal

if TYPE_CHECKING:
    from pathlib import Path

BIRDS = """\
All our birds;;;;;;;;
Ring no.;Sex;Hatched;Father;Mother;Breed;Family;Comb;Weight
C01;m;3/4/2023;bought;bought;Sussex;Alder;single;2,9 kg
C02;m;14/4/2023;bought;bought;Sussex;Alder;single;3100 g
H01;f;14/4/2023;from Bill;;Sussex;Alder;single;2.2 kg
H02;f;14/4/2023;from Bill;;Sussex;Alder;single;2.25 kg
P01;m;14/4/2023;bought;bought;Brahma;Birch;pea;3.5 kg
X01;f;20/4/2025;P01;H01;;Birch;pea;2.4 kg
X02;f;20/4/2025;P01;H0l;;Birch;pee;2.3 kg
X03;m;20/4/2025;C01/P01;H02;;Birch;pea;3 kg
X04;f;spring 2025;one of the brothers;H02;;Birch;single;2.3 kg
"""
PENS = "House;Most hens\n1;4\n2;4\n"
GIVEN = ("--breed", "Sussex", "--trait", "pea comb")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    folder = tmp_path / "books"
    folder.mkdir()
    (folder / "hens.csv").write_text(BIRDS, encoding="cp1252")
    (folder / "houses.csv").write_text(PENS, encoding="utf-8")
    return folder


def taken_in(book: Path, *more: object) -> Ran:
    return run_here("new", book.parent / "flock", "--from", book, *more)


def flock(book: Path) -> Path:
    return book.parent / "flock"


def test_accepted_it_makes_a_folder_that_can_be_planned(book: Path) -> None:
    ran = taken_in(book, "--accept", *GIVEN)
    assert (ran.code, "Next: matchmaker plan" in ran.err) == (0, True), ran.err
    assert {"birds.csv", "pens.csv", "scores.csv", "matchmaker.toml", "intake.toml"} <= set(
        contents(flock(book))
    )
    rows = {row["bird"]: row for row in read_rows(flock(book) / "birds.csv")}
    assert rows["X02"]["dam"] == "H01"
    assert rows["X03"]["sire"] == "C01|P01"
    assert (rows["X04"]["hatched"], rows["X04"]["sire"]) == ("2025", "")
    assert rows["H01"]["source"] == "Bill"
    assert rows["X02"]["P"] == "pea"
    assert [row["weight"] for row in read_rows(flock(book) / "scores.csv")][:2] == ["2.9", "3.1"]
    assert run_here("plan", "--in", flock(book)).code == 0


def test_all_that_is_left_or_read_otherwise_is_listed(book: Path) -> None:
    taken_in(book, "--accept", *GIVEN)
    left = read_rows(flock(book) / "not-taken.csv")
    assert {"All our birds", "one of the brothers"} <= {row["what"] for row in left}
    assert all(row["file"] and row["row"] and row["why"] for row in left)
    otherwise = {row["written"]: row["taken as"] for row in read_rows(flock(book) / "taken-as.csv")}
    assert otherwise["H0l"] == "H01"
    assert otherwise["3100 g"] == "3.1"


def test_without_anybody_to_ask_it_shows_and_writes_nothing(book: Path) -> None:
    ran = taken_in(book, *GIVEN)
    assert ran.code == 2
    assert not flock(book).exists()
    assert "hens.csv: birds (9 rows)" in ran.out
    assert "No bird of the book has the band H0l. Which one is it?" in ran.out
    assert "give --accept to take what is proposed" in ran.err


def test_what_the_book_cannot_say_is_named(book: Path) -> None:
    (book / "hens.csv").write_text(
        BIRDS.replace("Comb", "Colour").replace("pea", "red").replace("single", "red"), "utf-8"
    )
    ran = taken_in(book, "--accept")
    assert ran.code == 2
    assert "the book does not say enough: give --trait" in ran.err
    assert not flock(book).exists()


def test_a_book_without_a_list_of_birds_is_refused_before_anything_is_asked(book: Path) -> None:
    (book / "hens.csv").write_text(
        "Our hens, as I remember them\n\nNo 1, a cock, hatched 3.4.2023, from Bill, 2.9 kg\n"
        "No 2, a hen, hatched 14.4.2023, from Bill, 2.2 kg\n",
        encoding="utf-8",
    )
    ran = taken_in(book, "--accept")
    assert (ran.code, "no list of birds was found in books" in ran.err) == (2, True), ran.err
    assert not flock(book).exists()


def test_a_folder_in_use_is_left_alone(book: Path) -> None:
    flock(book).mkdir()
    (flock(book) / "mine.txt").write_text("mine", encoding="utf-8")
    assert taken_in(book, "--accept", *GIVEN).code == 6
    assert set(contents(flock(book))) == {"mine.txt"}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--like", "holm-fen"), "--from takes no --like beside it"),
        (("--dates", "swedish"), "--dates is one of"),
        (("--trait", "qqqq"), "no locus is known for 'qqqq'"),
        (("--again",), "has no intake.toml, so it was not made from a book"),
    ],
)
def test_what_makes_no_sense_is_refused(book: Path, more: tuple[str, ...], said: str) -> None:
    ran = taken_in(book, "--accept", *more)
    assert (ran.code, said in ran.err) == (2, True), ran.err
    assert not flock(book).exists()


@pytest.mark.parametrize("name", ["letter.docx", "missing.csv", "empty.csv"])
def test_what_is_no_book_is_refused(book: Path, name: str) -> None:
    if name != "missing.csv":
        (book / name).write_text("", encoding="utf-8")
    ran = run_here("new", flock(book), "--from", book / name, "--accept", *GIVEN)
    assert (ran.code, name in ran.err) == (2, True), ran.err


def test_accept_alone_is_refused(tmp_path: Path) -> None:
    ran = run_here("new", tmp_path / "flock", "--accept")
    assert (ran.code, "--accept can only stand with --from" in ran.err) == (2, True)


def test_the_document_has_columns_questions_and_all_that_is_left(book: Path) -> None:
    ran = taken_in(book, "--accept", "--json", *GIVEN)
    document = ran.document
    assert (document["schema"], document["written"]) == ("matchmaker/new/1", True)
    assert {"hens.csv", "houses.csv"} == set(document["inputs"])
    taken_for = {one["header"]: one["column"] for one in document["columns"]}
    assert taken_for["Father"] == "sire"
    assert {"bird:H0l:H01", "look:P:pee"} <= {one["key"] for one in document["questions"]}
    assert {one["value"] for one in document["left"]} >= {"one of the brothers"}


class TestAgain:
    def test_the_same_book_changes_nothing(self, book: Path) -> None:
        taken_in(book, "--accept", *GIVEN)
        before = contents(flock(book))
        ran = taken_in(book, "--again", "--accept")
        assert (ran.code, "The book says nothing new." in ran.out) == (0, True), ran.err
        assert contents(flock(book)) == before

    def test_what_is_new_in_the_book_is_shown_and_written_with_a_kept_copy(
        self, book: Path
    ) -> None:
        taken_in(book, "--accept", *GIVEN)
        edit_text(
            book / "hens.csv",
            "X04;f;spring 2025",
            "X05;f;21/4/2025;C02;X01;;Birch;pea;2,1 kg\nX04;f;spring 2025",
        )
        edit_text(book / "hens.csv", "X01;f;20/4/2025", "X01;f;22/4/2025")
        edit_text(flock(book) / "matchmaker.toml", "target = {P = 2}", "target = {P = 1}")
        shown = taken_in(book, "--again")
        assert (shown.code, "2025-04-22" in shown.out) == (2, True)
        ran = taken_in(book, "--again", "--accept")
        assert ran.code == 0, ran.err
        rows = {row["bird"]: row for row in read_rows(flock(book) / "birds.csv")}
        assert (rows["X01"]["hatched"], "X05" in rows) == ("2025-04-22", True)
        assert "P = 1" in (flock(book) / "matchmaker.toml").read_text(encoding="utf-8")
        assert list(flock(book).glob("birds.csv.*.bak"))
        assert run_here("check", "--undo", "--in", flock(book)).code == 0
        undone = {row["bird"]: row for row in read_rows(flock(book) / "birds.csv")}
        assert (undone["X01"]["hatched"], "X05" in undone) == ("2025-04-20", False)

    def test_rows_that_only_the_folder_has_are_kept_and_told(self, book: Path) -> None:
        taken_in(book, "--accept", *GIVEN)
        with (flock(book) / "birds.csv").open("a", encoding="utf-8") as stream:
            stream.write("Y99,hen,2026-04-01,C01,X01,Birch\n")
        assert run_here("plan", "--in", flock(book), "--write").code == 0
        planned = (flock(book) / "plan.csv").read_text(encoding="utf-8")
        edit_text(book / "hens.csv", "X01;f;20/4/2025", "X01;f;22/4/2025")
        ran = taken_in(book, "--again", "--accept")
        assert ran.code == 0, ran.err
        assert "birds.csv: 1 row added (Y99)" in ran.out
        rows = {row["bird"]: row for row in read_rows(flock(book) / "birds.csv")}
        assert (rows["Y99"]["dam"], rows["X01"]["hatched"]) == ("X01", "2025-04-22")
        assert (flock(book) / "plan.csv").read_text(encoding="utf-8") == planned

    def test_what_both_changed_otherwise_is_named_and_nothing_written(self, book: Path) -> None:
        taken_in(book, "--accept", *GIVEN)
        edit_text(flock(book) / "birds.csv", "X01,hen,2025-04-20", "X01,hen,2025-04-21")
        edit_text(book / "hens.csv", "X01;f;20/4/2025", "X01;f;22/4/2025")
        before = contents(flock(book))
        ran = taken_in(book, "--again", "--accept")
        assert ran.code == 2
        said = "birds.csv: X01: hatched 2025-04-21 in the folder, 2025-04-22 in the book"
        assert said in ran.err
        assert contents(flock(book)) == before

    def test_an_answer_changed_in_what_is_remembered_holds(self, book: Path) -> None:
        taken_in(book, "--accept", *GIVEN)
        edit_text(
            flock(book) / "intake.toml",
            '"parent:sire:one of the brothers" = ""',
            '"parent:sire:one of the brothers" = "C01|C02"',
        )
        assert taken_in(book, "--again", "--accept").code == 0
        rows = {row["bird"]: row for row in read_rows(flock(book) / "birds.csv")}
        assert rows["X04"]["sire"] == "C01|C02"

    def test_an_answer_that_cannot_be_meant_is_named(self, book: Path) -> None:
        taken_in(book, "--accept", *GIVEN)
        edit_text(flock(book) / "intake.toml", '"bird:H0l:H01" = "H01"', '"bird:H0l:H01" = "Q9"')
        ran = taken_in(book, "--again", "--accept")
        assert (ran.code, '"Q9" is no answer to: No bird of the book' in ran.out) == (0, True)

    def test_settings_are_not_given_again(self, book: Path) -> None:
        taken_in(book, "--accept", *GIVEN)
        ran = taken_in(book, "--again", "--accept", "--breed", "Brahma")
        assert (ran.code, "--again takes no --breed beside it" in ran.err) == (2, True)


def test_at_a_terminal_each_question_is_asked_and_enter_takes_what_is_proposed(
    book: Path,
) -> None:
    with at_a_terminal("new", flock(book), "--from", book, *GIVEN) as terminal:
        terminal.expect("Number of a column that is taken wrongly")
        terminal.send("99\n")
        terminal.expect("The columns are numbered from 1")
        terminal.send("9\n")
        terminal.expect("What is Weight [scores.weight]")
        terminal.send("nonsense.weight\n")
        terminal.expect("is no column")
        terminal.send("scores.weight_20wk\n\n")
        terminal.expect("How many copies of P")
        terminal.send("7\n1\n")
        terminal.expect("Answer with one of these")
        terminal.expect("Which spring do you plan?")
        terminal.send("soon\n")
        terminal.expect("Write the year with four figures")
        terminal.send("2028\n")
        terminal.expect("Answer (? shows where)")
        terminal.send("?\n")
        terminal.expect("hens.csv, row ")
        terminal.send("\n" * 20)
        terminal.expect("Shall this be written")
        terminal.expect("Next: matchmaker plan")
        assert terminal.process.wait(LIMIT) == 0
    text = (flock(book) / "matchmaker.toml").read_text(encoding="utf-8")
    assert "target = {P = 1}" in text
    assert "season = 2028" in text
    assert read_rows(flock(book) / "scores.csv")[0]["weight_20wk"] == "2.9"


def test_who_says_no_at_last_gets_no_folder(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The answers are given in the place of a terminal's."""
    monkeypatch.setattr("matchmaker.cli.new_from._Taking.at_terminal", True)
    monkeypatch.setattr(
        "matchmaker.cli.book_questions.ask",
        lambda question, default=None: "no" if "Shall this" in question else default or "",
    )
    ran = taken_in(book, *GIVEN)
    assert (ran.code, "Nothing was written." in ran.err) == (0, True)
    assert not flock(book).exists()


class _Answers:
    """Answers a keeper gives, by what the question begins with or holds; else what is proposed."""

    def __init__(self, given: dict[str, list[str]]) -> None:
        self.given = given
        self.asked: list[str] = []

    def __call__(self, question: str, default: str | None = None) -> str:
        self.asked.append(question)
        for part, answers in self.given.items():
            if part in question and answers:
                return answers.pop(0)
        return default or ""


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> _Answers:
    """The answers are given in the place of a terminal's."""
    given = _Answers({})
    monkeypatch.setattr("matchmaker.cli.new_from._Taking.at_terminal", True)
    monkeypatch.setattr("matchmaker.cli.book_questions.ask", given)
    return given


def test_a_column_changed_to_what_is_none_is_asked_again(book: Path, answers: _Answers) -> None:
    answers.given = {
        "Number of a column": ["?", "7", ""],
        "What is Family": ["1", "scores.3", "Familly", "scores.draught", "strain"],
        "a score of your own": ["no"],
    }
    ran = taken_in(book, *GIVEN)
    assert ran.code == 0, ran.err
    assert ran.err.count("is no column. Write one of those above, or notes.") == 4
    assert "Family is now taken for line." in ran.err
    assert "Is Familly a gene of your own" in " ".join(answers.asked)
    assert read_rows(flock(book) / "birds.csv")[0]["line"] == "Alder"


def test_a_breed_that_the_book_does_not_have_is_asked_for_twice(
    book: Path, answers: _Answers
) -> None:
    answers.given = {"Answer": ["Susex", "Sussex"], "Your book has no Susex": ["no"]}
    ran = taken_in(book, "--trait", "pea comb")
    assert ran.code == 0, ran.err
    text = (flock(book) / "matchmaker.toml").read_text(encoding="utf-8")
    assert 'recurrent = "Sussex"' in text


def test_pens_that_the_book_does_not_have_are_asked_for(book: Path, answers: _Answers) -> None:
    (book / "houses.csv").unlink()
    answers.given = {"Answer (Enter leaves it open)": ["6, x", "6, 5"]}
    ran = taken_in(book, *GIVEN)
    assert (ran.code, "Write a number of hens for each pen" in ran.err) == (0, True), ran.err
    pens = read_rows(flock(book) / "pens.csv")
    assert [(row["pen"], row["hens_max"]) for row in pens] == [("1", "6"), ("2", "5")]
    assert run_here("plan", "--in", flock(book)).code == 0
    answers.given = {}
    again = taken_in(book, "--again")
    assert (again.code, "The book says nothing new." in again.err) == (0, True), again.err


def test_pens_written_into_the_folder_are_not_asked_for_again(book: Path) -> None:
    (book / "houses.csv").unlink()
    ran = taken_in(book, "--accept", *GIVEN)
    assert (ran.code, "with at least pen and hens_max in it" in ran.err) == (3, True)
    with (flock(book) / "pens.csv").open("a", encoding="utf-8") as stream:
        stream.write("Ark,4\nLoft,5\n")
    again = taken_in(book, "--again", "--accept")
    assert (again.code, "The book has no pens" in again.out) == (0, False), again.err
    assert [row["pen"] for row in read_rows(flock(book) / "pens.csv")] == ["Ark", "Loft"]
