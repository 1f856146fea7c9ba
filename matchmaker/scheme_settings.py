"""What ``matchmaker.toml`` says of lines, of crossings between them and of their rotation."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import Field, StrictBool, field_validator, model_validator

from matchmaker.section import (
    AtLeastOne,
    Count,
    Kinship,
    LineNames,
    NotNegative,
    Positive,
    PositiveShare,
    PurposeWord,
    Section,
    SettingError,
    SexWord,
    Word,
)

DEFAULT_TEST_WORTH: Final = 5.0
"""Wanted chicks that it is worth to settle a bird of even odds, unless the row says otherwise."""


class LineSettings(Section):
    """What a line is for and how much of it must be kept.

    ``importance`` weighs its wanted chicks against those of other lines; ``chicks_wanted`` are
    wanted chicks raised in the season, from at least so many ``families`` (pairs). Minimums:
    ``cocks_min`` and ``hens_min`` count its parents, ``wanted_min``, ``wanted_cocks_min`` and
    ``wanted_hens_min`` wanted chicks raised, expected numbers. With ``certainty`` (a probability)
    the two by sex, then whole numbers, must be reached with that chance; ``wanted_min`` stays an
    expected number. ``kinship_max`` takes the place of the flock's limit; ``sire_share_max`` is
    the largest share of the line's pairs that one cock may have.
    """

    step: Literal["backcross", "intercross", "hold"] | None = None
    importance: Positive = 1.0
    chicks_wanted: Positive | None = None
    families: AtLeastOne = 4
    cocks_min: Count = 0
    hens_min: Count = 0
    wanted_min: NotNegative = 0.0
    wanted_cocks_min: NotNegative = 0.0
    wanted_hens_min: NotNegative = 0.0
    certainty: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None
    kinship_max: Kinship | None = None
    sire_share_max: PositiveShare | None = None

    @model_validator(mode="after")
    def _certain_of_numbers_by_sex(self) -> LineSettings:
        if self.certainty is None:
            return self
        by_sex = {
            key: getattr(self, key)
            for key in ("wanted_cocks_min", "wanted_hens_min")
            if getattr(self, key)
        }
        if not by_sex:
            raise SettingError(
                "certainty is the chance of reaching numbers by sex, and none is asked for",
                "write wanted_cocks_min or wanted_hens_min beside it, or delete certainty",
                "certainty",
            )
        for key, number in by_sex.items():
            if number != int(number):
                raise SettingError(
                    "what is to be reached with a certain chance is a whole number of chicks",
                    f"write {int(number) + 1}, or delete certainty",
                    key,
                )
        return self


class MatingSettings(Section):
    """One written row of crossings: whose hens and cocks, where the chicks go, which are kept.

    ``every`` and ``from`` are in seasons. ``worth`` multiplies the worth of the row's pairs. A row
    whose purpose is ``test`` keeps no chicks: ``tests`` says whether its hens or its cocks are on
    trial, ``worth`` what it is worth, in wanted chicks, to settle one of even odds (5 unless set),
    and ``keep`` names the loci in question with the copies that a bird is to be proved to have;
    without it they are those of the target.
    """

    name: str | None = None
    hens: LineNames
    cocks: LineNames
    chicks: str
    purpose: PurposeWord
    keep: dict[str, Any] = Field(default_factory=dict)
    keep_sex: Literal["both", "cock", "hen"] = "both"
    recognise: Literal["sight", "test", "blind"] = "blind"
    tests: SexWord | None = None
    worth: Positive | None = None
    every: AtLeastOne = 1
    start: int | None = Field(None, alias="from")

    @model_validator(mode="before")
    @classmethod
    def _test_chicks_join_no_line(cls, row: Any) -> Any:  # noqa: ANN401
        if isinstance(row, dict) and row.get("purpose") == "test":
            return {"chicks": "", **row}
        return row

    @model_validator(mode="after")
    def _keep_is_copies(self) -> MatingSettings:
        for sex in ("cock", "hen"):
            self.keep_for(sex)  # raises in words if a list of copies is not one
        return self

    @model_validator(mode="after")
    def _test_or_not(self) -> MatingSettings:
        if self.purpose != "test":
            if self.tests is not None:
                raise SettingError(
                    "tests says whose test a test mating is, and this row is none",
                    'delete tests, or write purpose = "test"',
                    "tests",
                )
            return self
        if self.tests is None:
            raise SettingError(
                "a test mating must say whether its hens or its cocks are tested",
                'add tests = "hen" or tests = "cock"',
                "purpose",
            )
        if self.keep and not self.keep_for(self.tests):
            raise SettingError(
                f"keep names no locus for the {self.tests}s, and they are tested",
                f"write keep.{self.tests}, or delete keep to test for the target",
                "keep",
            )
        for key in ("keep_sex", "recognise"):
            if key in self.model_fields_set:
                raise SettingError(
                    "no chick of a test mating is kept: all of them are judged by their looks",
                    f"delete {key}",
                    key,
                )
        return self

    def keep_for(self, sex: str) -> dict[str, tuple[int, ...]]:
        """Copies kept per locus for chicks of one sex, from the plain or the by-sex form."""
        by_sex = bool(self.keep) and set(self.keep) <= {"cock", "hen"}
        chosen = self.keep.get(sex, {}) if by_sex else self.keep
        if not isinstance(chosen, dict):
            raise SettingError(
                f"keep.{sex} does not say of which locus",
                f"write {sex} = {{LOCUS = [1, 2]}}, with the symbol of the locus",
                "keep",
            )
        return {str(locus): _copies(locus, copies) for locus, copies in chosen.items()}


def _copies(locus: str, copies: object) -> tuple[int, ...]:
    listed: list[Any] = list(copies) if isinstance(copies, list | tuple) else [copies]
    if not listed or not all(copy in (0, 1, 2) for copy in listed):
        raise SettingError(
            f"keep.{locus} lists what is no number of copies",
            f"write {locus} = and copies out of 0, 1 and 2, for example [1, 2]",
            "keep",
        )
    return tuple(copy for copy in (0, 1, 2) if copy in listed)


class RotationSettings(Section):
    """Cocks going round the lines in a fixed direction, every so many seasons.

    In a season of rotation the cocks of each line in ``order`` serve the hens of the next one, the
    last line's those of the first; the chicks join the hens' line. It is one if (season − from)
    mod ``every`` = 0, unless ``open`` says for this season whether it is.
    """

    order: tuple[Word, ...]
    every: AtLeastOne = 1
    start: int | None = Field(None, alias="from")
    open: StrictBool | None = None

    @field_validator("order")
    @classmethod
    def _lines_once(cls, order: tuple[str, ...]) -> tuple[str, ...]:
        if len(order) < 2:
            msg = "cocks go round two lines or more"
            raise SettingError(msg, "list the lines in the order the cocks go round", "order")
        twice = [line for at, line in enumerate(order) if line in order[:at]]
        if twice:
            msg = f"{twice[0]} stands twice in the order"
            raise SettingError(msg, "list each line once", "order")
        return order

    @model_validator(mode="after")
    def _turn_has_a_start(self) -> RotationSettings:
        if self.every > 1 and self.start is None:
            raise SettingError(
                "a rotation every few seasons must say from which season on",
                "add from = and a season in which cocks go round",
                "every",
            )
        return self

    def is_open(self, season: int) -> bool:
        """Whether cocks go round this season, ``season`` being the one that is planned."""
        return self.falls_on(season) if self.open is None else self.open

    def next_after(self, season: int) -> int:
        """The first season after this one in which cocks go round."""
        start = season if self.start is None else self.start
        return max(start, season + self.every - (season - start) % self.every)

    def falls_on(self, season: int) -> bool:
        """Whether ``every`` and ``from`` make it a season of rotation."""
        since = season - (season if self.start is None else self.start)
        return since >= 0 and since % self.every == 0
