"""The keys of a part file for its run: the programs of brake and robot, and how the finished parts are packed."""

from typing import Annotated, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from flangewise.part import fields, kinds
from flangewise.records import dataclass

PackingWay = Literal["stacked", "pairs", "dropped"]
_FILL = fields.constrained("a share of the box that is filled is above 0 and up to 1")
FillShare = Annotated[float, Field(strict=True, gt=0, le=1.0, allow_inf_nan=False), _FILL]
Separator = Annotated[
    float, PlainValidator(fields.length("a separator", 0.0, 100.0)), WithJsonSchema(kinds.LENGTH_SCHEMA)
]


@dataclass(frozen=True)
class Programs:
    """What the programs of the part are called, on the brake and on the robot; empty where nothing is said."""

    __pydantic_config__ = kinds.STRICT

    brake: kinds.Text = ""
    robot: kinds.Text = ""


@dataclass(frozen=True)
class Packing:
    """What the parts go into, in which way, how many at most, and what lies between them.

    `fill_share`: what share of the box dropped parts fill, found by counting a box.
    """

    __pydantic_config__ = kinds.STRICT

    box: kinds.Text
    way: Annotated[PackingWay, *kinds.choice(PackingWay)] = "stacked"
    count: kinds.Count | None = None
    separator_mm: Annotated[Separator, Field(alias="separator")] = 0.0
    fill_share: FillShare | None = None
