"""Lines that are about to die out are told before they do."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.risk import Peril, breeding_carriers, lines_at_risk
from matchmaker.report.line_sentences import risk_sentence
from tests.builders import HOME, HOME_SEEN, TOP, bird, cock, dna, hen, judged

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from tests.builders import Row

HALF = "sussex:0.5|araucana:0.5"
SAFE = (*HOME, cock("SD"), hen("SI"))
"""Two of each sex in the pure line, two carriers in the other."""

ROW = '[[matings]]\nname = "back"\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\n'
ROW += 'purpose = "backcross"\nkeep = {O = [1]}\n'


def flock(
    path: Path,
    birds: Sequence[Row] = SAFE,
    settings: str = "",
    seen: Sequence[Row] = HOME_SEEN,
    top: str = TOP,
) -> PairTable:
    return judged(path, birds, settings, top, seen=seen)


def told(table: PairTable) -> list[str]:
    return [risk_sentence(risk) for risk in lines_at_risk(table)]


def without(*bands: str) -> list[Row]:
    return [row for row in SAFE if row["bird"] not in bands]


def test_a_flock_with_birds_to_spare_has_no_line_at_risk(tmp_path: Path) -> None:
    table = flock(tmp_path)
    assert lines_at_risk(table) == ()
    assert breeding_carriers(table, "Alder") == ("AC", "AH")
    assert breeding_carriers(table, "Pure") == ()


def test_no_carrier_is_left(tmp_path: Path) -> None:
    table = flock(tmp_path, seen=[dna("AC", "O", 0), dna("AH", "O", 0)])
    assert told(table) == [
        (
            "Alder: none of its 1 cock and 1 hen that may breed this season carries O (with "
            "a chance of at least 50 %): prove one by a test, or bring a carrier in from "
            "another line."
        )
    ]
    (risk,) = lines_at_risk(table)
    assert risk.ends


def test_one_carrier_is_left(tmp_path: Path) -> None:
    table = flock(tmp_path, seen=[dna("AC", "O", 0), dna("AH", "O", 1)])
    assert told(table) == [
        (
            "Alder: AH is the last bird of it that may breed and carries O: breed from it "
            "this spring and keep several carriers, or the line ends with it."
        )
    ]
    (risk,) = lines_at_risk(table)
    assert (risk.peril, risk.birds, risk.ends) == (Peril.LAST_CARRIER, ("AH",), False)


def test_a_carrier_that_rests_does_not_count(tmp_path: Path) -> None:
    wishes = [{"bird": "AC", "wish": "rest"}]
    table = judged(tmp_path, SAFE, seen=HOME_SEEN, wishes=wishes)
    (risk,) = lines_at_risk(table)
    assert (risk.peril, risk.birds) == (Peril.LAST_CARRIER, ("AH",))


def test_a_pure_line_with_one_cock_left(tmp_path: Path) -> None:
    assert told(flock(tmp_path, without("SD"))) == [
        (
            "Pure: SC is the last cock of it that may breed: keep more than one cock of this "
            "spring's chicks."
        )
    ]


def test_no_row_is_open(tmp_path: Path) -> None:
    (risk,) = lines_at_risk(flock(tmp_path, settings=ROW))
    assert (risk.line, risk.peril) == ("Pure", Peril.NO_ROW)
    assert told(flock(tmp_path / "b", settings=ROW)) == [
        (
            "Pure: no row that is open this season gives it chicks; it lives on only as long "
            "as its birds do."
        )
    ]


def test_carriers_of_the_wrong_sex(tmp_path: Path) -> None:
    hold = '[[matings]]\nhens = "Pure"\ncocks = "Pure"\nchicks = "Pure"\npurpose = "hold"\n'
    birds = [*without("AH"), cock("AD", "Alder", HALF)]
    table = flock(tmp_path, birds, ROW + hold, [dna("AC", "O", 1), dna("AD", "O", 1)])
    assert told(table) == [
        (
            "Alder: it gets no chicks this season: back needs a hen of Alder that carries O, "
            "and none may breed."
        )
    ]


def test_carriers_of_both_sexes_are_needed_for_an_intercross(tmp_path: Path) -> None:
    settings = '[lines.Alder]\nstep = "intercross"\n'
    birds = [*without("AH"), cock("AD", "Alder", HALF)]
    table = flock(tmp_path, birds, settings, [dna("AC", "O", 1), dna("AD", "O", 1)])
    (risk,) = lines_at_risk(table)
    assert (risk.peril, risk.sex, risk.row) == (Peril.MISSING_SEX, "hen", "Alder intercross")


def test_every_pair_is_rejected(tmp_path: Path) -> None:
    settings = "[breeds.sussex]\nbase = 0.2\n[lines.Alder]\nkinship_max = 0.05\n"
    settings += "[limits]\nkinship_max = 0.5\n"
    assert told(flock(tmp_path, settings=settings)) == [
        (
            "Alder: 1 cock and 1 hen may breed, but every pair that could give it chicks is "
            "rejected (matchmaker pairs says why)."
        )
    ]


@pytest.mark.parametrize("sex", ["cock", "hen"])
def test_one_carrier_sex_may_do_for_a_backcross(tmp_path: Path, sex: str) -> None:
    """Derived rows are open both ways: carriers of either sex go on."""
    birds = [*without("AC", "AH"), *(bird(band, sex, "Alder", HALF) for band in ("A1", "A2"))]
    seen = [dna("A1", "O", 1), dna("A2", "O", 1)]
    assert lines_at_risk(flock(tmp_path, birds, seen=seen)) == ()
