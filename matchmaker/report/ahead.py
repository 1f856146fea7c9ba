"""What ``ahead`` prints: spring by spring, line by line, trait by trait, then what is at risk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.ahead.figures import first_true, looked_at, of_flock, of_lines, trait_change
from matchmaker.report.ahead_compare import print_comparison
from matchmaker.report.ahead_risks import NEW_BLOOD, risk_texts
from matchmaker.report.ahead_words import (
    NOTHING,
    PREMISE,
    chance_cell,
    count_cell,
    decimal,
    end_of,
    error_digits,
    error_text,
    gist_text,
    head_text,
    how_often,
    inbreeding_cell,
    mean_cell,
    share_cell,
    spread,
    target_text,
)
from matchmaker.report.response import aim_text
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.terminal import print_cautions
from matchmaker.report.wording import breed_name, listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from matchmaker.ahead.outlook import Ahead
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.pairs.table import PairTable

_SPRINGS = (
    Column(heading="Year"),
    Column(heading="Breeds\ntrue, %", number=True),
    Column(heading="All lines\nlive, %", number=True),
    Column(heading="Share,\n%", number=True),
    Column(heading="Inbreeding", number=True),
    Column(heading="Chicks\nraised", number=True),
    Column(heading="Eggs\nset", number=True),
)

_LINES = (
    Column(heading="Line", name=True),
    Column(heading="Lives,\n%", number=True),
    Column(heading="Birds", number=True),
    Column(heading="Carriers", number=True),
    Column(heading="Whole\ntarget", number=True),
    Column(heading="Share,\n%", number=True),
    Column(heading="Inbr.", number=True),
    Column(heading="True\nfrom", number=True),
)


def print_ahead(console: Console, ahead: Ahead, table: PairTable) -> None:
    """The whole outlook; ``table`` holds the flock as it is now."""
    say(console, head_text(ahead), style="bold")
    say(console, PREMISE)
    recurrent = breed_name(table.study.flock.settings.recurrent)
    console.print()
    say(console, gist_text(ahead, recurrent))
    _print_springs(console, ahead, table)
    _print_lines(console, ahead)
    _print_traits(console, ahead, table)
    if len(ahead.outlooks) > 1:
        print_comparison(console, ahead)
    console.print()
    say(console, "What to watch", style="bold")
    for sentence in risk_texts(ahead, table):
        say(console, sentence, indent=2)
    say(console, NEW_BLOOD, indent=2)
    print_cautions(console, table.study.loci)
    console.print()
    say(console, "Taken for granted:", style="bold")
    for sentence in ahead.defaults:
        say(console, sentence, indent=2)
    say(console, "and all that plan takes for granted and says under its pens", indent=2)


def _print_springs(console: Console, ahead: Ahead, table: PairTable) -> None:
    found = of_flock(ahead.plan)
    rows = [
        [
            str(spring),
            *(chance_cell(how_often(found[name][:, at])) for name in ("fixed", "all_alive")),
            share_cell(spread(found["share"][:, at])),
            inbreeding_cell(spread(found["inbreeding"][:, at])),
            *(mean_cell(spread(found[name][:, at])) for name in ("chicks", "eggs")),
        ]
        for at, spring in enumerate(ahead.subject.springs)
    ]
    console.print()
    say(console, "Spring by spring", style="bold")
    print_rows(console, _SPRINGS, rows)
    for sentence in _springs_legend(ahead, table.study):
        say(console, sentence)


def _springs_legend(ahead: Ahead, study: Study) -> Iterator[str]:
    recurrent = breed_name(study.flock.settings.recurrent)
    only_one = [symbol for symbol, locus in study.loci.items() if locus.z_linked]
    yield (
        "Breeds true: the chance that a line has a cock and a hen with the whole target: "
        f"{target_text(ahead.subject.target, only_one)}. Live: the chance that every line does; "
        "one that carries the target lives while it has a carrier. In brackets behind a chance: "
        f"within what it may be, by {ahead.plan.replicates} replicates (95 % interval)."
    )
    yield (
        f"Share: of the genome that is {recurrent}, in the birds of "
        f"{listed(looked_at(ahead.subject))} (median). Inbreeding: of the young birds "
        "(mean, 0 to 1). In brackets behind these: eight replicates in ten. Chicks and eggs: of "
        "the season before (mean)."
    )


def _print_lines(console: Console, ahead: Ahead) -> None:
    """Each line in the last spring."""
    console.print()
    say(console, f"The lines in spring {ahead.subject.springs[-1]}", style="bold")
    print_rows(console, _LINES, [_line_row(ahead, at) for at in range(len(ahead.subject.lines))])
    say(
        console,
        "Lives: as above, line by line. Birds, carriers (of what is to be brought in), birds with "
        "the whole target and share: medians, in brackets eight replicates in ten. Inbr.: mean "
        "inbreeding of the young. True from: the first spring in which the line breeds true in "
        "half of the replicates.",
    )


def _line_row(ahead: Ahead, at: int) -> list[str]:
    last = {name: values[:, -1, at] for name, values in of_lines(ahead.plan).items()}
    working = ahead.subject.working[at]
    first = first_true(ahead.plan, at)
    return [
        ahead.subject.lines[at],
        chance_cell(how_often(last["alive"])),
        count_cell(spread(last["birds"]), ends=False),
        count_cell(spread(last["carriers"])) if working else NOTHING,
        count_cell(spread(last["whole"])) if working else NOTHING,
        share_cell(spread(last["share"]), ends=False),
        inbreeding_cell(spread(last["inbreeding"]), ends=False),
        (str(first) if first else "not yet") if working else NOTHING,
    ]


def _print_traits(console: Console, ahead: Ahead, table: PairTable) -> None:
    """Where the working lines go in each trait; nothing where none is scored."""
    subject = ahead.subject
    if not subject.traits:
        return
    aims = {one.trait: one for one in table.study.forecast.aims}
    columns = [
        Column(heading="Trait", name=True),
        Column(heading="Aim"),
        Column(heading="Unit"),
        *(
            Column(heading=heading, number=True)
            for heading in (
                *(str(subject.springs[0]), str(subject.springs[-1])),
                *("Change", "±", "Eight in ten"),
            )
        ),
    ]
    rows = [_trait_row(ahead, at, aims.get(name)) for at, name in enumerate(subject.traits)]
    console.print()
    say(console, f"The traits of {listed(looked_at(subject))}", style="bold")
    print_rows(console, columns, rows)
    say(
        console,
        "Where birds like these would be, the luck of single birds left out; the mean of the lines "
        "that have birds in both springs, each line counted alike. ±: standard error of the "
        "change. Eight in ten: the change in eight replicates of ten. What the scores of today "
        "leave open is part of that.",
    )


def _trait_row(ahead: Ahead, at: int, aim: TraitAim | None) -> list[str]:
    found = trait_change(ahead.plan, at)
    change = spread(found.change)
    digits = error_digits(change.se)
    today, last = spread(found.today), spread(found.last)
    levels = min(digits, error_digits(max(today.se, last.se)))
    low, high = (decimal(end_of(change, end), digits, sign=True) for end in (0, 2))
    return [
        ahead.subject.traits[at],
        aim_text(aim) if aim else NOTHING,
        ahead.subject.units[at],
        decimal(today.mean, levels),
        decimal(last.mean, levels),
        decimal(change.mean, digits, sign=True),
        error_text(change.se, digits),
        f"{low} to {high}" if change.replicates else NOTHING,
    ]
