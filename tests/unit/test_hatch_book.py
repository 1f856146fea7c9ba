"""What a hatch writes into the book of a small flock, what it teaches, and what is refused."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.errors import InputError, UsageError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.hatch.expected import OTHERWISE, classes_of
from matchmaker.hatch.explanations import Why
from matchmaker.hatch.hatching import UnfitHatchError
from matchmaker.hatch.spelling import as_booked
from matchmaker.hatch.told import BandedChick
from matchmaker.report.hatch_document import hatch_document, learned_sheet
from matchmaker.report.hatch_words import (
    class_rows,
    fit_verdict,
    one_in,
)
from matchmaker.tables.read import read_folder
from matchmaker.tables.records import Sex, Status
from tests.builders import cock, dna, hen
from tests.cli.run import contents
from tests.screens import plain
from tests.unit.hatch_flocks import (
    BIRDS,
    HALF,
    HATCHED,
    SEEN,
    SET,
    STAYS,
    chicks,
    counted,
    flock,
    hatched,
    new_rows,
    screen,
    stay,
    told,
    write,
)
from tests.unit.tables_helpers import xlsx

if TYPE_CHECKING:
    from pathlib import Path


DAY = "2027-03-23"


def test_a_set_then_its_result_then_its_chicks(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    write(folder, told(collected=(dt.date(2027, 2, 23), dt.date(2027, 3, 1))))
    set_row = {
        "pen": "Orchard",
        "cock": "AC",
        "collected_from": "2027-02-23",
        "collected_to": "2027-03-01",
        "set_on": "2027-03-02",
        "eggs": "20",
    }
    assert new_rows(folder, "eggs", 0) == [set_row]
    write(folder, told(eggs=None, fertile=18))
    write(
        folder,
        told(
            set_on=None,
            eggs=None,
            hatched=15,
            chicks=(
                BandedChick(band="K1", sex=Sex.HEN, seen={"P": "pea"}),
                BandedChick(band="K2", status=Status.DEAD),
            ),
            counts=counted(pea=8, single=6),
        ),
    )
    set_row |= {"fertile": "18", "hatched": "15", "first_band": "K1", "last_band": "K2"}
    assert new_rows(folder, "eggs", 0) == [set_row]
    parents = {"hatched": DAY, "sire": "AC", "dam": "S1|S2", "line": "Alder"}
    assert new_rows(folder, "birds", len(BIRDS)) == [
        {"bird": "K1", "sex": "hen", **parents, "status": "young"},
        {"bird": "K2", **parents, "status": "dead", "left_on": DAY},
    ]
    seen = {"date": DAY, "locus": "P", "how": "day-old"}
    assert new_rows(folder, "seen", len(SEEN)) == [
        {**seen, "bird": "K1", "what": "pea"},
        {**seen, "hen": "S1|S2", "cock": "AC", "what": "7 pea, 6 single"},
    ]
    young = verbs.read(folder).by_band()["K1"]
    assert (young.line, young.hatched, young.record.status) == ("Alder", HATCHED, Status.YOUNG)


def test_more_chicks_of_the_set_later(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    write(folder, told(hatched=9, chicks=chicks("K1", "K2")))
    write(folder, told(eggs=None, chicks=chicks("K3", "K4")))
    assert [row["last_band"] for row in new_rows(folder, "eggs", 0)] == ["K4"]
    answer = write(folder, told(eggs=None, chicks=chicks("K7")))
    assert [row["last_band"] for row in new_rows(folder, "eggs", 0)] == ["K4"]
    assert "room for one run of bands" in screen(answer)
    gaps = hatched(folder, told("Yard", dam="A1", hatched=4, chicks=chicks("Y1", "Y3")))
    assert gaps.prepared.hatches[0].egg.unsaid


def test_said_again_it_changes_nothing(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    write(folder, told(hatched=9))
    assert hatched(folder, told(hatched=9)).prepared.files == ()


def test_hens_told_apart_within_one_set_of_the_pen(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    whole = told("Yard", hatched=12)
    first = told("Yard", eggs=None, dam="A1", chicks=chicks("Y1", "Y2"))
    second = told("Yard", eggs=None, dam="A2", chicks=chicks("Y3"))
    write(folder, whole, first, second)
    (row,) = new_rows(folder, "eggs", 0)
    assert (row["hatched"], row.get("hen")) == ("12", None)
    dams = {r["bird"]: r["dam"] for r in new_rows(folder, "birds", len(BIRDS))}
    assert dams == {"Y1": "A1", "Y2": "A1", "Y3": "A2"}


def test_bands_of_two_hens_in_a_row_of_the_book(tmp_path: Path) -> None:
    """Two hens' runs do not fit into one pair of cells: they stay empty, and it says so."""
    folder = flock(tmp_path)
    write(folder, told("Yard", hatched=12))
    both = [told("Yard", eggs=None, dam=f"A{n}", chicks=chicks(f"Y{n}0")) for n in (1, 2)]
    write(folder, *both)
    (row,) = new_rows(folder, "eggs", 0)
    assert "first_band" not in row


def test_lines_come_from_the_plan_the_pen_or_the_crossing(tmp_path: Path) -> None:
    plan = [{"pen": "Orchard", "line": "Birch", "cock": "AC", "hen": "S1", "why": ""}]
    more = {"hatched": 9, "chicks": chicks("K1")}

    def line(name: str, said: Any = None, **tables: Any) -> tuple[str, str]:
        answer = hatched(flock(tmp_path / name, **tables), told(**{**more, **(said or {})}))
        found = answer.prepared.hatches[0].line
        assert found is not None
        return found.line, found.by.name

    assert line("crossing") == ("Alder", "CROSSING")
    assert line("plan", plan=plan) == ("Birch", "PLAN")
    pens = [{"pen": "Orchard", "hens_max": "4", "line": "Alder"}]
    assert line("pen", pens=pens) == ("Alder", "PEN")
    assert line("said", {"line": "Cedar"}) == ("Cedar", "KEEPER")


def test_a_line_that_nobody_says_is_asked_for(tmp_path: Path) -> None:
    folder = flock(tmp_path, [stay("SC", "Yard"), stay("A1", "Yard"), stay("S1", "Yard")])
    with pytest.raises(UsageError, match="may join Alder or Pure"):
        hatched(folder, told("Yard", hatched=9, chicks=chicks("K1")))
    closed = "[[matings]]\nhens = 'Pure'\ncocks = 'Pure'\nchicks = 'Pure'\npurpose = 'hold'\n"
    folder = flock(tmp_path / "closed", settings="[loci.P]\n" + closed)
    with pytest.raises(UsageError, match="neither the plan nor a crossing"):
        hatched(folder, told(hatched=9, chicks=chicks("K1")))


def test_chicks_of_a_test_mating_join_no_line(tmp_path: Path) -> None:
    row = "[[matings]]\nhens = 'Pure'\ncocks = 'Alder'\npurpose = 'test'\ntests = 'cock'\n"
    folder = flock(tmp_path, settings="[loci.P]\n" + row)
    answer = hatched(folder, told(hatched=9, chicks=chicks("K1")))
    assert "Line: none (a test mating" in screen(answer)


def test_counts_of_a_pen_teach_of_the_cock(tmp_path: Path) -> None:
    """Nobody knows which of two plain hens laid which egg, yet one pea comb proves the cock."""
    folder = flock(tmp_path, seen=[dna("AC", "O", 1)])
    birds = [*BIRDS, cock("AB", "Alder", "", sire="AC", dam="S1", hatched="2026-04-01")]
    moves = [stay("AB", "Orchard"), stay("S1", "Orchard"), stay("S2", "Orchard")]
    folder = flock(tmp_path, moves, seen=list(SEEN), birds=birds)
    answer = hatched(folder, told(hatched=12, counts=counted(pea=5, single=4)))
    (one,) = [one for one in answer.learned if (one.bird, one.locus) == ("AB", "P")]
    assert one.before == pytest.approx((0.5, 0.5, 0.0))
    assert one.after == pytest.approx((0.0, 1.0, 0.0))
    assert one.settled == "P/p+"
    assert "he is P/p+; his chicks: 5 pea, 4 single" in plain(screen(answer))
    assert answer.learned == tuple(sorted(answer.learned, key=lambda o: -o.change))


def test_all_single_from_a_supposed_carrier_is_doubted(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    answer = hatched(folder, told(hatched=14, counts=counted(single=14, pea=0)))
    (fit,) = answer.prepared.fits
    assert fit.fit is not None
    assert fit.fit.chance == pytest.approx(2**-14)
    assert fit.fit.p == pytest.approx(2**-13)
    assert "1 in 8,192" in fit_verdict(fit)
    assert "1 in 16,384" in fit_verdict(fit)
    assert fit.explanations[0].why in {Why.GENOTYPE, Why.OTHER_SIRE}
    assert sum(one.odds for one in fit.explanations) <= 1 + 1e-9
    assert "Odd:" in screen(answer)
    assert {one.bird for one in fit.explanations if one.why is Why.OTHER_SIRE} == {"SC", "SD"}


def test_odds_are_prior_times_likelihood(tmp_path: Path) -> None:
    """By hand: chance 0.94 · 2⁻¹⁴; every reason under which all are single for sure: its prior."""
    folder = flock(tmp_path)
    (fit,) = hatched(folder, told(hatched=14, counts=counted(single=14))).prepared.fits
    odds = {(one.why, one.bird, one.genotype): one.odds for one in fit.explanations}
    wrong = odds[Why.GENOTYPE, "AC", "p+/p+"]
    shares = [(1 - share) * 0.5 + share for share in (0.25, 0.5, 0.75, 1.0)]
    other = 0.01 * sum(share**14 for share in shares) / 4
    unthought = 6  # AC as pure or plain, each hen as carrier or pure
    assert odds[Why.OTHER_SIRE, "SC", ""] / wrong == pytest.approx(other / (0.02 / unthought))


def test_an_impossible_chick_is_refused_with_the_reasons(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    before = contents(folder)
    moves = [stay("SC", "Orchard"), stay("S1", "Orchard")]
    folder = flock(tmp_path, moves)
    before = contents(folder)
    with pytest.raises(UnfitHatchError) as caught:
        hatched(folder, told(hatched=9, counts=counted(single=8, pea=1)))
    assert [fault.kind for fault in caught.value.faults] == ["contradiction"]
    (fit,) = caught.value.fits
    assert fit.fit is not None
    assert fit.fit.impossible
    assert "1 pea: by the tables these parents cannot" in fit_verdict(fit)
    assert any(one.bird == "AC" for one in fit.explanations if one.why is Why.OTHER_SIRE)
    assert contents(folder) == before


def test_classes_that_overlap_are_not_tested(tmp_path: Path) -> None:
    """A frizzle of whatever dose beside an extreme one: a chick may be both."""
    frizzle = catalogue()["F"]
    assert frizzle.dominance == "incomplete"
    overlap = {frizzle.shown_words[0]: 3, "yes": 2}
    assert classes_of(frizzle, overlap) is None
    (fit,) = hatched(flock(tmp_path), told(hatched=9, counts=counted(pea=4))).prepared.fits
    untested = dataclasses.replace(fit, classes=None, expected=None, fit=None)
    assert "overlap" in fit_verdict(untested)
    assert class_rows(untested) == []


@pytest.mark.parametrize(
    ("symbol", "counted_as", "left"),
    [
        ("P", "pea", "single"),
        ("F", "yes", "smooth"),
        ("F", "smooth", OTHERWISE),
        ("E", "birchen", OTHERWISE),
    ],
)
def test_looks_not_counted_make_a_class_of_their_own(
    symbol: str, counted_as: str, left: str
) -> None:
    found = classes_of(catalogue()[symbol], {counted_as: 2})
    assert found is not None
    assert (found.names, found.counts) == ((counted_as, left), (2, 0))


def test_words_that_mean_the_same_are_one_class() -> None:
    pea = catalogue()["P"]
    found = classes_of(pea, {"single": 3, "no": 2, "pea": 1})
    assert found is not None
    assert (found.names, found.counts) == (("single", "pea"), (5, 1))


def test_sexed_chicks_tell_more_on_the_z(tmp_path: Path) -> None:
    sexes = {"K1": Sex.COCK, "K2": Sex.HEN, "K3": Sex.HEN}
    looks = {"K1": "silver", "K2": "gold", "K3": "gold"}
    birds = [cock("GC"), hen("SH", "Alder", HALF), hen("S1")]
    folder = flock(
        tmp_path,
        [stay("GC", "Orchard"), stay("SH", "Orchard")],
        birds=birds,
        seen=[dna("SH", "S", 1), dna("SH", "O", 1)],
        settings="[loci.S]\n",
    )
    banded = tuple(BandedChick(band=b, sex=sexes[b], seen={"S": looks[b]}) for b in looks)
    answer = hatched(folder, told(hatched=3, chicks=banded))
    (fit,) = answer.prepared.fits
    assert fit.classes is not None
    assert fit.expected is not None
    assert dict(zip(fit.classes.names, fit.classes.counts, strict=True)) == {
        "silver son": 1,
        "gold son": 0,
        "silver daughter": 0,
        "gold daughter": 2,
    }
    assert fit.expected.mean == pytest.approx((0.5, 0.0, 0.0, 0.5))


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"pen": "Shed"}, "the pens are Orchard, Yard|The pens are Orchard, Yard"),
        ({"hatched": 9, "chicks": chicks("S1")}, "birds.csv row 4 has the band S1 already"),
        ({"hatched": 9, "chicks": chicks("s1")}, "has the band S1 already"),
        ({"hatched": 9, "counts": counted("Q", x=1)}, "no such locus"),
        ({"hatched": 9, "counts": counted(peas=1)}, "peas is no word for Pea comb"),
        ({"hatched": 9, "counts": counted("O", blue=1)}, "shows in grown hens alone"),
        ({"chicks": chicks("K1")}, "it is not told how many hatched"),
        ({"eggs": None, "hatched": 9}, "has no set of pen Orchard"),
        ({"hatched": 9, "hatched_on": dt.date(2027, 4, 9)}, "written down with chicks only"),
        (
            {"hatched": 9, "hatched_on": dt.date(2027, 4, 9), "chicks": chicks("K1")},
            "38 days after the eggs were set",
        ),
    ],
)
def test_refusals(tmp_path: Path, more: dict[str, Any], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        hatched(flock(tmp_path), told(**more))


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"eggs": 21}, r"--eggs 21: eggs\.csv row 2 says 20"),
        ({"eggs": None, "hatched": 19}, "more than the 18 fertile"),
        ({"eggs": None, "chicks": chicks(*(f"K{n}" for n in range(19)))}, "not told how many"),
        (
            {"eggs": None, "fertile": 18, "collected": (dt.date(2027, 2, 20), SET)},
            "row 2 says 2027-02-23",
        ),
        ({"set_on": None, "eggs": None, "hatched": 3}, r"several sets .* row 2 .*, row 3"),
    ],
)
def test_what_the_book_says_is_not_written_over(
    tmp_path: Path, more: dict[str, Any], says: str
) -> None:
    days = (dt.date(2027, 2, 23), dt.date(2027, 3, 1))
    folder = flock(tmp_path)
    write(folder, told(fertile=18, collected=days), told(set_on=dt.date(2027, 3, 9)))
    with pytest.raises(UsageError, match=says):
        hatched(folder, told(**more))


def test_more_chicks_than_hatched_by_the_book(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    write(folder, told(hatched=3))
    with pytest.raises(UsageError, match="4 chicks are told of, but 3 hatched"):
        hatched(folder, told(eggs=None, chicks=chicks("K1", "K2", "K3", "K4")))
    with pytest.raises(UsageError, match="--seen 4: 4 chicks are told of"):
        hatched(folder, told(eggs=None, counts=counted(pea=4)))


def test_a_count_written_before_is_not_written_again(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    write(folder, told(hatched=9, counts=counted(pea=4)))
    with pytest.raises(UsageError, match=r"seen.csv row 6 has a count of these chicks"):
        hatched(folder, told(eggs=None, counts=counted(single=4)))


def test_one_band_for_two_sets_of_a_form(tmp_path: Path) -> None:
    sets = [
        told(pen, hatched=4, chicks=chicks("K1"), file="form.csv", row=row)
        for pen, row in (("Orchard", 2), ("Yard", 3))
    ]
    with pytest.raises(InputError) as caught:
        hatched(flock(tmp_path), *sets)
    assert (caught.value.faults[0].row, caught.value.faults[0].value) == (3, "K1")


def test_two_numbers_for_one_set_of_a_form(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    write(folder, told("Yard"))
    sets = [told("Yard", eggs=None, dam=f"A{n}", hatched=n, file="form.csv", row=n) for n in (1, 2)]
    with pytest.raises(InputError, match="1 faults"):
        hatched(folder, *sets)


def test_a_sick_book_is_told_whole(tmp_path: Path) -> None:
    folder = flock(tmp_path, seen=[*SEEN, dna("SC", "P", 1)])
    with pytest.raises(InputError) as caught:
        hatched(folder, told())
    assert {fault.kind for fault in caught.value.faults} == {"contradiction"}
    (folder / "birds.csv").write_text("bird,sex\n,cock\n")
    with pytest.raises(InputError):
        hatched(folder, told())


def test_a_workbook_is_refused_before_any_work(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    rows: list[list[object]] = [["pen", "set_on", "eggs"], ["Yard", "2027-03-02", 9]]
    (folder / "eggs.xlsx").write_bytes(xlsx({"eggs": rows}))
    with pytest.raises(UsageError, match=r"save the sheet as eggs\.csv"):
        hatched(folder, told())


def test_the_document_and_the_rows(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    answer = hatched(folder, told(hatched=9, chicks=chicks("K1", P="pea"), counts=counted(pea=2)))
    found = hatch_document(answer, None)
    assert found["schema"] == "matchmaker/hatch/1"
    assert found["dry_run"] is True
    (one,) = found["sets"]
    assert (one["sire"], one["dam"], one["dams"]) == ("AC", "S1|S2", {"S1": 0.5, "S2": 0.5})
    assert [write["file"] for write in found["writes"]] == ["eggs.csv", "birds.csv", "seen.csv"]
    (fit,) = found["classes"]
    assert fit["expected"] == pytest.approx({"pea": 0.5, "single": 0.5})
    assert fit["p"] == pytest.approx(0.5)
    assert found["chicks"][-1]["bands"] == ["K1"]
    sheet = learned_sheet(answer)
    assert len(sheet.rows) == len(answer.learned)
    done = hatch_document(answer, verbs.write_hatch(answer, stamp="x"))
    assert [one["file"] for one in done["written"]] == ["eggs.csv", "birds.csv", "seen.csv"]


def test_screens_are_no_wider_than_80(tmp_path: Path) -> None:
    folder = flock(tmp_path, STAYS)
    many = chicks(*(f"C27-{n:03d}" for n in range(1, 13)), P="pea")
    answer = hatched(folder, told(hatched=14, chicks=many))
    text = screen(answer)
    assert max(map(len, text.splitlines())) <= 80
    assert "birds.csv, 12 new rows for C27-001..C27-012" in plain(text)
    dead = (BandedChick(band="K1", status=Status.CULLED),)
    assert "veterinarian" in screen(hatched(folder, told(hatched=2, chicks=dead)))


def test_chances_in_words() -> None:
    assert (one_in(0.0), one_in(1e-12)) == ("never", "less than 1 in 1,000,000,000")


def test_small_letters_for_large_ones_are_no_matter(tmp_path: Path) -> None:
    tables = read_folder(flock(tmp_path), known_loci=frozenset(catalogue()))
    given = told("yard", dam="a1", sire="sc|x9", line="ALDER")
    meant = as_booked(given, tables)
    assert (meant.pen, meant.dam, meant.sire, meant.line) == ("Yard", "A1", "SC|x9", "Alder")
    assert as_booked(told("Pond", line="New"), tables) == told("Pond", line="New")


def test_a_set_without_an_egg_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="a set has one egg at least"):
        hatched(flock(tmp_path), told(eggs=0))


def test_a_set_of_the_same_form_is_no_row_of_the_book_yet(tmp_path: Path) -> None:
    whole, of_hen = told("Yard"), told("Yard", dam="A1", eggs=None, hatched=1, chicks=chicks("K1"))
    answer = hatched(flock(tmp_path), whole, of_hen)
    assert "hen A1, set on 2 March, hatched on 23 March: a new set" in screen(answer)
    with pytest.raises(UsageError, match="another row of this set says 20"):
        hatched(flock(tmp_path / "again"), whole, dataclasses.replace(of_hen, eggs=21, dam=""))


def test_eggs_of_a_named_pair_are_set_where_the_book_has_nobody(tmp_path: Path) -> None:
    folder = flock(tmp_path, [])
    with pytest.raises(UsageError, match="name both parents"):
        hatched(folder, told())
    answer = hatched(folder, told(dam="S1", sire="SC"))
    assert "cock = SC" in screen(answer)
    assert "written plan" not in screen(answer)
    with pytest.raises(UsageError, match="written down with chicks only"):
        hatched(folder, told(dam="S1", sire="SC|SD"))
