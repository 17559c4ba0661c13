"""What every row of a shop table has in common: strict fields, frozen values, nothing unknown."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

# No dimension, force or speed of a press brake comes near this; what does is a slip of the keyboard.
ABSURD = 1_000_000.0

Positive = Annotated[float, Field(strict=True, gt=0, lt=ABSURD, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(strict=True, ge=0, lt=ABSURD, allow_inf_nan=False)]
Number = Annotated[float, Field(strict=True, gt=-ABSURD, lt=ABSURD, allow_inf_nan=False)]
Share = Annotated[float, Field(strict=True, gt=0, le=1, allow_inf_nan=False)]
Angle = Annotated[float, Field(strict=True, gt=0, lt=180, allow_inf_nan=False)]
Poisson = Annotated[float, Field(strict=True, ge=0, lt=0.5, allow_inf_nan=False)]
Strain = Annotated[float, Field(strict=True, gt=0, lt=1, allow_inf_nan=False)]
Friction = Annotated[float, Field(strict=True, ge=0, le=1, allow_inf_nan=False)]
Count = Annotated[int, Field(strict=True, ge=1, le=10_000)]
Words = Annotated[str, Field(strict=True, min_length=1, max_length=2_000)]
Place = Annotated[str, Field(strict=True, min_length=1, max_length=16)]

Mark = Literal["read", "from memory"]


def unfit(wrong: str, fits: str, *, key: str | None = None) -> PydanticCustomError:
    """A fault a check raises: what is wrong, what would be right, and the key below the value that it is about."""
    return PydanticCustomError("wrong", "{wrong}, {fits}", {"wrong": wrong, "fits": fits, "key": key})


class Frozen(BaseModel):
    """A value of a shop table: frozen, no unknown key, its validator built when the first row is read."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, arbitrary_types_allowed=True)


class TableRow(Frozen):
    """A named row, what it is in words, where its figures come from; looked up by name, quicker than by all figures."""

    name: Words
    title: Words
    source: Words

    def __hash__(self) -> int:
        return hash(self.name)
