"""What ``hatch`` prints in cases that the other tests do not come to."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.errors import UsageError
from matchmaker.hatch.exact import Fit
from matchmaker.hatch.told import BandedChick
from matchmaker.report.hatch_words import (
    class_rows,
    explanation_sentences,
    fit_verdict,
    learned_reason,
    parents_sentences,
    unsure_sentence,
)
from tests.builders import cock
from tests.screens import plain
from tests.unit.hatch_flocks import (
    BIRDS,
    SEEN,
    STAYS,
    chicks,
    counted,
    flock,
    hatched,
    screen,
    stay,
    told,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.hatch.hatching import Hatching


def taught(path: Path) -> Hatching:
    """A hatch that proves a cock of even odds a carrier."""
    birds = [*BIRDS, cock("AB", "Alder", "", sire="AC", dam="S1", hatched="2026-04-01")]
    moves = [stay("AB", "Orchard"), stay("S1", "Orchard"), stay("S2", "Orchard")]
    folder = flock(path, moves, seen=list(SEEN), birds=birds)
    return hatched(folder, told(hatched=12, counts=counted(pea=5, single=4)))


def test_two_sets_and_cells_that_are_filled(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    verbs.write_hatch(hatched(folder, told(), told("Yard")))
    both = hatched(folder, told(hatched=8), told("Yard", hatched=7))
    text = plain(screen(both, written=True))
    assert "Pen Orchard, set on 2 March, hatched on 23 March: row 2 of the eggs" in text
    assert "Written eggs.csv row 2: hatched = 8 eggs.csv row 3: hatched = 7" in text


def test_doubts_of_new_rows_are_shown_and_old_ones_not(tmp_path: Path) -> None:
    folder = flock(tmp_path, birds=[*BIRDS, cock("SX", left_on="2026-01-01")])
    answer = hatched(folder, told(hatched=4, chicks=chicks("K1", "Sl")))
    assert "SX" not in {doubt.value for doubt in answer.doubts}
    odd = dataclasses.replace(answer, doubts=verbs.check(folder).doubts)
    assert "look at what is written here" in screen(odd)


def test_where_parents_are_known_from(tmp_path: Path) -> None:
    plan = [
        {"pen": "Yard", "line": "Alder", "cock": "SC", "hen": h, "why": ""} for h in ("A1", "A2")
    ]
    folder = flock(tmp_path, [], plan=plan)
    parents = hatched(folder, told("Yard")).prepared.hatches[0].parents
    said = " ".join(parents_sentences(parents))
    assert "taken from the written plan" in said
    assert "name the hen of each chick with --dam" in said
    by_days = flock(tmp_path / "days", [*STAYS[:2], stay("S2", "Orchard", until="2027-02-24")])
    parents = hatched(by_days, told()).prepared.hatches[0].parents
    assert "each by the days she was there" in " ".join(parents_sentences(parents))
    both = flock(tmp_path / "both", [*STAYS[:3], stay("SD", "Orchard")])
    found = hatched(both, told(hatched=3, line="Alder", chicks=chicks("K1"))).prepared.hatches[0]
    assert "S1 was with AC on these days and S1 was with SD on these days" in plain(
        " ".join(parents_sentences(found.parents))
    )
    assert found.parents.in_pen == ("AC", "SD")
    assert "cock" not in {name for name, text in found.egg.cells.items() if text}
    agreed = hatched(flock(tmp_path / "said"), told(hatched=3, sire="AC", chicks=chicks("K1")))
    assert "Sire: AC, as you say." in screen(agreed)


def test_many_birds_are_counted_not_listed(tmp_path: Path) -> None:
    answer = taught(tmp_path)
    many = dataclasses.replace(answer, learned=answer.learned * 20, approximate=True)
    text = plain(screen(many))
    assert f"{20 * len(answer.learned) - 12} more birds changed less" in text
    assert "These chances are sampled" in text
    (one,) = [one for one in answer.learned if (one.bird, one.locus) == ("AB", "P")]
    assert learned_reason(dataclasses.replace(one, reason=None)) == "he is P/p+"
    assert learned_reason(dataclasses.replace(one, settled="", sex=None)).startswith("its chicks")


def test_verdicts(tmp_path: Path) -> None:
    (fit,) = taught(tmp_path).prepared.fits
    drawn = dataclasses.replace(fit, fit=Fit(p=0.2, chance=0.1, ways=9, draws=1000, error=0.0126))
    assert fit_verdict(drawn) == (
        "Within chance: of such hatches 20 % are as odd or odder (± 1.26 %, 1,000 hatches drawn)."
    )
    whole = dataclasses.replace(fit, fit=Fit(p=1.0, chance=0.1, ways=9))
    assert fit_verdict(whole) == "Just as expected: no hatch is less odd."
    never = dataclasses.replace(fit, fit=Fit(p=0.0, chance=0.0, ways=9))
    assert fit_verdict(never).startswith("All of them together: by the tables")
    assert list(explanation_sentences(fit)) == []
    assert [row[0] for row in class_rows(fit)] == ["pea", "single"]
    (unsure,) = unsure_sentence(fit)
    assert unsure.endswith("a chick is pea with 0 % to 50 %.")
    assert list(unsure_sentence(dataclasses.replace(fit, classes=None))) == []


def test_nothing_learned_is_said(tmp_path: Path) -> None:
    folder = flock(tmp_path)
    answer = hatched(folder, told(hatched=8, counts=counted(pea=4, single=4)))
    assert "changes what is known of no living bird" in screen(answer)
    assert "What it teaches" not in screen(hatched(folder, told(hatched=8)))


def test_a_chick_told_apart_from_its_pen_on_a_day_of_its_own(tmp_path: Path) -> None:
    early = dt.date(2027, 3, 21)
    one = (BandedChick(band="K1"),)
    answer = hatched(flock(tmp_path), told(hatched=1, hatched_on=early, chicks=one))
    assert answer.prepared.hatches[0].birds[0]["hatched"] == "2027-03-21"
    with pytest.raises(UsageError, match="days after the eggs were set"):
        hatched(flock(tmp_path), told(hatched=1, hatched_on=dt.date(2027, 3, 10), chicks=one))
