"""The words in which keepers head their columns and name their sheets, and how near a header is."""

from __future__ import annotations

import difflib
import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final

from matchmaker.tables.cells import SEX_WORDS, STATUS_WORDS
from matchmaker.tables.columns import TABLES
from matchmaker.tables.schema import NOTES, plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

LOOSE: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    "birds": {
        "bird": (
            "leg ring no",
            "wing ring",
            "bird no",
            "bird number",
            "bird name",
            "chick",
            "chick no",
            "leg no",
            "wing no",
        ),
        "sex": ("cock/hen", "m or f", "male/female", "c/h", "hen or cock", "sexed", "boy or girl"),
        "hatched": (
            "out of egg",
            "out of the egg",
            "from the egg",
            "hatched out",
            *("date of birth", "dob", "hatched on", "hatching date", "date of hatch", "hatch year"),
            *("year hatched", "year of hatch", "born on", "birthday", "year born", "came out"),
            *("year of birth", "hatched when", "day hatched"),
        ),
        "sire": (
            "parents cock",
            "parents male",
            "parent cock",
            "parents father",
            "parents sire",
            "dad",
            "his father",
            "her father",
            "sired by",
            "cock bird",
            "out of cock",
        ),
        "dam": (
            "parents hen",
            "parents female",
            "parent hen",
            "parents mother",
            "parents dam",
            "mum",
            "mother hen",
            "his mother",
            "her mother",
            "out of hen",
            "from hen",
        ),
        "clutch": ("brood", "sitting", "nest"),
        "line": ("lines", "blood", "bloodline", "blood line", "belongs to line"),
        "breed": (
            "what it is",
            "what is it",
            "blood of",
            "mix",
            *("breeding", "race", "kind", "variety", "cross", "blood share", "share of breed"),
            *("bred as", "what breed", "made of"),
        ),
        "source": (
            "had from",
            "had of",
            "got of",
            *("from", "came from", "got from", "bought of", "where from", "seller", "bred by"),
            *("from whom", "bought at"),
        ),
        "status": (
            "here",
            "still here",
            "what happened",
            "end",
            "whereabouts",
            *("alive", "what became of it", "fate", "where now", "still here", "kept", "now"),
            *("what for", "in use as"),
        ),
        "left_on": (
            "left us",
            "left the flock",
            "sold/died",
            *(
                "date gone",
                "date left",
                "gone",
                "sold on",
                "date sold",
                "date died",
                "died",
                "sold",
            ),
            *("gone since", "died/sold", "when gone", "lost on"),
        ),
        "release_on": ("out of quarantine", "quarantine ends", "isolated until"),
        "defects": ("bad points", "flaws", "problems", "what is wrong"),
        "lay_per_week": ("eggs a week", "eggs/week", "lays a week", "eggs each week"),
        "fertility": ("fertile %", "fertile", "share fertile"),
        "hens_max": ("hens for him", "hens he takes"),
    },
    "seen": {
        "date": ("when", "looked at", "looked on", "tested on", "date seen"),
        "bird": ("bird no", "chick"),
        "hen": ("from hen", "mum", "hen no"),
        "cock": ("from cock", "dad", "cock no"),
        "locus": ("trait", "feature", "what looked for", "character", "point looked at"),
        "what": ("saw", "what seen", "what was seen", "found", "outcome", "looks", "looked like"),
        "count": ("chicks seen", "number of chicks", "number seen"),
        "how": ("how seen", "how known", "source of this", "how we know"),
    },
    "scores": {
        "bird": ("bird no", "bird name", "hen", "cock", "chick"),
        "date": ("weighed", "weighed on", "when", "date weighed", "judged on", "scoring date"),
        "group": ("hatch", "reared with", "age group", "rearing group"),
    },
    "pens": {
        "pen": (
            "stall",
            "aviary",
            "loft",
            "compartment",
            "hut",
            "henhouse",
            "paddock",
            "box",
            "name of pen",
            "pen name",
            "pen no",
            "which pen",
            "run",
            "shed",
            "ark",
        ),
        "hens_max": (
            *("capacity", "holds", "how many hens", "room for", "space for hens", "size", "max"),
            *("hens at most", "room"),
        ),
        "hens_min": ("hens at least", "min"),
        "dam_known": (
            "closing nests",
            "nests that close",
            "trap nest",
            "nest traps",
            "single nests",
            "know the hen",
            "hens known",
        ),
        "line": ("chicks go to", "chicks belong to"),
        "use": ("used for", "what for"),
        "open": ("ready", "can be used"),
        "from": ("usable from", "from when"),
        "until": ("usable until", "till", "until when"),
    },
    "moves": {
        "bird": ("bird no", "bird name", "who", "which bird"),
        "pen": (
            "stall",
            "aviary",
            "loft",
            "compartment",
            "hut",
            "henhouse",
            "paddock",
            "box",
            "moved to",
            "where",
            "went to",
            "run",
            "pen no",
            "shed",
            "ark",
            "into pen",
        ),
        "moved_in": (
            "first day",
            "since",
            "put in",
            "penned",
            "start",
            "date from",
            "in on",
            "went in",
            "when",
        ),
        "moved_out": (
            "last day",
            "up to",
            "until",
            "till",
            "taken out",
            "end",
            "left",
            "date to",
            "out on",
            "came out",
        ),
    },
    "eggs": {
        "pen": (
            "out of pen",
            "out of house",
            "stall",
            "aviary",
            "loft",
            "compartment",
            "hut",
            "henhouse",
            "pen no",
            "run",
            "shed",
            "ark",
            "from pen",
        ),
        "hen": ("laid by", "hen no", "from hen"),
        "cock": ("cock then", "cock no", "cock with them"),
        "collected_from": (
            "gathered",
            "picked up",
            "eggs of",
            "gathered from",
            "collecting from",
            "eggs from",
            "first egg",
        ),
        "collected_to": (
            "to",
            "up to",
            "until",
            "gathered to",
            "collecting to",
            "gathered until",
            "last egg",
        ),
        "set_on": (
            "in machine",
            "into machine",
            "into the machine",
            "in the machine",
            "laid in",
            "put in",
            "put under",
            "put under hen",
            *("set", "in incubator", "into incubator", "incubator on", "setting date", "set date"),
            *("under hen on", "day set", "in the incubator"),
        ),
        "eggs": ("no of eggs", "eggs in", "number set", "eggs put in", "how many eggs", "set eggs"),
        "fertile": (
            "good at candling",
            "fertile at candling",
            "candled",
            "candled good",
            "at candling",
            "good eggs",
            "fertile at day",
        ),
        "hatched": ("out", "chicks out", "number hatched", "came out", "live chicks"),
        "raised": ("survived", "chicks kept", "still alive", "grown on"),
        "first_band": ("bands", "first band no", "rings from", "ring from", "rings used"),
        "last_band": ("last band no", "rings to", "ring to"),
    },
    "wishes": {
        "bird": ("bird no", "who", "which bird"),
        "with": ("with whom", "and who", "second bird"),
        "wish": ("what", "what i want", "what we want", "do"),
        "why": ("the reason", "because of"),
    },
    "plan": {
        "pen": (
            "stall",
            "aviary",
            "loft",
            "compartment",
            "hut",
            "henhouse",
            "paddock",
            "box",
            "pen no",
            "run",
            "shed",
            "ark",
        ),
        "cock": ("cock no", "his ring", "with cock", "cock bird"),
        "hen": ("hens", "hen no", "her ring", "hens in it", "with hens"),
        "line": ("chicks go to",),
        "why": ("the reason",),
    },
}
"""Words taken where a book is taken in and shown first; a folder's tables are read more strictly.

Common practice, no source."""

SHEETS: Final[Mapping[str, tuple[str, ...]]] = {
    "birds": (
        *("birds", "bird", "flock", "stock", "hens", "cocks", "register", "rings", "poultry"),
        *("chickens", "fowl", "fowls", "pedigree", "chicks", "pullets", "cockerels", "bands"),
        *("hatchlings", "young", "youngsters", "book"),
    ),
    "seen": ("seen", "genes", "gene", "looks", "tests", "dna", "colours", "combs", "test"),
    "scores": (
        *("scores", "score", "weights", "weight", "weighing", "weighings", "points", "judging"),
        *("measurements", "measured", "scoring", "traits", "performance"),
    ),
    "pens": (
        *("pens", "houses", "housing", "coops", "sheds", "runs", "arks", "stalls", "lofts"),
        *("aviaries", "huts", "paddocks"),
    ),
    "moves": (
        *("moves", "movements", "log", "moved", "moving", "penned", "stays", "where", "penning"),
    ),
    "eggs": (
        *("eggs", "egg", "hatches", "hatch", "hatching", "incubation", "incubator", "settings"),
        *("sets", "clutches", "hatchings", "sittings", "setting"),
    ),
    "wishes": ("wishes", "wish", "wanted"),
    "plan": ("plan", "matings", "mating", "plans", "pairings", "breeding"),
}
"""Words in the name of a sheet or a file, by the table that they speak for."""

TRAITS: Final = frozenset(
    (
        *("weight", "weighs", "wt", "egg weight", "type", "temper", "temperament", "shell"),
        *("points", "score", "shank length", "body", "size", "eggs 12wk", "eggs laid", "feather"),
        *("shell colour", "shell shade", "feathering", "condition", "comb points", "egg number"),
        *("live weight", "body weight", "keel", "breast", "vigour", "hardiness", "broodiness"),
        *("kg", "grams", "lbs", "eggs", "comb"),
    )
)
"""Words that head columns of what is weighed, counted or scored."""

_NOTE_WORDS: Final = frozenset(
    (
        *("note", "notes", "remark", "remarks", "comment", "comments", "memo", "nb"),
        *("observations", "observation", "called", "nickname"),
    )
)

_AROUND: Final = frozenset(
    (
        *("no", "nr", "num", "number", "numbers", "the", "of", "code", "ring", "band", "tag", "id"),
        *("left", "right", "leg", "date", "day", "on", "its", "bird", "s", "wing"),
    )
)
"""Words around the one that tells what a column is, as in "Father's ring no."."""

FUZZY: Final = 0.84
"""Share of letters in the same order from which a word counts as mistyped (chosen by trial)."""

_PARTS: Final = re.compile(r"[(),/;:+&\[\]\n\r|]+|\s[-–]\s")
_SCALE: Final = re.compile(r"\b[01] ?(?:-|–|to) ?\d{1,3}\b|\bout of \d|/ ?\d{1,3}\b")
"""A scale of points in a header, as in "Shape 1-5"."""

_TOKEN: Final = re.compile(r"[^\W_]+")


def tokens_of(text: str) -> tuple[str, ...]:
    """Return the words of a text without case and punctuation.

    Examples
    --------
    >>> tokens_of("Ring no. (left leg)")
    ('ring', 'no', 'left', 'leg')
    """
    return tuple(_TOKEN.findall(text.casefold()))


@cache
def spellings(table: str) -> Mapping[str, str]:
    """Map every word for a column of a table, declared and loose, to the column."""
    loose = {plain(s): name for name, words in LOOSE[table].items() for s in words}
    return {**loose, **TABLES[table].spellings()}


@lru_cache(maxsize=16_384)
def header_scores(header: str, table: str) -> tuple[tuple[str, float], ...]:
    """Return how well a header names columns of a table, 0 to 1, the best first.

    Examples
    --------
    >>> header_scores("Ring no. (left leg)", "birds")[0][0]
    'bird'
    >>> header_scores("Father's ring", "birds")[0][0]
    'sire'
    """
    words = spellings(table)
    found: dict[str, float] = {}
    for text, worth in _readings(header):
        name = words.get(text)
        if name is not None:
            found[name] = max(found.get(name, 0.0), worth)
    if not found:
        found = dict(_mistyped(header, words)) or dict(_within(header, words))
    return tuple(sorted(found.items(), key=lambda item: (-item[1], item[0])))


def _readings(header: str) -> Iterator[tuple[str, float]]:
    """Ways to read a header, each with its worth: whole, without brackets, in parts, bare."""
    yield plain(header), 1.0
    bare = re.sub(r"[(\[][^()\[\]]*[)\]]", " ", header)
    yield plain(bare), 0.97
    core = [token for token in tokens_of(bare) if token not in _AROUND]
    yield "".join(core), 0.93
    for part in _PARTS.split(header):
        yield plain(part), 0.85
        yield "".join(token for token in tokens_of(part) if token not in _AROUND), 0.82


def _mistyped(header: str, words: Mapping[str, str]) -> Iterator[tuple[str, float]]:
    text = plain(header)
    if 4 <= len(text) <= 30:
        for near in reversed(difflib.get_close_matches(text, words, n=2, cutoff=FUZZY)):
            if len(near) >= 4 and near[0] == text[0]:
                yield words[near], 0.8 * difflib.SequenceMatcher(None, text, near).ratio()


def _within(header: str, words: Mapping[str, str]) -> Iterator[tuple[str, float]]:
    """Columns one of whose words stands within the header; the longer it is, the more it says."""
    tokens = tokens_of(header)[:12]
    best: dict[str, float] = {}
    letters = max(sum(map(len, tokens)), 1)
    for start in range(len(tokens)):
        for end in range(start + 1, min(start + 4, len(tokens)) + 1):
            text = "".join(tokens[start:end])
            if text in words and len(text) > 2:
                worth = 0.4 + 0.3 * len(text) / letters
                best[words[text]] = max(best.get(words[text], 0.0), worth)
    yield from best.items()


@lru_cache(maxsize=16_384)
def heads_notes(header: str) -> bool:
    """Whether a header is one of remarks.

    Examples
    --------
    >>> heads_notes("Notes 2025"), heads_notes("Ring")
    (True, False)
    """
    return plain(header) in NOTES or bool(_NOTE_WORDS & set(tokens_of(header)))


@lru_cache(maxsize=16_384)
def heads_trait(header: str) -> float:
    """Return how well a header names something weighed, counted or scored, 0 to 1.

    Examples
    --------
    >>> heads_trait("Weight (kg)"), heads_trait("Weight 20 wk") > 0.5, heads_trait("Ring")
    (1.0, True, 0.0)
    """
    bare = plain(re.sub(r"[(\[][^()\[\]]*[)\]]", " ", header))
    known = {plain(word) for word in TRAITS}
    if bare in known:
        return 1.0
    if any(token in known for token in tokens_of(header)) or _SCALE.search(header):
        return 0.8
    near = len(bare) >= 4 and difflib.get_close_matches(bare, known, n=1, cutoff=FUZZY)
    return 0.7 if near else 0.0


@lru_cache(maxsize=65_536)
def is_header_word(cell: str) -> bool:
    """Whether a cell names a column of any table; a word that is itself a value does not count.

    Examples
    --------
    >>> is_header_word("Ring no."), is_header_word("cock"), is_header_word("C04")
    (True, False, False)
    """
    word = cell.strip().casefold()
    if not word or len(word) > 60 or word in SEX_WORDS or word in STATUS_WORDS:
        return False
    if heads_notes(cell) or heads_trait(cell) >= 0.8:
        return True
    return any(score >= 0.65 for table in TABLES for _, score in header_scores(cell, table)[:1])


@cache
def _every_word() -> frozenset[str]:
    traits = {plain(word) for word in TRAITS}
    return frozenset().union(NOTES, traits, *(spellings(table) for table in TABLES))


@lru_cache(maxsize=65_536)
def is_exact_header_word(cell: str) -> bool:
    """Whether a cell names a column letter by letter, brackets and words around it left out.

    Quick, for the many rows below a header.

    Examples
    --------
    >>> is_exact_header_word("Ring no. (left)"), is_exact_header_word("Rnig"), len("hen")
    (True, False, 3)
    """
    word = cell.strip().casefold()
    if not word or len(word) > 60 or word in SEX_WORDS or word in STATUS_WORDS:
        return False
    return any(text in _every_word() for text, _ in _readings(cell))


def sheet_votes(sheet: str, file_stem: str) -> Mapping[str, float]:
    """Return which tables the names of the sheet and the file speak for, and how loudly.

    Examples
    --------
    >>> dict(sheet_votes("Weights 2025", "marsh"))
    {'scores': 1.0}
    """
    votes: dict[str, float] = {}
    for name, worth in ((file_stem, 0.5), (sheet, 1.0)):
        tokens = {t.removesuffix("s") for t in tokens_of(name.replace("_", " "))}
        for table, words in SHEETS.items():
            stems = {word.removesuffix("s") for word in words}
            if table == plain(name) or tokens & stems:
                votes[table] = max(votes.get(table, 0.0), worth)
    return votes
