"""Effective size by cocks and hens, Wright 1931 (Genetics 16:97; that citation from memory).

The formula and the first three examples were read in K. Christensen, Population Genetics, KVL
Copenhagen, ch. 3.6, which prints 20, 3.7 (sic: 3.64) and 400; 25 sires to many dams lose half a
per cent a generation: FAO 2010, Breeding strategies (copy read). The small flocks are our own
arithmetic.
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.kin.diversity import effective_size_by_sexes, rate_of_size

PRINTED = [(10, 10, 20, 0), (1, 10, 3.7, 0.07), (100, 100_000, 400, 0.5)]
"""Cocks, hens, effective size as printed, and how far the print is rounded."""


@pytest.mark.parametrize(("cocks", "hens", "printed", "tolerance"), PRINTED)
def test_printed_sizes(cocks: int, hens: int, printed: float, tolerance: float) -> None:
    assert abs(effective_size_by_sexes(cocks, hens) - printed) <= tolerance


@pytest.mark.parametrize(
    ("cocks", "hens", "size", "per_cent"),
    [
        (10, 10, 20, 2.5),
        (1, 10, 3.6364, 13.75),
        (2, 10, 6.667, 7.5),
        (4, 20, 13.33, 3.75),
        (5, 25, 16.67, 3.0),
    ],
)
def test_sizes_and_rates(cocks: int, hens: int, size: float, per_cent: float) -> None:
    found = effective_size_by_sexes(cocks, hens)
    assert found == pytest.approx(size, rel=5e-4)
    rate = rate_of_size(found)
    assert rate is not None
    assert 100 * rate == pytest.approx(per_cent)
    assert rate == pytest.approx(1 / (8 * cocks) + 1 / (8 * hens))


def test_25_sires_with_many_dams() -> None:
    rate = rate_of_size(effective_size_by_sexes(25, 10**6))
    assert rate is not None
    assert round(100 * rate, 1) == 0.5
