"""Words that cells, headers and settings hold on bad days; all invented, or a slip seen often."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from matchmaker.tables.columns import TABLES
from matchmaker.tables.schema import Column, Kind, Table

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

BANDS: Final = ("C1", "C2", "H1", "H2", "H3", "Y1", "Y2", "017", "17", "Åsa-3", "4711", "A26-001")

WILD: Final = (
    *("", " ", "?", "-", "–", "n/a", "NA", "none", "unknown", "0", "-0", "00", "1", "-1", "2,45"),
    *(
        "2.5 kg",
        "2,1 kg",
        "2100 g",
        "12 oz",
        "1.234,5",
        "1 234,5",
        "1,234",
        "1e5",
        "1E+05",
        "1e999",
    ),
    *("-1e999", "nan", "inf", "0x10", "1_000", "٣", "²", "½", "1/2", "1/0", "50 %", "150%", "%"),
    *(
        "true",
        "WAHR",
        "x",
        "yes",
        "Nein",
        "cock",
        "hen",
        "cockerel?",
        "♂",
        "♀\ufe0f",
        "m",
        "2",
        "u",
    ),
    *("2026-03-17", "2026-02-30", "17/3/2026", "3/17/2026", "4/5/2026", "17.3.26", "March 2026"),
    *("17 March 2026", "Mar 17, 2026", "spring 2024", "2024", "0000", "9999", "45368", "2-Sep"),
    *("2026-03-17 10:00:00", "2026-03-17T25:61", "29/2/2027", "0/0/0000", "1.1.1900", "31-12-2199"),
    *(
        "C1|C2",
        "C1/C2",
        "C1 or C2",
        "C1:0.7|C2:0.3",
        "C1:1/3|C2:2/3",
        "C1:|C2",
        "|",
        "||",
        ":",
        "C1:0",
    ),
    *("C1:1/0|C2:1", "C1:50%|C2:50%", "C1:0,5|C2:0,5", "founder", "Founder|C1", "?|C1", "C1|C1"),
    *(
        "one of the brothers",
        "pen 3",
        "pen 4 hens",
        "from Bill",
        "bought",
        '"',
        "sussex:0.75|faverolle:0.25",
    ),
    *("7/8 Sussex", "87.5 %", "BC3", "Sussex x Marans", "9 pea, 4 single", "9pea;4single", "pea"),
    *("2 copies", "9 x pea", "9 2 copies", "pea,pea", ",", ";", "1234567 pea", "single 4", "blue"),
    *("dead", "†", "sold to Bill", "quarantine until May", "=1+1", '=HYPERLINK("x")', "+49", "@a"),
    *(
        "a\nb",
        "a\r\nb",
        "\ta",
        "a\u2028b",
        "\u200b",
        "\ufeff",
        "\xa0",
        "\x1f",
        "\x85",
        "e\u0301",
        "İ",
    ),
    *(
        "[bold]x[/]",
        "[/]",
        "[red",
        "<b>",
        "&amp;",
        "{}",
        "%s",
        "\\",
        "$(x)",
        "../../x",
        "\U0001f414",
    ),
    *(
        "\x1b[31m",
        "\x07",
        "\u202e17",
        "ﬀ",
        "ẞ",
        "'",
        "''=1",
        "#REF!",
        "#N/A",
        "Total",
        "Sum 24",
        "17|",
    ),
    *(
        "together",
        "apart",
        "allow",
        "rest",
        "keep apart",
        "backcross",
        "test",
        "dna",
        "told",
        "day-old",
    ),
    *(
        "C1..C4",
        "C1-C4",
        "001..999",
        "C1..",
        "..C1",
        "C4..C1",
        "A26-001..A26-012",
        "1 to 5",
        "C1, C1",
    ),
)

HEADERS: Final = (
    *("bird", "ring", "Leg band", "ID", "sex", "m/f", "sire", "Father", "dam", "MOTHER", "hatched"),
    *("born", "line", "breed", "status", "O", "P", "o", "notes", "colour", "weight", "Weight (kg)"),
    *(
        "",
        "  ",
        "bird ",
        "Bird No.",
        "wieght",
        "sexe",
        "date",
        "pen",
        "house",
        "from",
        "to",
        "eggs",
    ),
    *("a" * 300, "x\ny", '"', "=1", "1", "2026-03-17", "Unnamed: 3", "comb [1-5]", "with", "why"),
)

_FIT: Final[dict[Kind, tuple[str, ...]]] = {
    Kind.BAND: BANDS,
    Kind.BAND_RANGE: BANDS,
    Kind.PARENT: ("C1", "C2", "H1", "H2", "C1|C2", "H1:0.25|H2:0.75", "founder", "", "unknown"),
    Kind.SEX: ("cock", "hen", "m", "f", "", "pullet"),
    Kind.DATE: ("2026-03-17", "2027-01-02", "17/3/2026", "", "1 May 2026"),
    Kind.HATCHED: ("2024", "2025-04-02", "2026-05-01", ""),
    Kind.BREED: ("sussex", "sussex:0.75|marans:0.25", ""),
    Kind.STATUS: ("breeder", "young", "dead", "sold", ""),
    Kind.DEFECTS: ("", "crooked toe", "wry tail, side sprig"),
    Kind.NUMBER: ("3.5", "2,45", "4", ""),
    Kind.PROBABILITY: ("0.85", "85 %", ""),
    Kind.COUNT: ("3", "12", "0", "", "7"),
    Kind.YES_NO: ("yes", "no", "x", ""),
    Kind.WISH: ("together", "apart", "allow", "use", "rest"),
    Kind.PURPOSE: ("backcross", "hold", ""),
    Kind.CLASSES: ("blue", "pea", "single", "9 pea, 4 single", "not blue"),
    Kind.HOW: ("adult", "day-old", "dna", ""),
}

_NAMES: Final = {
    "pen": ("1", "2", "3", "Old house"),
    "line": ("Alder", "Sussex", ""),
    "locus": ("O", "P"),
}
_EXTRAS: Final = {
    "birds": ("O", "P", "notes", "colour"),
    "scores": ("weight", "comb", "Weight (kg)"),
}


def fitting(rng: random.Random, column: Column) -> str:
    """Return a text that a column is meant for."""
    named = _NAMES.get(column.name, ("", "Bill", "A", "calm, tame"))
    return rng.choice(_FIT.get(column.kind, named))


def cell(rng: random.Random, column: Column | None = None, wildness: float = 0.25) -> str:
    """Return a cell: mostly fitting its column, sometimes wild."""
    if column is None or rng.random() < wildness:
        return rng.choice(WILD)
    return fitting(rng, column)


def columns_of(rng: random.Random, table: Table) -> list[tuple[str, Column | None]]:
    """Return headers for a table with what they are meant for."""
    found: list[tuple[str, Column | None]] = [
        (rng.choice((column.name, column.name, *column.synonyms)), column)
        for column in table.columns
        if column.name in table.needed or rng.random() < 0.6
    ]
    found += [
        (extra, Column(name=extra, kind=Kind.NUMBER, meaning=""))
        for extra in _EXTRAS.get(table.name, ("notes",))
        if rng.random() < 0.4
    ]
    if rng.random() < 0.15:
        found.insert(rng.randrange(len(found) + 1), (rng.choice(HEADERS), None))
    if rng.random() < 0.2:
        rng.shuffle(found)
    return found


def grid(rng: random.Random, name: str) -> list[list[str]]:
    """Return a table as rows of text, its header first."""
    columns = columns_of(rng, TABLES[name])
    wildness = rng.choice((0.0, 0.02, 0.1, 0.4))
    rows = range(rng.randrange(7))
    filled = [[cell(rng, column, wildness) for _, column in columns] for _ in rows]
    return [[header for header, _ in columns], *filled]


def grid_changed(rng: random.Random, rows: list[list[str]], name: str) -> list[list[str]]:
    """Return rows with one or more things done to them that keepers do."""
    rows = [list(row) for row in rows]
    for _ in range(1 + int(rng.expovariate(1))):
        _change(rng, rows, name)
    return rows[:60]


def _change(rng: random.Random, rows: list[list[str]], name: str) -> None:
    if not rows or not any(rows):
        rows.append([rng.choice(HEADERS) for _ in range(4)])
    at = rng.randrange(len(rows))
    ways: tuple[Callable[[], object], ...] = (
        lambda: _cell_changed(rng, rows, at),
        lambda: _cell_changed(rng, rows, at),
        lambda: _cell_changed(rng, rows, at),
        lambda: rows.insert(at, rng.choices(("", "", "", *WILD), k=rng.randrange(4))),
        lambda: rows.insert(at, list(rng.choice(rows))),
        lambda: rows.pop(at),
        lambda: rows[at].extend(rng.choices(WILD, k=rng.randrange(1, 4))),
        lambda: _columns_changed(rng, rows),
        lambda: _header_changed(rng, rows[0]),
        lambda: rows.extend([[], *grid(rng, rng.choice((name, *TABLES)))]),
        lambda: rows.insert(0, [rng.choice(("Our birds 2026", "", *WILD))]),
    )
    rng.choice(ways)()


def _cell_changed(rng: random.Random, rows: list[list[str]], at: int) -> None:
    if rows[at]:
        other = rng.choice(rows)
        new = rng.choice(other) if other and rng.random() < 0.3 else rng.choice(WILD)
        rows[at][rng.randrange(len(rows[at]))] = new


def _header_changed(rng: random.Random, header: list[str]) -> None:
    header[:] = [rng.choice((word, word, rng.choice(HEADERS))) for word in header]


def _columns_changed(rng: random.Random, rows: list[list[str]]) -> None:
    width = max(len(row) for row in rows)
    at = rng.randrange(width + 1)
    blank_header = rng.random() < 0.5
    for number, row in enumerate(rows):
        if len(row) >= at:
            filled = "" if blank_header and number == 0 else rng.choice((*HEADERS, *WILD))
            row.insert(at, filled)


def settings_text(rng: random.Random) -> str:
    """Return a configuration, whole more often than not."""
    parts = ['season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}']
    more = (
        'dates = "day-first"',
        "today = 2027-01-26",
        '[breeds.sussex]\nclass = "heavy"\nbase = 0.015625',
        "[sources.Bill]\nbase = 0.0625",
        '[loci.P]\nlinked_to = "O"\nrecombination = 0.04',
        (
            '[loci.Q]\nname = "own"\ninheritance = "autosomal"\ndominance = "recessive"\n'
            "frequency = {sussex = 0.1, marans = {a = 0.5, b = 0.5}}"
        ),
        '[traits.weight]\ndirection = "up"\nunit = "kg"\nweight = 0.3\nh2 = 0.4',
        '[traits."Egg weight"]\noptimum = 58\nweight = "must improve"',
        "[weights]\nrecurrent_share = 0.2",
        "[limits]\nkinship_max = 0.125\nhens_per_cock = { heavy = 6, medium = 8 }",
        '[lines.Alder]\nstep = "backcross"\nchicks_wanted = 36\nimportance = 1.5',
        '[lines.Sussex]\nstep = "hold"',
        (
            '[[matings]]\nname = "a"\nhens = "Alder"\ncocks = "Sussex"\nchicks = "Alder"\n'
            'purpose = "backcross"\nkeep = {O = [1, 2]}'
        ),
        "[year]\npen_up = 2027-02-01\ncollect_until = 2027-04-25\nfertility = 0.85",
        "[rotation]\nopen = true",
        "# a note\n",
    )
    parts += [part for part in more if rng.random() < 0.35]
    return "\n".join(parts) + "\n"


def packed(document: Any) -> bytes:
    """Return a structure as the bytes of one input."""
    return json.dumps(document, ensure_ascii=False).encode("utf-8", "replace")


def unpacked(content: bytes) -> Any:
    """Return the structure in an input, ``None`` where there is none."""
    try:
        return json.loads(content)
    except (ValueError, RecursionError):
        return None
