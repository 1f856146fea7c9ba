"""The command line's words as what is told of one set."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

from matchmaker.errors import UsageError
from matchmaker.hatch.bands import RANGE, BandError, read_bands
from matchmaker.hatch.seen_text import SeenClass, SeenError, read_seen
from matchmaker.hatch.told import BandedChick, Counted, Told
from matchmaker.tables.asked import day_asked
from matchmaker.tables.records import Sex, Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The words as typed; "" and ``None`` stand for what was left out."""

    pen: str = ""
    dam: str = ""
    sire: str = ""
    set_on: str = ""
    collected: str = ""
    eggs: int | None = None
    fertile: int | None = None
    hatched: int | None = None
    hatched_on: str = ""
    bands: Sequence[str] = ()
    cock_chicks: Sequence[str] = ()
    hen_chicks: Sequence[str] = ()
    dead: Sequence[str] = ()
    culled: Sequence[str] = ()
    sold: Sequence[str] = ()
    seen: Sequence[str] = ()
    line: str = ""
    clutch: str = ""

    @classmethod
    def of(cls, words: Mapping[str, Any]) -> Asked:
        """Pick the words that are asked for out of others, by name; ``None`` is left out.

        Examples
        --------
        >>> Asked.of({"pen": "2", "bands": None, "folder": "."}).given
        ('--pen',)
        """
        names = {one.name for one in fields(cls)}
        return cls(**{n: word for n, word in words.items() if n in names and word is not None})

    @property
    def given(self) -> tuple[str, ...]:
        """The options that were used, as typed."""
        return tuple(
            "--" + name.replace("_", "-")
            for name in (one.name for one in fields(self))
            if getattr(self, name) or getattr(self, name) == 0
        )


def told_of(asked: Asked, settings: Settings) -> Told:
    """Return what is told of the set.

    Raises
    ------
    UsageError
        If a date, a band or a class cannot be read, or a chick is named that is not banded.
    """
    bands = _bands("--bands", asked.bands)
    seen = [one for text in asked.seen for one in _seen(text, bands)]
    _refuse_counted_twice(seen)
    return Told(
        pen=asked.pen.strip(),
        dam=asked.dam.strip(),
        sire=asked.sire.strip(),
        set_on=_day(asked.set_on, settings, "set the eggs (--set-on)"),
        collected=_days(asked.collected, settings),
        eggs=asked.eggs,
        fertile=asked.fertile,
        hatched=asked.hatched,
        hatched_on=_day(asked.hatched_on, settings, "hatch (--hatched-on)"),
        chicks=tuple(_chicks(asked, bands, seen)),
        counts=tuple(
            Counted(locus=one.locus, words=one.words, chicks=one.chicks)
            for one in seen
            if one.chicks is not None
        ),
        line=asked.line.strip(),
        clutch=asked.clutch.strip(),
    )


def _day(text: str, settings: Settings, purpose: str) -> dt.date | None:
    return day_asked(text, settings, purpose) if text.strip() else None


def _days(text: str, settings: Settings) -> tuple[dt.date, dt.date] | None:
    """First and last day of collecting; one day alone is both."""
    if not text.strip():
        return None
    first, _, last = text.partition(RANGE)
    purpose = "collect eggs (--collected FIRST..LAST)"
    begun = day_asked(first, settings, purpose)
    return begun, day_asked(last, settings, purpose) if last.strip() else begun


def _bands(option: str, texts: Iterable[str]) -> tuple[str, ...]:
    try:
        return read_bands(",".join(texts))
    except BandError as error:
        raise UsageError(f"{option}: {error}") from error


def _seen(text: str, bands: tuple[str, ...]) -> tuple[SeenClass, ...]:
    try:
        return read_seen(text, bands)
    except SeenError as error:
        raise UsageError(f"--seen: {error}") from error


def _refuse_counted_twice(seen: Sequence[SeenClass]) -> None:
    """A class counted by two options: nobody knows whether the two numbers add up."""
    counted: dict[tuple[str, str], int | None] = {}
    for one in seen:
        if one.chicks is not None:
            if (one.locus, one.words) in counted:
                raise UsageError(
                    f"--seen: {one.locus}:{one.words} is counted as "
                    f"{counted[one.locus, one.words]} and as {one.chicks}: name each class once, "
                    "with its number over the whole hatch"
                )
            counted[one.locus, one.words] = one.chicks


def _chicks(
    asked: Asked, bands: tuple[str, ...], seen: Sequence[SeenClass]
) -> Iterable[BandedChick]:
    sexes = _marked(bands, {"--cock-chicks": asked.cock_chicks, "--hen-chicks": asked.hen_chicks})
    fates = _marked(bands, {"--dead": asked.dead, "--culled": asked.culled, "--sold": asked.sold})
    looks: dict[str, dict[str, str]] = {band: {} for band in bands}
    for one in seen:
        for band in one.bands:
            _refuse_unbanded("--seen", band, bands)
            before = looks[band].setdefault(one.locus, one.words)
            if before != one.words:
                raise UsageError(
                    f"--seen: {band} is named as {before} and as {one.words}: name it once"
                )
    sex_of = {"--cock-chicks": Sex.COCK, "--hen-chicks": Sex.HEN}
    for band in bands:
        fate = fates.get(band)
        yield BandedChick(
            band=band,
            sex=sex_of[sexes[band]] if band in sexes else None,
            status=Status(fate.removeprefix("--")) if fate else Status.YOUNG,
            seen=looks[band],
        )


def _marked(bands: tuple[str, ...], options: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Which of some options names each band; none may be named by two."""
    found: dict[str, str] = {}
    for option, texts in options.items():
        for band in _bands(option, texts):
            _refuse_unbanded(option, band, bands)
            if band in found:
                raise UsageError(f"{found[band]} and {option} both name {band}: name it once")
            found[band] = option
    return found


def _refuse_unbanded(option: str, band: str, bands: tuple[str, ...]) -> None:
    if band not in bands:
        raise UsageError(
            f"{option}: {band} is not among the bands of this hatch (--bands). Name it there too; "
            "what becomes of chicks without a band is not written down"
        )
