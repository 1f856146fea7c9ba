"""What the page carries of pedigrees: every bird with its chances, every pair with its paths."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.genetics.kin.wright_paths import wright_paths
from matchmaker.report.numbers import kinship_text
from matchmaker.report.page import family_birds
from matchmaker.report.page.family import family_view
from matchmaker.report.page.family_birds import birds_data, birds_shown
from matchmaker.report.page.family_kin import kin_data
from matchmaker.reporting import season_report
from tests.builders import chick, cock, dna, hen, write_flock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.pairs.table import PairTable
    from tests.builders import Row

EXAMPLES = Path(__file__).parents[2] / "examples"
BYTES_OF_BIRDS_AND_PAIRS = 250_000


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    """Two sires may be that of the chick; its dam is a carrier out of the donor."""
    birds = [
        cock("R1", hatched="2023-03-01"),
        cock("R2", hatched="2023-03-01", status="sold", left_on="2026-12-01"),
        hen("D", "Blue", "araucana", hatched="2023-03-01", source="Tofts"),
        chick("F", "hen", "R1", "D", "Blue", hatched="2024-04-01"),
        chick("Q", "hen", "R1:0.75|R2:0.25", "F", "Blue", hatched="2026-04-01"),
        hen("H"),
    ]
    folder = tmp_path_factory.mktemp("small")
    return verbs.pairs(write_flock(folder, birds, seen=[dna("Q", "O", 1)]))


def rows_of(table: PairTable) -> dict[str, dict[str, Any]]:
    """The birds' data with numbers looked up again."""
    bands = birds_shown(table)
    data = json.loads(json.dumps(birds_data(table, bands)))
    texts, chances = data["texts"], data["chances"]
    keys = "band sex year line status row place sires dams sire dam inbreeding share carries links"
    found = {}
    for raw in data["birds"]:
        row = dict(zip(keys.split(), raw, strict=True))
        for side in ("sires", "dams"):
            row[side] = {data["birds"][at][0]: chances[p] for at, p in row[side]}
        for key in ("line", "status", "inbreeding", "share"):
            row[key] = texts[row[key]]
        for key in ("sire", "dam"):
            row[key] = texts[row[key]] if row[key] >= 0 else ""
        row["carries"] = [chances[p] for p in row["carries"]]
        row["links"] = [[chances[p] for p in one] if one else [] for one in row["links"]]
        found[row["band"]] = row
    return found


def test_a_bird_has_its_parents_with_their_chances(small: PairTable) -> None:
    row = rows_of(small)["Q"]
    assert row["sires"] == {"R1": [0.75, "75 %"], "R2": [0.25, "25 %"]}
    assert row["dams"] == {"F": [1.0, "100 %"]}
    assert "R1 (Pure) 75 %" in row["sire"]
    assert row["dam"] == ""


def test_a_founder_is_named_by_breed_and_source(small: PairTable) -> None:
    row = rows_of(small)["D"]
    assert row["sire"] == row["dam"] == "Araucana founder from Tofts"
    assert row["sires"] == row["dams"] == {}


def test_figures_are_told_as_the_commands_tell_them(small: PairTable) -> None:
    row = rows_of(small)["Q"]
    assert (row["share"], row["inbreeding"], row["line"]) == ("75 %", "0.188", "Blue")
    assert (row["sex"], row["year"], row["status"]) == (1, 2026, "breeder")


def test_a_carrier_has_the_allele_from_the_parent_that_carries_it(small: PairTable) -> None:
    row = rows_of(small)["Q"]
    assert row["carries"] == [[1.0, "100 %"]]
    assert [chance for chance, _ in row["links"][0]] == [0.0, 0.0, 1.0]
    assert rows_of(small)["R1"]["links"] == [[]]


def test_parents_stand_in_rows_above_their_chicks(small: PairTable) -> None:
    rows = rows_of(small)
    for row in rows.values():
        for parent in (*row["sires"], *row["dams"]):
            assert rows[parent]["row"] < row["row"]


def test_of_many_birds_those_are_shown_from_whom_others_descend(
    small: PairTable, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert set(birds_shown(small)) == {"R1", "R2", "D", "F", "Q", "H"}
    monkeypatch.setattr(family_birds, "MOST_BIRDS", 3)
    assert set(birds_shown(small)) == {"R1", "R2", "D", "F", "Q", "H"}


def test_birds_without_descendants_here_are_left_out_of_many(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(family_birds, "MOST_BIRDS", 1)
    gone = cock("X", status="dead", left_on="2026-01-01")
    table = verbs.pairs(write_flock(tmp_path, [cock("R"), hen("H"), gone]))
    assert set(birds_shown(table)) == {"R", "H"}


def opening(path: Path, cocks_of_hens: str, *chicks: Row) -> str:
    """The bird shown first when H0, H1 … stand with these cocks."""
    birds = [
        cock("A", hatched="2023-03-01"),
        cock("C"),
        hen("D", hatched="2023-03-01"),
        *(hen(f"H{at}") for at in range(4)),
        *chicks,
    ]
    pens = [{"pen": letter, "hens_max": "4"} for letter in "ABC"]
    plan = [
        {"pen": letter, "line": "Pure", "cock": letter, "hen": f"H{at}"}
        for at, letter in enumerate(cocks_of_hens)
    ]
    folder = write_flock(path, birds, pens=pens, plan=plan)
    view = family_view(season_report(verbs.pairs(folder)))
    assert view.values["opening"] == view.data["birds"]["opening"]
    assert view.values["left_out"] == 0
    return str(view.values["opening"])


B, E = (chick(band, "cock", "A", "D", "Pure", hatched="2024-03-01") for band in "BE")


def test_the_cock_with_most_hens_of_those_with_forebears_comes_first(tmp_path: Path) -> None:
    assert opening(tmp_path, "AAAB", E, B) == "B"


def test_a_bird_with_forebears_comes_before_cocks_without(tmp_path: Path) -> None:
    assert opening(tmp_path, "AACC", E) == "E"


def test_of_founders_alone_the_cock_with_most_hens_comes_first(tmp_path: Path) -> None:
    assert opening(tmp_path, "ACCC") == "C"


def unpacked(data: dict[str, Any], bands: tuple[str, ...]) -> Iterator[tuple[Any, ...]]:
    """Hen, cock, paths as (hen's way, cock's way, part), before and others."""
    ways, texts = data["ways"], data["texts"]

    def way(number: int) -> tuple[str, ...]:
        found = []
        while number:
            found.append(bands[ways[2 * number - 2]])
            number = ways[2 * number - 1]
        return tuple(found)

    for row, hen_at in enumerate(data["hens"]):
        for column, cock_at in enumerate(data["cocks"]):
            before, others, *parts = data["lists"][data["pairs"][row][column]]
            paths = [
                (way(parts[at]), way(parts[at + 1]), texts[parts[at + 2]])
                for at in range(0, len(parts), 3)
            ]
            yield bands[hen_at], bands[cock_at], paths, texts[before], texts[others]


@pytest.mark.parametrize("name", ["skarn-farm", "tarn-croft"])
def test_the_paths_of_a_pair_are_those_of_its_explanation(name: str) -> None:
    table = verbs.pairs(EXAMPLES / name)
    bands, pedigree = birds_shown(table), table.study.flock.pedigree
    data = json.loads(json.dumps(kin_data(table, {band: at for at, band in enumerate(bands)})))
    pairs = list(unpacked(data, bands))
    assert {pair[:2] for pair in pairs} == set(table.by_birds)
    for one, two, paths, before, others in pairs[::7]:
        kinship = table.by_birds[one, two][0].kinship
        slow = wright_paths(pedigree, one, two, Fraction(kinship))
        rest = slow.others + sum(path.kinship for path in slow.listed[6:])
        assert paths == [
            (path.first[1:], path.second[1:], kinship_text(float(path.kinship)))
            for path in slow.listed[:6]
        ]
        assert (before, others) == (kinship_text(float(slow.before)), kinship_text(float(rest)))


def test_birds_and_pairs_of_a_large_flock_take_few_bytes() -> None:
    table = verbs.pairs(EXAMPLES / "holm-fen")
    bands = birds_shown(table)
    data = [birds_data(table, bands), kin_data(table, {band: at for at, band in enumerate(bands)})]
    written = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    assert len(written.encode()) < BYTES_OF_BIRDS_AND_PAIRS
