"""What one more place, pen or cock would add, in words, the greatest gain first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from matchmaker.flock.listing import natural
from matchmaker.plan.season.variants import MORE_CAP, MORE_CHICKS, Added
from matchmaker.report.days import whole_day
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.sheets import Sheet
from matchmaker.report.wording import breed_name, listed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from rich.console import Console

    from matchmaker.plan.season.one_more import Gain

NOTHING: Final = 0.005
"""A gain below this, in wanted chicks, is none: two decimals are printed."""

BOUGHT_IN_CAUTION: Final = (
    "A bird from elsewhere can carry disease without showing it: house it apart first, follow the "
    "rules that hold where you live, and ask a veterinarian before it meets the flock."
)

INBREEDING_CAUTION: Final = (
    "A higher limit means closer inbreeding in every season to come; what it costs in hatch and "
    "vigour is counted for these chicks only, not for theirs."
)


def gain_text(gain: float) -> str:
    """A gain in wanted chicks.

    Examples
    --------
    >>> gain_text(1.234), gain_text(0.004), gain_text(0.0)
    ('+1.23', '0', '0')
    """
    return f"+{gain:.2f}" if gain >= NOTHING else "0"


def print_one_more(console: Console, gains: Sequence[Gain]) -> None:
    """Every thing more with what it would add, those that add nothing together at the end."""
    say(console, "What one more would add, in wanted chicks (each by itself)", style="bold")
    adding = [one for one in gains if one.gain >= NOTHING]
    if adding:
        columns = [
            Column(heading="Adds", number=True),
            Column(heading="Plan worth", number=True),
            Column(heading="What", sentence=True),
        ]
        rows = [[gain_text(one.gain), f"{one.value:.2f}", thing(one)] for one in adding]
        print_rows(console, columns, rows)
    nothing = [one for one in gains if one.gain < NOTHING]
    if nothing:
        say(console, f"Nothing would be added by {'; '.join(_together(nothing))}.")
    if [one.what for one in adding] in _FULL:
        say(console, f"{_FULL_OF[adding[0].what]} is full: it alone holds the plan back.")
    for caution in _cautions(adding):
        say(console, caution)
    if not all(one.proved for one in gains):
        say(console, "Not all are proved best: gains are those of the plans found.")


def _together(gains: Sequence[Gain]) -> Iterator[str]:
    """Things more in few words, those of a kind in one."""
    for what in Added:
        own = [one for one in gains if one.what is what]
        if own and what in _KINDS:
            yield f"{_KINDS[what]} {_either(one.subject for one in own)}"
        else:
            yield from map(thing, own)


def _either(names: Iterable[str]) -> str:
    *first, last = sorted(names, key=natural)
    return f"{', '.join(first)} or {last}" if first else last


_KINDS: Final = {
    Added.PLACE: "one place more in pen",
    Added.CARRIER: "one cock more for",
    Added.LINE_CAP: f"a limit on kinship raised by {MORE_CAP:g} for chicks of",
}

_FULL_OF: Final = {Added.ROOM: "The rearing room", Added.EGGS: "The incubator"}
_FULL: Final = [[what] for what in _FULL_OF]


def _cautions(adding: Sequence[Gain]) -> list[str]:
    kinds = {one.what for one in adding}
    cautions = []
    if kinds & {Added.NEW_COCK, Added.CARRIER}:
        cautions.append(BOUGHT_IN_CAUTION)
    if kinds & {Added.CAP, Added.LINE_CAP, Added.MEAN_CAP, Added.GROUP_CAP}:
        cautions.append(INBREEDING_CAUTION)
    return cautions


def thing(one: Gain) -> str:
    """The one thing more, in words."""
    return _THINGS[one.what](one)


def gain_sentence(one: Gain) -> str:
    """What one thing more would add, as a sentence with its caution."""
    what = thing(one)
    if one.gain < NOTHING:
        return f"{what[0].upper()}{what[1:]}: adds nothing."
    proved = "" if one.proved else "at least "
    cautions = " ".join(_cautions([one]))
    return (
        f"{what[0].upper()}{what[1:]}: adds {proved}{one.gain:.2f} wanted chicks. {cautions}"
    ).rstrip()


def one_more_entries(gains: Sequence[Gain]) -> list[dict[str, Any]]:
    """The gains, for JSON."""
    return [
        {
            "what": str(one.what),
            "subject": one.subject,
            "gain": one.gain,
            "value": one.value,
            "proved": one.proved,
            "sentence": gain_sentence(one),
        }
        for one in gains
    ]


def one_more_sheet(gains: Sequence[Gain]) -> Sheet:
    """One thing a row."""
    header = ("what", "subject", "gain", "value", "proved", "sentence")
    rows = tuple(tuple(entry[name] for name in header) for entry in one_more_entries(gains))
    return Sheet(header=header, rows=rows)


def _place(one: Gain) -> str:
    others, alike = one.facts["others"], ""
    if others:
        alike = f" (or pen {listed(others)}, which {'are' if others[1:] else 'is'} like it)"
    return f"one place more in pen {one.subject}{alike}, for {one.facts['hens_max'] + 1} hens"


def _raised(what: str) -> Callable[[Gain], str]:
    return lambda one: (
        f"{what}{f' for chicks of {one.subject}' if one.subject else ''} raised by "
        f"{MORE_CAP:g} to {one.facts['cap'] + MORE_CAP:.4g}"
    )


_THINGS: Final[Mapping[Added, Callable[[Gain], str]]] = {
    Added.PLACE: _place,
    Added.PEN: lambda one: f"one pen more like pen {one.subject} ({one.facts['hens_max']} hens)",
    Added.CARRIER: lambda one: (
        f"one cock more for {one.subject}, as good as {one.facts['like']} and related as he is"
    ),
    Added.NEW_COCK: lambda one: (
        f"an unrelated {breed_name(one.subject)} cock from a new source (line "
        f"{one.facts['line']}, merit as the cocks of the breed have on average)"
    ),
    Added.CAP: _raised("the flock's limit on kinship"),
    Added.LINE_CAP: _raised("the limit on kinship"),
    Added.MEAN_CAP: _raised("the limit on the chicks' mean inbreeding"),
    Added.GROUP_CAP: _raised("the limit on the group's kinship"),
    Added.ROOM: lambda one: (
        f"rearing room for {MORE_CHICKS} chicks more ({one.facts['cap'] + MORE_CHICKS:g})"
    ),
    Added.EGGS: lambda one: (
        f"incubator room for {MORE_CHICKS} eggs a week more ({one.facts['cap'] + MORE_CHICKS:g})"
    ),
    Added.WEEK: lambda one: f"eggs kept a week longer (until {whole_day(one.facts['until'])})",
}
