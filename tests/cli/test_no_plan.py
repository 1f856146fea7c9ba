"""Copies of an example that admit no plan: each is diagnosed, and each way out, followed, works.

The edits are made to the files themselves, from what the document says to write where.
"""

from __future__ import annotations

import shutil
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.solvers.watch import Watch
from tests.cli.follow import follow
from tests.cli.run import edit_rows, edit_text, example, run_here

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matchmaker.plan.solvers.watch import Progress
    from tests.cli.run import Ran

CEDAR = "importance = 1.5     # only one blue layer left in it\ncocks_min = 1\n"


def related_cocks(folder: Path) -> None:
    """Cedar wants three cocks, and a cap that all but one of them pass."""
    edit_text(
        folder / "matchmaker.toml",
        CEDAR,
        "importance = 1.5\ncocks_min = 3\nhens_min = 3\nkinship_max = 0.03\n",
    )


def crowded_pen(folder: Path) -> None:
    """Two hens are wished into the test pen, which holds one."""
    wishes = (folder / "wishes.csv").read_text(encoding="utf-8")
    more = "S25-002,T,together,\nS25-003,T,together,\n"
    (folder / "wishes.csv").write_text(wishes + more, encoding="utf-8")


def no_room_for_chicks(folder: Path) -> None:
    """Sixty chicks can be reared, and Cedar wants four hens."""
    settings = folder / "matchmaker.toml"
    edit_text(settings, CEDAR, f"{CEDAR}hens_min = 4\n")
    edit_text(settings, "rearing_room = 520", "rearing_room = 60")


def too_sure(folder: Path) -> None:
    """Cedar wants more sons and daughters, with a certainty, than its birds can give."""
    edit_text(
        folder / "matchmaker.toml",
        CEDAR,
        f"{CEDAR}wanted_cocks_min = 6\nwanted_hens_min = 3\ncertainty = 0.95\n",
    )


def one_cock_too_much(folder: Path) -> None:
    """No cock may have more than 30 % of Cedar's pairs, and it has three cocks."""
    edit_text(folder / "matchmaker.toml", CEDAR, f"{CEDAR}hens_min = 4\nsire_share_max = 0.3\n")


def nothing_allowed(folder: Path) -> None:
    """No two birds are as little related as is asked."""
    edit_text(folder / "matchmaker.toml", "kinship_max = 0.125", "kinship_max = 0.0")


def pens_kept_for_tests(folder: Path) -> None:
    """Every pen is kept for test matings, and none are open."""
    edit_rows(folder / "pens.csv", lambda rows: [row.update(use="test") for row in rows])


CASES = {
    "related cocks": (related_cocks, "line Cedar: at least 3 cocks"),
    "crowded pen": (crowded_pen, "wish in row 7: S25-002 together T"),
    "no room for chicks": (no_room_for_chicks, "rearing room for 60 chicks"),
    "too sure": (too_sure, "line Cedar: at least 3 wanted daughters with a chance of 95 %"),
    "one cock too much": (one_cock_too_much, "line Cedar: one cock has at most 0.3 of its pairs"),
    "pens kept for tests": (pens_kept_for_tests, "pens: places"),
    "nothing allowed": (nothing_allowed, "wish in row 2: S25-001 together B26-026"),
}


FIRST_FOLLOWED = [CASES[name][1] for name in ("one cock too much", "nothing allowed")]
"""Their further ways out are of kinds that the other cases follow; each plan takes seconds."""


BY_COMMAND = [CASES["pens kept for tests"][1]]
"""Its first way out is tried by the command itself; the others by what that calls, to save time."""


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory: Any) -> Callable[[str], tuple[Path, Ran]]:
    """Of each case, asked once: a folder that has no plan, and what the command says of it."""

    @cache
    def asked(name: str) -> tuple[Path, Ran]:
        folder = example("holm-fen", tmp_path_factory.mktemp("no-plan") / "flock")
        CASES[name][0](folder)
        return folder, run_here("plan", "--in", folder, "--json")

    return asked


@pytest.fixture(scope="module", params=CASES)
def case(
    request: pytest.FixtureRequest, spoilt: Callable[[str], tuple[Path, Ran]]
) -> tuple[Path, Ran, str]:
    """Return a folder that has no plan, what the command says of it, and what must clash."""
    return *spoilt(request.param), CASES[request.param][1]


def test_the_clash_is_named_and_the_ways_are_shown(case: tuple[Path, Ran, str]) -> None:
    _, ran, clash = case
    assert ran.code == 4
    conflict = ran.document["conflict"]
    assert any(sentence.startswith(clash) for sentence in conflict["rows"])
    assert conflict["relax"]
    shown = " ".join(ran.err.split())
    assert "Traceback" not in shown
    for way in conflict["relax"]:
        assert " ".join(way["sentence"].split()) in shown


def test_each_way_out_works_when_followed(case: tuple[Path, Ran, str], tmp_path: Path) -> None:
    folder, ran, clash = case
    ways = ran.document["conflict"]["relax"]
    for number, way in enumerate(ways[:1] if clash in FIRST_FOLLOWED else ways):
        mended = tmp_path / str(number)
        shutil.copytree(folder, mended)
        for edit in way["rules"]:
            follow(mended, edit)
        by_command = number == 0 and clash in BY_COMMAND
        found, bound = (told_by_command if by_command else found_for)(mended, way["value"])
        assert way["value"] <= found + 0.001
        assert way["value"] >= 0.98 * bound


def told_by_command(folder: Path, _value: float) -> tuple[float, float]:
    """Value of the best plan and the proved bound, by the command itself."""
    ran = run_here("plan", "--in", folder, "--json")
    assert ran.code == 0, ran.err
    return float(ran.document["best_value"]), float(ran.document["bound"])


def found_for(folder: Path, value: float) -> tuple[float, float]:
    """Value of a plan and a bound on all, searched until they tell whether the value is right."""

    def tell(now: Progress) -> None:
        if now.best >= value - 0.001 and 0.98 * now.bound <= value:
            watch.stop()

    watch = Watch(tell)
    proof = solve_plan(pose_problem(verbs.pairs(folder)), stages=False, watch=watch).proof
    return proof.best_value, proof.bound


def test_what_is_written_stands_in_the_sentence(case: tuple[Path, Ran, str]) -> None:
    for way in case[1].document["conflict"]["relax"]:
        for edit in way["rules"]:
            if edit["file"]:
                assert edit["file"] in edit["sentence"]
            if edit["act"] == "write":
                assert f"{edit['key'][-1]} = {edit['to']:g}" in edit["sentence"]
            if edit["row"]:
                assert f"row {edit['row']}" in edit["sentence"]


def test_the_numbers_around_the_clash(spoilt: Callable[[str], tuple[Path, Ran]]) -> None:
    folder, ran = spoilt("related cocks")
    (row,) = (one for one in ran.document["conflict"]["facts"] if one["row"] == "Cedar cocks")
    pairs = run_here("pairs", "--in", folder, "--json").document["pairs"]
    own = [one for one in pairs if one["row"] == "Cedar cocks"]
    there = [one for one in own if one["hen"] in row["hens"] and one["cock"] in row["cocks"]]
    kinships = [
        rule["measured"]
        for one in there
        for rule in one["rules"]
        if rule["rule"] == "too-related" and not one["allowed"]
    ]
    related = next(one for one in row["rejected"] if one["rule"] == "too-related")
    assert (row["pairs"], row["allowed"]) == (len(there), sum(one["allowed"] for one in there))
    assert related["pairs"] == len(kinships)
    assert (related["low"], related["high"]) == (min(kinships), max(kinships))
    assert f"{related['pairs']} too closely related" in row["sentence"]


def test_a_number_of_pairs_that_cannot_be_had(tmp_path: Path) -> None:
    folder = example("holm-fen", tmp_path / "flock")
    ran = run_here("plan", "--in", folder, "--matings", "60", "--json")
    assert ran.code == 4
    asked = [
        edit["to"]
        for way in ran.document["conflict"]["relax"]
        for edit in way["rules"]
        if edit["act"] == "ask"
    ]
    assert asked
    plan = verbs.plan(folder, matings=asked[0])
    assert sum(len(pen.pairs) for pen in plan.pens) == asked[0]
