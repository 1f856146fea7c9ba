"""What is said of lines, crossings and rotation, and what cannot be meant."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.scheme_settings import RotationSettings
from tests.builders import HOME, HOME_SEEN, checked, where

if TYPE_CHECKING:
    from pathlib import Path

TEST_ROW = '[[matings]]\nhens = "Alder"\ncocks = "Pure"\npurpose = "test"\ntests = "hen"\n'
ROW = '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'


@pytest.mark.parametrize(
    ("settings", "place", "problem", "mend"),
    [
        pytest.param(
            "[lines.Alder]\nwanted_min = 3\ncertainty = 0.95\n",
            (6, "lines.Alder.certainty", "0.95"),
            "certainty is the chance of reaching numbers by sex, and none is asked for",
            "write wanted_cocks_min or wanted_hens_min beside it, or delete certainty",
            id="certainty of nothing",
        ),
        pytest.param(
            "[lines.Alder]\nwanted_hens_min = 2.5\ncertainty = 0.95\n",
            (5, "lines.Alder.wanted_hens_min", "2.5"),
            "what is to be reached with a certain chance is a whole number of chicks",
            "write 3, or delete certainty",
            id="certainty of a part of a chick",
        ),
        pytest.param(
            "[lines.Alder]\nwanted_hens_min = 2\ncertainty = 1\n",
            (6, "lines.Alder.certainty", "1"),
            "the value must be below 1.0",
            "write a value that is below 1.0",
            id="full certainty",
        ),
        pytest.param(
            "[limits]\nsire_share_max = 0\n",
            (5, "limits.sire_share_max", "0"),
            "the value must be above 0.0",
            "write a value that is above 0.0",
            id="a sire may have no share at all",
        ),
        pytest.param(
            ROW + 'tests = "hen"\n',
            (9, "matings, entry 1, tests", "hen"),
            "tests says whose test a test mating is, and this row is none",
            'delete tests, or write purpose = "test"',
            id="tests on a row that is no test",
        ),
        pytest.param(
            TEST_ROW.replace('tests = "hen"\n', ""),
            (7, "matings, entry 1, purpose", "test"),
            "a test mating must say whether its hens or its cocks are tested",
            'add tests = "hen" or tests = "cock"',
            id="a test of nobody",
        ),
        pytest.param(
            TEST_ROW + 'recognise = "sight"\n',
            (9, "matings, entry 1, recognise", "sight"),
            "no chick of a test mating is kept: all of them are judged by their looks",
            "delete recognise",
            id="recognise in a test row",
        ),
        pytest.param(
            TEST_ROW + "keep = {cock = {O = [1]}}\n",
            (9, "matings, entry 1, keep", "cock = O = 1"),
            "keep names no locus for the hens, and they are tested",
            "write keep.hen, or delete keep to test for the target",
            id="keep of the other sex in a test row",
        ),
        pytest.param(
            ROW + "keep = {cock = 1}\n",
            (9, "matings, entry 1, keep", "cock = 1"),
            "keep.cock does not say of which locus",
            "write cock = {LOCUS = [1, 2]}, with the symbol of the locus",
            id="copies of no locus",
        ),
        pytest.param(
            ROW + "keep = {O = [[1]]}\n",
            (9, "matings, entry 1, keep", "O = 1"),
            "keep.O lists what is no number of copies",
            "write O = and copies out of 0, 1 and 2, for example [1, 2]",
            id="a list within the list of copies",
        ),
        pytest.param(
            '[rotation]\norder = ["Alder"]\n',
            (5, "rotation.order", "Alder"),
            "cocks go round two lines or more",
            "list the lines in the order the cocks go round",
            id="a rotation of one line",
        ),
        pytest.param(
            '[rotation]\norder = ["Alder", "Pure", "Alder"]\n',
            (5, "rotation.order", "Alder, Pure, Alder"),
            "Alder stands twice in the order",
            "list each line once",
            id="a line twice in a rotation",
        ),
        pytest.param(
            '[rotation]\norder = ["Alder", "Pure"]\nevery = 3\n',
            (6, "rotation.every", "3"),
            "a rotation every few seasons must say from which season on",
            "add from = and a season in which cocks go round",
            id="a turn without a start",
        ),
        pytest.param(
            '[rotation]\norder = ["Alder", "Pure"]\nopen = "no"\n',
            (6, "rotation.open", "no"),
            "yes or no is wanted here",
            "write true or false, without quotation marks",
            id="open in words",
        ),
        pytest.param(
            '[rotation]\norder = ["Alder", "Pur"]\n',
            (5, "rotation.order", "Pur"),
            "no bird is in a line Pur",
            "did you mean Pure? Otherwise write the line in the table of birds",
            id="an unknown line in a rotation",
        ),
    ],
)
def test_what_cannot_be_meant_is_a_fault(
    tmp_path: Path, settings: str, place: tuple[int, str, str], problem: str, mend: str
) -> None:
    (fault,) = checked(tmp_path, HOME, settings, seen=HOME_SEEN).faults
    assert where(fault) == ("matchmaker.toml", *place)
    assert (fault.problem, fault.mend) == (problem, mend)


def test_yes_or_no_has_no_sense_elsewhere(tmp_path: Path) -> None:
    (fault,) = checked(tmp_path, HOME, "[limits]\nkinship_max = true\n").faults
    assert fault.problem == "yes or no has no sense here"


def test_a_test_row_needs_no_line_for_its_chicks(tmp_path: Path) -> None:
    found = checked(tmp_path, HOME, ROW + TEST_ROW, seen=HOME_SEEN)
    assert found.faults == ()
    assert [crossing.chicks for crossing in found.crossings] == ["Alder", ""]


def test_any_other_row_does(tmp_path: Path) -> None:
    (fault,) = checked(tmp_path, HOME, ROW.replace('chicks = "Alder"\n', "")).faults
    assert (fault.kind, fault.column) == ("missing-setting", "matings, entry 1, chicks")


@pytest.mark.parametrize(
    ("every", "start", "season", "is_open", "following"),
    [
        (1, None, 2027, True, 2028),
        (3, 2027, 2027, True, 2030),
        (3, 2025, 2027, False, 2028),
        (3, 2026, 2027, False, 2029),
        (2, 2030, 2027, False, 2030),
        (4, 2028, 2027, False, 2028),
        (2, 2021, 2027, True, 2029),
    ],
)
def test_cocks_go_round_every_so_many_seasons(
    every: int,
    start: int | None,
    season: int,
    is_open: bool,  # noqa: FBT001
    following: int,
) -> None:
    turn = {} if start is None else {"from": start}
    rotation = RotationSettings.model_validate({"order": ("A", "B"), "every": every, **turn})
    assert (rotation.is_open(season), rotation.next_after(season)) == (is_open, following)
    assert not any(rotation.falls_on(between) for between in range(season + 1, following))
    assert rotation.falls_on(following)


@pytest.mark.parametrize("is_open", [True, False])
def test_open_decides_for_this_season(is_open: bool) -> None:  # noqa: FBT001
    rotation = RotationSettings.model_validate(
        {"order": ("A", "B"), "every": 2, "from": 2026 + is_open, "open": not is_open}
    )
    assert rotation.falls_on(2027) is is_open
    assert rotation.is_open(2027) is not is_open
