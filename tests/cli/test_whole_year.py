"""A whole year on a shipped flock, by commands alone: from the pens to the hatch to the next pens.

The hatch is invented; that half the chicks of a carrier show the marker is Mendel's, and that most
of those that show it carry the gene beside it rests on the example's own recombination of 0.04.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import icalendar
import pytest

from tests.cli.run import Ran, contents, example, read_rows, run_here, write_rows

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.run import Cells

SET_ON = "2027-03-01"
HATCHED = 16
"""Chicks of each pen that are banded."""

LINES = {"Alder": "A", "Birch": "B", "Cedar": "C", "Sussex": "S"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Year:
    """The folder of the season, that of the next one, and what each command said."""

    folder: Path
    after: Path
    before_closing: dict[str, bytes]
    pens: dict[str, str]
    said: dict[str, Ran]


def answered(ran: Ran) -> Ran:
    """What a command said that did what it was asked."""
    assert ran.code == 0, ran.err
    return ran


def pens_hatched(plan: Cells) -> dict[str, str]:
    """Of each line the pen of most hens all of whose chicks join that line."""
    lines: dict[str, list[str]] = {}
    for row in plan:
        lines.setdefault(row["pen"], []).append(row["line"])
    chosen: dict[str, str] = {}
    for pen, joined in sorted(lines.items(), key=lambda item: (-len(item[1]), item[0])):
        if len(set(joined)) == 1:
            chosen.setdefault(joined[0], pen)
    return {pen: line for line, pen in chosen.items()}


def forms(pens: dict[str, str], path: Path) -> tuple[Path, Path]:
    """Two forms of the keeper: the sets, and what became of them."""
    sets, results = path / "sets.csv", path / "results.csv"
    write_rows(sets, [{"pen": pen, "set_on": SET_ON, "eggs": "30"} for pen in pens])
    rows: Cells = []
    for pen, line in pens.items():
        rows.append(
            {"pen": pen, "set_on": SET_ON, "fertile": "24", "hatched": str(HATCHED), "bands": ""}
        )
        marks = ("single",) if line == "Sussex" else ("pea", "single")
        kinds = [(sex, mark) for mark in marks for sex in ("cock", "hen")]
        each = HATCHED // len(kinds)
        for at, (sex, mark) in enumerate(kinds):
            first, last = at * each + 1, (at + 1) * each
            bands = f"{LINES[line]}27-{first:03}..{LINES[line]}27-{last:03}"
            more = {"bands": bands, "sex": sex, "P": f"{each} {mark}"}
            rows.append({"pen": pen, "set_on": SET_ON, **more})
    columns = ("pen", "set_on", "fertile", "hatched", "bands", "sex", "P")
    write_rows(results, [{column: row.get(column, "") for column in columns} for row in rows])
    return sets, results


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Year:
    """Every command of the year, in the order a keeper gives them."""
    path = tmp_path_factory.mktemp("year")
    fen = example("holm-fen", path / "fen-2027")
    said = {}
    at = ("--in", fen)
    said["plan"] = answered(run_here("plan", "--pen-up", "2027-02-01", "--write", *at))
    said["season"] = answered(run_here("season", "--calendar", path / "spring.ics", "--json", *at))
    pens = pens_hatched(read_rows(fen / "plan.csv"))
    sets, results = forms(pens, path)
    said["set"] = answered(run_here("hatch", "--from", sets, *at))
    said["hatch"] = answered(run_here("hatch", "--from", results, "--json", *at))
    graded = path / "graded.csv"
    said["grade"] = answered(
        run_here("grade", "--on", "2027-10-15", "--csv", graded, "--json", *at)
    )
    before = contents(fen)
    said["close"] = answered(
        run_here("season", "--close", "--on", "2027-10-20", "--graded", graded, *at)
    )
    after = path / "fen-2028"
    said["check"] = answered(run_here("check", "--json", "--in", after))
    said["next plan"] = answered(
        run_here("plan", "--write", "--json", "--time-limit", 4, "--in", after)
    )
    return Year(folder=fen, after=after, before_closing=before, pens=pens, said=said)


def test_the_season_is_told_before_the_eggs_are_set(year: Year) -> None:
    document = year.said["season"].document
    assert document["schema"] == "matchmaker/season/1"
    calendar = icalendar.Calendar.from_ical((year.folder.parent / "spring.ics").read_bytes())
    told = [str(event["SUMMARY"]) for event in calendar.walk("VEVENT")]
    assert any("Make up the pens" in text for text in told)
    assert any("hatches" in text for text in told)


def test_the_hatch_is_in_the_book(year: Year) -> None:
    assert len(year.pens) >= 3
    sets = [row for row in read_rows(year.folder / "eggs.csv") if row["set_on"] == SET_ON]
    assert {
        row["pen"]: (row["eggs"], row["fertile"], row["hatched"]) for row in sets
    } == dict.fromkeys(year.pens, ("30", "24", str(HATCHED)))
    chicks = [row for row in read_rows(year.folder / "birds.csv") if row["hatched"] == "2027-03-22"]
    assert Counter(row["line"] for row in chicks) == dict.fromkeys(year.pens.values(), HATCHED)
    plan = read_rows(year.folder / "plan.csv")
    for chick in chicks:
        pen = {line: pen for pen, line in year.pens.items()}[chick["line"]]
        assert chick["sire"] in {row["cock"] for row in plan if row["pen"] == pen}
        dams = set(chick["dam"].replace("|", " ").split())
        assert {dam.split(":")[0] for dam in dams} <= {
            row["hen"] for row in plan if row["pen"] == pen
        }


def graded(year: Year) -> dict[str, str]:
    """The verdict on each young bird."""
    rows = read_rows(year.folder.parent / "graded.csv")
    return {row["bird"]: row["verdict"] for row in rows}


def test_chicks_that_cannot_carry_are_let_go_and_carriers_of_each_line_kept(year: Year) -> None:
    verdicts = graded(year)
    seen = {
        row["bird"]: row["what"]
        for row in read_rows(year.folder / "seen.csv")
        if row["bird"] in verdicts
    }
    for line in set(year.pens.values()) - {"Sussex"}:
        of_line = [band for band in verdicts if band.startswith(f"{LINES[line]}27")]
        kept = [band for band in of_line if verdicts[band] != "let go"]
        assert kept, line
        assert "pea" in {seen[band] for band in kept}


def test_nothing_is_lost_from_one_year_to_the_next(year: Year) -> None:
    assert contents(year.folder) == year.before_closing
    old, new = (read_rows(path / "birds.csv") for path in (year.folder, year.after))
    assert [row["bird"] for row in old] == [row["bird"] for row in new]
    for table in ("eggs.csv", "seen.csv", "scores.csv", "pens.csv"):
        assert (year.after / table).read_bytes() == (year.folder / table).read_bytes()
    assert (year.after / "plan-2027.csv").read_bytes() == (year.folder / "plan.csv").read_bytes()
    stays = read_rows(year.after / "moves.csv")
    assert len(stays) == len(read_rows(year.folder / "moves.csv"))
    assert all(stay["moved_out"] for stay in stays)


def test_the_next_plan_uses_the_chicks_that_were_kept(year: Year) -> None:
    assert year.said["check"].document["faults"] == []
    document: dict[str, Any] = year.said["next plan"].document
    assert document["outcome"] in {"optimal", "feasible"}
    assert document["gap"] < 0.02
    used = {pen["cock"] for pen in document["pens"]}
    used |= {hen["hen"] for pen in document["pens"] for hen in pen["hens"]}
    verdicts = graded(year)
    young = {band for band in used if band in verdicts}
    assert young
    assert {verdicts[band] for band in young} <= {"keep", "wait"}
    assert len(read_rows(year.after / "plan.csv")) > 10
