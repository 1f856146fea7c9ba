"""The keys that other programs rely on, and the same answers from the library."""

from __future__ import annotations

import csv
import hashlib
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import __version__, verbs
from tests.cli.run import example, run_here

if TYPE_CHECKING:
    from pathlib import Path

HEAD = {"schema", "version", "inputs", "defaults"}
KEYS = {
    "check": {"faults", "doubts", "crossings"},
    "flock": {"birds", "traits", "odd_scores"},
    "pairs": {"pairs"},
    "plan": {
        *("outcome", "value", "best_value", "bound", "gap", "solver", "solver_version"),
        *("seconds", "pens", "unused", "spares", "lines", "flock", "changes", "conflict"),
        *("response", "odd_scores"),
    },
}
ENTRIES = {
    ("check", "crossings"): {"row", "hens", "cocks", "chicks", "purpose", "sentence"},
    ("check", "doubts"): {"kind", "file", "row", "column", "value", "problem", "mend"},
    ("flock", "birds"): {
        *("bird", "sex", "line", "status", "inbreeding", "mean_kinship", "recurrent_share"),
        *("genotypes", "merit", "reliability", "traits", "trait_details"),
    },
    ("flock", "traits"): {
        *("trait", "unit", "direction", "optimum", "floor", "weight", "heritability"),
        *("heritability_source", "heritability_interval", "repeatability", "birds_scored"),
        "heritability_published_in",
        *("genetic_sd", "pure_level", "told", "share_slope", "share_slope_error", "vigour"),
        *("vigour_error", "depression", "mean_reliability", "share_of_merit", "looks_best"),
        *("response_per_merit_sd", "direct_response", "correlated_response"),
    },
    ("pairs", "pairs"): {
        *("hen", "cock", "row", "purpose", "line", "allowed", "rules", "kinship"),
        *("recurrent_share", "wanted_chance", "wanted_by_sex", "merit", "chicks", "worth"),
        *("value", "gains"),
    },
    ("plan", "response"): {
        *("trait", "unit", "direction", "optimum", "weight", "level", "change", "change_error"),
        *("by_genes", "by_breed_and_vigour", "by_inbreeding", "genetic_sd", "loses", "sentence"),
        *("change_in_genetic_sds", "gain_in_genetic_sds", "distance_change"),
    },
    ("plan", "pens"): {"pen", "line", "cock", "hens"},
    ("plan", "unused"): {"bird", "why"},
    ("plan", "spares"): {"line", "cock"},
    ("plan", "lines"): {
        *("line", "importance", "chicks_wanted", "cocks", "hens", "worth", "counted"),
        *("wanted", "mean_kinship"),
    },
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return example("holm-fen", tmp_path_factory.mktemp("keys") / "flock")


@pytest.fixture(scope="module")
def documents(folder: Path) -> dict[str, dict[str, Any]]:
    return {command: run_here(command, "--in", folder, "--json").document for command in KEYS}


@pytest.mark.parametrize("command", KEYS)
def test_documents_have_their_keys(documents: dict[str, dict[str, Any]], command: str) -> None:
    assert documents[command].keys() >= HEAD | KEYS[command]
    assert documents[command]["schema"] == f"matchmaker/{command}/1"
    assert documents[command]["version"] == __version__


@pytest.mark.parametrize(("command", "key"), ENTRIES)
def test_entries_have_their_keys(
    documents: dict[str, dict[str, Any]], command: str, key: str
) -> None:
    entries = documents[command][key]
    assert entries
    assert all(entry.keys() >= ENTRIES[command, key] for entry in entries)


def test_hens_and_rules_have_their_keys(documents: dict[str, dict[str, Any]]) -> None:
    hens = [one for pen in documents["plan"]["pens"] for one in pen["hens"]]
    terms = {"hen", "row", "line", "kinship", "wanted_chance", "recurrent_share", "merit"}
    assert hens
    assert all(one.keys() >= {*terms, "chicks", "value"} for one in hens)
    rules = [rule for pair in documents["pairs"]["pairs"] for rule in pair["rules"]]
    assert rules
    assert all(rule.keys() >= {"rule", "measured", "limit", "detail"} for rule in rules)
    assert documents["plan"]["flock"].keys() >= {
        "mean_inbreeding",
        "group_kinship",
        "effective_size",
    }


def test_the_inputs_are_named_with_their_fingerprints(
    folder: Path, documents: dict[str, dict[str, Any]]
) -> None:
    inputs = documents["plan"]["inputs"]
    assert {"matchmaker.toml", "birds.csv", "pens.csv", "scores.csv"} <= inputs.keys()
    for name, fingerprint in inputs.items():
        assert fingerprint == hashlib.sha256((folder / name).read_bytes()).hexdigest()


def test_value_is_empty_where_no_row_opens_the_pair(documents: dict[str, dict[str, Any]]) -> None:
    closed = [pair for pair in documents["pairs"]["pairs"] if pair["row"] is None]
    assert closed
    assert all(pair["value"] is None and not pair["allowed"] for pair in closed)
    rejected = [p for p in documents["pairs"]["pairs"] if p["row"] and not p["allowed"]]
    assert all(pair["value"] is not None and pair["rules"] for pair in rejected)


def test_probabilities_of_genotypes_sum_to_one(documents: dict[str, dict[str, Any]]) -> None:
    for one in documents["flock"]["birds"]:
        for chances in one["genotypes"].values():
            assert sum(chances.values()) == pytest.approx(1)


def test_the_plan_is_proved(documents: dict[str, dict[str, Any]]) -> None:
    plan = documents["plan"]
    assert (plan["outcome"], plan["gap"], plan["conflict"]) == ("optimal", 0, None)
    assert plan["bound"] == pytest.approx(plan["best_value"])
    assert plan["value"] <= plan["best_value"] + 1e-9


def test_the_verbs_of_the_library_give_the_same(
    folder: Path, documents: dict[str, dict[str, Any]]
) -> None:
    plan = verbs.plan(folder)
    assert plan.solution.value == documents["plan"]["value"]
    assert [(pen.pen, pen.cock) for pen in plan.pens] == [
        (pen["pen"], pen["cock"]) for pen in documents["plan"]["pens"]
    ]
    assert len(plan.table.pairs) == len(documents["pairs"]["pairs"])
    assert verbs.check(folder).faults == ()


def test_the_kinship_file_is_the_matrix_of_all_living_birds(
    folder: Path, documents: dict[str, dict[str, Any]], tmp_path: Path
) -> None:
    file = tmp_path / "kinship.csv"
    assert run_here("flock", "--in", folder, "--kinship", file).code == 0
    with file.open(encoding="utf-8", newline="") as stream:
        header, *rows = list(csv.reader(stream))
    living = [one["bird"] for one in documents["flock"]["birds"]]
    assert header[1:] == [row[0] for row in rows]
    assert set(header[1:]) == set(living)
    kinship = verbs.flock(folder).kinship
    for row in rows:
        for other, cell in zip(header[1:], row[1:], strict=True):
            assert float(cell) == kinship.between(row[0], other)


def test_one_bird_is_shown_alone(folder: Path) -> None:
    (one,) = run_here("flock", "C26-001", "--in", folder, "--json").document["birds"]
    assert one["bird"] == "C26-001"
    assert run_here("flock", "C26-001", "--in", folder).out.startswith("C26-001: hen of line Cedar")
