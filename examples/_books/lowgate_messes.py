"""The habits of Lowgate, one a function: each says which habit it is and where it was put."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from _books.lowgate_sheets import BROODER, LOG, POINTS, REGISTER, STALLS, listing, register_row
from _books.paper import Commented, Row

if TYPE_CHECKING:
    from collections.abc import Callable

    from _books.paper import Notebook


def words_for_breeds(book: Notebook) -> None:
    """Breeds of crosses in words: "Welsummer x Leghorn" and "3/4 Welsummer".

    In "Race" of N25-001 and N26-002.
    """
    half = ("", "welsummer:0.5|leghorn:0.5", "leghorn:0.5|welsummer:0.5")
    book.spoil(register_row(book, "N25-001"), "breed", "Welsummer x Leghorn", "doubted", *half)
    most = ("", "welsummer:0.75|leghorn:0.25", "leghorn:0.25|welsummer:0.75")
    book.spoil(register_row(book, "N26-002"), "breed", "3/4 Welsummer", "doubted", *most)


def names_of_strains(book: Notebook) -> None:
    """One strain under several names: "north", "North line" and "Nort", and "Gold." for Gold."""
    book.spoil(register_row(book, "N26-003"), "line", "north", "taken", "North", "north")
    book.spoil(register_row(book, "N26-005"), "line", "North line", "asked", "North", "North line")
    book.spoil(register_row(book, "N25-004"), "line", "Nort", "asked", "North", "Nort")
    book.spoil(register_row(book, "W26-001"), "line", "Gold.", "asked", "Gold", "Gold.")


def words_for_standing(book: Notebook) -> None:
    """Nothing in "State" for the living; the others "given to Ødegård" or "sold!".

    An empty cell among filled ones is a bird of which nothing is said.
    """
    for row in book.sheet(REGISTER).taken():
        clean = row.clean or {}
        if clean["status"] == "breeder":
            book.spoil(row, "status", None, "taken", "", "breeder")
        elif clean["bird"].startswith("S"):
            book.spoil(row, "status", "given to Ødegård", "asked", "sold", "")
        else:
            book.spoil(row, "status", "sold!", "taken", "sold")


def days_as_text(book: Notebook) -> None:
    """Days as text with points among real dates, one of two digits, one of which only the year is.

    In "Out of the egg" of founders; W24-004 "16.4.24", W24-007 "2024", L24-001 "end of March 24".
    """
    for band in ("W24-001", "W24-002", "W24-003", "W24-005", "W24-006"):
        book.spoil(register_row(book, band), "hatched", "16.04.2024")
    book.spoil(register_row(book, "W24-004"), "hatched", "16.4.24", "asked", "2024-04-16", "")
    book.spoil(register_row(book, "W24-007"), "hatched", 2024.0, "taken", "2024")
    march = ("", "2024", "2024-03-31")
    book.spoil(register_row(book, "L24-001"), "hatched", "end of March 24", "doubted", *march)


def no_day_decides(book: Notebook) -> None:
    """A file in which no row says which comes first, day or month: all of them are 12 or less.

    Every day of the brooder's list ("10/03/2025" may be October), and it must be asked.
    """
    brooder = listing(book, BROODER)
    for row in brooder.taken():
        for key in ("collected_from", "collected_to", "set_on"):
            book.note(row, key, "asked", (row.clean or {})[key], "")


def weights_as_written(book: Notebook) -> None:
    """Weights as a country with a decimal comma writes them: "2,40", "2,1 kg", "2.400 g", "1850 g".

    In "Weight at 20 weeks" of the register; "2.400 g" has a mark of thousands, which may as well
    be a decimal point: it is not taken unasked.
    """
    for row in list(book.sheet(REGISTER).taken()):
        value = row.cells["scores.weight"]
        band = (row.clean or {})["bird"]
        if not isinstance(value, float):
            continue
        if band == "N25-001":
            thousands = f"{value * 1000:,.0f} g".replace(",", ".")
            book.spoil(row, "scores.weight", thousands, "asked", f"{value:.2f}", "")
        elif band.startswith("N25"):
            book.spoil(row, "scores.weight", f"{value:.2f}".replace(".", ","))
        elif band.startswith("S26"):
            book.spoil(
                row, "scores.weight", f"{value:.1f} kg".replace(".", ","), "taken", *_near(value)
            )
        elif band.startswith("W26"):
            book.spoil(row, "scores.weight", f"{value * 1000:.0f} g")


def _near(value: float) -> tuple[str, ...]:
    """The weight as it was, and as it is when a figure is rounded off."""
    return (f"{value:.2f}", f"{value:.1f}")


def points_with_commas(book: Notebook) -> None:
    """Points with a decimal comma and a word: "3,5", "4 (good)", "2-3"; in the judging."""
    judging = listing(book, POINTS)
    book.spoil(judging.row(bird="N25-002"), "type", "3,5", "taken", "3.5")
    book.spoil(judging.row(bird="W25-002"), "type", "4 (good)", "asked", "4", "")
    book.spoil(judging.row(bird="N25-003"), "type", "2-3", "doubted", "", "2.5")


def parents_by_stall(book: Notebook) -> None:
    """A stall for a parent: "stall Brønn" as cock of S26-001, "Åkra" as hen of N26-005.

    By the log W24-002 may still be in Åkra, for nobody wrote down that she left; and in Brønn
    stood N25-003, who is down as a cock.
    """
    cocks = ("W24-005", "N25-003|W24-005")
    book.spoil(register_row(book, "S26-001"), "sire", "stall Brønn", "uncertain", *cocks)
    hens = ("W24-007|W24-008", "W24-002|W24-007|W24-008")
    book.spoil(register_row(book, "N26-005"), "dam", "Åkra", "uncertain", *hens)


def either_of_two(book: Notebook) -> None:
    """Two possible mothers: "W24-006 / 009" of W26-003, the second without its first part."""
    hens = ("W24-006|W24-009", "")
    book.spoil(register_row(book, "W26-003"), "dam", "W24-006 / 009", "uncertain", *hens)


def a_silver_from_gold(book: Notebook) -> None:
    """A colour that the parents cannot give: S26-003, a hen of a gold cock, is down as silver.

    A hen has her colour from her father alone; it was S26-004, a cock, one row below.
    """
    book.spoil(register_row(book, "S26-003"), "S", "silver", "doubted", "silver", "")


def a_mother_who_is_a_cock(book: Notebook) -> None:
    """N25-003 is "m" in the register, yet she laid the eggs of a set and is a mother."""
    book.spoil(register_row(book, "N25-003"), "sex", "m", "doubted", "cock", "hen", "")


def doubtful_colours(book: Notebook) -> None:
    """Colours half sure: "silver?" of N26-002, "Gold " of W26-002, "goldish" of N26-004."""
    book.spoil(register_row(book, "N26-002"), "S", "silver?", "doubted", "", "silver")
    book.spoil(register_row(book, "W26-002"), "S", "Gold ", "taken", "gold", "Gold")
    book.spoil(register_row(book, "N26-004"), "S", "goldish", "asked", "gold", "")


def open_stays(book: Notebook) -> None:
    """A stay that never ended in the log: W24-002 came into Åkra in 2025, and nothing after it."""
    log = listing(book, LOG)
    book.spoil(log.row(bird="W24-002"), "moved_out", None, "unseen", "")


def two_columns_of_notes(book: Notebook) -> None:
    """Two columns of the same name, and a column of ticks without any: nothing of them is lost."""
    for at, row in enumerate(book.sheet(REGISTER).taken()):
        if at % 7 == 3:
            row.cells["+more"] = ("shy", "ate an egg", "good with chicks")[at % 3]
            book.note(row, "+more", "taken", str(row.cells["+more"]))
        if at % 9 == 2:
            row.cells["+tick"] = "x"
            book.note(row, "+tick", "aside")


def an_empty_column(book: Notebook) -> None:
    """An empty column in the middle of the register, for the eye: it is one table all the same."""
    register = book.sheet(REGISTER)
    at = [key for key, _ in register.columns].index("S")
    register.columns.insert(at, ("+space", ""))
    book.note(register.row(bird="L24-001"), "S", "taken")


def two_header_rows(book: Notebook) -> None:
    """A header of two rows: "Parents" across two cells, "Cock" and "Hen" below it."""
    register = book.sheet(REGISTER)
    above = Row({"sire": "Parents"})
    register.insert(register.header, above)
    register.merged_across.append((above, 2))
    book.place(register, above, "aside")


def a_line_break_in_a_cell(book: Notebook) -> None:
    """A remark of two lines inside one cell of the judging: rows below it keep their numbers."""
    judging = listing(book, POINTS)
    judging.columns.append(("+notes", "Remarks"))
    judging.header.cells["+notes"] = "Remarks"
    row = judging.row(bird="N25-005")
    row.cells["+notes"] = "comb leans;\nlook again"
    book.note(row, "+notes", "taken", "comb leans;\nlook again", "comb leans; look again")


def empty_lines_below(book: Notebook) -> None:
    """Lines of nothing but separators below the judging, and "Total" below the brooder's list."""
    listing(book, POINTS).rows += [Row(), Row()]
    brooder = listing(book, BROODER)
    total = Row({"pen": "Total", "eggs": "42", "hatched": "24"})
    brooder.rows.append(total)
    book.place(brooder, total, "aside")


def a_title_in_the_list(book: Notebook) -> None:
    """A title above the header of the judging, and who judged."""
    judging = listing(book, POINTS)
    title = Row(loose=("Judging at Lowgate, points 1 to 5; judge: Françoise",))
    judging.rows[:0] = [title, Row()]
    book.place(judging, title, "aside")


def another_table_beside(book: Notebook) -> None:
    """A second table beside the stalls, an empty column between: egg money, no business of ours."""
    stalls = book.sheet(STALLS)
    beside = (("+gap", ""), ("+month", "Month"), ("+sold", "Eggs sold"), ("+money", "Money"))
    stalls.columns += beside
    stalls.header.cells |= {key: head for key, head in beside if head}
    months = ("May", "June", "July", "August")
    for at, (row, month) in enumerate(zip(stalls.taken(), months, strict=True)):
        row.cells |= {"+month": month, "+sold": 60.0 + 7 * at, "+money": f"{18 + at},50"}
        for key in ("+month", "+sold", "+money"):
            book.note(row, key, "aside")


def a_day_beyond_its_month(book: Notebook) -> None:
    """A day that does not exist: S26-002 left on "31.11.2026"; that she left is sure."""
    book.spoil(register_row(book, "S26-002"), "left_on", "31.11.2026", "doubted", "")


def a_comment_on_a_cell(book: Notebook) -> None:
    """A comment pinned to a cell: on "Strain" of W24-008, and no part of what is written there."""
    row = register_row(book, "W24-008")
    book.spoil(row, "line", Commented("Gold", "may be half a sister of W24-009"))


def rows_without_end(book: Notebook) -> None:
    """A sheet that goes on for a million empty rows, as an office program saves it: the stalls."""
    stalls = book.sheet(STALLS)
    stalls.empty_below = 1_048_000
    book.note(stalls.row(pen="Dypdal"), "pen", "taken")


MESSES: Final[tuple[Callable[[Notebook], None], ...]] = (
    *(words_for_breeds, names_of_strains, words_for_standing, days_as_text, no_day_decides),
    *(weights_as_written, points_with_commas, parents_by_stall, either_of_two),
    *(a_silver_from_gold, a_mother_who_is_a_cock, doubtful_colours, open_stays),
    *(
        two_columns_of_notes,
        an_empty_column,
        two_header_rows,
        a_line_break_in_a_cell,
        empty_lines_below,
    ),
    *(a_title_in_the_list, another_table_beside, a_day_beyond_its_month),
    *(a_comment_on_a_cell, rows_without_end),
)
