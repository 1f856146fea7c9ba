"""Numbers as people read them: the digits they deserve, with their unit."""

from __future__ import annotations

from typing import Final

DUST: Final = 1e-12
"""Smaller than this is what sums of floating-point numbers leave over."""


def percent(share: float, digits: int = 0) -> str:
    """A share or probability in percent; never rounded to 0 or 100 unless it is exactly that.

    Examples
    --------
    >>> percent(0.5), percent(0.875, 1), percent(0.9999), percent(1.0), percent(0.0001)
    ('50 %', '87.5 %', '> 99 %', '100 %', '< 1 %')
    """
    rounded = f"{100 * share:.{digits}f}"
    step = 10**-digits
    if share < 1 and float(rounded) >= 100:
        return f"> {100 - step:.{digits}f} %"
    if share > 0 and float(rounded) <= 0:
        return f"< {step:.{digits}f} %"
    return f"{rounded} %"


def share_text(share: float) -> str:
    """A breed share with at most one decimal, and none where it says nothing.

    Examples
    --------
    >>> share_text(0.875), share_text(0.5), share_text(1.0)
    ('87.5 %', '50 %', '100 %')
    """
    return percent(share, 0 if round(100 * share, 1) == round(100 * share) else 1)


def kinship_text(kinship: float) -> str:
    """Kinship with three decimals; a smaller one is shown as such.

    Examples
    --------
    >>> kinship_text(0.125), kinship_text(0.0), kinship_text(0.0001)
    ('0.125', '0', '< 0.001')
    """
    if kinship == 0:
        return "0"
    return "< 0.001" if kinship < 0.0005 else f"{kinship:.3f}"


def chicks_text(chicks: float) -> str:
    """Chicks with one decimal below ten, else whole; none are 0.

    Examples
    --------
    >>> chicks_text(8.42), chicks_text(31.7), chicks_text(0.0)
    ('8.4', '32', '0')
    """
    if without_dust(chicks) == 0:
        return "0"
    return f"{chicks:.1f}" if chicks < 10 else f"{chicks:.0f}"


def signed(number: float) -> str:
    """A merit or a difference, with its sign and two decimals.

    Examples
    --------
    >>> signed(0.254), signed(-0.1), signed(0.0)
    ('+0.25', '−0.10', '0.00')
    """
    if round(number, 2) == 0:
        return "0.00"
    return f"{'+' if number > 0 else '−'}{abs(number):.2f}"


def digits_of(scale: float) -> int:
    """Decimals that tell a tenth of ``scale`` apart, two at most.

    Examples
    --------
    >>> digits_of(180.0), digits_of(4.0), digits_of(0.5)
    (0, 1, 2)
    """
    return 0 if scale >= 20 else 1 if scale >= 2 else 2


def amount(number: float, scale: float, unit: str = "") -> str:
    """An amount of a trait with the digits that tell a tenth of ``scale`` apart, and its unit.

    ``scale`` is a step that matters, such as the trait's genetic SD.

    Examples
    --------
    >>> amount(56.127, 4.0, "eggs"), amount(2439.3, 180.0, "g"), amount(3.317, 0.5)
    ('56.1 eggs', '2439 g', '3.32')
    """
    text = f"{number:.{digits_of(scale)}f}".replace("-", "−")
    if float(text.replace("−", "-")) == 0:
        text = text.removeprefix("−")
    return f"{text} {unit}".rstrip()


def change_text(number: float, scale: float, unit: str = "") -> str:
    """A change of a trait with its sign, the digits as in ``amount``; a nothing stays 0.

    Examples
    --------
    >>> change_text(1.234, 4.0, "eggs"), change_text(-12.3, 180.0), change_text(0.001, 4.0)
    ('+1.2 eggs', '−12', '0')
    """
    text = amount(abs(number), scale)
    if float(text) == 0:
        return f"0 {unit}".rstrip()
    return f"{'+' if number > 0 else '−'}{text} {unit}".rstrip()


def without_dust(number: float) -> float:
    """The number itself, or 0 where it is no more than sums leave over of nothing.

    Examples
    --------
    >>> without_dust(-3.6e-15), without_dust(0.25)
    (0.0, 0.25)
    """
    return 0.0 if abs(number) < DUST else number


def kinship_digits(kinship: float) -> str:
    """Kinship of a group with four decimals: its steps are smaller than those between two birds.

    Examples
    --------
    >>> kinship_digits(0.14651), kinship_digits(0.00002)
    ('0.1465', '< 0.0001')
    """
    return "< 0.0001" if 0 < kinship < 0.00005 else f"{kinship:.4f}"
