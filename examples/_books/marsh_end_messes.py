"""The habits of Marsh End, one a function: each says which habit it is and where it was put."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

from _books.marsh_end_sheets import BIRDS, HATCHES, HOUSES, LOG, WEIGHTS, WISHES
from _books.paper import Figure, Formula, Row, Sheet

if TYPE_CHECKING:
    from collections.abc import Callable

    from _books.paper import Notebook

DORKING_7_8: Final = ("", "dorking:0.875|brahma:0.125", "brahma:0.125|dorking:0.875")


def words_for_breeds(book: Notebook) -> None:
    """Typed shares of breed beside a pedigree that says as much: "7/8", "87.5", "BC2".

    In "What it is" of five birds; one of them (R25-005, "50 %") is wrong by its pedigree.
    """
    birds = book.sheet(BIRDS)
    book.spoil(birds.row(bird="R25-001"), "breed", "7/8", "doubted", *DORKING_7_8)
    book.spoil(birds.row(bird="R25-003"), "breed", "87.5", "doubted", *DORKING_7_8)
    book.spoil(birds.row(bird="S25-001"), "breed", "BC2", "doubted", *DORKING_7_8)
    first_cross = ("", "dorking:0.5|brahma:0.5", "brahma:0.5|dorking:0.5")
    book.spoil(birds.row(bird="R25-005"), "breed", "50 %", "doubted", *first_cross)
    book.spoil(birds.row(bird="R23-001"), "breed", "Brahma x Dorking", "doubted", *first_cross)


def words_for_sexes(book: Notebook) -> None:
    """The same sex in many words, and one the keeper was not sure of.

    In "Cock / hen": pullet, hen with a blank behind it, H, cockerel, a sign; "pullet?" of D25-003.
    """
    birds = book.sheet(BIRDS)
    written = {
        "D23-002": "Hen ",
        "D23-003": "H",
        "S26-001": "pullet",
        "S26-005": "Pullet",
        "R26-001": "cockerel",
        "R26-006": "Cockerel",
        "R26-002": "♀",
    }
    for band, word in written.items():
        book.spoil(birds.row(bird=band), "sex", word)
    book.spoil(birds.row(bird="D25-003"), "sex", "pullet?", "doubted", "", "hen")


def words_for_standing(book: Notebook) -> None:
    """Whether a bird is still there, in the keeper's words: "fox" for dead, "gone to Fenwick".

    In "Here?": the living are "here", the culled "eaten" (so everywhere); R23-002 "fox",
    S24-003 "gone to Fenwick", D23-004 "here, lame".
    """
    birds = book.sheet(BIRDS)
    book.spoil(birds.row(bird="R23-002"), "status", "fox", "asked", "dead", "")
    book.spoil(birds.row(bird="S24-003"), "status", "gone to Fenwick", "asked", "sold", "")
    book.spoil(birds.row(bird="D23-004"), "status", "here, lame", "asked", "breeder", "")
    for row in birds.taken():
        if row.cells["status"] in {"here", "eaten"}:
            book.note(row, "status", "asked", (row.clean or {})["status"], "")


def red_is_dead(book: Notebook) -> None:
    """Colour as data: D22-002 is red and struck through, which means dead; her cells say nothing.

    Nothing reads colours, so all that can be said is that she has not been seen for two years.
    """
    row = book.sheet(BIRDS).row(bird="D22-002")
    row.colour, row.struck = "red", True
    book.spoil(row, "status", None, "doubted", "", "breeder")
    book.spoil(row, "left_on", None, "doubted", "")


def not_seen_for_years(book: Notebook) -> None:
    """D22-008 and D22-009 are "here", yet nothing was written of them since May 2024."""
    birds = book.sheet(BIRDS)
    for band in ("D22-008", "D22-009"):
        book.note(birds.row(bird=band), "status", "doubted", "breeder", "")


def dates_in_many_forms(book: Notebook) -> None:
    """Dates as text among real dates: day first with points, a month's name, a year of two digits.

    In "Hatched": five founders and chicks; R24-001's is a day number as text, as a spreadsheet
    leaves it behind; D25-001 hatched in "spring 2025", D25-002 at "Easter 2025".
    """
    birds = book.sheet(BIRDS)
    book.spoil(birds.row(bird="D22-003"), "hatched", "12.4.2022")
    book.spoil(birds.row(bird="D22-004"), "hatched", "12 April 2022")
    book.spoil(birds.row(bird="D23-002"), "hatched", "12/4/23", "asked", "2023-04-12", "")
    book.spoil(birds.row(bird="S24-001"), "hatched", "30/03/2024")
    book.spoil(birds.row(bird="R24-002"), "hatched", "30.3.24", "asked", "2024-03-30", "")
    serial = (dt.date(2024, 3, 30) - dt.date(1899, 12, 30)).days
    book.spoil(birds.row(bird="R24-001"), "hatched", str(serial))
    book.spoil(birds.row(bird="D25-001"), "hatched", "spring 2025", "doubted", "2025", "")
    book.spoil(birds.row(bird="D25-002"), "hatched", "Easter 2025", "doubted", "2025", "")


def dates_of_eggs(book: Notebook) -> None:
    """A day of the incubator written "?" and one with its year left out."""
    eggs = book.sheet(HATCHES)
    book.spoil(eggs.row(first_band="D23-006"), "collected_from", "?", "doubted", "")
    book.spoil(
        eggs.row(first_band="D24-001"), "collected_to", "8 March", "doubted", "", "2024-03-08"
    )


def parents_by_pen(book: Notebook) -> None:
    """A pen for a parent: "pen 3" as father, "house 2", "Old stable hens" and "pen 5 hens".

    R25-005 and R25-006 hatched while the cocks of pen 3 were changed: it may be either.
    """
    birds = book.sheet(BIRDS)
    either = ("R24-004|R24-005", "R24-005|R24-004")
    for band in ("R25-005", "R25-006"):
        book.spoil(birds.row(bird=band), "sire", "pen 3", "uncertain", *either)
    book.spoil(birds.row(bird="S26-001"), "sire", "house 2", "uncertain", "S25-001")
    for band in ("D25-001", "D25-002", "D25-003"):
        book.spoil(
            birds.row(bird=band), "dam", "Old stable hens", "uncertain", *_orders(book, band)
        )
    for band in ("D23-006", "D23-007"):
        book.spoil(birds.row(bird=band), "dam", "pen 5 hens", "uncertain", *_orders(book, band))


def _orders(book: Notebook, band: str) -> tuple[str, ...]:
    """The candidates in the order of the clean table; any order says the same."""
    return ((book.sheet(BIRDS).row(bird=band).clean or {})["dam"],)


def shares_in_percent(book: Notebook) -> None:
    """A share shown as 87.5 % that the spreadsheet keeps as 0.875: "What it is" of R25-007."""
    row = book.sheet(BIRDS).row(bird="R25-007")
    book.spoil(row, "breed", Figure(0.875, "0.0%"), "doubted", *DORKING_7_8)


def cells_of_other_kinds(book: Notebook) -> None:
    """Cells that are neither text nor number: a day with its hour, a tick that is TRUE, "#N/A".

    The day of hatching of D26-001, "Trap nests?" of house 4, and a weight that the spreadsheet
    could not reckon, of S26-001.
    """
    hour = dt.datetime(2026, 3, 30, 8, 30)  # noqa: DTZ001 - as a spreadsheet keeps it
    book.spoil(book.sheet(BIRDS).row(bird="D26-001"), "hatched", hour)
    book.spoil(book.sheet(HOUSES).row(pen="4"), "dam_known", True)  # noqa: FBT003 - a cell
    broken = Formula("=VLOOKUP(A99,Z1:Z9,1,FALSE)", "#N/A")
    book.spoil(book.sheet(WEIGHTS).row(bird="S26-001"), "weight", broken, "doubted", "")


def remarks_within_cells(book: Notebook) -> None:
    """A remark in the cell of something else, and blanks that no eye can see.

    "S25-006 (moulting)" in the weights, "D22-006 I think" as father of R26-001, a blank that does
    not break behind R26-006 in the birds.
    """
    birds, weights = book.sheet(BIRDS), book.sheet(WEIGHTS)
    book.spoil(weights.row(bird="S25-006"), "bird", "S25-006 (moulting)", "asked")
    row = birds.row(bird="R26-001")
    book.spoil(row, "sire", "D22-006 I think", "asked", "D22-006", "D22-006|S25-001", "")
    book.spoil(birds.row(bird="R26-006"), "bird", "R26-006\u00a0", "taken")


def one_table_below_another(book: Notebook) -> None:
    """Two tables in one sheet: below the houses, after two blank rows, what is wished of birds."""
    wishes = book.sheet(WISHES)
    wishes.above = book.sheet(HOUSES)
    title = Row(loose=("for next spring",))
    wishes.rows[:0] = [Row(), Row(), title]
    book.place(wishes, title, "aside")
    book.spoil(wishes.row(bird="D23-004"), "wish", "keep apart", "taken", "apart", "keep apart")


def one_of_two(book: Notebook) -> None:
    """Two possible parents in words: "R24-004 or R24-005", "D23-003 / D23-004", "S24-002?"."""
    birds = book.sheet(BIRDS)
    either = ("R24-004|R24-005", "R24-005|R24-004")
    book.spoil(birds.row(bird="R25-008"), "sire", "R24-004 or R24-005", "uncertain", *either)
    hens = ("D23-003|D23-004", "D23-004|D23-003")
    book.spoil(birds.row(bird="S26-003"), "dam", "D23-003 / D23-004", "uncertain", *hens)
    either_hen = ("S24-001|S24-002", "")
    book.spoil(birds.row(bird="S25-005"), "dam", "S24-002?", "uncertain", "S24-002", *either_hen)


def one_of_the_brothers(book: Notebook) -> None:
    """A father whom nobody can name: "one of the brothers", of R24-006."""
    row = book.sheet(BIRDS).row(bird="R24-006")
    book.spoil(row, "sire", "one of the brothers", "asked", "")


def bought_in_the_parents(book: Notebook) -> None:
    """Where a bird came from, written where its parents belong: "from Bill", "?", "bought".

    In "Father" and "Mother" of founders; "Had from" of two of them is empty for it.
    """
    birds = book.sheet(BIRDS)
    for band in ("D22-003", "D22-004"):
        row = birds.row(bird=band)
        book.spoil(row, "sire", "from Bill", "doubted", "", "founder")
        book.spoil(row, "source", None, "taken")
    book.spoil(birds.row(bird="D22-006"), "sire", "bought", "doubted", "", "founder")
    book.spoil(birds.row(bird="D22-006"), "dam", "?", "taken", "", "?", "founder")
    book.spoil(birds.row(bird="B22-002"), "dam", "unknown", "taken", "", "unknown", "founder")


def ditto_marks(book: Notebook) -> None:
    """The same as above, as marks: D23-002 to D23-005 have a ditto mark or "do." in "Had from"."""
    birds = book.sheet(BIRDS)
    marks = zip(("D23-002", "D23-003", "D23-004", "D23-005"), ('"', '"', "do.", "''"), strict=True)
    for band, mark in marks:
        book.spoil(birds.row(bird=band), "source", mark, "asked", "Fenwick", "")


def names_for_bands(book: Notebook) -> None:
    """Hens that have a name: it stands in "Called", and then for the ring in "Mother" and the log.

    D24-001's mother is "Duchess" (D22-002), S26-008's "Mrs Pott" (D23-006).
    """
    birds = book.sheet(BIRDS)
    for band, name in (("D22-002", "Duchess"), ("D23-006", "Mrs Pott"), ("D22-001", "Bosun")):
        birds.row(bird=band).cells["+name"] = name
    book.spoil(birds.row(bird="D24-001"), "dam", "Duchess", "taken", "D22-002")
    book.spoil(birds.row(bird="S26-008"), "dam", "Mrs Pott", "taken", "D23-006")
    book.spoil(book.sheet(LOG).row(bird="D22-001", pen="2", moved_in="2023-02-02"), "bird", "Bosun")


def rings_used_again(book: Notebook) -> None:
    """A ring used again: 402 on a Dorking hen of 2024 and on another of 2026.

    Wherever either is written (birds, mother, log, weights, incubator) there is only "402".
    """
    for sheet in book.sheets:
        for row in list(sheet.taken()):
            for key, _ in sheet.columns:
                text = (row.clean or {}).get(key, "")
                if text in {"402-2024", "402-2026"}:
                    book.spoil(row, key, 402.0, "asked", text, "")


def mistyped_rings(book: Notebook) -> None:
    """Rings typed wrong: a letter O for a nought, a small letter, a blank, a digit too few.

    "R24-O03" and "s24-001" in the weights, "D22-OO9" as mother of R24-005, " R25-003" in the
    log, "D23 - 003" as mother of S26-001 and "D22-06" as father of D23-006.
    """
    birds, weights, log = book.sheet(BIRDS), book.sheet(WEIGHTS), book.sheet(LOG)
    book.spoil(weights.row(bird="R24-003"), "bird", "R24-O03", "asked", "R24-003", "")
    book.spoil(weights.row(bird="S24-001"), "bird", "s24-001", "taken")
    book.spoil(birds.row(bird="R24-005"), "dam", "D22-OO9", "asked", "D22-009", "")
    book.spoil(log.row(bird="R25-003"), "bird", " R25-003")
    book.spoil(birds.row(bird="S26-001"), "dam", "D23 - 003")
    book.spoil(birds.row(bird="D23-006"), "sire", "D22-06", "asked", "D22-006", "")


def rings_exchanged(book: Notebook) -> None:
    """Two chicks whose rings were exchanged: at grading R26-003 was read D26-004 and back.

    So D26-004, of single-combed parents, is down as pea, and R26-003 as single; their weights
    went with the rings.
    """
    birds, weights = book.sheet(BIRDS), book.sheet(WEIGHTS)
    book.spoil(birds.row(bird="D26-004"), "P", "pea", "doubted", "pea", "")
    book.spoil(birds.row(bird="R26-003"), "P", "single", "doubted", "single", "")
    one, other = weights.row(bird="D26-004"), weights.row(bird="R26-003")
    for key in ("weight", "shape"):
        cells = (other.cells[key], one.cells[key])
        texts = ((other.clean or {})[key], (one.clean or {})[key])
        book.spoil(one, key, cells[0], "unseen", texts[0])
        book.spoil(other, key, cells[1], "unseen", texts[1])


def a_hen_as_father(book: Notebook) -> None:
    """A hen written as father: D22-005 of D23-007, a line too high in the list (he was D22-006)."""
    row = book.sheet(BIRDS).row(bird="D23-007")
    book.spoil(row, "sire", "D22-005", "doubted", "D22-005", "D22-006", "")


def the_wrong_year_in_the_log(book: Notebook) -> None:
    """In the log D22-007 left pen 1 in May 2025, a year late: so she was in two pens at once."""
    row = book.sheet(LOG).row(bird="D22-007", pen="1")
    book.spoil(row, "moved_out", dt.date(2025, 5, 30), "doubted", "2025-05-30")


def houses_merged(book: Notebook) -> None:
    """Merged cells: in the log a house is written once for all its birds of a spring."""
    log = book.sheet(LOG)
    rows = list(log.taken())
    start = 0
    for at in range(1, len(rows) + 1):
        if at < len(rows) and _stay(rows[at]) == _stay(rows[start]):
            continue
        if at - start > 1:
            log.merged_down.append(("pen", rows[start], rows[at - 1]))
            for row in rows[start + 1 : at]:
                book.spoil(row, "pen", None, "asked", (row.clean or {})["pen"], "")
        start = at


def _stay(row: Row) -> tuple[str, str]:
    clean = row.clean or {}
    return (clean["pen"], clean["moved_in"][:4])


def houses_by_number(book: Notebook) -> None:
    """A house is a number in its own list; in the incubator "House 1", "No 2" and "old stable"."""
    eggs, houses = book.sheet(HATCHES), book.sheet(HOUSES)
    for row in houses.taken():
        text = (row.clean or {})["pen"]
        if text.isdigit():
            row.cells["pen"] = float(text)
    book.spoil(eggs.row(first_band="R24-001"), "pen", "House 1", "asked", "1", "House 1")
    book.spoil(eggs.row(first_band="S26-001"), "pen", "No 2", "asked", "2", "No 2")
    book.spoil(
        eggs.row(first_band="D25-001"), "pen", "old stable", "taken", "Old stable", "old stable"
    )


def weights_with_units(book: Notebook) -> None:
    """Weights in any unit: kilograms with a decimal comma, grams, pounds, a form of the cell.

    In "Weight": "2,1 kg" and its like for the pullets of 2023 and 2024, grams for those of 2025,
    one in pounds, one that the spreadsheet reckons; the rest are numbers shown as kilograms.
    """
    for at, row in enumerate(book.sheet(WEIGHTS).taken()):
        clean = row.clean or {}
        if not clean["weight"]:
            continue
        weight = float(clean["weight"])
        if clean["date"] < "2024-01-01":
            book.spoil(row, "weight", f"{weight:.2f} kg".replace(".", ","))
        elif clean["date"].startswith("2025") and at % 2:
            book.spoil(row, "weight", f"{weight * 1000:.0f} g")
        elif not any(one.row is row and one.key == "weight" for one in book.spoilt):
            row.cells["weight"] = Figure(weight, '0.00" kg"')
    _reckoned_and_in_pounds(book)


def _reckoned_and_in_pounds(book: Notebook) -> None:
    weights = book.sheet(WEIGHTS)
    row = weights.row(bird="S25-001")
    weight = float((row.clean or {})["weight"])
    book.spoil(row, "weight", f"{weight / 0.45359237:.2f} lb", "taken")
    row = weights.row(bird="S26-003")
    weight = float((row.clean or {})["weight"])
    book.spoil(row, "weight", Formula(f"={weight + 0.5:.2f}-0.5", weight))


def looks_like_a_formula(book: Notebook) -> None:
    """Remarks that a spreadsheet would take for formulas: "=best of the lot", "-shy", "+1 toe"."""
    birds = book.sheet(BIRDS)
    for band, text in (("S26-007", "=best of the lot"), ("R26-002", "-shy"), ("R26-009", "+1 toe")):
        row = birds.row(bird=band)
        row.cells["+notes"] = text
        book.note(row, "+notes", "taken", text)


def a_row_twice(book: Notebook) -> None:
    """A row pasted twice: S25-003 stands once more below itself."""
    birds = book.sheet(BIRDS)
    row = birds.row(bird="S25-003")
    again = Row(dict(row.cells))
    birds.rows.insert(birds.rows.index(row) + 1, again)
    book.place(birds, again, "aside")


def years_apart(book: Notebook) -> None:
    """Blank rows and a heading before each year's birds; before 2026 the header again."""
    birds = book.sheet(BIRDS)
    for year, first in ((2024, "R24-001"), (2025, "R25-001"), (2026, "R26-001")):
        heading = Row(loose=(f"hatched {year}",))
        birds.insert(birds.row(bird=first), Row(), heading)
        book.place(birds, heading, "aside")
    header = Row(dict(birds.columns))
    birds.insert(birds.row(bird="R26-001"), header)
    book.place(birds, header, "aside")


def notes_below(book: Notebook) -> None:
    """Below the table: a total, and notes that are no rows of it."""
    birds, weights = book.sheet(BIRDS), book.sheet(WEIGHTS)
    last = birds.number(birds.rows[-1])
    total = Row(loose=("in the book", Formula(f"=COUNTA(A5:A{last})", 84.0)))
    lines = ("red = dead", "ask Ashby about another cock before Christmas", "5 toes or it goes")
    notes = [Row(loose=(line,)) for line in lines]
    birds.rows += [Row(), total, Row(), *notes]
    for row in (total, *notes):
        book.place(birds, row, "aside")
    mean = Row(loose=("average", None, Formula("=AVERAGE(C2:C60)", 2.64)))
    weights.rows += [Row(), mean]
    book.place(weights, mean, "aside")


def titles_above(book: Notebook) -> None:
    """Titles above the header: one across merged cells, one with a day, and a blank row."""
    birds = book.sheet(BIRDS)
    title = Row(loose=("Marsh End: all birds since we began",))
    day = Row(loose=("brought up to date after tea on", None, dt.date(2027, 1, 9)))
    birds.merged_across.append((title, 8))
    birds.rows[:0] = [title, day, Row()]
    log = book.sheet(LOG)
    note = Row(loose=("who was in which house, and when",))
    log.rows[:0] = [note]
    for sheet, row in ((birds, title), (birds, day), (log, note)):
        book.place(sheet, row, "aside")


def a_hidden_sheet(book: Notebook) -> None:
    """A hidden sheet "old rings", of birds before there was a plan: named, and not taken."""
    sheet = Sheet("old rings", "", [("+a", "Ring no."), ("+b", "Cock / hen"), ("+c", "Hatched")])
    sheet.file, sheet.hidden = book.sheets[0].file, True
    sheet.rows = [Row(dict(sheet.columns))]
    sheet.rows += [Row({"+a": f"X20-{at:03d}", "+b": "hen", "+c": 2020.0}) for at in range(1, 6)]
    book.sheets.append(sheet)
    book.place(sheet, sheet.rows[0], "aside")


def a_sheet_of_feed(book: Notebook) -> None:
    """A sheet that is no table of the flock at all: what the feed cost."""
    columns = [("+a", "Bought"), ("+b", "What"), ("+c", "Bags"), ("+d", "Paid")]
    sheet = Sheet("Feed", "", columns)
    sheet.file = book.sheets[0].file
    sheet.rows = [Row(dict(columns))]
    for month in range(1, 7):
        cells = (dt.date(2026, month, 4), "layers' pellets", 3.0, Figure(41.7 + month, '"£"0.00'))
        sheet.rows.append(Row(dict(zip(("+a", "+b", "+c", "+d"), cells, strict=True))))
    book.sheets.append(sheet)
    for row in sheet.rows[1:]:
        book.place(sheet, row, "aside")


MESSES: Final[tuple[Callable[[Notebook], None], ...]] = (
    *(words_for_breeds, words_for_sexes, words_for_standing, red_is_dead, not_seen_for_years),
    *(shares_in_percent, cells_of_other_kinds, remarks_within_cells, one_table_below_another),
    *(dates_in_many_forms, dates_of_eggs, parents_by_pen, one_of_two, one_of_the_brothers),
    *(bought_in_the_parents, ditto_marks, names_for_bands, rings_used_again, mistyped_rings),
    *(rings_exchanged, a_hen_as_father, the_wrong_year_in_the_log, houses_merged),
    *(houses_by_number, weights_with_units, looks_like_a_formula, a_row_twice, years_apart),
    *(notes_below, titles_above, a_hidden_sheet, a_sheet_of_feed),
)
