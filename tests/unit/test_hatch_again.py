"""A hatch told in several goes or rows: no chick teaches twice, and what is odd is told so."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.errors import InputError, UsageError
from matchmaker.hatch.explanations import Why
from matchmaker.hatch.hatching import UnfitHatchError
from matchmaker.hatch.told import BandedChick
from matchmaker.report.hatch_words import (
    class_rows,
    learned_reason,
    unsure_sentence,
)
from matchmaker.tables.records import Sex
from tests.builders import cock, dna, hen
from tests.unit.hatch_flocks import (
    BIRDS,
    HALF,
    SEEN,
    SET,
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

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(
    ("first", "second", "says"),
    [
        (
            {"counts": counted(pea=5, single=4)},
            {"chicks": chicks("K1", P="single")},
            r"seen.csv row 6 has a count of these chicks",
        ),
        (
            {"chicks": chicks("K1", "K2", P="single")},
            {"counts": counted(pea=5, single=4)},
            r"K1, K2 are in the tables with P already.* hen = S1\|S2 and cock = AC",
        ),
    ],
)
def test_no_chick_teaches_twice(
    tmp_path: Path, first: dict[str, Any], second: dict[str, Any], says: str
) -> None:
    folder = flock(tmp_path)
    write(folder, told(hatched=9, **first))
    with pytest.raises(UsageError, match=says):
        hatched(folder, told(eggs=None, **second))
    write(folder, told(set_on=SET + dt.timedelta(days=7), hatched=9, **second))


def test_no_chick_teaches_twice_within_a_form(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    form: dict[str, Any] = {"file": "form.csv"}
    whole = told("Yard", hatched=12, counts=counted(single=12), row=2, **form)
    own = told("Yard", eggs=None, dam="A1", chicks=chicks("Y1", P="single"), row=3, **form)
    for sets in ((whole, own), (dataclasses.replace(own, eggs=20, dam=""), whole)):
        with pytest.raises((InputError, UsageError)):
            hatched(folder, *sets)
    set_of_hen = dataclasses.replace(own, eggs=4, hatched=3)  # her eggs have a row of their own
    write(folder, set_of_hen, whole)
    assert len(new_rows(folder, "seen", len(SEEN))) == 2


def test_more_chicks_than_hatched_in_several_goes(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    write(folder, told(hatched=3, chicks=chicks("K1", "K2")))
    with pytest.raises(UsageError, match="2 chicks of this set are banded already, with these 4"):
        hatched(folder, told(eggs=None, chicks=chicks("K3", "K4")))
    write(folder, told(eggs=None, chicks=chicks("K3")))


def test_rows_of_a_new_set_do_not_write_over_each_other(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    more: dict[str, Any] = {"eggs": None, "file": "form.csv", "row": 3}
    one = told("Yard", dam="A1", hatched=5, chicks=chicks("Y1", "Y2"), **more)
    two = told("Yard", dam="A2", chicks=chicks("Y3"), **more)
    with pytest.raises(InputError) as caught:
        hatched(folder, told("Yard"), one, dataclasses.replace(two, hatched=4))
    assert caught.value.faults[0].problem == "the same set is told to have 5"
    with pytest.raises(InputError) as caught:
        hatched(folder, told("Yard", fertile=9), dataclasses.replace(one, fertile=8))
    assert caught.value.faults[0].problem == "another row of this set says 9"
    write(folder, told("Yard", hatched=5), one, two)
    (row,) = new_rows(folder, "eggs", 0)
    assert (row["hatched"], row["first_band"], row["last_band"]) == ("5", "Y1", "Y3")


def test_a_kind_of_reason_is_told_though_it_has_many_small_cases(tmp_path: Path) -> None:
    """Of thirty cocks alike each is unlikely; that it was one of them is not."""
    others = [cock(f"X{at}", "Alder", HALF) for at in range(30)]
    hens = [hen(f"H{at}", "Alder", HALF) for at in range(6)]
    moves = [stay(band, "Orchard") for band in ("AC", *(row["bird"] for row in hens))]
    folder = flock(tmp_path, moves, birds=[*BIRDS, *others, *hens], seen=[dna("AC", "P", 2)])
    with pytest.raises(UnfitHatchError) as caught:
        hatched(folder, told(eggs=80, hatched=60, counts=counted(pea=59, single=1)))
    (fit,) = caught.value.fits
    kinds = dict.fromkeys(one.why for one in fit.explanations)
    assert set(kinds) == {Why.MISREAD, Why.OTHER_SIRE}
    assert sum(one.odds for one in fit.explanations) == pytest.approx(1, abs=0.02)


def test_chicks_of_several_hens_are_not_called_hers(tmp_path: Path) -> None:
    birds = [*BIRDS, hen("H1", "Alder", HALF), hen("H2", "Alder", HALF)]
    moves = [stay(band, "Orchard") for band in ("AC", "H1", "H2")]
    folder = flock(tmp_path, moves, birds=birds)
    banded: dict[str, Any] = {"chicks": chicks("K1", P="single"), "line": "Alder"}
    for more in ({"counts": counted(pea=3, single=6)}, banded):
        answer = hatched(folder, told(hatched=9, **more))
        reasons = {one.bird: learned_reason(one) for one in answer.learned if one.locus == "P"}
        assert reasons["H1"].startswith("chicks that may be her own: ")
    one_hen = hatched(flock(tmp_path / "one", moves[:2], birds=birds), told(hatched=9, **banded))
    told_of = {one.bird: learned_reason(one) for one in one_hen.learned if one.locus == "P"}
    assert told_of["H1"].startswith("her chicks: ")


def test_daughters_alone_are_no_odd_hatch(tmp_path: Path) -> None:
    """Only the pullets were banded and looked at: that says nothing of the parents."""
    moves = [stay("GC", "Orchard"), stay("SH", "Orchard")]
    folder = flock(
        tmp_path,
        moves,
        birds=[cock("GC"), hen("SH", "Alder", HALF), cock("UC", "Alder", HALF)],
        seen=[dna("SH", "S", 1), dna("SH", "O", 1)],
        settings="[loci.S]\n",
    )
    banded = tuple(BandedChick(band=f"K{n}", sex=Sex.HEN, seen={"S": "gold"}) for n in range(9))
    answer = hatched(folder, told(hatched=18, chicks=banded))
    (fit,) = answer.prepared.fits
    assert class_rows(fit) == [["gold daughter", "9", "9.0", "100.0 %"]]
    assert not fit.poor
    unsure = hatched(folder, told(hatched=18, chicks=banded, sire="UC", dam="SH", line="Alder"))
    (fit,) = unsure.prepared.fits
    assert "a daughter is gold with 0 % to 100 %" in " ".join(unsure_sentence(fit))


def test_banded_chicks_in_a_count_are_warned_of(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    banded: dict[str, Any] = {"hatched": 9, "chicks": chicks("K1", "K2")}
    words = "The count of P holds chicks that are banded now"
    assert words in screen(hatched(folder, told(**banded, counts=counted(pea=5, single=4))))
    assert words not in screen(hatched(folder, told(**banded, counts=counted(pea=3, single=4))))
    by_band = {**banded, "chicks": chicks("K1", "K2", P="single")}
    assert words not in screen(hatched(folder, told(**by_band, counts=counted(pea=5, single=4))))
