"""Merit and response in an example flock, as its keeper sees them."""

from __future__ import annotations

import csv
import re
from typing import TYPE_CHECKING, Any

import pytest

from tests.cli.run import example, run_here

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.run import Ran

COMB = '[traits.comb]\ndirection = "up"\nweight = 0.1\n'
EGGS = '[traits.eggs_12wk]\ndirection = "up"\nweight = 0.3\n'


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return example("holm-fen", tmp_path_factory.mktemp("traits") / "flock")


@pytest.fixture(scope="module")
def flock(folder: Path) -> dict[str, Any]:
    return run_here("flock", "--in", folder, "--json").document


@pytest.fixture(scope="module")
def planned(folder: Path) -> dict[str, Any]:
    return run_here("plan", "--in", folder, "--json").document


def plain(ran: Ran) -> str:
    return re.sub(r"\s+", " ", ran.out)


def changed(path: Path, old: str, new: str) -> dict[str, Any]:
    """Plan the flock with one change to its settings."""
    folder = example("holm-fen", path / "flock")
    settings = folder / "matchmaker.toml"
    text = settings.read_text(encoding="utf-8")
    assert old in text
    settings.write_text(text.replace(old, new), encoding="utf-8")
    return run_here("plan", "--in", folder, "--json").document


def of_trait(document: dict[str, Any], key: str, trait: str) -> dict[str, Any]:
    return next(entry for entry in document[key] if entry["trait"] == trait)


def pairs(document: dict[str, Any]) -> set[tuple[str, str]]:
    return {(hen["hen"], pen["cock"]) for pen in document["pens"] for hen in pen["hens"]}


def test_the_pullet_with_most_eggs_is_a_first_cross_and_not_the_best(
    folder: Path, flock: dict[str, Any]
) -> None:
    (found,) = of_trait(flock, "traits", "eggs_12wk")["looks_best"]
    share = {bird["bird"]: bird["recurrent_share"] for bird in flock["birds"]}
    predicted = {bird["bird"]: bird["traits"]["eggs_12wk"] for bird in flock["birds"]}
    assert share[found["bird"]] == 0.5
    assert found["rank"] > 1
    assert predicted[found["best"]] > predicted[found["bird"]]
    assert found["breed"] + found["vigour"] > found["genes"]
    text = plain(run_here("flock", "--in", folder))
    assert found["sentence"] in text
    assert f"{found['bird']} has the highest eggs_12wk score" in text


def test_cocks_and_hens_are_not_ranked_together(folder: Path, flock: dict[str, Any]) -> None:
    """Body weight is scored on both; each is held against the mean of its own sex."""
    found = of_trait(flock, "traits", "weight_20wk")["looks_best"]
    assert [one["sex"] for one in found] == ["cock", "hen"]
    with (folder / "birds.csv").open(encoding="utf-8") as stream:
        sexes = {row["bird"]: row["sex"] for row in csv.DictReader(stream)}
    with (folder / "scores.csv").open(encoding="utf-8") as stream:
        scores = [(row["bird"], row["weight_20wk"]) for row in csv.DictReader(stream)]
    for one in found:
        own = [float(weight) for band, weight in scores if weight and sexes[band] == one["sex"]]
        assert one["raw"] == max(
            float(weight)
            for band, weight in scores
            if weight and band in {b["bird"] for b in flock["birds"] if b["sex"] == one["sex"]}
        )
        assert one["mean"] == pytest.approx(sum(own) / len(own))
        assert f"score of the {one['sex']}s" in one["sentence"]


def test_merit_stands_with_its_reliability(flock: dict[str, Any]) -> None:
    assert all(0 < bird["reliability"] < 1 for bird in flock["birds"])
    cocks = [bird for bird in flock["birds"] if bird["sex"] == "cock"]
    assert any(bird["traits"]["eggs_12wk"] != 0 for bird in cocks)


def test_one_bird_says_whose_scores_speak(folder: Path) -> None:
    (one,) = run_here("flock", "S24-004", "--in", folder, "--json").document["birds"]
    origins = one["trait_origins"]["eggs_12wk"]
    assert origins["own"]["scores"] == 0
    parts = [origins[key]["value"] for key in ("own", "parents", "sibs", "progeny", "others")]
    assert sum(parts) == pytest.approx(one["trait_details"]["eggs_12wk"]["prediction"])


def test_the_plan_shows_every_trait(folder: Path, planned: dict[str, Any]) -> None:
    text = run_here("plan", "--in", folder).out
    table = text.partition("Expected of the chicks\n")[2]
    shown = [line.split()[0] for line in table.splitlines()[2 : 2 + len(planned["response"])]]
    assert shown == [entry["trait"] for entry in planned["response"]]
    losers = [entry for entry in planned["response"] if entry["loses"]]
    joined = re.sub(r"\s+", " ", text)
    assert all(entry["sentence"] in joined for entry in losers)
    assert max(map(len, table.splitlines())) <= 80


def test_without_its_weight_a_trait_gains_less(planned: dict[str, Any], tmp_path: Path) -> None:
    without = changed(tmp_path, COMB, COMB.replace("0.1", "0"))
    assert pairs(without) != pairs(planned)
    before, after = (of_trait(one, "response", "comb") for one in (planned, without))
    assert after["weight"] == 0
    assert after["gain_in_genetic_sds"] < before["gain_in_genetic_sds"]


def test_an_optimum_in_place_of_a_direction_holds_the_trait(
    planned: dict[str, Any], tmp_path: Path
) -> None:
    best = changed(tmp_path, EGGS, "[traits.eggs_12wk]\noptimum = 46\nweight = 0.3\n")
    before, after = (of_trait(one, "response", "eggs_12wk") for one in (planned, best))
    assert pairs(best) != pairs(planned)
    assert (after["direction"], after["optimum"]) == (None, 46)
    assert after["level"] < before["level"]
    assert abs(after["level"] - 46) < abs(before["level"] - 46)
    assert after["gain_in_genetic_sds"] > 0
    off = abs(after["level"] - 46) - abs(after["level"] - after["change"] - 46)
    assert after["distance_change"] == pytest.approx(off)
