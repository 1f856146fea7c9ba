"""Seasons in which cocks go round the lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.crossings import Crossing, Purpose
from matchmaker.report.line_sentences import rotation_sentence
from matchmaker.settings import Settings
from matchmaker.tables.records import Sex
from tests.builders import TOP, cock, dna, hen, judged, only, rules

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable

MIXED = "sussex:0.75|araucana:0.25"
LINES = ("Alder", "Birch", "Cedar")
BIRDS = (
    cock("SC"),
    hen("SH"),
    *(cock(f"{line[0]}C", line, MIXED) for line in LINES),
    *(hen(f"{line[0]}H", line, MIXED) for line in LINES),
)
SEEN = tuple(dna(f"{line[0]}{sex}", "O", 1) for line in LINES for sex in "CH")
ORDER = '[rotation]\norder = ["Alder", "Birch", "Cedar"]\n'


def flock(path: Path, settings: str) -> PairTable:
    return judged(path, BIRDS, settings, seen=SEEN)


def rotating(table: PairTable) -> list[Crossing]:
    return [row for row in table.crossings if row.name.endswith("(rotation)")]


def test_the_cocks_of_each_line_serve_the_next_and_chicks_join_the_hens_line(
    tmp_path: Path,
) -> None:
    rows = rotating(flock(tmp_path, ORDER))
    assert [(row.name, row.cocks, row.hens, row.chicks) for row in rows] == [
        ("Alder cocks on Birch hens (rotation)", ("Alder",), ("Birch",), "Birch"),
        ("Birch cocks on Cedar hens (rotation)", ("Birch",), ("Cedar",), "Cedar"),
        ("Cedar cocks on Alder hens (rotation)", ("Cedar",), ("Alder",), "Alder"),
    ]
    assert {row.purpose for row in rows} == {Purpose.BACKCROSS}
    assert rows[0].keep == {sex: {"O": (1, 2)} for sex in Sex}
    assert rows[0].carrier_lines == ("Alder", "Birch")


def test_its_pairs_can_be_planned(tmp_path: Path) -> None:
    table = flock(tmp_path, ORDER)
    pair = only(table, "BH", "AC")
    assert (pair.allowed, pair.line, pair.wanted_chance) == (True, "Birch", 0.75)
    assert only(table, "AH", "BC").crossing is None


def test_both_parents_must_carry(tmp_path: Path) -> None:
    seen = [dna("AC", "O", 0), *SEEN[1:]]
    pair = only(judged(tmp_path, BIRDS, ORDER, seen=seen), "BH", "AC")
    assert [str(rule) for rule in rules(pair)] == ["unproven"]


def test_in_other_seasons_the_rows_are_closed_but_part_of_the_scheme(tmp_path: Path) -> None:
    table = flock(tmp_path, ORDER + "every = 2\nfrom = 2026\n")
    assert rotating(table) == []
    assert sum(row.name.endswith("(rotation)") for row in table.scheme) == 3


def test_a_rotation_does_not_move_the_worth_of_other_rows(tmp_path: Path) -> None:
    worth = []
    for at, start in enumerate((2026, 2027)):
        table = flock(tmp_path / str(at), ORDER + f"every = 2\nfrom = {start}\n")
        worth.append({p.key: p.worth for p in table.pairs if p.key[2] == "Alder hens"})
    assert worth[0]
    assert worth[0] == worth[1]


def test_written_rows_are_joined_by_the_rotation(tmp_path: Path) -> None:
    row = '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
    table = flock(tmp_path, ORDER + row)
    assert [crossing.name for crossing in table.crossings][1:] == [
        row.name for row in rotating(table)
    ]


def test_what_is_open_anyway_is_not_opened_twice(tmp_path: Path) -> None:
    """Alder and Birch at the last step are crossed both ways, rotation or not."""
    steps = "".join(f'[lines.{line}]\nstep = "intercross"\n' for line in ("Alder", "Birch"))
    table = flock(tmp_path, ORDER + steps)
    assert [row.purpose for row in rotating(table)] == [Purpose.BACKCROSS, Purpose.BACKCROSS]
    (row,) = [row for row in table.crossings if (row.hens, row.cocks) == (("Birch",), ("Alder",))]
    assert row.purpose is Purpose.INTERCROSS
    assert row.keep[Sex.HEN] == {"O": (2,)}


def test_pure_lines_stay_pure(tmp_path: Path) -> None:
    birds = (*BIRDS, cock("TC", "Other"), hen("TH", "Other"))
    settings = '[rotation]\norder = ["Pure", "Other", "Alder"]\n'
    rows = rotating(judged(tmp_path, birds, settings, seen=SEEN))
    assert [(row.chicks, row.purpose, row.carrier_lines) for row in rows] == [
        ("Other", Purpose.HOLD, ()),
        ("Alder", Purpose.BACKCROSS, ("Alder",)),
        ("Pure", Purpose.HOLD, ()),
    ]
    assert rows[2].keep[Sex.COCK] == {"O": (0,)}


@pytest.mark.parametrize(
    ("settings", "sentence"),
    [
        (
            ORDER + "every = 3\nfrom = 2027\n",
            (
                "2027 is a season of rotation: cocks go Alder → Birch → Cedar → Alder; the next "
                "one is 2030."
            ),
        ),
        (
            ORDER + "every = 3\nfrom = 2026\n",
            (
                "2027 is no season of rotation; the next one is 2029 (cocks go Alder → Birch → "
                "Cedar → Alder)."
            ),
        ),
        ("", None),
    ],
)
def test_the_season_is_said_in_a_sentence(settings: str, sentence: str | None) -> None:
    import tomllib

    assert rotation_sentence(Settings.model_validate(tomllib.loads(TOP + settings))) == sentence
