"""What ``ahead`` says: the screen, each sentence, the document and its rows."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.ahead.figures import FLOCK_KINDS, LINE_KINDS, of_flock
from matchmaker.ahead.paired import chance
from matchmaker.report.ahead import print_ahead
from matchmaker.report.ahead_compare import against, caution_text, mean_interval, verdict_text
from matchmaker.report.ahead_document import HEADER, ahead_document, ahead_sheet
from matchmaker.report.ahead_risks import brought_by_share, dying_text, risk_texts
from matchmaker.report.ahead_words import (
    bound_text,
    chance_cell,
    chance_number,
    count_cell,
    gist_text,
    inbreeding_cell,
    mean_cell,
    share_cell,
    spread,
)
from matchmaker.report.documents import as_json
from matchmaker.tables.write import csv_text
from tests.cli.run import EXAMPLES_FOLDER
from tests.outlooks import LINES, OTHERS, TRAITS, ahead, changed
from tests.screens import plain

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.ahead.outlook import Ahead
    from matchmaker.pairs.table import PairTable


@pytest.fixture(scope="module")
def table() -> PairTable:
    return verbs.pairs(EXAMPLES_FOLDER / "holm-fen")


@pytest.fixture(scope="module")
def compared() -> Ahead:
    return ahead(*OTHERS)


def shown(found: Ahead, table: PairTable, width: int = 80) -> str:
    stream = io.StringIO()
    print_ahead(Console(file=stream, width=width, highlight=False, markup=False), found, table)
    return stream.getvalue()


def heads(text: str) -> list[list[str]]:
    return [line.split() for line in text.splitlines()]


def times(number: int, of: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.array([1.0] * number + [0.0] * (of - number))


class TestNumbers:
    @pytest.mark.parametrize(
        ("number", "of", "said"),
        [
            (0, 200, "under 2"),
            (0, 40, "under 9"),
            (0, 100_000, "under 0.004"),
            (200, 200, "over 98"),
            (100_000, 100_000, "over 99.996"),
            (1, 1000, "under 0.6"),
            (999, 1000, "over 99.4"),
            (114, 200, "57"),
            (0, 0, "–"),
        ],
    )
    def test_a_chance_is_never_0_or_100(self, number: int, of: int, said: str) -> None:
        assert chance_number(chance(times(number, of))) == said

    def test_bounds_hold_what_they_bound(self) -> None:
        for of in (2, 7, 40, 200, 999, 12_345):
            for number in range(min(of, 9)):
                high = 100 * chance(times(number, of)).high
                assert float(bound_text(high / 100)) >= high - 1e-6
                assert float(bound_text(high / 100)) <= max(2 * high, high + 1)

    def test_cells_of_nothing(self) -> None:
        none = spread(np.array([np.nan, np.nan]))
        for cell in (count_cell, share_cell, inbreeding_cell, mean_cell):
            assert cell(none) == "–"
        assert chance_cell(chance(times(0, 0))) == "–"

    def test_the_digits_of_a_mean_follow_its_error(self) -> None:
        near, far = np.array([99.0, 101.0] * 200), np.array([50.0, 151.0] * 20)
        assert mean_cell(spread(near)) == "100.0"
        assert mean_cell(spread(far)) == "100"

    def test_a_whole_share_is_100_though_its_mean_was_rounded(self) -> None:
        whole, nearly = np.array([1 - 1e-16, 1 - 2e-16]), np.array([0.9999, 0.9999])
        assert share_cell(spread(whole)) == "100 (100–100)"
        assert share_cell(spread(nearly)) == "99.9 (99–100)"


class TestScreen:
    def test_it_begins_with_what_was_simulated(self, table: PairTable) -> None:
        text = shown(ahead(), table)
        assert text.startswith(
            "Six seasons ahead, spring 2027 to 2033, played through 40 times (seed 1)\n"
            "A simulation: chances, not promises."
        )
        assert "the whole target: two copies of O and none of P. Live" in plain(text)
        assert (
            "In spring 2033 the chance that a line breeds true is 82 % (68–91 %), that every line "
            "still lives 80 % (65–90 %); the birds of Alder, Birch and Cedar are then 98.8 % "
            "Sussex."
        ) in plain(text)
        assert "Share: of the genome that is Sussex, in the birds of Alder, Birch and Cedar" in (
            plain(text)
        )

    @pytest.mark.parametrize("others", [(), OTHERS])
    def test_it_fits_the_screen_as_tables(
        self, table: PairTable, others: tuple[tuple[str, str, float], ...]
    ) -> None:
        text = shown(ahead(*others), table)
        assert max(map(len, text.splitlines())) <= 80
        assert ["Year", "true,", "%", "live,", "%", "%", "Inbreeding", "raised", "set"] in (
            heads(text)
        )
        assert not re.search(r"(?<![\d.])0 %", text)

    def test_wide_numbers_fit_too(self, table: PairTable) -> None:
        found = ahead(replicates=200)
        flags = np.ones_like(found.plan.tally.whole_cocks)
        flags[:3] = 0
        eggs = np.full_like(found.plan.tally.eggs, 2345.0)
        inbreeding = np.full_like(found.plan.tally.inbreeding, 0.4567)
        text = shown(
            changed(found, whole_cocks=flags, whole_hens=flags, eggs=eggs, inbreeding=inbreeding),
            table,
        )
        assert "98 (96–99)" in text
        assert "2345" in text
        assert max(map(len, text.splitlines())) <= 80
        assert "Year:" not in text

    def test_the_springs_are_what_the_replicates_say(self, table: PairTable) -> None:
        found = ahead()
        row = next(line.split() for line in shown(found, table).splitlines() if line[:4] == "2033")
        last = {name: values[:, -1] for name, values in of_flock(found.plan).items()}
        assert row[1] == f"{100 * last['fixed'].mean():.0f}"
        assert row[3] == f"{100 * last['all_alive'].mean():.0f}"
        assert row[5] == f"{100 * np.median(last['share']):.1f}"
        assert row[7] == f"{last['inbreeding'].mean():.3f}"
        assert row[-2:] == [f"{last[name].mean():.0f}" for name in ("chicks", "eggs")]

    def test_a_pure_line_has_no_carriers_to_tell_of(self, table: PairTable) -> None:
        lines = shown(ahead(), table).splitlines()
        row = next(line.split() for line in lines if line.startswith("Sussex  "))
        assert row[1:3] == ["over", "91"]
        assert row[4:6] == ["–", "–"]
        assert row[-1] == "–"
        alder = next(line.split() for line in lines if line.startswith("Alder  "))
        assert alder[-1] == "2031"

    def test_what_breeds_true_in_few_is_not_there_yet(self, table: PairTable) -> None:
        found = ahead()
        none = np.zeros_like(found.plan.tally.whole_cocks)
        lines = shown(changed(found, whole_cocks=none), table).splitlines()
        assert next(line for line in lines if line.startswith("Alder  ")).endswith("not yet")

    def test_traits_with_their_aims_and_units(self, table: PairTable) -> None:
        rows = heads(shown(ahead(), table))
        assert ["eggs_12wk", "up", "eggs"] in [row[:3] for row in rows]
        row = next(row for row in rows if row[:1] == ["egg_weight"])
        assert row[1:3] == ["58", "g"]
        today, last, change = (float(row[at].replace("+", "")) for at in (3, 4, 5))
        assert abs(today + change - last) < 0.011

    def test_no_trait_no_table(self, table: PairTable) -> None:
        found = ahead()
        bare = replace(found.subject, traits=(), units=())
        levels = found.plan.tally.levels[..., :0]
        found = changed(found, levels=levels)
        plan = replace(found.plan, subject=bare)
        text = shown(replace(found, subject=bare, outlooks=(plan,)), table)
        assert "The traits" not in text
        assert "What to watch" in text

    def test_a_trait_without_an_aim_is_shown_without_one(self, table: PairTable) -> None:
        found = ahead()
        named = replace(found.subject, traits=("shade", *TRAITS[1:]))
        plan = replace(found.plan, subject=named)
        rows = heads(shown(replace(found, subject=named, outlooks=(plan,)), table))
        assert ["shade", "–"] in [row[:2] for row in rows]

    def test_a_flock_that_is_gone_is_told_without_numbers(self, table: PairTable) -> None:
        found, names = ahead(), ("birds", "carriers", "whole", "whole_cocks", "whole_hens")
        tally = found.plan.tally
        gone = {name: np.zeros_like(tally.birds) for name in names}
        blank = {name: np.full_like(tally.share, np.nan) for name in ("share", "inbreeding")}
        levels = np.full_like(tally.levels, np.nan)
        text = plain(shown(changed(found, **gone, **blank, levels=levels), table))
        assert "nan" not in text
        assert "Alder: with a chance of over 91 %" in text
        assert "none was left by spring 2027" in text

    def test_a_line_alone_is_spoken_of_as_one(self) -> None:
        found = ahead()
        tally, alone = found.plan.tally, slice(0, 1)
        subject = replace(
            found.subject, lines=("Alder",), working=(True,), importance=(1.0,), traits=()
        )
        names = ("birds", "carriers", "whole", "whole_cocks", "whole_hens", "share", "inbreeding")
        only = {name: getattr(tally, name)[..., alone] for name in names}
        plan = replace(found.plan, subject=subject, tally=replace(tally, **only))
        text = gist_text(replace(found, subject=subject, outlooks=(plan,)), "Sussex")
        assert "it breeds true" in text
        assert "it still lives" in text
        assert "the birds of Alder are then" in text

    def test_of_a_gene_on_the_z_a_hen_has_one_copy(self) -> None:
        other = verbs.pairs(EXAMPLES_FOLDER / "tarn-croft")
        aimed = replace(ahead().subject, target={"choc": 2})
        plan = replace(ahead().plan, subject=aimed)
        found = replace(ahead(), subject=aimed, outlooks=(plan,))
        assert "the whole target: two copies of choc (a hen: one). Live" in plain(
            shown(found, other)
        )

    def test_harmful_loci_are_named(self) -> None:
        other = verbs.pairs(EXAMPLES_FOLDER / "tarn-croft")
        cautions = [one.caution for one in other.study.loci.values() if one.caution]
        text = plain(shown(ahead(), other))
        assert all(one in text for one in cautions)
        assert "quarantine" in text
        assert "veterinarian" in text


class TestRisks:
    def test_the_line_that_dies_most_comes_first(self) -> None:
        text = dying_text(ahead())
        assert text.startswith(
            "Most at risk of dying out is Birch: with a chance of 20 % (10–35 %)"
        )
        assert "in half of these replicates none was left by spring 2031" in text

    def test_others_are_named_behind_it(self) -> None:
        found = ahead()
        birds = np.array(found.plan.tally.birds)
        birds[:4, 3:, 3] = 0
        assert dying_text(changed(found, birds=birds)).endswith("The others: Sussex 10 %.")

    def test_a_line_without_birds_today_is_gone_and_not_at_risk(self, table: PairTable) -> None:
        found = ahead()
        ones = np.ones_like(found.plan.tally.birds)
        birds = ones.copy()
        birds[:, :, LINES.index("Birch")] = 0
        gone = changed(found, birds=birds, carriers=birds)
        assert next(risk_texts(gone, table)).startswith("Without a living bird today: Birch. ")
        assert dying_text(gone).startswith("No other line died out in any of the 40 replicates")
        assert not any("today: " in one for one in risk_texts(found, table))

    def test_none_that_died_is_not_none_that_can(self) -> None:
        found = ahead()
        ones = np.ones_like(found.plan.tally.birds)
        text = dying_text(changed(found, birds=ones, carriers=ones))
        assert "No line died out in any of the 40 replicates" in text
        assert "under 9 %" in text

    def test_a_gene_that_no_bird_has_is_named_first(self, table: PairTable, tmp_path: Path) -> None:
        assert not any("carries" in one for one in risk_texts(ahead(), table))
        (tmp_path / "matchmaker.toml").write_text(
            'season = 2027\nrecurrent = "sussex"\ntarget = { O = 2, P = 0 }\n', encoding="utf-8"
        )
        (tmp_path / "pens.csv").write_text("pen,hens_max\nBarn,5\n", encoding="utf-8")
        birds = "bird,sex,hatched,line,breed\nA,cock,2025,Alder,sussex\nB,hen,2025,Alder,sussex\n"
        (tmp_path / "birds.csv").write_text(birds, encoding="utf-8")
        first, *others = risk_texts(ahead(), verbs.pairs(tmp_path))
        assert first.startswith("By the tables no bird of the flock carries O: ")
        assert not any("By the tables" in one for one in others)

    def test_inbreeding_over_the_limit_is_told_from_a_tenth_of_the_replicates(
        self, table: PairTable
    ) -> None:
        found = ahead()
        level = np.full_like(found.plan.tally.inbreeding, 0.12)
        level[:3, -1, 0] = 0.126
        level[:4, -1, 1] = 0.126
        texts = "".join(risk_texts(changed(found, inbreeding=level), table))
        assert "the closest pair you allow (0.125): Birch, 10 % (4–23 %)." in texts

    def test_a_line_has_its_own_limit(self, table: PairTable) -> None:
        settings = table.study.flock.settings
        own = settings.line("Alder").model_copy(update={"kinship_max": 0.2})
        lines = {**settings.lines, "Alder": own}
        flock = replace(table.study.flock, settings=settings.model_copy(update={"lines": lines}))
        other = replace(table, study=replace(table.study, flock=flock))
        found = ahead()
        level = np.full_like(found.plan.tally.inbreeding, 0.3)
        texts = "".join(risk_texts(changed(found, inbreeding=level), other))
        assert "(0.200): Alder, over 91 %." in texts
        assert "(0.125): Birch, over 91 %; Cedar, over 91 %; Sussex, over 91 %." in texts

    @pytest.mark.parametrize(("losing", "told"), [(35, 0), (36, 1)])
    def test_a_trait_that_loses_in_nine_of_ten(
        self, table: PairTable, losing: int, told: int
    ) -> None:
        found = ahead()
        levels = np.array(found.plan.tally.levels)
        levels[:, 0] = 50.0
        levels[:, -1] = 51.0
        levels[:losing, -1, :, TRAITS.index("eggs_12wk")] = 47.0
        levels[:, -1, :, TRAITS.index("egg_weight")] = 58.0
        texts = "".join(risk_texts(changed(found, levels=levels), table))
        assert texts.count("eggs_12wk loses ground") == told
        assert texts.count("in 36 of 40 replicates: −2.6 ± 0.2 eggs by spring 2033") == told

    def test_what_the_breed_brings_is_not_put_down_to_a_weight(self, table: PairTable) -> None:
        """The Sussex lay fewer eggs than the first crosses: a share gained takes eggs away."""
        slope = table.study.forecast.trait("eggs_12wk").share_slope
        assert slope < 0
        found = ahead()
        at, levels = TRAITS.index("eggs_12wk"), np.array(found.plan.tally.levels)
        share = np.full_like(found.plan.tally.share, 0.8)
        levels[:, 0, :, at], levels[:, -1, :, at] = 50.0, 47.0
        for gained, told in ((0.1, "no weight holds it"), (0.01, "a higher weight")):
            share[:, -1] = 0.8 + gained
            texts = list(risk_texts(changed(found, levels=levels, share=share), table))
            (text,) = (one for one in texts if one.startswith("eggs_12wk"))
            assert told in text
        assert brought_by_share(changed(found, share=share), slope) == pytest.approx(0.01 * slope)

    @pytest.mark.parametrize(("often", "told"), [(10, True), (30, False)])
    def test_a_gene_that_clings_to_a_wanted_one_is_named(
        self, table: PairTable, often: int, *, told: bool
    ) -> None:
        found = ahead()
        true = np.zeros_like(found.plan.tally.whole_cocks)
        true[:often, -1, 0] = 1.0
        changed_so = changed(found, whole_cocks=true, whole_hens=true)
        texts = " ".join(risk_texts(changed_so, table))
        assert ("P, which you do not want, lies near O" in texts) is told

    def test_an_optimum_is_lost_on_either_side(self, table: PairTable) -> None:
        found = ahead()
        levels = np.array(found.plan.tally.levels)
        at = TRAITS.index("egg_weight")
        levels[:, 0, :, at] = 58.5
        levels[:, -1, :, at] = 60.0
        texts = "".join(risk_texts(changed(found, levels=levels), table))
        assert "egg_weight moves away from its best, 58 g, in 40 of 40 replicates" in texts


class TestComparison:
    def test_policies_stand_in_the_order_given(self, compared: Ahead, table: PairTable) -> None:
        text = shown(compared, table)
        at = [text.index(f"\n  {one.policy}: {one.sentence}") for one in compared.outlooks]
        assert at == sorted(at)
        assert text.count("the same birds") == 1

    def test_differences_are_those_of_the_replicates(self, compared: Ahead) -> None:
        one, plan = compared.outlooks[1], compared.plan
        apart = one.tally.goal[:, -1] - plan.tally.goal[:, -1]
        found = against(one, plan).goal
        assert np.isclose(found.mean, apart.mean())
        assert np.isclose(found.se, apart.std(ddof=1) / np.sqrt(40))

    def test_better_worse_or_not_seen(self, compared: Ahead) -> None:
        words = [verdict_text(one, compared.plan) for one in compared.outlooks[1:]]
        assert words[0].startswith("rotation: worse than the plan, its goal lower by 0.25 to 0.43")
        assert "no difference seen in lines lost" in words[0]
        assert "all lines live less often (in under 1 to 42 fewer of 100" in words[1]
        assert words[2].startswith("lower-kinship: better than the plan")

    def test_luck_alone_makes_no_verdict(self) -> None:
        found = ahead(("twin", "As the plan.", 0.0))
        rng = np.random.default_rng(7)
        goal = np.array(found.plan.tally.goal)
        luck = rng.normal(0, 1, 40)
        goal[:, -1] += luck - luck.mean() - 0.01
        twin = replace(found.outlooks[1], tally=replace(found.plan.tally, goal=goal))
        text = verdict_text(twin, found.plan)
        assert text.startswith("twin: no difference seen in the goal (−0.")
        assert text.endswith("lines lost in the same replicates, if any.")

    def test_the_same_in_every_replicate(self, compared: Ahead, table: PairTable) -> None:
        twin = replace(compared.plan, policy="twin")
        assert "twin: the same goal as the plan in every replicate" in verdict_text(
            twin, compared.plan
        )
        text = shown(replace(compared, outlooks=(compared.plan, twin)), table)
        row = next(line for line in text.splitlines() if line.startswith("twin "))
        assert row.count("the same") == 2
        assert "Of 1" not in caution_text(1)

    def test_one_replicate_says_nothing(self) -> None:
        found = ahead(*OTHERS, replicates=1)
        interval = mean_interval(against(found.outlooks[1], found.plan).goal)
        assert not interval.sure

    def test_more_lines_alive(self, compared: Ahead) -> None:
        text = verdict_text(compared.plan, compared.outlooks[2])
        assert "better than the plan" in text
        assert "all lines live more often (in under 1 to 42 more of 100 replicates)" in text

    def test_verdicts_without_any_number(self, compared: Ahead, table: PairTable) -> None:
        plan = compared.plan
        none = replace(plan.tally, goal=np.full_like(plan.tally.goal, np.nan))
        blank = replace(plan, policy="blank", tally=none)
        assert "nothing can be said of the goal" in verdict_text(blank, plan)
        text = shown(replace(compared, outlooks=(plan, blank)), table)
        assert next(line.split() for line in text.splitlines() if line.startswith("blank"))[
            1:3
        ] == ["–", "–"]

    def test_false_verdicts_are_as_rare_as_they_are_said_to_be(self) -> None:
        rng = np.random.default_rng(5)
        found = ahead(("twin", "As the plan.", 0.0))
        one, wrong = found.outlooks[1], 0
        for _ in range(1000):
            goal = np.zeros_like(one.tally.goal)
            goal[:, -1] = rng.normal(0, 1, 40)
            twin = replace(one, tally=replace(one.tally, goal=goal))
            level = replace(one, tally=replace(one.tally, goal=np.zeros_like(goal)))
            wrong += mean_interval(against(twin, level).goal).sure
        assert abs(wrong / 1000 - 0.05) < 5 * np.sqrt(0.05 * 0.95 / 1000)


class TestDocument:
    def test_it_is_json_with_the_keys_that_were_promised(
        self, compared: Ahead, table: PairTable
    ) -> None:
        found = json.loads(as_json(ahead_document(compared, table)))
        assert found["schema"] == "matchmaker/ahead/1"
        assert set(found["inputs"]) >= {"birds.csv", "matchmaker.toml"}
        assert found["defaults"][0] == "no bird is bought in"
        assert (found["seed"], found["replicates"], found["seasons"]) == (1, 40, 6)
        assert [one["spring"] for one in found["springs"]] == list(range(2027, 2034))
        last = found["springs"][-1]
        assert set(last) == {"spring", "lines", *FLOCK_KINDS}
        assert set(last["lines"][0]) == {"line", "traits", *LINE_KINDS}
        assert set(last["lines"][0]["traits"]) == set(TRAITS)
        assert set(last["fixed"]) == {"chance", "low", "high", "missing"}
        assert set(last["goal"]) == {"mean", "se", "low", "median", "high", "missing"}
        assert [one["policy"] for one in found["policies"]] == [one[0] for one in OTHERS]
        apart = found["policies"][0]["differences"]
        assert set(apart) == set(FLOCK_KINDS)
        assert {*map(frozenset, apart.values())} == {
            frozenset({"mean", "se", "low", "high", "missing"})
        }
        one, plan = (of_flock(which) for which in (compared.outlooks[1], compared.plan))
        for name in ("goal", "share", "fixed"):
            gap = one[name][:, -1] - plan[name][:, -1]
            assert np.isclose(apart[name]["mean"], gap.mean())
            assert apart[name]["low"] < gap.mean() < apart[name]["high"]
        assert found["policies"][0]["verdict"].startswith("rotation: worse")
        assert found["lines"][3]["carries_target"] is False

    def test_its_numbers_are_the_replicates(self, table: PairTable) -> None:
        found = ahead()
        spring = ahead_document(found, table)["springs"][5]
        birch = spring["lines"][1]
        values = found.plan.tally.share[:, 5, 1]
        there = values[~np.isnan(values)]
        assert birch["share"]["missing"] == 40 - len(there)
        assert birch["share"]["median"] == np.median(there)
        assert birch["share"]["low"] == np.quantile(there, 0.1)
        assert birch["alive"]["chance"] == len(there) / 40
        assert found.plan.tally.chicks[0, 0] == 0
        first = ahead_document(found, table)["springs"][0]["chicks"]
        assert first["mean"] is None
        assert first["missing"] == 40

    def test_rows_read_back_as_what_was_written(self, compared: Ahead) -> None:
        sheet = ahead_sheet(compared)
        rows = list(csv.DictReader(io.StringIO(csv_text(sheet.header, sheet.rows))))
        a_spring = len(FLOCK_KINDS) + len(LINES) * (len(LINE_KINDS) + len(TRAITS))
        assert len(rows) == 4 * 7 * a_spring
        keys = [(r["policy"], r["spring"], r["line"], r["measure"]) for r in rows]
        assert len(set(keys)) == len(keys)
        by_key = dict(zip(keys, rows, strict=True))
        goal = by_key["rotation", "2033", "", "goal"]
        values = compared.outlooks[1].tally.goal[:, -1]
        assert float(goal["mean"]) == values.mean()
        assert goal["between"] == "8 in 10 replicates"
        alive = by_key["plan", "2033", "Birch", "alive"]
        assert (alive["unit"], alive["median"]) == ("chance", "")
        assert float(alive["low"]) == chance(times(32, 40)).low
        eggs = by_key["plan", "2027", "Cedar", "eggs_12wk"]
        assert (eggs["unit"], eggs["mean"], eggs["replicates"]) == ("eggs", "52.0", "40")
        assert tuple(rows[0]) == HEADER
