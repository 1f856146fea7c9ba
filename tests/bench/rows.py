"""What a benchmark finds, a row at a time: ours, beside a peer where there is one."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from statistics import median
from typing import Any, Final, Self

SECONDS: Final = "s"
OF_PROCESSOR: Final = "s of processor"
TIMES: Final = (SECONDS, OF_PROCESSOR)
"""Units of time: of the clock, and of the processor. Only these make a growth curve."""


@dataclass(frozen=True, slots=True)
class Size:
    """How large what is worked on is, in words; and as a number, where it is run at several sizes.

    Rows of the same task whose sizes have numbers make a growth curve.
    """

    words: str
    amount: float | None = None


def of_birds(number: int) -> Size:
    """The size of a flock or a pedigree that is told by its birds alone.

    >>> of_birds(2000)
    Size(words='2,000 birds', amount=2000)
    """
    return Size(f"{number:,} birds", number)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One task at one size.

    ``ours`` and ``theirs`` hold a number for each flock (or round) that was tried, in the same
    order; the median is shown. ``at_least`` says that a time limit ended the peer, so that the
    ratio is larger than what stands there. ``agreement`` says how the results of both were found
    equal; a benchmark whose results differ ends in an error instead.
    """

    task: str
    size: Size
    ours: tuple[float, ...] = ()
    peer: str = ""
    theirs: tuple[float, ...] = ()
    unit: str = SECONDS
    at_least: bool = False
    memory: float | None = None
    peer_memory: float | None = None
    agreement: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if self.theirs and len(self.theirs) != len(self.ours):
            raise ValueError(
                f"{self.task}, {self.size.words}: ours and the peer's are not of the same"
            )
        if bool(self.theirs) != bool(self.peer):
            raise ValueError(f"{self.task}, {self.size.words}: a peer has a name and numbers")

    @property
    def ratio(self) -> float | None:
        """The peer's number divided by ours: the median over the flocks.

        >>> Row(task="reading", size=of_birds(9), ours=(1, 2), peer="a peer", theirs=(4, 10)).ratio
        4.5
        """
        if not self.theirs or min(self.ours) <= 0:
            return None
        return median(theirs / ours for ours, theirs in zip(self.ours, self.theirs, strict=True))

    def as_json(self) -> dict[str, Any]:
        """The row as JSON has it, its ratio with it."""
        return {**asdict(self), "ratio": self.ratio}

    @classmethod
    def of_json(cls, told: dict[str, Any]) -> Self:
        """The row that was written as JSON; its ratio is worked out again."""
        told = {name: told[name] for name in told if name != "ratio"}
        size, ours, theirs = Size(**told["size"]), tuple(told["ours"]), tuple(told["theirs"])
        return cls(**{**told, "size": size, "ours": ours, "theirs": theirs})


def amounts(numbers: tuple[float, ...], unit: str) -> str:
    """Median and, of several, the largest, in words.

    >>> amounts((0.0012, 0.0015, 0.021), "s")
    '1.5 ms (most 21 ms)'
    >>> amounts((36361.0,), "crossings")
    '36,361 crossings'
    >>> amounts((0.5,), OF_PROCESSOR)
    '500 ms of processor'
    """
    if not numbers:
        return "–"
    most = f" (most {amount(max(numbers), unit)})" if len(numbers) > 1 else ""
    return f"{amount(median(numbers), unit)}{most}{' of processor' * (unit == OF_PROCESSOR)}"


def amount(number: float, unit: str) -> str:
    """One number with its unit; a time by the clock or the processor in s or ms."""
    if unit in TIMES:
        small = number < 1
        return f"{rounded(1000 * number if small else number)} {'ms' if small else 's'}"
    return f"{rounded(number)} {unit}"


def rounded(number: float) -> str:
    """Three figures, and all of those before the point.

    >>> [rounded(number) for number in (0.01234, 7.1, 346.4, 36361.0)]
    ['0.0123', '7.1', '346', '36,361']
    """
    return f"{number:,.0f}" if abs(number) >= 100 else f"{number:.3g}"


def ratio_in_words(row: Row) -> str:
    """The ratio, marked where it is only known to be larger."""
    if row.ratio is None:
        return "–"
    figures = f"{row.ratio:.2f}" if row.ratio < 10 else rounded(row.ratio)
    return f"{'≥ ' if row.at_least else ''}{figures}"


def memory_in_words(row: Row) -> str:
    """Megabytes of both, where they were measured."""
    both = (row.memory, row.peer_memory)
    return " / ".join(f"{one:,.0f}" for one in both if one is not None) or "–"


def line(row: Row) -> str:
    """The row as it is printed while the benchmark runs."""
    words = [f"{row.task}, {row.size.words}: {amounts(row.ours, row.unit)}"]
    if row.peer:
        words.append(f"{row.peer} {amounts(row.theirs, row.unit)}, ratio {ratio_in_words(row)}")
    if row.memory is not None:
        words.append(f"memory {memory_in_words(row)} MB")
    return "; ".join(filter(None, (*words, row.agreement, row.note)))
