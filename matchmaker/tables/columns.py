"""Every column of every table, declared once: how it is read, bounded, called and explained."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.tables.records import (
    BirdRecord,
    EggRecord,
    MoveRecord,
    PenRecord,
    PlanRecord,
    ScoreRecord,
    SeenRecord,
    WishRecord,
)
from matchmaker.tables.schema import Column, Kind, Table
from matchmaker.tables.synonyms import BAND_WORDS, COCK_WORDS, HEN_WORDS, OUT_WORDS, PEN_WORDS

if TYPE_CHECKING:
    from collections.abc import Mapping


def _bird(meaning: str, *, required: bool = False) -> Column:
    return Column(
        name="bird", kind=Kind.BAND, synonyms=BAND_WORDS, meaning=meaning, required=required
    )


def _pen(meaning: str, *, required: bool = False) -> Column:
    return Column(
        name="pen", kind=Kind.NAME, synonyms=PEN_WORDS, meaning=meaning, required=required
    )


def _hen(meaning: str, *, required: bool = False) -> Column:
    return Column(
        name="hen", kind=Kind.BAND, synonyms=HEN_WORDS, meaning=meaning, required=required
    )


def _cock(meaning: str, *, required: bool = False) -> Column:
    return Column(
        name="cock", kind=Kind.BAND, synonyms=COCK_WORDS, meaning=meaning, required=required
    )


def _chicks_line(meaning: str) -> Column:
    words = ("chicks join", "chicks line")
    return Column(name="line", kind=Kind.NAME, synonyms=words, meaning=meaning)


def _day(name: str, meaning: str, *synonyms: str, field: str = "") -> Column:
    return Column(name=name, kind=Kind.DATE, synonyms=synonyms, meaning=meaning, field=field)


def _count(name: str, meaning: str, *synonyms: str) -> Column:
    return Column(
        name=name, kind=Kind.COUNT, synonyms=synonyms, meaning=meaning, low=0, high=100_000
    )


BIRDS: Final = Table(
    name="birds",
    record=BirdRecord,
    needed=("bird", "sex"),
    expected=("sire", "dam"),
    extras="a locus where its header is a locus symbol, otherwise kept aside",
    required=True,
    columns=(
        _bird("the band; unique for ever", required=True),
        Column(
            name="sex",
            kind=Kind.SEX,
            synonyms=("gender", "m/f", "cock or hen"),
            meaning="cock or hen; empty while unknown",
        ),
        Column(
            name="hatched",
            kind=Kind.HATCHED,
            synonyms=(
                *("hatch date", "date hatched", "hatch day", "hatch", "born", "birth date"),
                *("date of birth", "date of hatch", "hatched on", "year hatched", "hatch year"),
            ),
            meaning="day of hatching, or the year alone",
        ),
        Column(
            name="sire",
            kind=Kind.PARENT,
            synonyms=("father", "sire band", "sire ring", "sire id", "cock parent"),
            meaning="father: one band, several (C04|C07, C04:0.7|C07:0.3), founder, or empty",
        ),
        Column(
            name="dam",
            kind=Kind.PARENT,
            synonyms=("mother", "dam band", "dam ring", "dam id", "hen parent"),
            meaning="mother, written as the sire is",
        ),
        Column(name="clutch", kind=Kind.NAME, meaning="shared by chicks of one sire and one dam"),
        Column(name="line", kind=Kind.NAME, synonyms=("family", "strain"), meaning="its line"),
        Column(
            name="breed",
            kind=Kind.BREED,
            synonyms=("breeds", "breed shares"),
            meaning="breed, or shares of several (sussex:0.75|araucana:0.25)",
        ),
        Column(
            name="source",
            kind=Kind.NAME,
            synonyms=("bought from", "origin", "breeder's name", "supplier"),
            meaning="where a bought-in bird came from",
        ),
        Column(
            name="status",
            kind=Kind.STATUS,
            synonyms=("state", "standing"),
            meaning="breeder, young, spare, quarantine, sold, dead or culled",
        ),
        _day(
            "left_on",
            "day it was sold, died or was culled",
            "left",
            "gone on",
            "died on",
            "sold on",
        ),
        _day("release_on", "day its quarantine ends", "release", "quarantine until"),
        Column(
            name="defects",
            kind=Kind.DEFECTS,
            synonyms=("defect", "faults", "disqualifications"),
            meaning="defects that cull it, separated by commas",
        ),
        Column(
            name="lay_per_week",
            kind=Kind.NUMBER,
            synonyms=("lay", "eggs per week", "lay rate"),
            meaning="eggs this hen lays in a week",
            unit="eggs",
            low=0,
            high=10,
        ),
        Column(
            name="fertility",
            kind=Kind.PROBABILITY,
            synonyms=("fertile share",),
            meaning="share of fertile eggs with this bird as parent",
            low=0,
            high=1,
        ),
        Column(
            name="hens_max",
            kind=Kind.COUNT,
            synonyms=("max hens", "most hens"),
            meaning="most hens for this cock",
            unit="hens",
            low=0,
            high=200,
        ),
    ),
)

SEEN: Final = Table(
    name="seen",
    record=SeenRecord,
    needed=("locus", "what"),
    columns=(
        _day("date", "day it was seen", "seen on", "day"),
        _bird("the bird looked at"),
        _hen("mother of unbanded chicks: one band, or all it may be (H1|H2)"),
        _cock("father of unbanded chicks, written as the mother is"),
        _pen("pen the unbanded chicks are from"),
        Column(
            name="locus", kind=Kind.NAME, synonyms=("gene",), meaning="its symbol", required=True
        ),
        Column(
            name="what",
            kind=Kind.CLASSES,
            synonyms=("seen", "class", "phenotype", "result"),
            meaning="what was seen, in words; for chicks with counts (9 pea, 4 single)",
            required=True,
        ),
        _count("count", "how many chicks, where what names one class", "chicks", "how many"),
        Column(
            name="how",
            kind=Kind.HOW,
            synonyms=("evidence", "method"),
            meaning="day-old, adult, dna or report",
        ),
    ),
)

SCORES: Final = Table(
    name="scores",
    record=ScoreRecord,
    needed=("bird",),
    extras="a trait: numbers in the trait's own unit",
    columns=(
        _bird("the bird scored", required=True),
        _day("date", "day of scoring", "scored on", "day", "weighed on"),
        Column(
            name="group",
            kind=Kind.NAME,
            synonyms=("hatch group", "batch", "contemporary group"),
            meaning="birds raised and scored alike",
        ),
    ),
)

PENS: Final = Table(
    name="pens",
    record=PenRecord,
    needed=("pen", "hens_max"),
    required=True,
    columns=(
        _pen("name of the pen", required=True),
        Column(
            name="hens_max",
            kind=Kind.COUNT,
            synonyms=("max hens", "most hens", "places", "room for hens", "capacity"),
            meaning="most hens the pen holds",
            unit="hens",
            low=1,
            high=200,
            required=True,
        ),
        Column(
            name="hens_min",
            kind=Kind.COUNT,
            synonyms=("min hens", "fewest hens"),
            meaning="fewest hens worth penning",
            unit="hens",
            low=0,
            high=200,
        ),
        Column(
            name="dam_known",
            kind=Kind.YES_NO,
            synonyms=("dams known", "trap nests", "trapnested", "eggs told apart"),
            meaning="whether eggs are told apart by hen",
        ),
        _chicks_line("line the chicks of this pen join"),
        Column(
            name="use",
            kind=Kind.PURPOSE,
            synonyms=("kept for", "purpose"),
            meaning="matings this pen is kept for",
        ),
        Column(
            name="open",
            kind=Kind.YES_NO,
            synonyms=("usable", "in use"),
            meaning="whether the pen can be used this season",
        ),
        _day("from", "first day it can be used", "open from", field="first_day"),
        _day("until", "last day it can be used", "to", "open until", field="last_day"),
    ),
)

MOVES: Final = Table(
    name="moves",
    record=MoveRecord,
    needed=("bird", "pen"),
    columns=(
        _bird("the bird moved", required=True),
        _pen("pen it stayed in", required=True),
        _day("moved_in", "first day in the pen", "in", "from", "date in"),
        _day("moved_out", "day it left the pen; empty while it is there", *OUT_WORDS),
    ),
)

EGGS: Final = Table(
    name="eggs",
    record=EggRecord,
    needed=("eggs",),
    columns=(
        _pen("pen the eggs are from"),
        _hen("hen that laid them, where known"),
        _cock("cock in the pen"),
        _day("collected_from", "first day of collecting", "collected", "laid from"),
        _day("collected_to", "last day of collecting", "collected until", "laid to"),
        _day("set_on", "day the eggs were set", "set", "date set"),
        _count("eggs", "eggs set", "eggs set", "number of eggs"),
        _count("fertile", "fertile at candling", "fertile eggs"),
        _count("hatched", "chicks hatched", "chicks", "chicks hatched"),
        _count("raised", "chicks raised", "reared", "chicks raised"),
        Column(
            name="first_band",
            kind=Kind.BAND_RANGE,
            synonyms=("bands from", "first ring"),
            meaning="band of the first chick",
        ),
        Column(
            name="last_band",
            kind=Kind.BAND_RANGE,
            synonyms=("bands to", "last ring"),
            meaning="band of the last chick",
        ),
    ),
)

WISHES: Final = Table(
    name="wishes",
    record=WishRecord,
    needed=("bird", "wish"),
    columns=(
        _bird("the bird the wish is about", required=True),
        Column(
            name="with",
            kind=Kind.NAME,
            synonyms=("partner", "and", "other", "with bird", "with pen"),
            meaning="another bird, or a pen",
            field="partner",
        ),
        Column(
            name="wish",
            kind=Kind.WISH,
            synonyms=("want",),
            meaning="together, apart, allow, use or rest",
            required=True,
        ),
        Column(name="why", kind=Kind.TEXT, synonyms=("reason", "because"), meaning="the reason"),
    ),
)

PLAN: Final = Table(
    name="plan",
    record=PlanRecord,
    needed=("pen", "cock", "hen"),
    columns=(
        _pen("the pen", required=True),
        _chicks_line("line the chicks join"),
        _cock("the cock of the pen", required=True),
        _hen("one hen of the pen", required=True),
        Column(name="why", kind=Kind.TEXT, synonyms=("reason", "because"), meaning="the reason"),
    ),
)

TABLES: Final[Mapping[str, Table]] = {
    table.name: table for table in (BIRDS, SEEN, SCORES, PENS, MOVES, EGGS, WISHES, PLAN)
}
