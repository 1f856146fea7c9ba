"""What the sections of ``matchmaker.toml`` are made of: kinds of values, and the base of them all.

Units are days, counts, probabilities (0 to 1) and shares (0 to 1).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

Probability = Annotated[float, Field(ge=0.0, le=1.0)]
Kinship = Annotated[float, Field(ge=0.0, le=1.0)]
Positive = Annotated[float, Field(gt=0.0)]
PositiveShare = Annotated[float, Field(gt=0.0, le=1.0)]
NotNegative = Annotated[float, Field(ge=0.0)]
Count = Annotated[int, Field(ge=0)]
AtLeastOne = Annotated[int, Field(ge=1)]
Copies = Annotated[int, Field(ge=0, le=2)]
SexWord = Literal["cock", "hen"]
PurposeWord = Literal["backcross", "intercross", "hold", "test"]


def _one_or_many(value: object) -> object:
    return [value] if isinstance(value, str) else value


Word = Annotated[str, Field(min_length=1)]
Words = Annotated[tuple[Word, ...], BeforeValidator(_one_or_many), Field(min_length=1)]
LineNames = Annotated[tuple[str, ...], BeforeValidator(_one_or_many), Field(min_length=1)]


class SettingError(ValueError):
    """A value that cannot be meant: what is wrong, how to mend it and at which key it stands."""

    def __init__(self, problem: str, mend: str, key: str) -> None:
        super().__init__(problem)
        self.mend = mend
        self.key = key


class Section(BaseModel):
    """A section of the file: unknown keys are refused, values do not change after reading."""

    model_config = ConfigDict(frozen=True, extra="forbid")
