"""What a column may be: every declared column, locus and trait that header or cells speak for."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.intake.fits import TELLING, Fit, fit, is_percentage
from matchmaker.intake.header_words import header_scores, heads_names, heads_notes, heads_trait
from matchmaker.intake.looks import looks
from matchmaker.intake.shape import LONG, Shape, shape_of, unit_of
from matchmaker.tables.columns import TABLES
from matchmaker.tables.schema import Column, Kind, plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.intake.profile import Known, Profile

NAMED: Final = 0.65
"""A header counts as naming a column from this score on."""

AGREE: Final = 0.7
"""Share of a column's cells that must suit what its header says."""

CONTRARY: Final = 0.2
"""Where fewer of a column's cells suit, they speak against its header."""

_SEXES: Final = 4
"""A column of the sex has no more different words: cock, hen, and two for those not told yet."""

_TO_BE_ASKED: Final = 0.5
"""What a column counts as suiting whose header is sure and whose words are to be asked for."""

_OFFERED: Final = frozenset({Kind.DATE, Kind.YES_NO})
"""Kinds of columns that a column is offered for by its cells alone."""

_PERCENT: Final = re.compile(r"%|percent", re.IGNORECASE)

_BEHIND: Final = re.compile(r"\s*[(\[].*|,? *\b[01] ?(?:-|–|to) ?\d{1,3}$|/ ?\d{1,3}$")

_UNIT: Final = re.compile(r",? +(?:kg|kilos?|g|gr|grams?|lbs?|oz)\.?$", re.IGNORECASE)

_OWN: Final = frozenset({"birds", "scores", "seen", "moves"})
"""Tables whose rows are of one bird each, so that a column may tell of its weight or its looks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One thing that a column may be; ``header`` and ``share`` are 0 to 1, ``filled`` its cells.

    What is only ``offered`` is never taken unless the keeper says so.
    """

    table: str
    column: str
    score: float
    header: float
    share: float
    filled: int
    offered: bool = False

    @property
    def target(self) -> tuple[str, str]:
        """The table and the column."""
        return (self.table, self.column)

    @property
    def agreed(self) -> bool:
        """Whether header and cells say the same; an empty column has its header alone."""
        if not self.filled:
            return self.header >= 0.9
        return self.header >= NAMED and self.share >= AGREE


def claims(profile: Profile, table: str, known: Known) -> tuple[Claim, ...]:
    """Return what a column of a block of this table may be, the likeliest first."""
    found: dict[tuple[str, str], Claim] = {}
    for claim in _all(profile, table, known):
        best = found.get(claim.target)
        if best is None or claim.score > best.score:
            found[claim.target] = claim
    return tuple(sorted(found.values(), key=lambda c: (-c.score, c.target)))


def _all(profile: Profile, table: str, known: Known) -> Iterator[Claim]:
    named = dict(header_scores(profile.header, table)) if profile.header else {}
    for column in TABLES[table].columns:
        yield from _declared(profile, table, column, named.get(column.name, 0.0), known)
    if table in _OWN:
        yield from _traits(profile, table)
        yield from _loci(profile, known)
    if table == "birds":
        yield from _beside_a_bird(profile, known)
        yield from _percentages(profile)
    if table == "pens":
        yield from _beside_a_pen(profile, known)
    yield from _notes(profile, table, known)


def _declared(
    profile: Profile, table: str, column: Column, header: float, known: Known
) -> Iterator[Claim]:
    if not profile.filled:
        suits = Fit(1.0, 0.0)
    elif header or column.kind in TELLING or column.name in {"pen", "locus"}:
        suits = _worded(profile, column, header, fit(profile, table, column, known))
    else:
        if column.kind in _OFFERED:
            yield from _offer(profile, table, column, known)
        return
    score = _score(header, suits)
    if score >= 0.3 or header >= NAMED:
        claim = _claim(profile, (table, column.name), score, header, suits.share)
        yield replace(claim, offered=score < 0.3)


def _worded(profile: Profile, column: Column, header: float, suits: Fit) -> Fit:
    """Let a header of the sex hold though its words are not known: they are asked for one by one.

    There are few of them then, each in many rows.
    """
    few = len(profile.words) <= _SEXES and profile.filled >= 2 * len(profile.words)
    if column.kind is Kind.SEX and header >= AGREE and few:
        return Fit(max(suits.share, _TO_BE_ASKED), suits.telling)
    return suits


def _offer(profile: Profile, table: str, column: Column, known: Known) -> Iterator[Claim]:
    """Offer a column to the keeper that its cells suit but its header does not name."""
    share = fit(profile, table, column, known).share
    if share >= 0.8:
        claim = _claim(profile, (table, column.name), 0.2 * share, 0.0, share)
        yield replace(claim, offered=True)


def _score(header: float, suits: Fit) -> float:
    if header and suits.share < CONTRARY:
        return header * suits.share
    if header:
        return header * (0.4 + 0.6 * suits.share) + 0.15 * suits.telling * suits.share
    return 0.55 * suits.telling * suits.share if suits.share >= 0.8 else 0.0


def _claim(
    profile: Profile, target: tuple[str, str], score: float, header: float, share: float
) -> Claim:
    table, column = target
    return Claim(
        table=table,
        column=column,
        score=score,
        header=header,
        share=share,
        filled=profile.filled,
    )


def _traits(profile: Profile, table: str) -> Iterator[Claim]:
    """Figures under a header are a trait, surely so if header or unit say what was measured.

    Figures of which nothing says so are taken among scores only, and offered elsewhere.
    """
    share = profile.share(lambda cell: shape_of(cell) in {Shape.NUMBER, Shape.YEAR})
    name, header = bare_trait(profile.header) or "figure", heads_trait(profile.header)
    if not profile.filled and header < 0.9:
        return
    unit = profile.share(lambda cell: unit_of(cell) not in {"", "%"})
    if unit >= 0.3:
        header = max(header, 0.7)
    if header and (share >= 0.5 or not profile.filled):
        share = share if profile.filled else 1.0
        yield _claim(
            profile, ("scores", name), 0.9 * _score(header, Fit(share, 0.1)), header, share
        )
    elif profile.header and share >= 0.8 and _measured(profile):
        claim = _claim(profile, ("scores", name), 0.3, 0.3, share)
        yield replace(claim, offered=table != "scores")


def _measured(profile: Profile) -> bool:
    """Whether figures look measured or scored: few digits, and not each one of its own."""
    short = profile.share(lambda cell: sum(letter.isdigit() for letter in cell) <= 4)
    return short >= 0.9 and (profile.different < 0.9 or profile.filled < 8)


def bare_trait(header: str) -> str:
    """Return a header as the name of a trait: no brackets, no unit, no scale of points.

    Examples
    --------
    >>> bare_trait("Weight (kg)"), bare_trait("Weight kg"), bare_trait("Shape 1-5")
    ('weight', 'weight', 'shape')
    """
    bare = _UNIT.sub("", _BEHIND.sub("", header).strip()) or header
    return " ".join(bare.replace(" - ", " ").casefold().split())


def _loci(profile: Profile, known: Known) -> Iterator[Claim]:
    """Words of a gene's classes tell it; where no header says which gene, only if none is near."""
    found = looks(profile, known.loci)
    for look in found:
        header = look.header
        score = _score(header, Fit(look.share, 0.8)) + 0.03 * min(look.words, 3)
        share = look.share if profile.filled else 1.0
        claim = _claim(profile, ("birds", look.symbol), score, header, share)
        near = any(one is not look and one.share > look.share - 0.1 for one in found)
        yield replace(claim, offered=not header and (look.words < 2 or near))


def _beside_a_bird(profile: Profile, known: Known) -> Iterator[Claim]:
    """A pen beside a bird is a move, a day of weighing belongs to its scores."""
    pen = dict(header_scores(profile.header, "moves")).get("pen", 0.0)
    suits = fit(profile, "moves", TABLES["moves"].column("pen"), known)
    score = 0.9 * _score(pen, suits)
    if score >= 0.3:
        yield _claim(profile, ("moves", "pen"), score, pen, suits.share)
    day = dict(header_scores(profile.header, "scores")).get("date", 0.0)
    if day >= 0.85 and plain(profile.header) not in {"date", "day", "when"}:
        suits = fit(profile, "scores", TABLES["scores"].column("date"), known)
        yield _claim(profile, ("scores", "date"), 0.9 * _score(day, suits), day, suits.share)


def _beside_a_pen(profile: Profile, known: Known) -> Iterator[Claim]:
    """Offer a bird beside a pen, and since when, as a move: who was put in there."""
    listed = profile.share(lambda cell: plain(cell) in known.bands)
    if listed >= AGREE:
        claim = _claim(profile, ("moves", "bird"), 0.5, 0.0, listed)
        yield replace(claim, offered=True)
    since = dict(header_scores(profile.header, "moves")).get("moved_in", 0.0)
    days = fit(profile, "moves", TABLES["moves"].column("moved_in"), known)
    if since >= AGREE and days.share >= AGREE:
        claim = _claim(profile, ("moves", "moved_in"), 0.29, since, days.share)
        yield replace(claim, offered=True)


def _percentages(profile: Profile) -> Iterator[Claim]:
    """Percentages under a header such as "% Sussex" may be shares of a breed: the keeper knows."""
    share = profile.share(is_percentage) if _PERCENT.search(profile.header) else 0.0
    if share >= 0.8:
        claim = _claim(profile, ("birds", "breed"), 0.35, 0.0, share)
        yield replace(claim, offered=True)


def _names(profile: Profile, table: str, known: Known) -> Iterator[Claim]:
    """Names stand for bands where there are no bands, if each bird has its own."""
    band = [column for column in TABLES[table].columns if column.name == "bird"]
    for column in band:
        suits = fit(profile, table, column, known)
        if suits.share >= AGREE:
            yield _claim(profile, (table, column.name), 0.6 * suits.share, 0.6, suits.share)


def _notes(profile: Profile, table: str, known: Known) -> Iterator[Claim]:
    if heads_names(profile.header):
        yield from _names(profile, table, known)
        yield _claim(profile, (table, "notes"), 0.45, 1.0, 1.0)
        return
    if heads_notes(profile.header):
        yield _claim(profile, (table, "notes"), 0.95, 1.0, 1.0)
        return
    remarks = profile.share(lambda cell: len(cell) > LONG or len(cell.split()) >= 4)
    if remarks >= 0.4:
        yield _claim(profile, (table, "notes"), 0.35 + 0.4 * remarks, 0.0, remarks)
