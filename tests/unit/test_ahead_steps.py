"""Which lines go back to the recurrent breed next spring, and which cross their own carriers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.ahead.steps import READY, with_steps
from matchmaker.pairs.crossings import line_steps
from matchmaker.tables.records import Status
from tests.ahead_flocks import BIRDS, EXAMPLES, HALF
from tests.builders import chick, cock, dna, hen, judged

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.genetics.study import Study
    from tests.builders import Row

PURE = tuple(row for row in BIRDS if row["line"] == "Pure")
LAST = (cock("LC", "Alder", HALF), hen("LH", "Alder", HALF))
YOUNG = (
    *(chick(f"YC{at}", "cock", "S0", f"P{at}", "Alder", status="young") for at in range(2)),
    *(chick(f"YH{at}", "hen", "S1", f"P{at}", "Alder", status="young") for at in range(2, 4)),
)
PROVEN = tuple(dna(row["bird"], "O", 1) for row in (*LAST, *YOUNG))


def study(path: Path, birds: Sequence[Row], seen: Sequence[Row], settings: str = "") -> Study:
    return judged(path / "f", birds, settings, seen=seen).study


def steps(study: Study) -> dict[str, str]:
    """The step of each line that carries."""
    found = line_steps(study.flock, study.recurrent_share)
    return {line: step for step in ("backcross", "intercross") for line in getattr(found, step)}


def with_shares(of: Study, share: float) -> Study:
    """The study with the young birds of Alder at a share."""
    told = {row["bird"]: share for row in YOUNG}
    return replace(of, recurrent_share={**of.recurrent_share, **told})


@pytest.fixture(scope="module")
def carrying(tmp_path_factory: pytest.TempPathFactory) -> Study:
    """Young birds out of carriers and pure mates, all of them proven."""
    young = [
        chick(f"YC{at}", "cock", "LC", f"P{at}", "Alder", status="young") for at in range(2)
    ] + [chick(f"YH{at}", "hen", "S1", "LH", "Alder", status="young") for at in range(2, 4)]
    return study(tmp_path_factory.mktemp("steps"), (*PURE, *LAST, *young), PROVEN)


def test_a_line_is_taken_back_until_its_young_are_ready(carrying: Study) -> None:
    for share, step in ((0.75, "backcross"), (0.9599, "backcross"), (0.96, "intercross")):
        assert steps(with_steps(with_shares(carrying, share), READY)) == {"Alder": step}
    assert steps(with_steps(carrying, 0.75)) == {"Alder": "intercross"}
    assert steps(with_steps(carrying, 0.7501)) == {"Alder": "backcross"}


def test_a_gene_that_one_copy_hides_is_brought_to_light_before_it_goes_back(tmp_path: Path) -> None:
    """Its young go back where they surely have two copies: then all their chicks surely carry."""
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {lav = 2}\n'
    young = (
        *(chick(f"YC{at}", "cock", "LC", "LH", "Alder", status="young") for at in range(2)),
        *(chick(f"YH{at}", "hen", "LC", "LH", "Alder", status="young") for at in range(2)),
    )
    told = [dna("LC", "lav", 1), dna("LH", "lav", 1)]
    settings = "[limits]\nproof_min = 0.2\nkinship_max = 0.3\n"
    for copies, step in ((None, "intercross"), (1, "intercross"), (2, "backcross")):
        seen = [*told, *(dna(row["bird"], "lav", copies) for row in young if copies is not None)]
        birds = (*PURE, *LAST, *young)
        table = judged(tmp_path / str(copies), birds, settings, top=top, seen=seen)
        assert steps(with_steps(table.study, READY)) == {"Alder": step}


def test_where_neither_step_can_give_a_wanted_chick_the_wish_stays(tmp_path: Path) -> None:
    """Nobody carries any more."""
    none = [dna(row["bird"], "O", 0) for row in LAST]
    of = study(tmp_path, (*PURE, *LAST), none)
    assert steps(with_steps(of, READY)) == {"Alder": "backcross"}
    assert steps(with_steps(of, 0.0)) == {"Alder": "intercross"}


def test_a_pure_line_stays_pure_and_what_else_is_set_stays_set(carrying: Study) -> None:
    settings = carrying.flock.settings
    rotation = {"order": ("Alder", "Pure")}
    told = type(settings).model_validate(
        {**settings.model_dump(by_alias=True, exclude_unset=True), "rotation": rotation}
    )
    flock = replace(
        carrying.flock, settings=told, tables=replace(carrying.flock.tables, settings=told)
    )
    after = with_steps(replace(carrying, flock=flock), READY)
    assert line_steps(after.flock, after.recurrent_share).hold == ("Pure",)
    now = after.flock.settings
    assert now.rotation == told.rotation
    assert now.model_copy(update={"lines": told.lines}) == told
    assert after.flock.tables.settings is now
    assert set(now.lines) == {"Alder"}


def test_rows_that_the_keeper_wrote_are_not_touched() -> None:
    tarn = verbs.pairs(EXAMPLES / "tarn-croft").study
    for ready in (0.0, READY, 1.0):
        assert with_steps(tarn, ready) is tarn


def test_a_flock_without_a_line_that_carries_is_left_alone(tmp_path: Path) -> None:
    of = judged(tmp_path / "g", PURE).study
    assert with_steps(of, READY) is of


def last_years_young(of: Study) -> Study:
    """The study with the living birds hatched in 2026 told to be young, as a year on they are."""
    birds = tuple(
        replace(bird, record=replace(bird.record, status=Status.YOUNG))
        if bird.alive_here and bird.hatched is not None and bird.hatched.year == 2026
        else bird
        for bird in of.flock.birds
    )
    return replace(of, flock=replace(of.flock, birds=birds))


def test_a_hidden_gene_is_brought_to_light_and_one_that_shows_goes_back() -> None:
    """Skarn Farm: of three lines' young, those of one are lavender; the others' may hide it."""
    skarn = last_years_young(verbs.pairs(EXAMPLES / "skarn-farm").study)
    assert steps(with_steps(skarn, READY)) == {
        "Bracken": "backcross",
        "Juniper": "intercross",
        "Rowan": "intercross",
    }


def test_a_linked_gene_that_is_not_wanted_holds_no_line_back() -> None:
    """Holm Fen: pea comb comes along with blue eggs; carriers are taken back all the same."""
    holm = verbs.pairs(EXAMPLES / "holm-fen").study
    assert dict(holm.linked) != {}
    assert steps(with_steps(last_years_young(holm), READY)) == {
        "Alder": "backcross",
        "Birch": "backcross",
        "Cedar": "backcross",
    }
