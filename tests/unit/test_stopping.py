"""Does another backcross pay: against values worked out by hand and printed elsewhere.

Shares 75 and 87.5 % after one and two backcrosses are any textbook's; the donor's piece is that of
Stam & Zeven 1981 (Euphytica 30:227) for a gene in the middle of 100 cM (formula as in Hospital
2001, Genetics 158:1363; papers read as abstracts); the rest is worked out here. Birds are invented.
"""

from __future__ import annotations

import math
from itertools import product
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.report.screen import console_for
from matchmaker.report.stopping import (
    chicks_for_both,
    print_stopping,
    sentences,
    stopping_entries,
)
from matchmaker.route.stopping import Stopping, stopping
from matchmaker.tables.records import Sex
from tests.builders import chick, cock, dna, hen, write_flock
from tests.cli.run import EXAMPLES_FOLDER

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row

TOP = 'season = 2027\nrecurrent = "sussex"\ntarget = {X = 2}\n'
OWN = '[loci.X]\ninheritance = "autosomal"\ndominance = "dominant"\n'


def backcross_flock() -> list[Row]:
    """Two lines, each with a cock and a hen out of a first cross and a pure bird, none related."""
    rows: list[Row] = []
    for line in ("Alder", "Birch"):
        mark = line[0]
        for side, sex in (("h", "hen"), ("c", "cock")):
            donor, pure, first = f"{mark}{side}D", f"{mark}{side}R", f"{mark}{side}F"
            mate = f"{mark}{side}M"
            rows += [
                cock(donor, "", "araucana", hatched="2023-03-01", status="dead"),
                hen(pure, "", "sussex", hatched="2023-03-01", status="dead"),
                chick(first, "cock", donor, pure, line, hatched="2024-03-01", status="dead"),
                hen(mate, "", "sussex", hatched="2024-03-01", status="dead"),
                chick(f"{mark}{side}", sex, first, mate, line, hatched="2025-03-01"),
            ]
    return rows + [cock(f"R{at}", "Pure") for at in range(4)] + [hen("R9", "Pure")]


def carriers(*bands: str) -> list[Row]:
    """A laboratory's one copy each."""
    return [dna(band, "X", 1) for band in bands]


def weighed(path: Path, birds: list[Row], seen: list[Row], more: str = "") -> list[Stopping]:
    """The lines of a folder."""
    settings = OWN + more
    folder = write_flock(path, birds, settings, TOP, seen=seen)
    return list(stopping(verbs.pairs(folder)))


ALL = ("Ah", "Ac", "Bh", "Bc")


def test_a_backcross_more_by_hand(tmp_path: Path) -> None:
    alder, birch = weighed(tmp_path, backcross_flock(), carriers(*ALL))
    assert (alder.line, birch.line) == ("Alder", "Birch")
    assert alder.now is not None
    assert alder.later is not None
    assert alder.now.pairs == (("Ah", "Bc"),)
    assert (alder.now.season, alder.later.season) == (2027, 2028)
    assert alder.now.share.share == pytest.approx(0.75)
    assert alder.later.share.share == pytest.approx(0.875)
    assert alder.now.inbreeding == alder.now.least == 0
    for way, meioses in ((alder.now, 2), (alder.later, 3)):
        piece = 2 * 100 / meioses * (1 - math.exp(-meioses * 0.5))
        assert way.pieces["X"] == pytest.approx(piece)
        assert way.chances == pytest.approx({Sex.COCK: 1 / 8, Sex.HEN: 1 / 8})
        assert way.gene_chances == pytest.approx({"X": 1 / 4})
    assert alder.now.pieces["X"] == pytest.approx(63.21, abs=0.005)
    assert alder.later.pieces["X"] == pytest.approx(51.79, abs=0.005)
    assert alder.later.share.deviation < alder.now.share.deviation
    assert alder.why_not == {}


def test_a_carrier_not_proven_halves_the_chance_of_this_spring_alone(tmp_path: Path) -> None:
    more = "[limits]\nproof_min = 0.4\n"
    alder, _ = weighed(tmp_path, backcross_flock(), carriers("Ah", "Ac", "Bh"), more)
    assert alder.now is not None
    assert alder.later is not None
    assert sum(alder.now.chances.values()) == pytest.approx(1 / 8)
    assert sum(alder.later.chances.values()) == pytest.approx(1 / 4)


def test_without_carriers_of_the_other_line_the_rules_say_why(tmp_path: Path) -> None:
    free = [dna("Bc", "X", 0), dna("Bh", "X", 0)]
    alder, birch = weighed(tmp_path, backcross_flock(), [*carriers("Ah", "Ac"), *free])
    assert alder.now is None
    assert alder.why_not["now"]
    assert birch.backcrossed == 0
    told = " ".join(sentences(alder))
    assert "Alder: no intercross this spring: " in told
    assert "cannot pass the trait on (1)" in told


def test_one_line_alone_is_crossed_with_itself_within_the_limit(tmp_path: Path) -> None:
    birds = [row for row in backcross_flock() if not row["bird"].startswith("B")]
    (alder,) = weighed(tmp_path, birds, carriers("Ah", "Ac"))
    assert alder.now is not None
    assert alder.now.pairs == (("Ah", "Ac"),)


def test_a_locus_to_be_rid_of_needs_nothing_seen_of_it(tmp_path: Path) -> None:
    """No pea comb is wanted, nobody wrote any down, and no bird of these lines lacks a chance."""
    top = TOP.replace("{X = 2}", "{X = 2, P = 0}")
    folder = write_flock(
        tmp_path, backcross_flock(), OWN, top, seen=carriers("Ah", "Ac", "Bh", "Bc")
    )
    for line in stopping(verbs.pairs(folder)):
        assert line.now is not None
        assert set(line.now.gene_chances) == {"X", "P"}
        both = sum(line.now.chances.values())
        assert 0 < both < line.now.gene_chances["X"]


def test_a_gene_wanted_once_is_never_intercrossed(tmp_path: Path) -> None:
    folder = write_flock(
        tmp_path, backcross_flock(), OWN, TOP.replace("X = 2", "X = 1"), seen=carriers(*ALL)
    )
    assert stopping(verbs.pairs(folder)) == ()


@pytest.mark.parametrize("chances", [(0.5, 0.5), (0.125, 0.125), (0.25, 0.05), (0.1, 0.4)])
def test_chicks_for_a_cock_and_a_hen_by_enumeration(chances: tuple[float, float]) -> None:
    cock_chance, hen_chance = chances
    rest = max(0.0, 1 - cock_chance - hen_chance)
    number = chicks_for_both(cock_chance, hen_chance, 0.6)
    assert number is not None

    def by_hand(chicks: int) -> float:
        total = 0.0
        for kinds in product((0, 1, 2), repeat=chicks):
            if {0, 1} <= set(kinds):
                total += math.prod((cock_chance, hen_chance, rest)[kind] for kind in kinds)
        return total

    if number <= 9:
        assert by_hand(number) >= 0.6 > by_hand(number - 1)
    else:
        assert by_hand(9) < 0.6


def test_no_number_of_chicks_holds_what_cannot_be() -> None:
    assert chicks_for_both(0.5, 0.0) is None
    assert chicks_for_both(1e-9, 1e-9) is None


def test_screen_and_document(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = weighed(tmp_path, backcross_flock(), carriers(*ALL))
    print_stopping(console_for(), lines, "sussex")
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert "Alder     2027" in out
    told = " ".join(out.split())
    assert (
        "Alder: one more backcross gives 12 points more, 11 cM of the piece around X less" in told
    )
    entry = stopping_entries(lines)[0]
    now = entry["now"]
    assert now["pairs"] == [{"hen": "Ah", "cock": "Bc"}]
    assert now["chicks"] == chicks_for_both(1 / 8, 1 / 8) == 28
    print_stopping(console_for(), [], "sussex")
    assert capsys.readouterr().out == ""


def test_carriers_without_what_is_to_go_are_taken_first(tmp_path: Path) -> None:
    """Y shall go: of two sisters that carry X the one free of Y leads on, though she is second."""
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {X = 2, Y = 0}\n'
    more = OWN + OWN.replace("loci.X", "loci.Y") + "[lines.Alder]\nfamilies = 1\n"
    birds = backcross_flock()
    birds += [chick("Aa", "hen", "AhF", "AhM", "Alder", hatched="2025-03-01")]
    free = [dna(band, "Y", 0) for band in ("Ah", "Bh", "Bc")]
    seen = [*carriers(*ALL, "Aa"), *free, dna("Aa", "Y", 1), dna("Ac", "Y", 1)]
    folder = write_flock(tmp_path, birds, more, top, seen=seen)
    alder, _ = stopping(verbs.pairs(folder))
    assert alder.now is not None
    assert alder.later is not None
    assert alder.now.pairs == (("Ah", "Bc"),)
    for way in (alder.now, alder.later):
        assert way.gene_chances == pytest.approx({"X": 1 / 4, "Y": 1.0})
        assert sum(way.chances.values()) == pytest.approx(1 / 4)


def test_on_the_z_sons_and_daughters_come_from_different_pairs() -> None:
    """A chocolate hen gives the gene to her sons alone, a carrier cock shows it in daughters."""
    lines = stopping(verbs.pairs(EXAMPLES_FOLDER / "tarn-croft"))
    assert [line.line for line in lines] == ["Chocolate", "Cocoa"]
    for line in lines:
        assert line.later is not None
        assert line.later.chances == pytest.approx({Sex.COCK: 1 / 4, Sex.HEN: 1 / 4})
        for hen_name, cock_name in line.later.pairs:
            assert "daughter" in hen_name
            assert "son" in cock_name
