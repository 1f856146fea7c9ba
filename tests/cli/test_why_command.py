"""``why``, answered in this process: pairs, birds, pens, the plan; what it says holds when done."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from tests.cli.follow import follow
from tests.cli.run import edit_rows, edit_text, example, run_here
from tests.why_flocks import scarce_flock

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.run import Cells


@pytest.fixture(scope="module")
def tarn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the smallest example."""
    return example("tarn-croft", tmp_path_factory.mktemp("why") / "flock")


@pytest.fixture(scope="module")
def scarce(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A flock with more hens than places, solved in no time."""
    return scarce_flock(tmp_path_factory.mktemp("scarce") / "flock", 1)


def words(text: str) -> str:
    """The text in one line."""
    return " ".join(text.split())


def test_a_chosen_pair_and_what_is_lost_without_it(tarn: Path) -> None:
    plan = run_here("plan", "--in", tarn, "--json").document
    pen = plan["pens"][0]
    ran = run_here("why", pen["hens"][0]["hen"], pen["cock"], "--in", tarn)
    assert ran.code == 0
    assert f"paired, in pen {pen['pen']}." in words(ran.out)
    assert "Without it" in ran.out


def test_the_birds_may_stand_in_any_order_and_letters_in_any_case(tarn: Path) -> None:
    one = run_here("why", "h24-006", "h24-002", "--in", tarn, "--json").document
    assert (one["hen"], one["cock"]) == ("H24-002", "H24-006")


def test_a_rejected_pair_names_its_rules_kin_and_price(tarn: Path) -> None:
    ran = run_here("why", "CO26-001", "H25-001", "--in", tarn)
    said = words(ran.out)
    assert ran.code == 0
    assert "CO26-001 with H25-001: rejected, for 2 reasons." in said
    assert "kinship 0.266 is above the limit 0.125" in said
    assert "no chick can be wanted" in said
    assert "he is her sire" in said
    assert "If the rules were waived for this pair alone" in said


def test_the_document_holds_what_other_programs_rely_on(tarn: Path) -> None:
    found = run_here("why", "CO26-001", "H25-001", "--in", tarn, "--json").document
    assert found["schema"] == "matchmaker/why/1"
    keys = {"hen", "cock", "allowed", "rules", "terms", "paths", "if_forced", "would_take"}
    assert keys <= found.keys()
    assert {"value", "loss", "changes"} <= found["if_forced"].keys()
    parts = sum(path["kinship"] for path in found["paths"])
    whole = parts + found["kinship_before_records"] + found["kinship_other_paths"]
    assert whole == pytest.approx(found["kinship"], abs=1e-12)


REJECTED = [
    ("H26-003", "H26-002"),
    ("CO26-001", "CH26-004"),
    ("H25-003", "H24-006"),
    ("H26-001", "H24-006"),
]


@pytest.mark.parametrize(("hen", "cock"), REJECTED)
def test_what_it_would_take_to_be_allowed_does_it(
    tarn: Path, tmp_path: Path, hen: str, cock: str
) -> None:
    found = run_here("why", hen, cock, "--in", tarn, "--json").document
    assert not found["allowed"]
    ways = [one for one in found["would_take"] if one["to"] == "be-allowed"]
    assert ways
    for number, way in enumerate(ways):
        copy = tmp_path / str(number)
        shutil.copytree(tarn, copy)
        for edit in way["edits"]:
            follow(copy, edit)
        pairs = run_here("pairs", "--in", copy, "--json").document["pairs"]
        own = [one for one in pairs if (one["hen"], one["cock"]) == (hen, cock)]
        assert any(one["allowed"] for one in own)


def test_the_loss_is_that_of_the_plan_with_a_wish_for_the_pair(
    scarce: Path, tmp_path: Path
) -> None:
    """The price of a pair, against a plan in which a written wish puts it."""
    found = run_here("why", "H1", "AC", "--in", scarce, "--thorough", "--json").document
    copy = tmp_path / "flock"
    shutil.copytree(scarce, copy)
    (copy / "wishes.csv").write_text("bird,with,wish,why\nH1,AC,together,\n", encoding="utf-8")
    before = run_here("plan", "--in", scarce, "--json").document["best_value"]
    after = run_here("plan", "--in", copy, "--json").document["best_value"]
    assert found["if_forced"]["loss"] == pytest.approx(before - after, abs=1e-6)
    assert found["if_forced"]["value"] == pytest.approx(after, abs=1e-6)


def test_a_waived_rule_is_said_with_its_caution_and_price(tarn: Path, tmp_path: Path) -> None:
    copy = tmp_path / "flock"
    shutil.copytree(tarn, copy)
    wishes = (copy / "wishes.csv").read_text(encoding="utf-8")
    (copy / "wishes.csv").write_text(f"{wishes}CO26-001,H25-001,allow,mine\n", encoding="utf-8")
    said = words(run_here("why", "CO26-001", "H25-001", "--in", copy).out)
    assert "Your written wish allows it all the same" in said
    assert "Close inbreeding costs hatch and vigour" in said
    assert "CO26-001,H25-001,allow (wishes.csv, row" in said


def test_one_bird(tarn: Path) -> None:
    found = run_here("why", "CO26-004", "--in", tarn, "--thorough", "--json").document
    costs = [one["costs_at_most"] for one in found["places"]]
    assert costs == sorted(costs)
    assert min(costs) > 0
    assert found["to_be_used"]
    said = words(run_here("why", "CO26-004", "--in", tarn).out)
    assert "CO26-004: in no pen." in said
    assert "Would cost" in said


def test_a_bird_that_a_rule_rejects_whatever_its_mate(tarn: Path) -> None:
    ran = run_here("why", "H26-001", "--in", tarn)
    assert ran.code == 0
    assert "H26-001 has a defect that culls: side sprig, whatever the mate." in words(ran.out)


def test_one_pen(tarn: Path) -> None:
    said = words(run_here("why", "--pen", "top", "--in", tarn).out)
    assert "Pen Top: 5 hens at most" in said
    assert "He has 5 hens: the pen is full." in said
    assert "Lost without the pair" in said


def test_a_closed_pen_says_so(tarn: Path, tmp_path: Path) -> None:
    copy = tmp_path / "flock"
    shutil.copytree(tarn, copy)
    edit_rows(copy / "pens.csv", lambda rows: [row.update(open="yes") for row in rows])
    edit_rows(copy / "pens.csv", lambda rows: rows[-1].update(open="no"))
    ran = run_here("why", "--pen", "Ark", "--in", copy)
    assert "Nothing is in it. It is closed: open = no in pens.csv." in words(ran.out)


def test_the_plan_in_ten_facts(scarce: Path) -> None:
    found = run_here("why", "--plan", "--in", scarce, "--json").document
    worth = [one["worth"] for one in found["facts"] if not one["no_plan"]]
    assert 0 < len(worth) <= 10
    assert worth == sorted(worth, reverse=True)
    said = words(run_here("why", "--plan", "--in", scarce).out)
    assert all(one["sentence"] in said for one in found["facts"])


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ([], "ask about one thing"),
        (["H24-002", "H24-006", "H24-001"], "ask about one thing"),
        (["H24-002", "--plan"], "ask about one thing"),
        (["H24-002", "H24-003"], "are both hens"),
        (["H24-002", "H24-002"], "is named twice"),
        (["H24-002", "H24-0060"], "no bird H24-0060 is in the tables. Did you mean H24-006?"),
        (["--pen", "Nowhere"], "there is no pen Nowhere; the pens are"),
    ],
)
def test_wrong_usage_is_told_in_words(tarn: Path, asked: list[str], told: str) -> None:
    ran = run_here("why", *asked, "--in", tarn)
    assert (ran.code, ran.out) == (2, "")
    assert told in words(ran.err)


def test_a_sex_that_is_missing_is_asked_for_where_it_goes(tarn: Path, tmp_path: Path) -> None:
    copy = tmp_path / "flock"
    shutil.copytree(tarn, copy)
    edit_rows(
        copy / "birds.csv",
        lambda rows: [row.update(Sex="") for row in rows if row["Band"] == "CO26-001"],
    )
    lines = (copy / "birds.csv").read_text(encoding="utf-8").splitlines()
    row = next(at for at, line in enumerate(lines, start=1) if line.startswith("CO26-001,"))
    ran = run_here("why", "CO26-001", "H25-001", "--in", copy)
    assert ran.code == 2
    assert f"write it in birds.csv, row {row}, column Sex" in words(ran.err)


def test_without_a_plan_the_verdict_is_given_and_the_rest_is_not(tmp_path: Path) -> None:
    folder = example("tarn-croft", tmp_path / "flock")
    wishes = (folder / "wishes.csv").read_text(encoding="utf-8")
    (folder / "wishes.csv").write_text(
        f"{wishes}H24-002,H24-006,together,\nH24-002,H26-008,together,\n", encoding="utf-8"
    )
    ran = run_here("why", "CO26-001", "H25-001", "--in", folder, "--json")
    assert ran.code == 0
    assert ran.document["if_forced"] is None
    assert ran.document["rules"]
    assert "No plan satisfies your rules at present" in ran.err
    assert run_here("why", "--plan", "--in", folder).code == 4


def test_a_bird_that_has_long_left_is_answered_too(tarn: Path, tmp_path: Path) -> None:
    copy = tmp_path / "flock"
    shutil.copytree(tarn, copy)
    edit_rows(copy / "birds.csv", lambda rows: _dies(rows, "H26-007"))
    ran = run_here("why", "H24-003", "H26-007", "--in", copy)
    assert ran.code == 0
    assert "H26-007 is dead" in words(ran.out)


def _dies(rows: Cells, band: str) -> None:
    (row,) = (one for one in rows if band in (one[name] for name in list(one)[:2]))
    row[next(name for name in row if name.casefold() == "status")] = "dead"


def test_prices_of_all_pairs(scarce: Path, tmp_path: Path) -> None:
    ranges = run_here("pairs", "--in", scarce, "--prices", "--json").document["pairs"]
    sheet = tmp_path / "pairs.csv"
    ran = run_here("pairs", "--in", scarce, "--prices", "--exact", "--json", "--csv", sheet)
    exact = ran.document["pairs"]
    priced = 0
    for rough, fine in zip(ranges, exact, strict=True):
        if not fine["allowed"]:
            assert fine["costs_at_most"] is None
            continue
        priced += 1
        assert fine["costs_at_least"] == fine["costs_at_most"]
        assert rough["costs_at_least"] <= fine["costs_at_least"] + 1e-6
        if rough["costs_at_most"] is not None:
            assert rough["costs_at_most"] >= fine["costs_at_most"] - 1e-6
    assert priced > 20
    assert "costs_at_least" in sheet.read_text(encoding="utf-8").splitlines()[0]


def test_prices_are_shown_beside_each_pair(tarn: Path) -> None:
    ran = run_here("pairs", "--in", tarn, "--prices")
    assert "Would cost" in ran.out
    assert "falls short of the best of all" in words(ran.out)
    assert run_here("pairs", "--in", tarn, "--exact").code == 2


def test_a_limit_on_the_kinship_of_the_parents_leaves_prices_out_in_words(tmp_path: Path) -> None:
    folder = example("tarn-croft", tmp_path / "flock")
    text = (folder / "matchmaker.toml").read_text(encoding="utf-8")
    assert "[limits]" in text
    edit_text(folder / "matchmaker.toml", "[limits]\n", "[limits]\nkinship_price = 1.0\n")
    ran = run_here("pairs", "--in", folder, "--prices")
    assert ran.code == 0
    assert "a limit or a price" in words(ran.err)
