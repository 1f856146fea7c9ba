"""The traits on the screens of the flock and of one bird, and in their documents."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.genetics.traits.adjusted import Adjusted
from matchmaker.report.bird import print_bird
from matchmaker.report.bird_traits import origins_of
from matchmaker.report.flock import print_flock
from matchmaker.report.flock_document import flock_document
from matchmaker.report.traits import looks_best, looks_best_sentence
from tests.scored_flocks import FOUNDERS, PULLETS, TRAITS, scored, scores

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.pairs.table import PairTable


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return scored(tmp_path_factory.mktemp("traits"))


def shown(table: PairTable, band: str | None = None, width: int = 80) -> str:
    stream = io.StringIO()
    console = Console(file=stream, width=width, highlight=False, markup=False, emoji=False)
    if band is None:
        print_flock(console, table)
    else:
        print_bird(console, table, band)
    return stream.getvalue()


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def number(text: str) -> float:
    return float(text.replace("−", "-"))


def eggs(table: PairTable) -> TraitForecast:
    return table.study.forecast.trait("eggs")


class TestAdjusted:
    @pytest.mark.parametrize("trait", ["eggs", "size", "temper"])
    def test_parts_sum_up_to_the_score(self, table: PairTable, trait: str) -> None:
        forecast = table.study.forecast
        found = Adjusted.of_all(forecast, forecast.trait(trait))
        raw = {row["bird"]: float(row[trait]) for row in scores() if trait in row}
        assert {forecast.birds[at]: one.raw for at, one in found.items()} == raw
        for one in found.values():
            parts = one.hatch + one.breed + one.vigour + one.inbreeding + one.genes + one.rest
            assert parts == pytest.approx(one.raw - one.mean)

    def test_scores_of_one_bird_are_taken_together(self, tmp_path: Path) -> None:
        told = [*scores(), {"bird": "H0", "eggs": "70"}]
        forecast = scored(tmp_path, told=told).study.forecast
        first = next(float(row["eggs"]) for row in scores() if row["bird"] == "H0")
        one = Adjusted.of_all(forecast, forecast.trait("eggs"))[forecast.position("H0")]
        assert one.scores == 2
        assert one.raw == pytest.approx((first + 70) / 2)

    def test_too_few_scores_are_not_taken_apart(self, tmp_path: Path) -> None:
        forecast = scored(tmp_path, told=[{"bird": "H0", "eggs": "70"}]).study.forecast
        assert Adjusted.of_all(forecast, forecast.trait("eggs")) == {}


def with_vigour(path: Path) -> PairTable:
    """First crosses lay 15 more; the best of them by 3 more than any pure hen, no more by genes."""
    told = []
    for at, row in enumerate((*FOUNDERS, *PULLETS)):
        if row["sex"] != "hen":
            continue
        laid = 50 + (at * 7) % 11 + (15 if row["bird"].startswith("B") else 0)
        laid += 12 if row["bird"] == "H2" else 0
        told.append({"bird": row["bird"], "eggs": str(laid)})
    return scored(path, told=told)


class TestLooksBest:
    def test_a_first_cross_does_not_lead_by_its_vigour(self, tmp_path: Path) -> None:
        table = with_vigour(tmp_path)
        forecast, trait = table.study.forecast, eggs(table)
        (found,) = looks_best(table.study, trait)
        assert found.sex is None
        assert found.band.startswith("B")
        assert found.best == "H2"
        assert trait.values[forecast.position("H2")] == found.best_value
        assert found.best_value > trait.values[forecast.position(found.band)]
        better = [
            bird.band
            for bird in table.study.flock.living
            if bird.sex == "hen"
            and trait.values[forecast.position(bird.band)]
            > trait.values[forecast.position(found.band)]
        ]
        assert found.rank == len(better) + 1

    def test_the_sentence_sums_up_as_printed(self, tmp_path: Path) -> None:
        table = with_vigour(tmp_path)
        (found,) = looks_best(table.study, eggs(table))
        sentence = looks_best_sentence(eggs(table), found)
        away = re.search(r"Of the (\d+\.\d) above the mean", sentence)
        parts = re.findall(r"(0|[+−]\d+\.\d) from ", sentence)
        assert away is not None
        assert sum(map(number, parts)) == pytest.approx(float(away[1]), abs=1e-9)
        assert len(parts) >= 3
        assert sentence in plain(shown(table))

    def test_nobody_is_named_where_the_best_is_the_best(self, tmp_path: Path) -> None:
        told = [{"bird": r["bird"], "eggs": "50"} for r in FOUNDERS if r["sex"] == "hen"]
        told = [{**row, "eggs": "70"} if row["bird"] == "H1" else row for row in told]
        table = scored(tmp_path, told=told)
        assert not list(looks_best(table.study, eggs(table)))

    def test_an_optimum_has_no_best_score(self, table: PairTable) -> None:
        assert not list(looks_best(table.study, table.study.forecast.trait("size")))


class TestFlock:
    def test_every_trait_has_its_row(self, table: PairTable) -> None:
        text = shown(table).partition("\nTraits\n")[2]
        rows = {line.split()[0]: line.split() for line in text.splitlines()[2:5]}
        assert rows["eggs"][1:6] == ["up", "0.30", "0.30", "own", "23"]
        assert rows["size"][1:3] == ["58", "0.20"]
        assert rows["temper"][1:3] == ["up", "0.00"]
        assert re.search(r"\d+ % +[−\d]+ %$", next(t for t in text.splitlines() if "eggs " in t))

    def test_where_a_heritability_comes_from(self, tmp_path: Path) -> None:
        settings = TRAITS.replace("h2 = 0.3\n", "").replace("h2 = 0.2\n", "")
        settings = settings.replace("[traits.temper]\n", '[traits.temper]\nlike = "temperament"\n')
        text = shown(scored(tmp_path, settings)).partition("\nTraits\n")[2]
        rows = {line.split()[0]: line.split()[4] for line in text.splitlines()[2:5]}
        assert rows == {"eggs": "publ.", "size": "own", "temper": "publ."}

    def test_too_few_scores_are_said(self, tmp_path: Path) -> None:
        text = plain(shown(scored(tmp_path, told=[{"bird": "H0", "eggs": "50"}])))
        assert "Too few birds are scored to tell anything yet of eggs." in text

    @pytest.mark.parametrize("width", [60, 80, 120])
    def test_no_line_is_wider_than_the_screen(self, table: PairTable, width: int) -> None:
        assert max(map(len, shown(table, width=width).splitlines())) <= width


class TestBird:
    @pytest.mark.parametrize("band", ["H0", "S1", "Q2", "B0"])
    def test_origins_sum_to_the_prediction_as_printed(self, table: PairTable, band: str) -> None:
        (row,) = re.findall(r"^eggs +.* %(.*)$", shown(table, band), re.M)
        genes, *parts = map(number, row.split())
        assert sum(parts) == pytest.approx(genes, abs=0.051 * len(parts))
        trait = eggs(table)
        at = table.study.forecast.position(band)
        assert origins_of(table.study, band)["eggs"].total == pytest.approx(trait.values[at])

    def test_what_correlated_traits_add_is_said(self, tmp_path: Path) -> None:
        tied = '[[correlations]]\ntraits = ["eggs", "size"]\ngenetic = -0.7\n'
        table = scored(tmp_path, TRAITS + tied)
        added = origins_of(table.study, "H0")["eggs"].other_traits
        (said,) = re.findall(r"correlated traits: eggs ([+−]\d+\.\d)", plain(shown(table, "H0")))
        assert number(said) == pytest.approx(added, abs=0.05)
        (row,) = re.findall(r"^eggs +.* %(.*)$", shown(table, "H0"), re.M)
        genes, *parts = map(number, row.split())
        assert sum(parts) == pytest.approx(genes, abs=0.3)

    def test_a_cocks_prediction_of_eggs_is_never_his_own(self, table: PairTable) -> None:
        found = origins_of(table.study, "S0")["eggs"]
        assert found.own.scores == 0
        assert found.progeny.scores > 0
        assert found.progeny.value != 0

    def test_own_scores_stand_in_parts(self, table: PairTable) -> None:
        text = shown(table, "H0").partition("\nScored ")[2]
        (row,) = [line for line in text.splitlines() if line.startswith("eggs")]
        laid = next(r["eggs"] for r in scores() if r["bird"] == "H0")
        assert row.split()[1:3] == [laid, "eggs"]

    def test_a_bird_without_scores_has_no_such_table(self, tmp_path: Path) -> None:
        told = [row for row in scores() if row["bird"] != "S0"]
        assert "\nScored " not in shown(scored(tmp_path, told=told), "S0")

    @pytest.mark.parametrize("band", ["H0", "S1", "Q2"])
    @pytest.mark.parametrize("width", [60, 80, 120])
    def test_no_line_is_wider_than_the_screen(
        self, table: PairTable, band: str, width: int
    ) -> None:
        assert max(map(len, shown(table, band, width).splitlines())) <= width


class TestDocuments:
    def test_birds_keep_their_keys_and_gain_details(self, table: PairTable) -> None:
        study = table.study
        for entry in flock_document(table)["birds"]:
            at = study.forecast.position(entry["bird"])
            for trait in study.forecast.traits:
                name = trait.aim.trait
                details = entry["trait_details"][name]
                assert details["prediction"] == trait.values[at]
                assert entry["traits"][name] * trait.genetic_sd == pytest.approx(trait.values[at])
            assert entry["merit"] == study.merit(entry["bird"])
            assert 0 <= entry["reliability"] < 1

    def test_traits_of_the_flock(self, table: PairTable) -> None:
        entries = {entry["trait"]: entry for entry in flock_document(table)["traits"]}
        assert sum(entry["share_of_merit"] for entry in entries.values()) == pytest.approx(1)
        assert entries["size"]["heritability"] == 0.5
        assert entries["size"]["heritability_source"] == "settings"
        assert entries["eggs"]["birds_scored"] == 23

    def test_one_bird_has_its_origins(self, table: PairTable) -> None:
        (one,) = flock_document(table, "Q1")["birds"]
        for name, of in one["trait_origins"].items():
            parts = [part["value"] for key, part in of.items() if key != "other_traits"]
            found = one["trait_details"][name]["prediction"]
            assert sum(parts) + of["other_traits"] == pytest.approx(found)
