"""A new flock folder, and copies of the examples."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.start import (
    EXAMPLES,
    Answers,
    copy_example,
    find_loci,
    start_folder,
)
from tests.cli.run import EXAMPLES_FOLDER, contents

if TYPE_CHECKING:
    from pathlib import Path

ANSWERS = Answers(breed="sussex", locus="O", copies=2, lines=("Alder", "Pure"), dates="iso")


def test_a_new_folder_lacks_nothing_but_rows(tmp_path: Path) -> None:
    folder = tmp_path / "flock"
    start_folder(folder, ANSWERS)
    found = verbs.check(folder)
    assert [(fault.kind, fault.file) for fault in found.faults] == [
        ("no-rows", "birds.csv"),
        ("no-rows", "pens.csv"),
    ]
    settings = found.tables.settings
    assert settings is not None
    assert (settings.recurrent, settings.target, settings.dates) == ("sussex", {"O": 2}, "iso")
    assert list(settings.lines) == ["Alder", "Pure"]
    assert settings.loci["O"].frequency == {"sussex": 0.0}


def test_a_new_folder_works_once_birds_and_pens_are_written(tmp_path: Path) -> None:
    start_folder(tmp_path, ANSWERS)
    for name, rows in {
        "birds": "SC,cock,2024-03-01,founder,founder,Pure,sussex,breeder,\n"
        "AH,hen,2024-03-01,founder,founder,Alder,araucana,breeder,blue\n",
        "pens": "Yard,6,no\n",
    }.items():
        with (tmp_path / f"{name}.csv").open("a", encoding="utf-8") as file:
            file.write(rows)
    found = verbs.check(tmp_path)
    assert found.faults == ()
    assert found.table is not None
    assert [(pair.hen, pair.cock) for pair in found.table.allowed] == [("AH", "SC")]


@pytest.mark.parametrize(
    "breed", ["light sussex", 'the "grey"', "back\\slash", "Marans-Noire", "Ayam Cemani", "ü"]
)
def test_any_breed_name_is_written_as_it_is(tmp_path: Path, breed: str) -> None:
    start_folder(tmp_path, replace(ANSWERS, breed=breed, lines=(breed, "a.b")))
    read = tomllib.loads((tmp_path / "matchmaker.toml").read_text(encoding="utf-8"))
    assert read["recurrent"] == breed
    assert read["loci"]["O"]["frequency"] == {breed: 0}
    assert list(read["lines"]) == [breed, "a.b"]


@pytest.mark.parametrize("locus", ["P", "S", "lav"])
def test_the_locus_asked_for_has_a_column(tmp_path: Path, locus: str) -> None:
    start_folder(tmp_path, replace(ANSWERS, locus=locus, copies=1))
    header = (tmp_path / "birds.csv").read_text(encoding="utf-8").strip()
    assert header.split(",")[-1] == locus
    assert verbs.check(tmp_path).tables.loci_columns == (locus,)


def test_a_folder_that_holds_anything_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(WouldOverwriteError):
        start_folder(tmp_path, ANSWERS)
    with pytest.raises(WouldOverwriteError):
        copy_example(tmp_path, "holm-fen")
    assert [file.name for file in tmp_path.iterdir()] == ["notes.txt"]


def test_a_file_of_that_name_is_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "flock"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(WouldOverwriteError):
        start_folder(file, ANSWERS)
    assert file.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_are_copied_whole(tmp_path: Path, name: str) -> None:
    copy_example(tmp_path / "copy", name)
    copied = contents(tmp_path / "copy")
    shipped = {file.name: file.read_bytes() for file in (EXAMPLES_FOLDER / name).iterdir()}
    assert copied == shipped
    assert "birds.csv" in copied


def test_an_unknown_example_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no example elm; there are holm-fen, skarn-farm"):
        copy_example(tmp_path / "copy", "elm")


@pytest.mark.parametrize(
    ("words", "symbol"),
    [
        ("blue eggs", "O"),
        ("O", "O"),
        ("pea comb", "P"),
        ("crest", "Cr"),
        ("beard", "Mb"),
        ("lavender", "lav"),
        ("naked neck", "Na"),
        ("rose combs", "R"),
        ("slow feathering", "K"),
        ("chocolate", "choc"),
    ],
)
def test_plain_words_find_the_locus(words: str, symbol: str) -> None:
    assert find_loci(words)[0].symbol == symbol


@pytest.mark.parametrize("words", ["", "qqqq", "7"])
def test_words_that_mean_nothing_find_nothing(words: str) -> None:
    assert find_loci(words) == []


def test_the_same_words_find_the_same_loci_in_the_same_order() -> None:
    assert [locus.symbol for locus in find_loci("white")] == [
        locus.symbol for locus in find_loci("  White ")
    ]


def test_scores_have_a_table_and_a_pattern(tmp_path: Path) -> None:
    """The pattern works once the # in front are gone, and an empty table raises no doubt."""
    start_folder(tmp_path, ANSWERS)
    assert (tmp_path / "scores.csv").read_text(encoding="utf-8") == "bird,date,group\n"
    assert [doubt for doubt in verbs.check(tmp_path).doubts if doubt.file == "scores.csv"] == []
    text = (tmp_path / "matchmaker.toml").read_text(encoding="utf-8")
    before, heading, pattern = text.partition("# [traits.eggs_12wk]")
    lines = [line.removeprefix("# ") for line in (heading + pattern).splitlines()]
    read = tomllib.loads(before + "\n".join(lines))
    assert read["traits"] == {"eggs_12wk": {"direction": "up", "weight": 0.3}}
    (tmp_path / "matchmaker.toml").write_text(before + "\n".join(lines), encoding="utf-8")
    settings = verbs.check(tmp_path).tables.settings
    assert settings is not None
    assert settings.traits["eggs_12wk"].weight == 0.3
