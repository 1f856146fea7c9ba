"""What ``matchmaker.toml`` may say: one frozen, checked model per section.

Every key of the file is a field here; a key that is not a field is a fault. Units are days,
counts, probabilities (0 to 1) and shares (0 to 1).
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from matchmaker.scheme_settings import LineSettings, MatingSettings, RotationSettings
from matchmaker.section import (
    AtLeastOne,
    Copies,
    Count,
    Kinship,
    NotNegative,
    PositiveShare,
    Probability,
    Section,
    SettingError,
    SexWord,
    Word,
    Words,
)
from matchmaker.tolerance import PROBABILITY_SUM


class BreedSettings(Section):
    """A breed: its base kinship and the weight class that sets hens per cock."""

    base: Kinship = 0.0
    weight_class: Literal["light", "medium", "heavy", "bantam"] = Field("medium", alias="class")


class SourceSettings(Section):
    """A source of bought-in birds: how related two birds from it are taken to be."""

    base: Kinship


class LocusSettings(Section):
    """A locus in the keeper's own terms, or what he changes of a catalogue locus.

    ``alleles`` are those of a locus with more than two, the most dominant first; ``words`` are the
    keeper's for its looks: by ``shown``, ``one_copy`` and ``hidden``, or by allele where there are
    more than two.
    """

    name: str | None = None
    inheritance: Literal["autosomal", "Z"] | None = None
    dominance: Literal["dominant", "recessive", "incomplete"] | None = None
    alleles: tuple[Word, ...] | None = None
    shown_by: Literal["both", "hen", "cock"] | None = None
    shows_at_days: Count | None = None
    penetrance: Probability | None = None
    error: Probability | None = None
    frequency: dict[str, Probability | dict[str, Probability]] = Field(default_factory=dict)
    linked_to: str | None = None
    recombination: Annotated[float, Field(ge=0.0, le=0.5)] | None = None
    lethal: tuple[Copies, ...] | None = None
    words: dict[str, Words] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _alleles_in_order(self) -> LocusSettings:
        if self.alleles is None:
            return self
        if len(set(self.alleles)) < max(len(self.alleles), 3):
            msg = "alleles lists three or more, each once, the most dominant first"
            raise ValueError(msg)
        if self.dominance is not None:
            msg = "alleles stand in the order of their dominance: leave dominance out"
            raise ValueError(msg)
        return self

    @field_validator("frequency")
    @classmethod
    def _frequencies_sum_to_one(
        cls, frequency: dict[str, Probability | dict[str, Probability]]
    ) -> dict[str, Probability | dict[str, Probability]]:
        for breed, shares in frequency.items():
            if isinstance(shares, dict) and abs(sum(shares.values()) - 1.0) > PROBABILITY_SUM:
                msg = f"the frequencies of the alleles in {breed} must sum to 1"
                raise ValueError(msg)
        return frequency

    @model_validator(mode="after")
    def _linked_to_something(self) -> LocusSettings:
        if self.recombination is not None and self.linked_to is None:
            msg = "recombination says how loosely two loci are linked: name the other by linked_to"
            raise ValueError(msg)
        return self


class TraitSettings(Section):
    """A scored trait: which way is better, how much it counts, how heritable it is.

    ``h2`` may be left to the flock's own scores by ``"estimate"``. ``depression`` is what every
    10 % of inbreeding changes, in the trait's unit; ``like`` names a published trait whose numbers
    serve where none are given. A trait with a weight has a direction or an optimum; without
    either, one that ``"must not fall"`` is taken to be wanted up.
    """

    direction: Literal["up", "down"] | None = None
    optimum: float | None = None
    floor: float | None = None
    weight: NotNegative | Literal["must improve", "must not fall", "ignore"] | None = None
    h2: Probability | Literal["estimate"] | None = None
    repeatability: Probability | None = None
    depression: float | None = None
    like: Word | None = None
    unit: str = ""
    sex: SexWord | None = None

    @model_validator(mode="after")
    def _one_aim(self) -> TraitSettings:
        if self.direction is not None and self.optimum is not None:
            raise SettingError(
                "give either direction or optimum, not both",
                "delete one of the two lines",
                "optimum",
            )
        if self.way is None and self.optimum is None and self._counts:
            raise SettingError(
                "the trait shall count, but which way of it is better is not said",
                'write direction = "up" or "down", or an optimum, beside it',
                "weight",
            )
        return self

    @property
    def way(self) -> Literal["up", "down"] | None:
        """The direction given; what "must not fall" alone is wanted up."""
        if self.weight == "must not fall" and self.optimum is None:
            return self.direction or "up"
        return self.direction

    @property
    def _counts(self) -> bool:
        return self.weight not in (None, "ignore", 0.0)


class CorrelationSettings(Section):
    """How the genes for two traits go together, from −1 (against each other) to 1 (alike)."""

    traits: Annotated[tuple[Word, ...], Field(min_length=1)]
    genetic: Annotated[float, Field(ge=-1.0, le=1.0)]

    @field_validator("traits")
    @classmethod
    def _two_traits(cls, traits: tuple[str, ...]) -> tuple[str, ...]:
        if len(traits) != 2 or traits[0] == traits[1]:
            msg = "a correlation is between two different traits: list two"
            raise ValueError(msg)
        return traits

    @property
    def pair(self) -> frozenset[str]:
        """The two traits, in no order."""
        return frozenset(self.traits)


class WeightSettings(Section):
    """Weights that belong to no trait."""

    recurrent_share: NotNegative | None = None


class HensPerCock(Section):
    """Most hens for one cock, by the weight class of his breed, and what age takes off."""

    light: AtLeastOne = 10
    medium: AtLeastOne = 8
    heavy: AtLeastOne = 6
    bantam: AtLeastOne = 5
    cockerel: Probability = 0.67
    old: Probability = 0.67


class LimitSettings(Section):
    """The limits that reject a pair or bound the whole plan.

    Of a pair: ``kinship_max``, ``age_min_days`` on the day the pens are made up, ``lethal_max``
    (share of the chicks hatched), ``wanted_chance_min`` (per chick hatched) and ``proof_min`` (a
    chance). Of a cock: ``hens_per_cock`` and ``pens_per_cock`` at a time. Of the plan:
    ``mean_inbreeding_max`` over its pairs' chicks, ``sire_share_max`` of all its pairs,
    ``group_kinship_max`` of the parents, and ``kinship_price`` in wanted chicks for 0.01 of it.
    ``clean_out_days`` pass after a hen's last day with another cock before her eggs count for the
    next; for ``eggs_after_days`` after a cock has gone eggs are still kept as his.
    """

    kinship_max: Kinship = 0.125
    mean_inbreeding_max: Kinship | None = None
    hens_per_cock: HensPerCock = HensPerCock()
    pens_per_cock: AtLeastOne = 1
    sire_share_max: PositiveShare | None = None
    group_kinship_max: Kinship | None = None
    kinship_price: NotNegative | None = None
    age_min_days: Count = 180
    clean_out_days: Count = 21
    eggs_after_days: Count = 14
    lethal_max: Probability = 0.01
    wanted_chance_min: Probability = 0.02
    proof_min: Probability = 0.5

    @property
    def minds_the_group(self) -> bool:
        """Whether the kinship of the parents as a group has a limit or a price."""
        return self.group_kinship_max is not None or self.kinship_price is not None


class RiskSettings(Section):
    """How likely a cock is to be lost in a season: under a year, grown, over three years old."""

    cock_young: Probability = 0.03
    cock_grown: Probability = 0.05
    cock_old: Probability = 0.12


class YearSettings(Section):
    """The season's dates and what a hen, an egg and the rearing room can do.

    ``incubator_per_week`` is in eggs set a week, ``rearing_room`` in chicks raised in the season,
    wanted or not; both bind the plan. ``lay_per_week`` is in eggs of one hen; ``fertility`` is the
    share of the eggs set that are fertile, ``hatch_of_fertile`` of those that hatch, ``rearing`` of
    the chicks hatched that are raised. ``depression`` is the part of the chicks lost for each unit
    of inbreeding.
    """

    pen_up: dt.date | None = None
    collect_from: dt.date | None = None
    collect_until: dt.date | None = None
    incubator_per_week: Count | None = None
    rearing_room: Count | None = None
    lay_per_week: NotNegative = 4.0
    fertility: Probability = 0.85
    hatch_of_fertile: Probability = 0.80
    rearing: Probability = 0.90
    depression: NotNegative = 0.65


class Settings(Section):
    """The whole of ``matchmaker.toml``."""

    season: Annotated[int, Field(ge=1900, le=2200)]
    today: dt.date | None = None
    recurrent: str
    target: Annotated[dict[str, Copies], Field(min_length=1)]
    dates: Literal["iso", "day-first", "month-first"] = "iso"
    breeds: dict[str, BreedSettings] = Field(default_factory=dict)
    sources: dict[str, SourceSettings] = Field(default_factory=dict)
    loci: dict[str, LocusSettings] = Field(default_factory=dict)
    traits: dict[str, TraitSettings] = Field(default_factory=dict)
    correlations: tuple[CorrelationSettings, ...] = ()
    weights: WeightSettings = WeightSettings()
    limits: LimitSettings = LimitSettings()
    lines: dict[str, LineSettings] = Field(default_factory=dict)
    matings: tuple[MatingSettings, ...] = ()
    rotation: RotationSettings | None = None
    year: YearSettings = YearSettings()
    risk: RiskSettings = RiskSettings()

    @property
    def pen_up(self) -> dt.date:
        """The day the pens are closed; 1 February unless the file says otherwise."""
        return self.year.pen_up or dt.date(self.season, 2, 1)

    @property
    def collect_from(self) -> dt.date:
        """First day on which eggs are kept for hatching; a week after penning unless given."""
        return self.year.collect_from or self.pen_up + dt.timedelta(days=7)

    @property
    def collect_until(self) -> dt.date:
        """Last day on which eggs are kept; ten weeks after the first unless given."""
        return self.year.collect_until or self.collect_from + dt.timedelta(days=70)

    def line(self, name: str) -> LineSettings:
        """Return the settings of a line, the defaults where the file says nothing of it."""
        return self.lines.get(name, LineSettings())

    def breed_base(self, breed: str) -> float:
        """Base kinship of a breed: how related two of its founders are taken to be."""
        return self.breeds[breed].base if breed in self.breeds else 0.0
