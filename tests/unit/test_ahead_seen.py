"""What gets known of the birds of a year: looks of chicks by words, scores at their age."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.books import Chick
from matchmaker.ahead.looks import seen_as
from matchmaker.ahead.luck import Luck
from matchmaker.ahead.scoring import Pattern
from matchmaker.ahead.seen import looks, scores
from matchmaker.ahead.world import Fate, World
from matchmaker.genetics.genotypes.words import meaning
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
from matchmaker.tables.records import Sex
from tests.ahead_birds import AUTOSOMAL, nature, unrelated
from tests.ahead_flocks import BIRDS, PENS, SEEN, played, watched
from tests.builders import hen, judged

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable

DRAWS = 4000
LUCK = Luck(seed=1, replicate=0, season=0)


def said(
    locus: Locus, copies: int, sex: Sex = Sex.HEN, *, alleles: tuple[int, int] = (0, 0)
) -> str | None:
    held = np.array(alleles, dtype=np.int8)
    return seen_as(locus, held, copies, sex, np.random.default_rng(1))


def test_the_words_are_understood_as_what_was_seen() -> None:
    for locus in catalogue().values():
        for sex in Sex:
            for copies in locus.copy_numbers(sex):
                first = copies - 1 if locus.series else 0
                held = (min(first, 0) * -1, 0)
                words = said(locus, copies, sex, alleles=held)
                if not locus.can_show(sex):
                    assert words is None
                elif words is not None:
                    assert meaning(locus, words) is not None


def test_of_a_series_the_most_dominant_allele_is_seen() -> None:
    series = next(one for one in catalogue().values() if len(one.series) > 2)
    for one, two in ((0, 1), (1, 0), (1, 2), (2, 1), (2, 2), (-1, 1)):
        top = min(at for at in (one, two) if at >= 0)
        words = said(series, 0, Sex.COCK, alleles=(one, two))
        names = {word.casefold() for word in (series.series[top].name, *series.series[top].words)}
        assert words is None or words.casefold() in names


def test_looks_miss_and_slip_as_often_as_the_locus_says() -> None:
    rng, held = np.random.default_rng(3), np.zeros(2, dtype=np.int8)
    locus = Locus(symbol="X", name="X", penetrance=0.7, error=0.1, shown_words=("blue",))
    for copies, chance in ((1, 0.7 * 0.9 + 0.3 * 0.1), (0, 0.1)):
        shown = np.mean(
            [seen_as(locus, held, copies, Sex.HEN, rng) == "blue" for _ in range(DRAWS)]
        )
        assert abs(shown - chance) < 5 * (chance * (1 - chance) / DRAWS) ** 0.5


def test_one_copy_of_an_incomplete_locus_is_told() -> None:
    locus = Locus(symbol="X", name="X", dominance="incomplete", one_copy_words=("splash",))
    assert [said(locus, copies) for copies in range(3)] == ["no", "splash", "yes"]


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return judged(tmp_path_factory.mktemp("seen") / "flock", BIRDS, seen=SEEN, pens=PENS)


def with_locus(table: PairTable, **cells: object) -> PairTable:
    locus = replace(table.study.loci["O"], **cells)  # type: ignore[arg-type]
    return replace(table, study=replace(table.study, loci={"O": locus}))


def test_chicks_show_what_their_sex_and_age_show(table: PairTable) -> None:
    """From hatching on 2 April to the pens of next year are 305 days."""
    of = replace(nature(inheritances=(AUTOSOMAL,)), loci=("O",))
    birds = unrelated(4, of, np.random.default_rng(1), alleles=(0, of.inheritances[0].named))
    chicks = [
        Chick(
            band=f"N{at}",
            sex=Sex.HEN if birds.hens[at] else Sex.COCK,
            line="Pure",
            cock="S0",
            mates=("P0",),
        )
        for at in range(4)
    ]
    fate = Fate(of, LUCK)
    for cells, told in (
        ({"shown_by": "both", "shows_at_days": 305}, {"N0", "N1", "N2", "N3"}),
        ({"shown_by": "hen", "shows_at_days": 0}, {"N1", "N3"}),
        ({"shown_by": "both", "shows_at_days": 306}, set()),
    ):
        found = list(looks(chicks, birds, with_locus(table, **cells), fate))
        assert {band for band, _, _ in found} == told
        assert {locus for _, locus, _ in found} <= {"O"}


def pattern(**cells: object) -> Pattern:
    told = {
        "trait": "t0",
        "sex": None,
        "age_days": 200,
        "part": 1.0,
        "repeated": False,
        "decimals": 2,
    }
    return Pattern(**(told | cells))  # type: ignore[arg-type]


def world_of(table: PairTable, *more: str) -> World:
    bands = (*(bird.band for bird in table.study.flock.living), *more)
    return World(bands=bands, birds=unrelated(len(bands), nature(), np.random.default_rng(2)))


def test_a_bird_is_scored_in_the_year_in_which_it_reaches_the_age(table: PairTable) -> None:
    """Y0 and Y1 hatched 306 days before the pens, all others 702; chicks will be 305 a year on."""
    world, flock = world_of(table, "N0"), table.study.flock
    fate = Fate(nature(), LUCK)
    for age, told in (
        (200, {"N0"}),
        (305, {"N0"}),
        (306, set()),
        (307, {"Y0", "Y1"}),
        (671, {"Y0", "Y1"}),
        (702, set()),
        (703, set(world.bands) - {"N0", "Y0", "Y1"}),
    ):
        found = scores(world, flock, [pattern(age_days=age)], fate)
        assert set(found) == told, age


def test_who_has_a_score_gets_no_other_unless_birds_had_several(tmp_path: Path) -> None:
    """Scored early, at 250 days of a usual 320: once is enough."""
    told = [{"bird": "Y0", "date": str(dt.date(2026, 4, 1) + dt.timedelta(days=250)), "t0": "5"}]
    table = judged(tmp_path / "f", BIRDS, seen=SEEN, scores=told)
    world, fate = world_of(table), Fate(nature(), LUCK)
    for repeated, bands in ((False, {"Y1"}), (True, {"Y0", "Y1"})):
        one = pattern(age_days=320, repeated=repeated)
        assert set(scores(world, table.study.flock, [one], fate)) == bands


def test_birds_of_unknown_age_are_not_scored(tmp_path: Path) -> None:
    table = judged(tmp_path / "f", (*BIRDS, hen("U", hatched="")), seen=SEEN)
    found = scores(world_of(table), table.study.flock, [pattern(age_days=1)], Fate(nature(), LUCK))
    assert "U" not in found


def test_without_a_bird_there_is_nothing_to_score(table: PairTable) -> None:
    empty = world_of(table).only(())
    assert scores(empty, table.study.flock, [pattern()], Fate(nature(), LUCK)) == {}


def test_a_flock_in_which_every_bird_dies_is_played_to_the_end(tmp_path: Path) -> None:
    settings = "[risk]\ncock_young = 1.0\ncock_grown = 1.0\ncock_old = 1.0\n"
    settings += "[year]\nfertility = 0.0\n"
    told = [
        {"bird": row["bird"], "date": "2026-05-01", "eggs": str(40 + at)}
        for at, row in enumerate(BIRDS)
    ]
    settings += '[traits.eggs]\ndirection = "up"\nweight = 0.3\n'
    for names in (("plan",), ("by-eye",), ("rotation",), ("random",)):
        table = judged(tmp_path / names[0], BIRDS, settings, seen=SEEN, pens=PENS, scores=told)
        tally, _ = played(watched(table, names, seasons=2))
        assert tally.birds[1:].tolist() == [[0.0, 0.0]] * 2
        assert np.isnan(tally.share[1:]).all()
        assert tally.goal[1:].tolist() == [0.0] * 2
