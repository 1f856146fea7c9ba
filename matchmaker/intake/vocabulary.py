"""The words in which keepers head their columns and name their sheets, beside the declared ones.

Common practice, no source. They are taken where a book is taken in, which shows what it took; a
folder's own tables are read by the declared words alone (``tables/columns.py``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

LOOSE: Final[Mapping[str, Mapping[str, str]]] = {
    "birds": {
        "bird": (
            "hen, cock, pullet, cockerel, leg, leg ring no, wing ring, bird no, bird number, bird "
            "name, chick, chick no, leg no, wing no"
        ),
        "sex": "cock/hen, m or f, male/female, c/h, hen or cock, sexed, boy or girl",
        "hatched": (
            "out of egg, out of the egg, from the egg, hatched out, dob, hatching date, year of "
            "hatch, born on, birthday, year born, came out, year of birth, hatched when, day "
            "hatched"
        ),
        "sire": (
            "cock, by, by cock, by him, out of him, parents cock, parents male, parent cock, "
            "parents father, parents sire, dad, his father, her father, sired by, cock bird, out "
            "of cock"
        ),
        "dam": (
            "hen, out of, out of her, parents hen, parents female, parent hen, parents mother, "
            "parents dam, mum, mother hen, his mother, her mother, out of hen, from hen"
        ),
        "clutch": "brood, sitting, nest",
        "line": "lines, blood, bloodline, blood line, belongs to line",
        "breed": (
            "blood, percent, blood percent, what it is, what is it, blood of, mix, breeding, "
            "race, kind, variety, cross, blood share, share of breed, bred as, what breed, made "
            "of"
        ),
        "source": (
            "had from, had of, got of, from, came from, got from, bought of, where from, seller, "
            "bred by, from whom, bought at"
        ),
        "status": (
            "here, still here, what happened, end, whereabouts, alive, what became of it, fate, "
            "where now, kept, now, what for, in use as"
        ),
        "left_on": (
            "dead, dead on, killed on, culled on, culled, left us, left the flock, sold/died, "
            "date gone, date left, gone, date sold, date died, died, sold, gone since, died/sold, "
            "when gone, lost on"
        ),
        "release_on": "out of quarantine, quarantine ends, isolated until",
        "defects": "bad points, flaws, problems, what is wrong",
        "lay_per_week": "eggs a week, eggs/week, lays a week, eggs each week",
        "fertility": "fertile %, fertile, share fertile",
        "hens_max": "hens for him, hens he takes",
    },
    "seen": {
        "date": "when, looked at, looked on, tested on, date seen",
        "bird": "bird no, chick",
        "hen": "from hen, mum, hen no",
        "cock": "from cock, dad, cock no",
        "locus": "trait, feature, what looked for, character, point looked at",
        "what": "saw, what seen, what was seen, found, outcome, looks, looked like",
        "count": "chicks seen, number of chicks, number seen",
        "how": "how seen, how known, source of this, how we know",
    },
    "scores": {
        "bird": "leg, leg no, bird no, bird name, hen, cock, chick",
        "date": "weighed, when, date weighed, judged on, scoring date",
        "group": "hatch, reared with, age group, rearing group",
    },
    "pens": {
        "pen": (
            "stall, aviary, loft, compartment, hut, henhouse, paddock, box, name of pen, pen "
            "name, pen no, which pen, run, shed, ark"
        ),
        "hens_max": (
            "holds, how many hens, room for, space for hens, size, max, hens at most, room, space, "
            "space for, takes, fits, places for hens"
        ),
        "hens_min": "hens at least, min",
        "dam_known": (
            "closing nests, nests that close, trap nest, nest traps, single nests, know the hen, "
            "hens known"
        ),
        "line": "chicks go to, chicks belong to",
        "use": "used for, what for",
        "open": "ready, can be used",
        "from": "usable from, from when",
        "until": "usable until, till, until when",
    },
    "moves": {
        "bird": "leg, leg no, bird no, bird name, who, which bird",
        "pen": (
            "to, stall, aviary, loft, compartment, hut, henhouse, paddock, box, moved to, where, "
            "went to, run, pen no, shed, ark, into pen"
        ),
        "moved_in": (
            "date, day, first day, since, put in, penned, start, date from, in on, went in, when"
        ),
        "moved_out": ("last day, up to, till, taken out, end, left, date to, out on, came out"),
    },
    "eggs": {
        "pen": (
            "out of pen, out of house, stall, aviary, loft, compartment, hut, henhouse, pen no, "
            "run, shed, ark, from pen"
        ),
        "hen": "laid by, hen no, from hen",
        "cock": "cock then, cock no, cock with them",
        "collected_from": (
            "gathered, picked up, eggs of, gathered from, collecting from, eggs from, first egg"
        ),
        "collected_to": "to, up to, until, gathered to, collecting to, gathered until, last egg",
        "set_on": (
            "in machine, into machine, into the machine, in the machine, laid in, put in, put "
            "under, put under hen, in incubator, into incubator, incubator on, setting date, set "
            "date, under hen on, day set, in the incubator"
        ),
        "eggs": "no of eggs, eggs in, number set, eggs put in, how many eggs, set eggs",
        "fertile": (
            "good at candling, fertile at candling, candled, candled good, at candling, good "
            "eggs, fertile at day"
        ),
        "hatched": "out, chicks out, number hatched, came out, live chicks",
        "raised": "survived, chicks kept, still alive, grown on",
        "first_band": "bands, first band no, rings from, ring from, rings used",
        "last_band": "last band no, rings to, ring to",
    },
    "wishes": {
        "bird": "bird no, who, which bird",
        "with": "with whom, and who, second bird",
        "wish": "what, what i want, what we want, do",
        "why": "the reason, because of",
    },
    "plan": {
        "pen": (
            "stall, aviary, loft, compartment, hut, henhouse, paddock, box, pen no, run, shed, ark"
        ),
        "cock": "cock no, his ring, with cock, cock bird",
        "hen": "hens, hen no, her ring, hens in it, with hens",
        "line": "chicks go to",
        "why": "the reason",
    },
}
"""Further words for each column, parted by commas."""

SHEETS: Final[Mapping[str, str]] = {
    "birds": (
        "bird, flock, stock, hen, cock, register, ring, poultry, chicken, fowl, pedigree, chick, "
        "pullet, cockerel, band, hatchling, young, youngster, book"
    ),
    "seen": "seen, gene, look, test, dna, colour, comb",
    "scores": (
        "score, weight, weighing, point, judging, measurement, measured, scoring, trait, "
        "performance"
    ),
    "pens": "pen, house, housing, coop, shed, run, ark, stall, loft, aviarie, hut, paddock",
    "moves": "move, movement, log, moved, moving, penned, stay, where, penning",
    "eggs": "egg, hatche, hatch, hatching, incubation, incubator, setting, set, clutche, sitting",
    "wishes": "wishe, wish, wanted",
    "plan": "plan, mating, pairing, breeding",
}
"""Words in the name of a sheet or a file, without an s behind, by the table they speak for."""

TRAITS: Final = (
    "weight, weighs, wt, egg weight, type, temper, temperament, shell, points, score, shank "
    "length, body, size, eggs 12wk, eggs laid, feather, shell colour, shell shade, feathering, "
    "condition, comb points, egg number, live weight, body weight, keel, breast, vigour, "
    "hardiness, broodiness, kg, grams, lbs, eggs, comb"
)
"""Words that head columns of what is weighed, counted or scored."""

NOTE_WORDS: Final = (
    "note, notes, remark, remarks, comment, comments, memo, nb, observations, observation"
)
"""Words in the headers of remarks."""

NAME_WORDS: Final = "name, nickname, called, names"
"""Words in the headers of birds' names."""


AROUND: Final = (
    "no, nr, num, number, numbers, the, of, code, ring, band, tag, id, left, right, leg, date, "
    "day, on, its, bird, s, wing"
)
"""Words around the one that tells what a column is, as in \"Father's ring no.\"."""
