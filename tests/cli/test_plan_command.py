"""What ``plan`` writes, honours, scores and refuses."""

from __future__ import annotations

import json
import os
from itertools import product
from typing import TYPE_CHECKING, Any

import pulp
import pytest
from pulp.apis.coin_api import pulp_cbc_path

from tests.builders import HOME, HOME_SEEN, TOP, Row, bird, cock, dna, hen, write_flock
from tests.cli.run import Ran, contents, edit_rows, example, read_rows, run, run_here

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

FLOCK = (
    *HOME,
    cock("SD"),
    hen("SI"),
    hen("SJ"),
    hen("AI", "Alder", "sussex:0.5|araucana:0.5"),
)
SEEN = (*HOME_SEEN, dna("AI", "O", 1))


def _folder(path: Path, *wishes: Row, settings: str = "", **tables: Sequence[Row]) -> Path:
    if wishes:
        tables["wishes"] = wishes
    return write_flock(path / "flock", FLOCK, settings, TOP, seen=SEEN, **tables)


def _wish(bird: str, wish: str, partner: str = "", why: str = "") -> Row:
    return {"bird": bird, "with": partner, "wish": wish, "why": why}


def _plan(path: Path, *wishes: Row, settings: str = "") -> dict[str, Any]:
    return run_here("plan", "--in", _folder(path, *wishes, settings=settings), "--json").document


def _matings(document: dict[str, Any]) -> set[tuple[str, str]]:
    return {(one["hen"], pen["cock"]) for pen in document["pens"] for one in pen["hens"]}


def _used(document: dict[str, Any]) -> set[str]:
    return {band for pair in _matings(document) for band in pair}


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return _plan(tmp_path_factory.mktemp("plain"))


def test_a_pair_wished_together_is_together(plain: dict[str, Any], tmp_path: Path) -> None:
    free = next(
        (hen, cock)
        for hen in ("AH", "AI", "SH", "SI", "SJ")
        for cock in ("SC", "SD")
        if (hen, cock) not in _matings(plain)
    )
    wished = _plan(tmp_path, _wish(free[0], "together", free[1]))
    assert free in _matings(wished)
    assert wished["best_value"] <= plain["best_value"]


def test_a_pair_wished_apart_is_apart(plain: dict[str, Any], tmp_path: Path) -> None:
    hen, cock = sorted(_matings(plain))[0]
    assert (hen, cock) not in _matings(_plan(tmp_path, _wish(hen, "apart", cock)))


def test_a_bird_wished_to_rest_rests(plain: dict[str, Any], tmp_path: Path) -> None:
    rests = sorted(hen for hen, _ in _matings(plain))[0]
    plan = _plan(tmp_path, _wish(rests, "rest", why="bare back"))
    assert rests not in _used(plan)
    (unused,) = [one for one in plan["unused"] if one["bird"] == rests]
    assert unused["why"] == f"{rests} rests this season by your wish: bare back"


def test_a_bird_wished_to_be_used_is_used(tmp_path: Path) -> None:
    """One pen only: its cock would otherwise be the better of two."""
    pens = [{"pen": "Orchard", "hens_max": "6"}]
    folder = _folder(tmp_path, pens=pens)
    used = _used(run_here("plan", "--in", folder, "--json").document)
    idle = next(band for band in ("AC", "SC", "SD") if band not in used)
    (folder / "wishes.csv").write_text(f"bird,with,wish,why\n{idle},,use,\n", encoding="utf-8")
    assert idle in _used(run_here("plan", "--in", folder, "--json").document)


def test_a_bird_wished_into_a_pen_is_there(plain: dict[str, Any], tmp_path: Path) -> None:
    pen, other = plain["pens"][0], {"Orchard": "Yard", "Yard": "Orchard"}
    target = other[pen["pen"]]
    plan = _plan(tmp_path, _wish(pen["cock"], "use", target))
    assert {one["pen"]: one["cock"] for one in plan["pens"]}[target] == pen["cock"]


def test_an_allowed_pair_may_break_the_cap(tmp_path: Path) -> None:
    chicks = [bird("K1", "hen", "Pure", sire="SC", dam="SH", hatched="2026-03-01")]
    wishes = [_wish("K1", "allow", "SC"), _wish("K1", "together", "SC")]
    folder = write_flock(tmp_path / "flock", [*FLOCK, *chicks], seen=SEEN, wishes=wishes)
    plan = run_here("plan", "--in", folder, "--json").document
    assert ("K1", "SC") in _matings(plan)
    (one,) = [hen for pen in plan["pens"] for hen in pen["hens"] if hen["hen"] == "K1"]
    assert one["kinship"] == pytest.approx(0.25)


@pytest.fixture(scope="module")
def impossible(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Her only pen is the Yard, her only cock is kept out of it."""
    wishes = (
        _wish("AH", "together", "SC"),
        _wish("AH", "use", "Yard"),
        _wish("SC", "apart", "Yard"),
    )
    return _folder(tmp_path_factory.mktemp("impossible"), *wishes)


def test_where_nothing_fits_the_clashing_rows_are_named(impossible: Path) -> None:
    ran = run_here("plan", "--in", impossible)
    assert (ran.code, ran.out) == (4, "")
    assert ran.err.splitlines()[0] == "No plan satisfies all of these at once:"
    for wish in ("row 2: AH together SC", "row 3: AH use Yard", "row 4: SC apart Yard"):
        assert f"  wish in {wish}" in ran.err.splitlines()


def test_where_nothing_fits_the_document_says_so(impossible: Path) -> None:
    ran = run_here("plan", "--in", impossible, "--json")
    assert ran.code == 4
    assert ran.document["outcome"] == "none"
    assert ran.document["pens"] == []
    rows = ran.document["conflict"]["rows"]
    assert {f"wish in row {n}" for n in (2, 3, 4)} == {r.split(":")[0] for r in rows if "wish" in r}
    assert all(way["rules"] and way["sentence"] for way in ran.document["conflict"]["relax"])
    assert ran.document["conflict"]["relax"]


def test_nothing_is_written_unasked(tmp_path: Path) -> None:
    folder = _folder(tmp_path)
    before = contents(folder)
    ran = run("plan", "--in", folder)
    assert contents(folder) == before
    assert "Nothing was written." in ran.err


def test_write_keeps_the_plan_before(tmp_path: Path) -> None:
    standing = [{"pen": "Yard", "line": "Alder", "cock": "SD", "hen": "AH", "why": "habit"}]
    folder = _folder(tmp_path, plan=standing)
    before = (folder / "plan.csv").read_bytes()
    ran = run("plan", "--in", folder, "--write")
    (kept,) = folder.glob("plan.csv*.bak")
    assert kept.read_bytes() == before
    assert kept.name in ran.err
    assert {row["hen"] for row in read_rows(folder / "plan.csv")} >= {"AH"}


@pytest.mark.parametrize(("options", "stays"), [((), True), (("--fresh",), False)])
def test_fresh_forgets_the_standing_plan(
    tmp_path: Path, options: tuple[str, ...], *, stays: bool
) -> None:
    """Alike cocks: only the standing plan decides which of them has which pen."""
    first = run_here("plan", "--in", _folder(tmp_path / "a"), "--fresh", "--json").document
    swap = {"SC": "SD", "SD": "SC"}
    standing = [
        {
            "pen": pen["pen"],
            "line": one["line"],
            "cock": swap.get(pen["cock"], pen["cock"]),
            "hen": one["hen"],
        }
        for pen in first["pens"]
        for one in pen["hens"]
    ]
    folder = _folder(tmp_path / "b", plan=standing)
    plan = run_here("plan", "--in", folder, "--json", *options).document
    assert (_matings(plan) == {(row["hen"], row["cock"]) for row in standing}) is stays
    assert plan["changes"] == []


def _read_only(folder: Path) -> bool:
    """Whether the folder can be closed for writing: not for the superuser."""
    folder.chmod(0o555)
    return not os.access(folder, os.W_OK)


def test_a_folder_closed_for_writing_is_said_in_words(tmp_path: Path) -> None:
    folder = _folder(tmp_path)
    if _read_only(folder):
        ran = run_here("plan", "--in", folder, "--write")
    else:  # the superuser writes anywhere: a folder in the file's place stops him too
        folder.chmod(0o755)
        ran = run_here("plan", "--in", folder, "--problem", tmp_path, "--force")
    folder.chmod(0o755)
    assert ran.code == 2
    assert "cannot be written" in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("option", ["--csv", "--problem"])
def test_a_file_that_exists_is_replaced_only_by_force(tmp_path: Path, option: str) -> None:
    folder, file = _folder(tmp_path), tmp_path / "mine"
    file.write_text("mine", encoding="utf-8")
    refused = run_here("plan", "--in", folder, option, file)
    assert refused.code == 6
    assert "exists already" in refused.err
    assert file.read_text(encoding="utf-8") == "mine"
    assert run_here("plan", "--in", folder, option, file, "--force").code == 0
    assert file.read_text(encoding="utf-8") != "mine"


def test_the_csv_file_holds_one_hen_a_row(tmp_path: Path) -> None:
    file = tmp_path / "plan.csv"
    plan = run_here("plan", "--in", _folder(tmp_path), "--csv", file, "--json").document
    rows = read_rows(file)
    assert {(row["hen"], row["cock"]) for row in rows} == _matings(plan)
    assert sum(float(row["chicks"]) for row in rows) == pytest.approx(
        sum(one["chicks"] for pen in plan["pens"] for one in pen["hens"])
    )


def _solve_plainly(problem: dict[str, Any]) -> float:
    """Solve a written problem by the plainest formulation: one 0/1 variable per pair and pen."""
    model = pulp.LpProblem("plain", pulp.LpMaximize)
    pens = {label: kind for kind in problem["kinds"] for label in kind["pens"]}
    pairs, cocks = problem["candidates"], [one["cock"] for one in problem["cocks"]]
    sits = {(c, p): model.add_variable(f"s_{c}_{p}", cat="Binary") for c, p in product(cocks, pens)}
    held = {
        (i, p): model.add_variable(f"x_{i}_{p}", cat="Binary")
        for (i, one), (p, kind) in product(enumerate(pairs), pens.items())
        if kind["line"] in {"", one["line"]}
    }
    for (i, p), x in held.items():
        model += x <= sits[pairs[i]["cock"], p]
    for label, kind in pens.items():
        _fill(model, kind, [x for (_, p), x in held.items() if p == label], _of(sits, 1, label))
        if not kind["dam_known"]:
            _one_row(
                model, label, [(pairs[i]["row"], x) for (i, p), x in held.items() if p == label]
            )
    for band in {one["hen"] for one in pairs}:
        model += pulp.lpSum(x for (i, _), x in held.items() if pairs[i]["hen"] == band) <= 1
    for limit in problem["cocks"]:
        name = limit["cock"]
        model += pulp.lpSum(_of(sits, 0, name)) <= limit["pens_max"]
        mates = pulp.lpSum(x for (i, _), x in held.items() if pairs[i]["cock"] == name)
        model += mates <= limit["hens_max"]
    model.setObjective(_objective(model, problem, held))
    model.solve(pulp.COIN_CMD(path=pulp_cbc_path, msg=False, gapRel=0))
    return float(pulp.value(model.objective))


def _of(sits: Mapping[tuple[str, str], Any], place: int, name: str) -> list[Any]:
    return [variable for key, variable in sits.items() if key[place] == name]


def _fill(
    model: pulp.LpProblem, kind: Mapping[str, Any], inside: list[Any], cocks: list[Any]
) -> None:
    """One cock or none, and with him as many hens as the pen takes."""
    hens, used = pulp.lpSum(inside), pulp.lpSum(cocks)
    model += used <= 1
    model += hens <= kind["hens_max"] * used
    model += hens >= max(1, kind["hens_min"]) * used


def _one_row(model: pulp.LpProblem, label: str, held: Sequence[tuple[str, Any]]) -> None:
    """Where dams are not told apart, a pen holds one row of matings."""
    rows = sorted({row for row, _ in held})
    chosen = {row: model.add_variable(f"r_{label}_{n}", cat="Binary") for n, row in enumerate(rows)}
    model += pulp.lpSum(chosen.values()) <= 1
    for row, x in held:
        model += x <= chosen[row]


def _objective(
    model: pulp.LpProblem, problem: dict[str, Any], held: dict[tuple[int, str], Any]
) -> Any:
    """Importance times what each line counts, in full and then by the second helping."""
    constants, pairs = problem["constants"], problem["candidates"]
    total = -constants["pair_cost"] * pulp.lpSum(held.values())
    for n, line in enumerate(problem["lines"]):
        wanted = line["chicks_wanted"]
        full = model.add_variable(f"full_{n}", lowBound=0, upBound=wanted)
        more = model.add_variable(f"more_{n}", lowBound=0, upBound=wanted)
        worth = pulp.lpSum(
            pairs[i]["value"] * x for (i, _), x in held.items() if pairs[i]["line"] == line["line"]
        )
        model += full + more <= worth
        total += line["importance"] * (full + constants["second_helping"] * more)
    return total


def test_the_written_problem_solved_again_has_the_same_best_value(tmp_path: Path) -> None:
    file = tmp_path / "problem.json"
    folder = _folder(tmp_path)
    plan = run_here("plan", "--in", folder, "--json", "--problem", file).document
    problem = json.loads(file.read_text(encoding="utf-8"))
    assert problem["demands"] == []
    assert _solve_plainly(problem) == pytest.approx(plan["best_value"], abs=1e-6)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Ran]:
    folder = example("tarn-croft", tmp_path_factory.mktemp("written") / "flock")
    (folder / "plan.csv").unlink()
    return folder, run_here("plan", "--in", folder, "--write", "--json")


def test_the_written_plan_scores_its_own_value(written: tuple[Path, Ran]) -> None:
    folder, ran = written
    score = run_here("plan", "--in", folder, "--score", folder / "plan.csv", "--json").document
    assert score["value"] == pytest.approx(ran.document["value"], abs=1e-6)
    assert (score["rejected"], score["broken"]) == ([], [])


def test_a_plan_edited_by_hand_lists_what_it_breaks(
    written: tuple[Path, Ran], tmp_path: Path
) -> None:
    folder, _ = written
    before = contents(folder)
    mine = tmp_path / "mine.csv"
    mine.write_bytes((folder / "plan.csv").read_bytes())
    edit_rows(mine, lambda rows: rows.append({**rows[-1], "hen": "H25-003"}))
    edit_rows(mine, lambda rows: rows.append({**rows[-1], "pen": "Gate", "hen": "H26-006"}))
    ran = run_here("plan", "--in", folder, "--score", mine, COLUMNS="200")
    assert contents(folder) == before
    assert ran.code == 0
    assert "rests this season by your wish: moulted late" in ran.out
    assert "H26-006 has 2 places" in ran.out
    assert "has 2 pens, at most 1" in ran.out


def test_a_score_says_each_breach_once(written: tuple[Path, Ran], tmp_path: Path) -> None:
    folder, _ = written
    mine = tmp_path / "mine.csv"
    mine.write_text("pen,line,cock,hen,why\nTop,Chocolate,H24-001,CH26-001,\n", encoding="utf-8")
    ran = run_here("plan", "--in", folder, "--score", mine, COLUMNS="200")
    assert sum("CH26-001" in line for line in ran.lines) == 1
    assert "wish not kept" in ran.out


@pytest.mark.parametrize("option", ["--write", "--fresh"])
def test_options_without_effect_beside_a_score_are_refused(tmp_path: Path, option: str) -> None:
    folder = _folder(tmp_path)
    ran = run_here("plan", "--in", folder, "--score", "any.csv", option)
    assert (ran.code, ran.out) == (2, "")
    assert f"--score takes no {option} beside it" in ran.err
