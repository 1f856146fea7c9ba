"""The words of a season's dates: short for a table, with the reasons for a calendar."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from matchmaker.report.days import day_text, span_text, whole_day
from matchmaker.report.locus_sentences import plain_name
from matchmaker.report.wording import counted, listed
from matchmaker.season.dates import Task, day_old_loci

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.pairs.table import PairTable
    from matchmaker.season.dates import Due, EggSet

OF_BOTH: Final = {"both": "cocks and hens", "hen": "hens only", "cock": "cocks only"}


def due_words(due: Due, table: PairTable) -> str:
    """What is done on a date, in a few words."""
    return _WORDS[due.task](due, table)


def due_reason(due: Due, table: PairTable) -> str:
    """What to know about a date beyond its few words; "" where that is nothing."""
    make = _REASONS.get(due.task)
    return "" if make is None else make(due, table)


def pens_words(pens: Sequence[str]) -> str:
    """Pens in brackets; "" where there are none.

    Examples
    --------
    >>> pens_words(("1", "2")), pens_words(("7",)), pens_words(())
    (' (pens 1, 2)', ' (pen 7)', '')
    """
    if not pens:
        return ""
    return f" (pen{'s' if len(pens) > 1 else ''} {', '.join(pens)})"


def locus_name(locus: Locus) -> str:
    """A locus by its symbol and its name.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> locus_name(catalogue()["P"])
    'P (pea comb)'
    """
    return f"{locus.symbol} ({plain_name(locus)})"


def _set(due: Due) -> EggSet:
    found: EggSet = _about(due)["set"]
    return found


def _about(due: Due) -> Mapping[str, Any]:
    return due.about


def _condition(_: Due, __: PairTable) -> str:
    return "Condition: breeder ration, grit and shell; check for worms and mites"


def _light(_: Due, __: PairTable) -> str:
    return "Light: 14 hours a day from now on, cocks too"


def _pen_up(_: Due, __: PairTable) -> str:
    return "Make up the pens"


def _safe(due: Due, _: PairTable) -> str:
    about = _about(due)
    if "hens" not in about:
        return "First eggs that are surely their cock's"
    return f"First eggs of {listed(about['hens'])} that are surely {about['cock']}'s"


def _set_eggs(due: Due, _: PairTable) -> str:
    one = _set(due)
    eggs = counted(one.total, "egg")
    return f"set {one.number}: {eggs}{', set already' if one.done else ''}"


def _candle(due: Due, _: PairTable) -> str:
    return f"candle set {_set(due).number}"


def _move(due: Due, _: PairTable) -> str:
    return f"candle set {_set(due).number} again, move it to the hatcher"


def _hatch(due: Due, table: PairTable) -> str:
    seen = list(day_old_loci(table))
    read = f", read {listed(seen)}" if seen else ""
    return f"set {_set(due).number} hatches: count, band{read}"


def _read(due: Due, _: PairTable) -> str:
    locus: Locus = _about(due)["locus"]
    return f"Read {locus_name(locus)}{_by_hatch(due)}: {OF_BOTH[locus.shown_by]}"


def _last_set(due: Due, _: PairTable) -> str:
    about = _about(due)
    if "locus" in about:
        return f"Last day to set for pullets that show {locus_name(about['locus'])} in time"
    if "traits" in about:
        return f"Last day to set for pullets in lay in time ({listed(about['traits'])})"
    return f"Last day to set for birds old enough ({about['age']} days) by the next pens"


def _grade(due: Due, _: PairTable) -> str:
    weeks = _about(due)["weeks"]
    what = {8: "sex, comb, colour, toes, second band check", 16: "weight and type"}
    what_for = what.get(weeks, "final grading: type and colour")
    return f"Grade at {weeks} weeks{_by_hatch(due)}: {what_for}"


def _by_hatch(due: Due) -> str:
    """Until when it goes on where birds of later hatches come to it later."""
    return "" if due.last == due.day else f", hatch by hatch until {day_text(due.last)}"


def _break_up(_: Due, __: PairTable) -> str:
    return "All hatched: the pens can be broken up"


def _loci_of(due: Due) -> str:
    sexes: dict[str, list[str]] = {}
    for locus, sex in _about(due)["loci"]:
        sexes.setdefault(locus, []).append(f"{sex}s")
    return listed([f"{locus} in {listed(of)}" for locus, of in sexes.items()])


def _samples(due: Due, _: PairTable) -> str:
    return f"Take samples for tests: {_loci_of(due)}"


def _results(due: Due, _: PairTable) -> str:
    return f"Test results due: {_loci_of(due)}"


def _choose(_: Due, __: PairTable) -> str:
    return "Choose the breeders to keep, and spare cocks"


def _decide(due: Due, _: PairTable) -> str:
    return f"Plan the season {_about(due)['season']}"


_WORDS: Final[Mapping[Task, Callable[[Due, PairTable], str]]] = {
    Task.CONDITION: _condition,
    Task.LIGHT: _light,
    Task.PEN_UP: _pen_up,
    Task.SAFE: _safe,
    Task.SET: _set_eggs,
    Task.CANDLE: _candle,
    Task.MOVE: _move,
    Task.HATCH: _hatch,
    Task.READ: _read,
    Task.LAST_SET: _last_set,
    Task.GRADE: _grade,
    Task.BREAK_UP: _break_up,
    Task.SAMPLES: _samples,
    Task.RESULTS: _results,
    Task.CHOOSE: _choose,
    Task.DECIDE: _decide,
}


def _why_condition(_: Due, __: PairTable) -> str:
    return (
        "From 4 to 6 weeks before eggs are kept (common practice). Keep the sexes apart until the "
        "pens are made up. What to give against parasites, and how much: ask a veterinarian."
    )


def _why_light(_: Due, __: PairTable) -> str:
    return "For 4 to 6 weeks before eggs are kept (Damerow, Guide to Raising Chickens)."


def _why_safe(due: Due, table: PairTable) -> str:
    waits = _about(due).get("waits_for", ())
    days = table.study.flock.settings.limits.clean_out_days
    if not waits:
        return "A week after cock and hens met the whole pen is fertile (Hutt 1949, as quoted)."
    told = [f"{hen} was with {cock} until {day_text(last)}" for hen, cock, last in waits]
    return f"{listed(told)}; {days} days must pass. Eat the eggs before that, or mark them."


def _why_set(due: Due, _: PairTable) -> str:
    one = _set(due)
    eggs = ", ".join(f"pen {pen}: {one.eggs[pen]}" for pen in one.pens)
    if one.first is None or one.last is None:
        return f"{eggs}."
    laid = span_text(one.first, one.last)
    return f"{eggs}. Laid {laid}; no egg older than 7 days. Mark pen, hen and day on each."


def _why_candle(_: Due, __: PairTable) -> str:
    return (
        "Day 7 to 10; dark and blue shells show later. Write the fertile eggs into eggs.csv. All "
        "clear in a pen: look at its cock."
    )


def _why_move(_: Due, __: PairTable) -> str:
    return "Day 18: stop turning; one compartment for each hen or pen, so that no chicks mix."


def _why_hatch(due: Due, table: PairTable) -> str:
    seen = [locus_name(locus) for locus in day_old_loci(table).values()]
    read = f" Day-old chicks show {listed(seen)}." if seen else ""
    return (
        f"Pens {listed(list(due.pens))}. Write hatched and bands into eggs.csv.{read} Half of them "
        "are cockerels."
    )


def _why_read(due: Due, _: PairTable) -> str:
    locus: Locus = _about(due)["locus"]
    return (
        f"It shows at about {locus.shows_at_days} days; from the first hatch on this day to the "
        f"last on {day_text(due.last)}."
    )


def _why_last_set(due: Due, _: PairTable) -> str:
    about = _about(due)
    if "pen_up" in about:
        return f"The next pens are made up on {whole_day(about['pen_up'])}."
    return "Chicks of later sets show it only after the next season is planned."


def _why_grade(due: Due, _: PairTable) -> str:
    return (
        f"From the first hatch on this day to the last on {day_text(due.last)}. Weigh and judge "
        "birds of one hatch and sex together."
    )


def _why_break_up(_: Due, __: PairTable) -> str:
    return "If too few have hatched, go on collecting. Put cocks together out of sight of the hens."


def _why_tests(_: Due, __: PairTable) -> str:
    return (
        "These cannot be told by eye from those that are not wanted. How blood may be drawn is a "
        "matter of local rules: ask a veterinarian."
    )


def _why_choose(_: Due, __: PairTable) -> str:
    return (
        "Two or three times as many as will be penned, and at least two spare cocks (common "
        "practice)."
    )


_REASONS: Final[Mapping[Task, Callable[[Due, PairTable], str]]] = {
    Task.CONDITION: _why_condition,
    Task.LIGHT: _why_light,
    Task.SAFE: _why_safe,
    Task.SET: _why_set,
    Task.CANDLE: _why_candle,
    Task.MOVE: _why_move,
    Task.HATCH: _why_hatch,
    Task.READ: _why_read,
    Task.LAST_SET: _why_last_set,
    Task.GRADE: _why_grade,
    Task.BREAK_UP: _why_break_up,
    Task.SAMPLES: _why_tests,
    Task.CHOOSE: _why_choose,
}
