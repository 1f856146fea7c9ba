"""The traits on the screens of the flock and of one bird, and in their documents."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.genetics.emphasis import emphasis
from matchmaker.genetics.traits.adjusted import Adjusted
from matchmaker.genetics.traits.odd import OddScore
from matchmaker.genetics.traits.origin import Source
from matchmaker.genetics.traits.scores import Told
from matchmaker.plan.season.season_plan import plan_season
from matchmaker.report.bird_traits import origins_of
from matchmaker.report.documents import plan_document
from matchmaker.report.flock_document import flock_document
from matchmaker.report.looks_best import looks_best, looks_best_sentence
from matchmaker.report.odd_scores import odd_sentences
from matchmaker.report.pens import print_plan
from tests.scored_flocks import FOUNDERS, PULLETS, TRAITS, scored, scores
from tests.screens import plain, shown

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.pairs.table import PairTable


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return scored(tmp_path_factory.mktemp("traits"))


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


LONG_NAMES = {"eggs": "Eggs in 12 weeks", "size": "Weight of one egg", "temper": "Type (1-5)"}


def long_names(path: Path) -> PairTable:
    """The flock with names as keepers write them."""
    settings = TRAITS
    for short, name in LONG_NAMES.items():
        settings = settings.replace(f"[traits.{short}]", f'[traits."{name}"]')
    told = [{LONG_NAMES.get(key, key): cell for key, cell in row.items()} for row in scores()]
    return scored(path, settings, told=told)


@pytest.fixture(scope="module")
def slipped(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    """Somebody wrote 530 for 53 eggs of H1."""
    told = [{**row, "eggs": "530"} if row["bird"] == "H1" else row for row in scores()]
    return scored(tmp_path_factory.mktemp("odd"), told=told)


class TestOddScores:
    def test_the_flock_and_its_bird_say_it(self, slipped: PairTable) -> None:
        row = 2 + [one["bird"] for one in scores()].index("H1")
        text = plain(shown(slipped)).partition("What is doubtful")[2]
        assert f"odd score: H1 (row {row}): eggs 530, where" in text
        own = plain(shown(slipped, "H1"))
        assert f"Odd score (row {row} of scores.csv): eggs 530, where" in own
        (one,) = flock_document(slipped)["odd_scores"]
        assert f"; counted as {one['counted_as']:.0f}." in own
        assert "Odd score" not in shown(slipped, "H0")

    def test_the_plan_says_it_before_anything_is_trusted(self, slipped: PairTable) -> None:
        stream = io.StringIO()
        print_plan(Console(file=stream, width=80, highlight=False), plan_season(slipped))
        text = plain(stream.getvalue())
        assert "look at scores.csv before you trust the merits: H1 (row " in text
        assert text.index("Expected of the chicks") < text.index("Odd scores") < text.index("gap")

    def test_documents_hold_it(self, slipped: PairTable) -> None:
        (one,) = flock_document(slipped)["odd_scores"]
        assert (one["bird"], one["trait"], one["value"]) == ("H1", "eggs", 530)
        assert (one["file"], one["column"]) == ("scores.csv", "eggs")
        assert one["counted_as"] == one["guess"] == 53
        assert plan_document(plan_season(slipped))["odd_scores"] == [one]
        assert flock_document(slipped, "H1")["odd_scores"] == [one]
        assert flock_document(slipped, "H0")["odd_scores"] == []

    def test_a_sound_flock_has_none(self, table: PairTable) -> None:
        assert flock_document(table)["odd_scores"] == []
        assert "odd score" not in shown(table)

    def test_many_are_counted(self, table: PairTable, monkeypatch: pytest.MonkeyPatch) -> None:
        odd = OddScore(
            band="H0",
            trait="eggs",
            record=0,
            row=2,
            raw=5,
            expected=50,
            sd=4,
            limit=4.5,
            guess=None,
        )
        found = tuple(replace(odd, row=row) for row in range(2, 11))
        monkeypatch.setattr("matchmaker.report.odd_scores.odd_scores", lambda _: found)
        *first, last = odd_sentences(table.study)
        assert [int(said.split("row ")[1].split(")")[0]) for said in first] == list(range(2, 8))
        assert last == "and 3 more: matchmaker check names them"


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

    def test_the_legend_explains_the_words_that_occur(
        self, table: PairTable, tmp_path: Path
    ) -> None:
        said = plain(shown(table)).partition(" Traits ")[2]
        assert "(own: your figure)" in said
        settings = TRAITS.replace("h2 = 0.3\n", "").replace("h2 = 0.5\n", "")
        mixed = plain(shown(scored(tmp_path, settings))).partition(" Traits ")[2]
        published = "publ.: published for other flocks"
        assert f"(own: your figure; {published}; usual: rule of thumb)" in mixed
        assert not re.search("publ|usual|est.:", said.partition("Herit.: ")[2].partition(")")[0])

    def test_vigour_with_breed_is_explained_where_it_occurs(
        self, table: PairTable, tmp_path: Path
    ) -> None:
        for one in (table, with_vigour(tmp_path)):
            said = plain(shown(one))
            confounded = any(t.told is Told.CONFOUNDED for t in one.study.forecast.traits)
            assert (" with breed " in said) == ("(with breed:" in said) == confounded

    def test_little_against_the_merit_is_nothing(
        self, table: PairTable, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (first, *others) = emphasis(table.study)
        for share, cell, said in ((-0.019, "0 %", False), (-0.03, "−3 %", True)):
            found = (replace(first, share=share), *others)
            monkeypatch.setattr("matchmaker.report.traits.emphasis", lambda _, found=found: found)
            text = shown(table).partition("\nTraits\n")[2]
            assert text.splitlines()[2].endswith(cell)
            assert ("below 0 it runs against the rest" in plain(text)) == (
                said or any(one.share < -0.02 for one in others)
            )

    def test_long_names_leave_the_table_a_table(self, tmp_path: Path) -> None:
        table = long_names(tmp_path)
        text = shown(table).partition("\nTraits\n")[2]
        assert text.splitlines()[0].split()[:3] == ["Trait", "Aim", "Counts"]
        assert "Trait: " not in text

    @pytest.mark.parametrize("width", [60, 80, 120])
    def test_no_line_is_wider_than_the_screen(self, table: PairTable, width: int) -> None:
        assert max(map(len, shown(table, width=width).splitlines())) <= width


class TestBird:
    def test_merit_is_the_sum_of_its_terms(self, table: PairTable) -> None:
        said = plain(shown(table, "H1")).partition("Merit: ")[2].partition(";")[0]
        whole, _, terms = said.partition(" by ")
        parts = {one.split()[0]: number(one.split()[1]) for one in terms.split(", ")}
        assert set(parts) == {"eggs", "size"}  # temper is ignored
        assert sum(parts.values()) == pytest.approx(number(whole), abs=0.011)
        (entry,) = flock_document(table, "H1")["birds"]
        exact = [one["part_of_merit"] for one in entry["trait_details"].values()]
        assert sum(exact) == pytest.approx(entry["merit"], abs=1e-12)

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
        assert found.parts[Source.OWN].scores == 0
        assert found.parts[Source.PROGENY].scores > 0
        assert found.parts[Source.PROGENY].value != 0

    def test_own_scores_stand_in_parts(self, table: PairTable) -> None:
        text = shown(table, "H0").partition("\nScored ")[2]
        (row,) = [line for line in text.splitlines() if line.startswith("eggs")]
        laid = next(r["eggs"] for r in scores() if r["bird"] == "H0")
        assert row.split()[1:3] == [laid, "eggs"]

    def test_several_scores_have_their_number(self, table: PairTable, tmp_path: Path) -> None:
        assert " n " not in shown(table, "H0").partition("\nScored ")[2].splitlines()[0]
        told = [*scores(), {"bird": "H0", "eggs": "70"}]
        text = "Scored " + shown(scored(tmp_path, told=told), "H0").partition("\nScored ")[2]
        heading, _, *rows = text.splitlines()
        assert heading.split()[:3] == ["Scored", "n", "Score"]
        counts = {row.split()[0]: row.split()[1] for row in rows[:3]}
        assert counts == {"eggs": "2", "size": "1", "temper": "1"}

    def test_the_average_and_the_optimum_are_named(self, table: PairTable) -> None:
        text, trait = plain(shown(table, "H0")), eggs(table)
        assert f"an average pure bird (eggs {trait.pure_level:.1f} eggs, size " in text
        assert "For size, nearer to 58 g counts as better." in text
        assert "in a pure hen." in text

    def test_long_names_leave_both_tables_tables(self, tmp_path: Path) -> None:
        text = shown(long_names(tmp_path), "H0")
        table = text.partition("\nTrait ")[2]
        assert table.splitlines()[0].split()[-2:] == ["Offspring", "Others"]
        assert re.search(r"^Eggs in +\d.*\n.*weeks|^Eggs in 12 weeks ", table, re.M)
        assert max(map(len, text.splitlines())) <= 80

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
