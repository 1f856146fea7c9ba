"""Pairs judged all at once, beside each judged by itself; and some pairs in place of all."""

from __future__ import annotations

import random
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.goals import most_per_pair
from matchmaker.pairs.judge import Judge, judge_birds
from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import judge_pairs, line_centres, survey_pairs
from matchmaker.pairs.value import Centre, credited_days, share_weight, value_of, worth_of
from tests.builders import bird, dna, judged

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from tests.builders import Row

SEEDS = range(12)

SETTINGS = """[year]
pen_up = 2027-02-01
collect_from = 2027-02-15
collect_until = 2027-04-11
[limits]
kinship_max = 0.2
wanted_chance_min = 0.4
lethal_max = {lethal}
proof_min = {proof}
[lines.Pure]
step = "hold"
[lines.Alder]
kinship_max = 0.3
certainty = 0.9
wanted_hens_min = 1
[traits.eggs]
weight = 0.3
direction = "up"
h2 = 0.3
[loci.O]
frequency = {{sussex = 0.1, araucana = 0.6}}
[loci.Cr]
frequency = {{sussex = 0.1, araucana = 0.6}}
"""

ROWS = """
[[matings]]
hens = "Alder"
cocks = "Pure"
chicks = "Alder"
purpose = "backcross"
keep = {O = [1, 2]}
recognise = "sight"
[[matings]]
hens = "Alder"
cocks = "Alder"
chicks = "Alder"
purpose = "intercross"
keep = {O = [1, 2], Cr = [1]}
worth = 1.3
[[matings]]
hens = "Pure"
cocks = "Alder"
purpose = "test"
tests = "cock"
"""


@cache
def flock_at_random(seed: int) -> PairTable:
    """Two lines of ten birds or so, some of them related, with what may reject a pair."""
    rng = random.Random(seed)  # noqa: S311  a seeded test case, no secret
    rows = [_bird(rng, number) for number in range(20)]
    bands = {sex: [row["bird"] for row in rows if row["sex"] == sex] for sex in ("hen", "cock")}
    wishes = [
        {"bird": rng.choice(bands["hen"]), "with": rng.choice(bands["cock"]), **wish}
        for wish in ({"wish": "apart", "why": "fights"}, {"wish": "allow", "why": "our last"})
    ]
    seen = [dna(row["bird"], "O", rng.randint(0, 2)) for row in rows[:10] if rng.random() < 0.7]
    scores = [
        {"bird": row["bird"], "date": "2026-12-01", "eggs": str(rng.randint(30, 60))}
        for row in rows
        if row["sex"] == "hen"
    ]
    limits = {"lethal": rng.choice((0.02, 0.2)), "proof": rng.choice((0.2, 0.7))}
    settings = SETTINGS.format(**limits) + "lethal = [2]\n" * (seed % 3 == 0)
    with tempfile.TemporaryDirectory() as folder:
        return judged(
            Path(folder),
            rows,
            settings + ROWS * (seed % 2),
            seen=seen,
            wishes=wishes if wishes[0]["bird"] != wishes[1]["bird"] else wishes[:1],
            scores=scores,
        )


def _bird(rng: random.Random, number: int) -> Row:
    cells = {"fertility": rng.choice(("", "0.6", "0.9")), "lay_per_week": rng.choice(("", "3"))}
    sex = ("hen", "cock")[number % 2]
    if number < 10:
        line, breed = (("Pure", "sussex"), ("Alder", "araucana"))[number // 2 % 2]
        return bird(f"B{number:02}", sex, line, breed, Cr=rng.choice(("", "crest")), **cells)
    hens, cocks = ([f"B{at:02}" for at in range(first, 10, 2)] for first in (0, 1))
    parents = {"dam": rng.choice(hens), "sire": "|".join(sorted(rng.sample(cocks, 1 + number % 2)))}
    status = rng.choice(("breeder",) * 6 + ("quarantine",))
    return bird(
        f"B{number:02}",
        sex,
        rng.choice(("Pure", "Alder")),
        hatched="2026-04-01",
        status=status,
        defects="" if rng.random() < 0.9 else "wry tail",
        **parents,
        **cells,
    )


def _judge(table: PairTable) -> Judge:
    """What each pair is judged by, put together as the table does."""
    return survey_pairs(table.study).entries.desk.judge


def _in_rows(table: PairTable) -> list[Pair]:
    return [pair for pair in table.pairs if pair.crossing and pair.crossing.tests is None]


@pytest.mark.parametrize("seed", SEEDS)
def test_what_breaks_no_rule_all_at_once_breaks_none_by_itself(seed: int) -> None:
    table = flock_at_random(seed)
    judge = _judge(table)
    hens, cocks = ({one.band: at for at, one in enumerate(s)} for s in (judge.hens, judge.cocks))
    assert judge.of_birds == judge_birds(table.study, table.wishes, [*judge.hens, *judge.cocks])
    for pair in table.pairs:
        if pair.waived and pair.broken[0].rule is Rule.LINE_CLOSED:
            continue  # a row that a wish made: that none was open stands before its rules
        at = hens[pair.hen], cocks[pair.cock]
        assert pair.broken == judge.verdict(*at, pair.crossing, pair.wanted_chance)


@pytest.mark.parametrize("seed", SEEDS)
def test_values_all_at_once_are_those_of_single_pairs(seed: int) -> None:
    table = flock_at_random(seed)
    settings, centres = table.study.flock.settings, line_centres(table.study, table.scheme)
    for pair in _in_rows(table):
        assert pair.crossing is not None
        own = Centre(merit=pair.merit, recurrent_share=pair.recurrent_share)
        centre = centres.get(pair.crossing.chicks, own)
        worth = worth_of(pair.merit, pair.recurrent_share, centre, share_weight(settings))
        assert pair.worth == pair.crossing.worth * worth
        most = most_per_pair(table.needs, pair.crossing.chicks)
        assert pair.value == value_of(pair.wanted, pair.worth, most)


@pytest.mark.parametrize("seed", SEEDS)
def test_chicks_of_each_pair_are_those_of_its_hen_and_cock(seed: int) -> None:
    table = flock_at_random(seed)
    birds, settings = table.study.flock.by_band(), table.study.flock.settings
    year = settings.year
    for pair in table.pairs:
        hen, cock = birds[pair.hen].record, birds[pair.cock].record
        lay = year.lay_per_week if hen.lay_per_week is None else hen.lay_per_week
        written = [one for one in (hen.fertility, cock.fertility) if one is not None]
        eggs = credited_days(settings) * lay / 7
        fertile = eggs * min(written or [year.fertility])
        hatched = fertile * year.hatch_of_fertile * max(1 - year.depression * pair.kinship, 0)
        assert pair.chicks == pytest.approx(hatched * year.rearing, rel=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_fewer_pairs_are_the_same_pairs(seed: int) -> None:
    table = flock_at_random(seed)
    for scope in ({"open_only": True}, {"allowed_only": True}):
        found = judge_pairs(table.study, **scope)
        assert found.allowed == table.allowed
        assert set(map(_key, found.pairs)) <= set(map(_key, table.pairs))
    birds = {one.band for one in table.study.flock.living[::2]}
    among = survey_pairs(table.study).among(birds).pairs
    assert among == tuple(one for one in table.pairs if {one.hen, one.cock} <= birds)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_foremost_pairs_tell_what_each_bird_counts(seed: int) -> None:
    table = flock_at_random(seed)
    every = judge_pairs(table.study, allowed_only=True).pairs
    few = survey_pairs(table.study, allowed_only=True).foremost().pairs
    assert set(map(_key, few)) <= set(map(_key, every))
    for one in table.study.flock.living:
        mine, left = (_of(one.band, pairs) for pairs in (every, few))
        best = max((_counts(pair) for pair in mine if pair.allowed), default=None)
        assert best == max((_counts(pair) for pair in left if pair.allowed), default=None)
        if best is None:
            assert left == mine


def test_the_flocks_hold_what_the_rules_are_about() -> None:
    """Else the tests above would prove little."""
    broken = {one.rule for seed in SEEDS for p in flock_at_random(seed).pairs for one in p.broken}
    wanted = "too-related no-wanted-chicks line-closed unproven wished-apart unfit not-available"
    assert {*wanted.split(), "lethal-chicks", "nothing-to-test"} <= broken
    pairs = [pair for seed in SEEDS for pair in flock_at_random(seed).pairs]
    assert any(pair.waived for pair in pairs)
    assert len({pair.value for pair in pairs if pair.allowed}) > 100


def _key(pair: Pair) -> tuple[str, str, str]:
    return pair.key


def _counts(pair: Pair) -> float:
    return pair.value or 0.0


def _of(band: str, pairs: Sequence[Pair]) -> list[Pair]:
    return [pair for pair in pairs if band in (pair.hen, pair.cock)]
