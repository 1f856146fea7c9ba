from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import UsageError
from matchmaker.tables.read import read_folder
from tests.unit.tables_helpers import (
    BIRDS,
    PENS,
    SETTINGS,
    Place,
    birds,
    folder,
    places,
    read,
)

if TYPE_CHECKING:
    from pathlib import Path


def test_a_sound_folder_has_neither_faults_nor_doubts(tmp_path: Path) -> None:
    tables = read(tmp_path)
    assert (tables.faults, tables.doubts) == ((), ())
    assert tables.settings is not None
    digest = hashlib.sha256((tmp_path / "birds.csv").read_bytes()).hexdigest()
    assert tables.inputs["birds.csv"] == digest


def test_a_missing_folder_is_wrong_usage(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no folder"):
        read_folder(tmp_path / "nowhere")


def test_a_folder_with_birds_alone_lacks_two_files(tmp_path: Path) -> None:
    (tmp_path / "birds.csv").write_text(BIRDS, encoding="utf-8")
    assert places(read_folder(tmp_path).faults) == [
        ("no-configuration", "matchmaker.toml", None, None, ""),
        ("no-table", "pens.csv", None, None, ""),
    ]


def test_pens_without_rows_are_a_fault(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="pen,hens_max\n")
    assert places(tables.faults) == [("no-rows", "pens.csv", 1, None, "")]


def test_a_filled_row_without_a_band_is_a_fault(tmp_path: Path) -> None:
    tables = read(tmp_path, birds=birds(",hen,,", "H2,hen,,"))
    assert places(tables.faults) == [("blank-cell", "birds.csv", 2, "bird", "")]
    assert [bird.bird for bird in tables.birds] == ["H2"]


def test_a_pen_without_places_keeps_its_name(tmp_path: Path) -> None:
    table = "pen,hens_max\nOrchard,\nYard,6\n"
    tables = read(tmp_path, pens=table, plan="pen,cock,hen\nOrchard,C1,H1\n")
    assert places(tables.faults) == [("blank-cell", "pens.csv", 2, "hens_max", "")]
    assert tables.doubts == ()


def test_all_faults_of_all_tables_are_gathered_at_once(tmp_path: Path) -> None:
    tables = read(
        tmp_path,
        settings="season = 2027\ntarget = {O = 3}\nrecurent = 'sussex'\n",
        birds=birds("H1,2,C9:0.5,", ",hen,,", "H1,hen,,", header="bird,sex,sire,dam"),
        pens="pen,hens_max\nA,many\n",
        seen="bird,locus,what,date\nH7,O,blue,2026-02-30\n",
        scores="bird,weight\nH1,1e999\n",
        wishes="bird,with,wish\nH1,Z,apart\n",
        plan="pen,cock,hen\nB,H1,H8\n",
    )
    assert places(tables.faults) == [
        ("sex-number", "birds.csv", 2, "sex", "2"),
        ("parent-shares", "birds.csv", 2, "sire", "C9:0.5"),
        ("blank-cell", "birds.csv", 3, "bird", ""),
        ("duplicate-bird", "birds.csv", 4, "bird", "H1"),
        ("missing-setting", "matchmaker.toml", None, "recurrent", ""),
        ("bad-setting", "matchmaker.toml", 2, "target.O", "3"),
        ("unknown-setting", "matchmaker.toml", 3, "recurent", "sussex"),
        ("bad-number", "pens.csv", 2, "hens_max", "many"),
        ("unknown-bird", "plan.csv", 2, "hen", "H8"),
        ("bad-number", "scores.csv", 2, "weight", "1e999"),
        ("unknown-bird", "seen.csv", 2, "bird", "H7"),
        ("impossible-date", "seen.csv", 2, "date", "2026-02-30"),
        ("unknown-partner", "wishes.csv", 2, "with", "Z"),
    ]
    assert tables.settings is None


SEVEN = "bird,sex,hatched,sire,dam,status,left_on,release_on,hens_max,lay_per_week"


@pytest.mark.parametrize(
    ("tables", "place"),
    [
        (
            {"seen": "bird,locus,what\nH11,O,blue\n"},
            ("unknown-bird", "seen.csv", 2, "bird", "H11"),
        ),
        (
            {"scores": "ring,weight\nh1,2\n"},
            ("unknown-bird", "scores.csv", 2, "ring", "h1"),
        ),
        ({"moves": "bird,pen\nX,Yard\n"}, ("unknown-bird", "moves.csv", 2, "bird", "X")),
        ({"eggs": "hen,cock,eggs\nH1,X,4\n"}, ("unknown-bird", "eggs.csv", 2, "cock", "X")),
        ({"plan": "pen,cock,hen\nYard,C1,X\n"}, ("unknown-bird", "plan.csv", 2, "hen", "X")),
        ({"plan": "pen,cock,hen\nYard,H2,H1\n"}, ("wrong-sex", "plan.csv", 2, "cock", "H2")),
        ({"eggs": "hen,eggs\nC1,4\n"}, ("wrong-sex", "eggs.csv", 2, "hen", "C1")),
        ({"eggs": "pen,hen,eggs\n,,4\n"}, ("subject", "eggs.csv", 2, "pen", "")),
        (
            {"seen": "hen,cock,locus,what,count\nC1,C2,P,pea,3\n"},
            ("wrong-sex", "seen.csv", 2, "hen", "C1"),
        ),
        (
            {"wishes": "bird,with,wish\nX,C1,apart\n"},
            ("unknown-bird", "wishes.csv", 2, "bird", "X"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,Orchad,apart\n"},
            ("unknown-partner", "wishes.csv", 2, "with", "Orchad"),
        ),
        ({"wishes": "bird,wish\nH1,together\n"}, ("wish-partner", "wishes.csv", 2, "with", "")),
        (
            {"wishes": "bird,with,wish\nH1,Yard,allow\n"},
            ("wish-partner", "wishes.csv", 2, "with", "Yard"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,C1,rest\n"},
            ("wish-partner", "wishes.csv", 2, "with", "C1"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,C1,use\n"},
            ("wish-partner", "wishes.csv", 2, "with", "C1"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,H2,allow\n"},
            ("wish-partner", "wishes.csv", 2, "with", "H2"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,H1,apart\n"},
            ("wish-partner", "wishes.csv", 2, "with", "H1"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,C1,apart\n", "pens": "pen,hens_max\nC1,8\n"},
            ("wish-partner", "wishes.csv", 2, "with", "C1"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,C1,together\nC1,H1,apart\n"},
            ("wishes-clash", "wishes.csv", 3, "wish", "apart"),
        ),
        (
            {"wishes": "bird,with,wish\nH1,Yard,use\nH1,,rest\n"},
            ("wishes-clash", "wishes.csv", 3, "wish", "rest"),
        ),
        (
            {"pens": "pen,hens_max,line\nA,8,Aldr\n"},
            ("unknown-line", "pens.csv", 2, "line", "Aldr"),
        ),
        (
            {"pens": "pen,hens_max,hens_min\nA,4,5\n"},
            ("too-few-places", "pens.csv", 2, "hens_min", "5"),
        ),
        (
            {"pens": "pen,hens_max,from,until\nA,4,2027-03-01,2027-02-01\n"},
            ("days-out-of-order", "pens.csv", 2, "until", "2027-02-01"),
        ),
        (
            {"moves": "bird,pen,moved_in,moved_out\nH1,Yard,2026-02-02,2026-02-01\n"},
            ("days-out-of-order", "moves.csv", 2, "moved_out", "2026-02-01"),
        ),
        (
            {"eggs": "pen,eggs,collected_from,set_on\nYard,9,2026-02-02,2026-02-01\n"},
            ("days-out-of-order", "eggs.csv", 2, "set_on", "2026-02-01"),
        ),
        (
            {"eggs": "pen,eggs,fertile,hatched\nYard,9,,10\n"},
            ("counts-grow", "eggs.csv", 2, "hatched", "10"),
        ),
        (
            {"scores": "bird,date,weight\nH2,2026-03-31,2\n"},
            ("before-hatching", "scores.csv", 2, "date", "2026-03-31"),
        ),
        (
            {"birds": birds("H1,hen,2026,,,sold,2025-12-31,,,", header=SEVEN)},
            ("days-out-of-order", "birds.csv", 2, "left_on", "2025-12-31"),
        ),
    ],
)
def test_each_fault_is_told_once_and_in_its_place(
    tmp_path: Path, tables: dict[str, str], place: Place
) -> None:
    assert places(read(tmp_path, **tables).faults) == [place]


@pytest.mark.parametrize(
    ("tables", "place"),
    [
        ({"plan": "pen,cock,hen\nBarn,C1,H1\n"}, ("unknown-pen", "plan.csv", 2, "pen", "Barn")),
        (
            {"moves": "bird,pen,moved_in\nH1,Yard,2026-01-01\nH1,Orchard,2026-02-01\n"},
            ("two-pens-at-once", "moves.csv", 3, "moved_in", "2026-02-01"),
        ),
        ({"moves": "bird,pen\nH1,Yrad\n"}, ("unknown-pen", "moves.csv", 2, "pen", "Yrad")),
        (
            {"birds": birds("H1,hen,2024,,,,2026-01-01,,,", header=SEVEN)},
            ("idle-cell", "birds.csv", 2, "left_on", "2026-01-01"),
        ),
        (
            {"birds": birds("H1,hen,2024,,,spare,,2026-01-01,,", header=SEVEN)},
            ("idle-cell", "birds.csv", 2, "release_on", "2026-01-01"),
        ),
        (
            {"birds": birds("H1,hen,2024,,,,,,4,", header=SEVEN)},
            ("idle-cell", "birds.csv", 2, "hens_max", "4"),
        ),
        (
            {"birds": birds("C1,cock,2024,,,,,,,4.5", header=SEVEN)},
            ("idle-cell", "birds.csv", 2, "lay_per_week", "4.5"),
        ),
        (
            {"scores": "bird,weight\nH1,2\n"},
            ("trait-without-aim", "scores.csv", None, "weight", "weight"),
        ),
        (
            {"settings": SETTINGS + '[traits.weight]\ndirection = "up"\n'},
            ("idle-setting", "matchmaker.toml", 4, "traits.weight", "weight"),
        ),
        (
            {"settings": SETTINGS + "[lines.Birch]\nfamilies = 3\n"},
            ("idle-setting", "matchmaker.toml", 4, "lines.Birch", "Birch"),
        ),
        (
            {"settings": SETTINGS + "\n[sources]\nHill = {base = 0.1}\n"},
            ("idle-setting", "matchmaker.toml", 6, "sources.Hill", "Hill"),
        ),
        (
            {"settings": SETTINGS + "[breeds.susex]\nbase = 0.1\n"},
            ("idle-setting", "matchmaker.toml", 4, "breeds.susex", "susex"),
        ),
        (
            {"settings": SETTINGS + "[loci.O]\nfrequency = {sussexx = 0}\n"},
            ("idle-setting", "matchmaker.toml", 5, "loci.O.frequency.sussexx", "sussexx"),
        ),
    ],
)
def test_each_doubt_is_told_once_and_in_its_place(
    tmp_path: Path, tables: dict[str, str], place: Place
) -> None:
    read_tables = read(tmp_path, **tables)
    assert read_tables.faults == ()
    assert places(read_tables.doubts) == [place]


@pytest.mark.parametrize(
    ("settings", "place"),
    [
        (
            SETTINGS.replace("sussex", "Sussex"),
            ("unknown-breed", "matchmaker.toml", 2, "recurrent", "Sussex"),
        ),
        (
            SETTINGS
            + '[[matings]]\nhens = "Alder"\ncocks = ["Alder", "Alde"]\nchicks = "New"\n'
            + 'purpose = "hold"\n',
            ("unknown-line", "matchmaker.toml", 6, "matings, entry 1, cocks", "Alde"),
        ),
    ],
)
def test_names_in_the_configuration_that_no_bird_has(
    tmp_path: Path, settings: str, place: Place
) -> None:
    tables = read(tmp_path, settings=settings)
    assert places(tables.faults) == [place]
    assert tables.faults[0].mend.startswith("did you mean")


def test_a_near_miss_is_named(tmp_path: Path) -> None:
    tables = read(tmp_path, seen="bird,locus,what\nh1,O,blue\n")
    assert tables.faults[0].mend.startswith("did you mean H1?")


def test_birds_gone_but_in_the_books_may_stand_in_the_plan(tmp_path: Path) -> None:
    header = "bird,sex,sire,dam,status"
    table = birds("C1,cock,,,dead", "H1,hen,,,sold", header=header)
    assert read(tmp_path, birds=table, plan="pen,cock,hen\nYard,C1,H1\n").faults == ()


def test_lines_may_be_those_of_breeds_where_birds_have_none(tmp_path: Path) -> None:
    table = birds("C1,cock,,,sussex", "H1,hen,,,sussex", header="bird,sex,sire,dam,breed")
    pens = "pen,hens_max,line\nA,8,sussex\n"
    assert read(tmp_path, birds=table, pens=pens).faults == ()


def test_dates_are_read_by_the_order_set(tmp_path: Path) -> None:
    settings = SETTINGS.replace("season", 'dates = "day-first"\nseason')
    table = birds("H1,hen,,,3/4/2026", header="bird,sex,sire,dam,hatched")
    (bird,) = read(tmp_path, settings=settings, birds=table).birds
    assert bird.hatched == dt.date(2026, 4, 3)


def test_the_order_of_dates_holds_in_a_faulty_configuration(tmp_path: Path) -> None:
    settings = SETTINGS.replace("season", 'colour = "red"\ndates = "day-first"\nseason')
    table = birds("H1,hen,,,3/4/2026", header="bird,sex,sire,dam,hatched")
    tables = read(tmp_path, settings=settings, birds=table)
    assert [fault.kind for fault in tables.faults] == ["unknown-setting"]


def test_the_newest_date_is_the_last_thing_done(tmp_path: Path) -> None:
    tables = read(
        tmp_path,
        birds=BIRDS + "H3,hen,2027,,,Alder,,\n",
        pens="pen,hens_max,until\nYard,6,2027-06-30\n",
        scores="bird,date,weight\nH1,2026-11-02,2\n",
        moves="bird,pen,moved_in\nH1,Yard,2026-09-01\n",
    )
    assert tables.newest_date == dt.date(2026, 11, 2)
    assert (
        read_folder(
            folder(tmp_path, birds=birds("H1,hen,,"), scores="bird\n", moves="bird,pen\n")
        ).newest_date
        is None
    )


def test_later_layers_find_the_place_of_a_cell(tmp_path: Path) -> None:
    tables = read(tmp_path, birds=birds("C1,m,,", header="Ring,Sex,Father,Mother"))
    fault = tables.fault("birds", 2, "sire", kind="k", value="v", problem="p", mend="m")
    assert places((fault,)) == [("k", "birds.csv", 2, "Father", "v")]
    setting = tables.setting_fault("target.O", kind="k", value="v", problem="p", mend="m")
    assert places((setting,)) == [("k", "matchmaker.toml", 3, "target.O", "v")]
    assert tables.place("eggs") == {"file": "eggs.csv", "row": None, "column": None}
    assert (fault.problem, fault.mend) == ("p", "m")


def test_what_a_pen_is_unless_its_row_says_otherwise(tmp_path: Path) -> None:
    tables = read(tmp_path, pens=PENS)
    assert [(pen.pen, pen.hens_max, pen.hens_min, pen.open) for pen in tables.pens] == [
        ("Orchard", 8, 1, True),
        ("Yard", 6, 1, True),
    ]
