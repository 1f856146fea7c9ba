"""Which chicks get a band: the likeliest first, family after family, as many as there is place."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.ahead.first_look import BANDED, FAMILY_PART, Hopeful, banded
from matchmaker.grade.places import Places
from matchmaker.tables.records import Sex

HENS, COCKS = ("Alder", Sex.HEN), ("Alder", Sex.COCK)


def hopeful(at: int, chance: float = 1.0, *, family: int = 0, place: object = HENS) -> Hopeful:
    return Hopeful(at=at, place=place, family=family, chance=chance)  # type: ignore[arg-type]


def places(hens: int = 10, cocks: int = 0) -> dict[tuple[str, Sex], Places]:
    """Places for so many young birds."""
    return {
        (line, sex): Places(line=line, sex=sex, penned=0, wanted=number, old=0)
        for (line, sex), number in ((HENS, hens), (COCKS, cocks))
    }


def chosen(hopefuls: list[Hopeful], hens: int = 10, cocks: int = 0, seed: int = 1) -> list[int]:
    return banded(hopefuls, places(hens, cocks), np.random.default_rng(seed))


def test_as_many_are_banded_as_there_is_place_counted_by_their_chance() -> None:
    for chance in (1.0, 0.5, 0.25):
        hopefuls = [hopeful(at, chance, family=at % 7) for at in range(200)]
        kept = chosen(hopefuls)
        assert len(kept) == pytest.approx(BANDED * 10 / chance, abs=1)
        assert len(kept) * chance >= BANDED * 10 - 1e-9


def test_the_likeliest_come_first_and_those_of_no_chance_never() -> None:
    chances = [0.9] * 10 + [0.5] * 20 + [0.0] * 50
    hopefuls = [hopeful(at, chance, family=at) for at, chance in enumerate(chances)]
    assert set(range(10)) < set(chosen(hopefuls)) <= set(range(30))
    assert chosen(hopefuls[30:]) == []


def test_no_family_fills_more_than_half_while_another_has_chicks() -> None:
    hopefuls = [hopeful(at, family=0) for at in range(60)]
    hopefuls += [hopeful(60 + at, 0.4, family=1 + at % 4) for at in range(100)]
    kept = chosen(hopefuls)
    of_first = sum(at < 60 for at in kept)
    assert of_first == pytest.approx(FAMILY_PART * BANDED * 10, abs=1)
    assert len(chosen(hopefuls[:60])) == pytest.approx(BANDED * 10, abs=1)


def test_families_of_equals_take_turns() -> None:
    hopefuls = [hopeful(at, family=0 if at < 90 else at % 4 + 1) for at in range(100)]
    kept = chosen(hopefuls, hens=5)
    by_family = np.bincount([hopefuls[at].family for at in kept], minlength=5)
    assert by_family.max() - by_family.min() <= 1


def test_chance_decides_within_a_family_and_fairly() -> None:
    hopefuls = [hopeful(at) for at in range(32)]
    counts = np.zeros(32)
    for seed in range(400):
        counts[chosen(hopefuls, seed=seed)] += 1
    assert np.abs(counts / 400 - 0.5).max() < 5 * 0.5 / 400**0.5


def test_each_place_is_filled_for_itself() -> None:
    hopefuls = [
        hopeful(at, place=COCKS if at % 2 else HENS, family=at % 8) for at in range(100)
    ] + [hopeful(100, place=("Birch", Sex.HEN))]
    kept = chosen(hopefuls, hens=5, cocks=10)
    assert sum(at % 2 == 0 for at in kept) == 8
    assert sum(at % 2 == 1 for at in kept) == 16
    assert 100 not in kept
    assert kept == sorted(kept)
