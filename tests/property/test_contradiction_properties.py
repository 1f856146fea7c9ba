"""Laws of clashes: one mistake planted in sound books is found, and nothing smaller explains it."""

from __future__ import annotations

import random

import pytest

from matchmaker.genetics.clash.contradiction import conflict, contradiction
from matchmaker.genetics.clash.corrections import Clash, find_clash
from matchmaker.genetics.clash.suppositions import case_of
from tests.contradiction_helpers import (
    Planted,
    could_be,
    exchanges,
    key_of,
    keys_of,
    planted_flocks,
    smallest_corrections,
    suppositions,
    true_books,
)

SYMBOLS = ("P", "lav", "S", "choc")
KINDS = [
    *((kind, symbol) for kind in ("record", "cock", "hen", "pool") for symbol in SYMBOLS),
    *(("sex", symbol) for symbol in ("S", "choc")),
]
SEEDS = range(300)
LARGEST = 2
"""Of more mistakes the slow search would take too long."""


def clash_of(planted: Planted) -> Clash:
    found = find_clash(planted.flock, planted.locus, planted.evidence, "recurrent", planted.hatched)
    assert found is not None
    return found


def two_mistakes(symbol: str, seeds: range) -> list[Planted]:
    """Flocks in which no single mistake is enough."""
    found = []
    for one in planted_flocks("record", symbol, seeds):
        band = next(b for b, e in one.books.items() if e.shows is not None and b != one.mistake[1])
        entry = one.books[band]
        books = {**one.books, band: type(entry)(entry.sex, entry.sire, entry.dam, not entry.shows)}
        twice = Planted(one.symbol, books, one.mistake)
        if not any(could_be(twice.locus, books, [key]) for key in suppositions(twice)):
            found.append(twice)
    return found


@pytest.mark.parametrize(("kind", "symbol"), KINDS)
def test_the_mistake_planted_is_named_and_nothing_is_left_out(kind: str, symbol: str) -> None:
    flocks = list(planted_flocks(kind, symbol, SEEDS))
    assert len(flocks) >= 3
    for planted in flocks[:20]:
        clash = clash_of(planted)
        assert clash.mistakes_min == 1
        assert frozenset({planted.mistake}) in keys_of(clash.corrections)
        assert keys_of(clash.corrections) == smallest_corrections(planted, 1)


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_exchanged_bands_are_named(symbol: str) -> None:
    flocks = list(planted_flocks("exchange", symbol, range(80)))
    assert len(flocks) >= 3
    for planted in flocks:
        found = clash_of(planted).exchanges
        assert planted.mistake in found
        assert set(found) == exchanges(planted)


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_two_mistakes_are_named_in_pairs_where_none_is_enough(symbol: str) -> None:
    flocks = two_mistakes(symbol, range(40))
    assert len(flocks) >= 2
    for planted in flocks[:4]:
        clash = clash_of(planted)
        assert clash.mistakes_min == LARGEST
        assert keys_of(clash.corrections) == smallest_corrections(planted, LARGEST)
        assert set(clash.exchanges) == exchanges(planted)


@pytest.mark.parametrize("symbol", SYMBOLS)
@pytest.mark.parametrize("seed", range(10))
def test_sound_books_have_no_clash(symbol: str, seed: int) -> None:
    books = true_books(random.Random(seed), symbol, 8)  # noqa: S311
    sound = Planted(symbol, books, ("", ""))
    assert find_clash(sound.flock, sound.locus, sound.evidence, "recurrent") is None
    assert contradiction(sound.flock, sound.locus, sound.evidence, "recurrent") == ()


@pytest.mark.parametrize(("kind", "symbol"), KINDS)
def test_a_conflict_cannot_hold_and_none_of_it_can_be_spared(kind: str, symbol: str) -> None:
    for planted in planted_flocks(kind, symbol, range(12)):
        case = case_of(planted.flock, planted.locus, planted.evidence, "recurrent")
        found = {key_of(one) for one in conflict(case, frozenset())}
        every = set(suppositions(planted))
        assert not could_be(planted.locus, planted.books, every - found)
        for one in found:
            assert could_be(planted.locus, planted.books, every - found | {one})


@pytest.mark.parametrize("kind", ["record", "cock", "exchange"])
def test_the_order_of_rows_changes_nothing(kind: str) -> None:
    for planted in planted_flocks(kind, "lav", range(12)):
        clash = clash_of(planted)
        again = find_clash(
            planted.flock,
            planted.locus,
            planted.evidence[::-1],
            "recurrent",
            planted.hatched,
        )
        assert again is not None
        assert again.corrections == clash.corrections
        assert again.exchanges == clash.exchanges
