"""The example flocks hold together as plain tables, and the generator still makes them so."""

from __future__ import annotations

import csv
import datetime as dt
import re
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
FARMS = ("holm-fen", "tarn-croft", "skarn-farm")
WORDS = {"band": "bird", "born": "hatched", "father": "sire", "mother": "dam", "left": "left_on"}
SEXES = {"m": "cock", "f": "hen"}
GONE = {"sold", "dead", "culled"}
EARLIEST_PARENT = dt.timedelta(days=147)

Row = dict[str, str]


def table(farm: str, name: str) -> list[Row]:
    """Rows of a table under the plain column names."""
    text = (EXAMPLES / farm / f"{name}.csv").read_text(encoding="utf-8-sig")
    delimiter = ";" if ";" in text.splitlines()[0] else ","
    rows = csv.DictReader(text.splitlines(), delimiter=delimiter)
    return [
        {WORDS.get(key.lower(), key.lower()): cell for key, cell in row.items()} for row in rows
    ]


def sex_of(row: Row) -> str:
    return SEXES.get(row["sex"], row["sex"])


def day(cell: str) -> dt.date | None:
    if "/" in cell:
        return dt.datetime.strptime(cell, "%d/%m/%Y").replace(tzinfo=dt.UTC).date()
    return dt.date.fromisoformat(cell) if cell.count("-") == 2 else None


def parents(row: Row, side: str) -> list[str]:
    return [band for band in row[side].split("|") if band not in {"", "founder"}]


def birds(farm: str) -> dict[str, Row]:
    return {row["bird"]: row for row in table(farm, "birds")}


def living(farm: str) -> list[Row]:
    return [row for row in table(farm, "birds") if row["status"] not in GONE]


@pytest.mark.parametrize("farm", FARMS)
class TestEveryFarm:
    def test_no_band_is_given_twice(self, farm: str) -> None:
        counted = Counter(row["bird"] for row in table(farm, "birds"))
        assert [band for band, times in counted.items() if times > 1] == []

    @pytest.mark.parametrize(("side", "sex"), [("sire", "cock"), ("dam", "hen")])
    def test_parents_are_in_the_book_and_of_their_sex(self, farm: str, side: str, sex: str) -> None:
        book = birds(farm)
        named = {band for row in book.values() for band in parents(row, side)}
        assert named
        assert {sex_of(book[band]) for band in named} == {sex}

    def test_parents_hatched_long_enough_before_their_chicks(self, farm: str) -> None:
        book = birds(farm)
        ages = [
            hatched - parent_hatched
            for row in book.values()
            for side in ("sire", "dam")
            for band in parents(row, side)
            if (hatched := day(row["hatched"])) and (parent_hatched := day(book[band]["hatched"]))
        ]
        assert ages
        assert min(ages) >= EARLIEST_PARENT

    def test_only_birds_that_are_gone_have_left(self, farm: str) -> None:
        rows = table(farm, "birds")
        assert {row["bird"] for row in rows if row["left_on"]} == {
            row["bird"] for row in rows if row["status"] in GONE
        }

    def test_nothing_was_written_of_a_bird_after_it_left(self, farm: str) -> None:
        book = birds(farm)
        late = [
            row["bird"]
            for row in (*table(farm, "scores"), *table(farm, "seen"))
            if row.get("bird") and (left := day(book[row["bird"]]["left_on"]))
            if (on := day(row["date"])) and on > left
        ]
        assert late == []

    def test_every_other_table_names_known_birds(self, farm: str) -> None:
        book = birds(farm)
        names = {path.stem for path in (EXAMPLES / farm).glob("*.csv")} - {"birds", "pens"}
        assert names >= {"scores", "seen", "wishes", "plan"}
        columns = ("bird", "hen", "cock", "first_band", "last_band")
        named = {
            row.get(column, "") for name in names for row in table(farm, name) for column in columns
        }
        assert named - {""} <= set(book)

    def test_pens_of_the_plan_are_pens_of_the_farm(self, farm: str) -> None:
        pens = {row["pen"] for row in table(farm, "pens")}
        assert {row["pen"] for row in table(farm, "plan")} <= pens

    def test_hens_and_cocks_of_the_plan_are_of_their_sex(self, farm: str) -> None:
        book = birds(farm)
        plan = table(farm, "plan")
        assert {sex_of(book[row["hen"]]) for row in plan} == {"hen"}
        assert {sex_of(book[row["cock"]]) for row in plan} == {"cock"}

    def test_bands_in_the_story_exist(self, farm: str) -> None:
        story = (EXAMPLES / farm / "README.md").read_text(encoding="utf-8")
        told = set(re.findall(r"\b[A-Z]{1,2}\d\d-\d\d\d\b", story))
        assert told
        assert told <= set(birds(farm))

    def test_every_scored_trait_is_configured(self, farm: str) -> None:
        settings = tomllib.loads((EXAMPLES / farm / "matchmaker.toml").read_text(encoding="utf-8"))
        columns = set(table(farm, "scores")[0]) - {"bird", "date", "group"}
        assert columns == set(settings["traits"])

    def test_generator_makes_the_same_files(self, farm: str, generated: Path) -> None:
        made = sorted(path.name for path in (generated / farm).glob("*.csv"))
        kept = sorted(path.name for path in (EXAMPLES / farm).glob("*.csv"))
        assert made == kept
        for name in made:
            assert (generated / farm / name).read_bytes() == (EXAMPLES / farm / name).read_bytes()


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every table made anew in a folder of its own."""
    folder = tmp_path_factory.mktemp("examples")
    command = [sys.executable, str(EXAMPLES / "generate.py"), str(folder)]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    return folder


@pytest.mark.parametrize(
    ("farm", "in_book", "pens"),
    [("holm-fen", 250, 8), ("tarn-croft", 38, 5), ("skarn-farm", 54, 6)],
)
def test_farm_has_the_promised_size(farm: str, in_book: int, pens: int) -> None:
    assert len(table(farm, "birds")) == in_book
    assert len(table(farm, "pens")) == pens


class TestHolmFen:
    def test_seventy_three_birds_live_on_the_farm(self) -> None:
        kinds = Counter(
            "apart" if row["status"] in {"quarantine", "young"} else row["sex"]
            for row in living("holm-fen")
        )
        assert kinds == {"hen": 46, "cock": 20, "apart": 7}

    def test_the_best_laying_record_is_a_first_cross(self) -> None:
        scored = [row for row in table("holm-fen", "scores") if row["eggs_12wk"]]
        best, second = sorted(scored, key=lambda row: -float(row["eggs_12wk"]))[:2]
        assert float(best["eggs_12wk"]) > float(second["eggs_12wk"])
        book = birds("holm-fen")
        sire, dam = (book[book[best["bird"]][side]]["breed"] for side in ("sire", "dam"))
        assert {sire, dam} == {"sussex", "araucana"}

    def test_two_birds_have_two_possible_sires(self) -> None:
        doubtful = [row for row in table("holm-fen", "birds") if "|" in row["sire"]]
        assert len(doubtful) == 2

    def test_every_kind_of_wish_is_there_once(self) -> None:
        wishes = Counter(row["wish"] for row in table("holm-fen", "wishes"))
        assert wishes == dict.fromkeys(("together", "apart", "allow", "use", "rest"), 1)

    def test_cedar_has_one_living_hen_that_lays_blue(self) -> None:
        blue = {
            row["bird"] for row in table("holm-fen", "seen") if row["what"] in {"blue", "green"}
        }
        cedar = {row["bird"] for row in living("holm-fen") if row["line"] == "Cedar"}
        assert blue & cedar == {"C26-001"}

    def test_blue_layers_have_a_parent_that_could_give_it(self) -> None:
        book = birds("holm-fen")
        what = {
            row["bird"]: row["what"] for row in table("holm-fen", "seen") if row["locus"] == "O"
        }
        for band in (band for band, seen in what.items() if seen in {"blue", "green"}):
            dams = parents(book[band], "dam")
            lines = {book[sire]["line"] for sire in parents(book[band], "sire")}
            from_dam = any(
                what.get(dam) != "not blue" and book[dam]["line"] != "Sussex" for dam in dams
            )
            assert from_dam or lines != {"Sussex"} or book[band]["breed"] == "araucana"

    def test_bands_of_a_set_are_the_chicks_of_its_pen(self) -> None:
        book = birds("holm-fen")
        for row in table("holm-fen", "eggs"):
            first, last = row["first_band"], row["last_band"]
            raised = int(last[-3:]) - int(first[-3:]) + 1 if first else 0
            assert raised == int(row["raised"])
            if first and row["cock"]:
                assert {book[first]["sire"], book[last]["sire"]} - {""} == {row["cock"]}

    def test_counts_of_eggs_never_grow(self) -> None:
        for row in table("holm-fen", "eggs"):
            counts = [int(row[name]) for name in ("eggs", "fertile", "hatched", "raised")]
            assert counts == sorted(counts, reverse=True)


class TestTarnCroft:
    def test_no_daughter_of_a_chocolate_hen_is_chocolate(self) -> None:
        book = birds("tarn-croft")
        first_cross = [row for row in book.values() if row["sire"] and row["line"] != "Hamburgh"]
        assert {row["choc"] for row in first_cross if sex_of(row) == "hen"} == {"black"}

    def test_the_naive_row_is_written(self) -> None:
        settings = tomllib.loads((EXAMPLES / "tarn-croft/matchmaker.toml").read_text("utf-8"))
        naive = [
            row
            for row in settings["matings"]
            if row.get("keep_sex") == "hen" and row["cocks"] == "Hamburgh"
        ]
        assert [row["name"] for row in naive] == ["chocolate hens, keep the pullets"]


class TestSkarnFarm:
    def test_lavender_birds_have_two_parents_that_carry(self) -> None:
        book = birds("skarn-farm")
        shown = [row for row in book.values() if row["lav"] == "lavender" and parents(row, "sire")]
        assert len(shown) == 3
        for row in shown:
            for side in ("sire", "dam"):
                grandparents = [
                    book[band]["lav"]
                    for parent in parents(row, side)
                    for other in ("sire", "dam")
                    for band in parents(book[parent], other)
                ]
                assert "lavender" in grandparents

    def test_the_file_opens_with_a_byte_order_mark(self) -> None:
        assert (EXAMPLES / "skarn-farm/birds.csv").read_bytes().startswith(b"\xef\xbb\xbf")

    def test_dates_are_written_day_first(self) -> None:
        written = {row["hatched"] for row in table("skarn-farm", "birds") if row["hatched"]}
        assert all(re.fullmatch(r"\d\d/\d\d/20\d\d", cell) for cell in written)
