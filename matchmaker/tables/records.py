"""What one row of each table says, after its cells were read and checked one by one.

Every record keeps the row it stood in (as the spreadsheet shows it, header = 1), so that faults
found later still point at the right place. Records say only what the keeper wrote: nothing is
inferred here.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt


class Sex(StrEnum):
    """Cocks are ZZ, hens ZW."""

    COCK = "cock"
    HEN = "hen"

    @property
    def other(self) -> Sex:
        """The sex of a mate.

        Examples
        --------
        >>> str(Sex.COCK.other)
        'hen'
        """
        return Sex.HEN if self is Sex.COCK else Sex.COCK


class Status(StrEnum):
    """Where a bird stands in the keeper's books."""

    BREEDER = "breeder"
    YOUNG = "young"
    SPARE = "spare"
    QUARANTINE = "quarantine"
    SOLD = "sold"
    DEAD = "dead"
    CULLED = "culled"

    @property
    def alive_here(self) -> bool:
        """Whether the bird is still on the farm (quarantine included)."""
        return self not in {Status.SOLD, Status.DEAD, Status.CULLED}


class Origin(StrEnum):
    """What the sire or dam cell says."""

    KNOWN = "known"
    FOUNDER = "founder"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Parentage:
    """One parent as written: an id, several with probabilities, ``founder`` or nothing."""

    origin: Origin
    candidates: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdRecord:
    """One row of ``birds.csv``; ``seen`` holds the locus columns as ``{locus: words}``."""

    row: int
    bird: str
    sex: Sex | None = None
    hatched: dt.date | None = None
    hatched_is_year: bool = False
    sire: Parentage = Parentage(origin=Origin.UNKNOWN)
    dam: Parentage = Parentage(origin=Origin.UNKNOWN)
    clutch: str = ""
    line: str = ""
    breed: dict[str, float] = field(default_factory=dict)
    source: str = ""
    status: Status = Status.BREEDER
    left_on: dt.date | None = None
    release_on: dt.date | None = None
    defects: tuple[str, ...] = ()
    lay_per_week: float | None = None
    fertility: float | None = None
    hens_max: int | None = None
    seen: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenRecord:
    """One row of ``seen.csv``: evidence on one bird, or on unbanded chicks of a pair or pen.

    ``what`` holds the classes seen with their counts: ``(("pea", 9), ("single", 4))``; a single
    bird has one class with count 1.
    """

    row: int
    date: dt.date | None
    bird: str
    hen: str
    cock: str
    pen: str
    locus: str
    what: tuple[tuple[str, int], ...]
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreRecord:
    """One row of ``scores.csv``: one bird on one day, its traits in their own units."""

    row: int
    bird: str
    date: dt.date | None
    group: str
    traits: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PenRecord:
    """One row of ``pens.csv``.

    ``line`` is the line that the chicks of the pen join, ``use`` the purpose of matings that the
    pen is kept for; "" for any.
    """

    row: int
    pen: str
    hens_max: int
    hens_min: int = 1
    dam_known: bool = False
    line: str = ""
    use: str = ""
    open: bool = True
    first_day: dt.date | None = None
    last_day: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WishRecord:
    """One row of ``wishes.csv``; ``partner`` (column ``with``) is a bird or a pen."""

    row: int
    bird: str
    partner: str
    wish: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRecord:
    """One row of ``plan.csv``: one hen of one pen of the standing plan."""

    row: int
    pen: str
    line: str
    cock: str
    hen: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveRecord:
    """One row of ``moves.csv``: a bird's stay in a pen."""

    row: int
    bird: str
    pen: str
    moved_in: dt.date | None
    moved_out: dt.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class EggRecord:
    """One row of ``eggs.csv``: the eggs of a pen or hen, from collecting to rearing."""

    row: int
    pen: str
    hen: str
    cock: str
    collected_from: dt.date | None
    collected_to: dt.date | None
    set_on: dt.date | None
    eggs: int | None
    fertile: int | None
    hatched: int | None
    raised: int | None
    first_band: str
    last_band: str
