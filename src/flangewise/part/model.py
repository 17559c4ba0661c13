"""The part file as it is written: its keys, and the kind of value of each. Lengths come out in mm."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from flangewise.faults import Steps
from flangewise.part.bends import BARE_SCHEMA, Bend, BendFile
from flangewise.part.kinds import (
    LENGTH_SCHEMA,
    TEXT_SCHEMA,
    AngleTolerance,
    BendNumber,
    Count,
    CountOrNone,
    Day,
    Keys,
    LegNumber,
    Length,
    LengthTolerance,
    Machines,
    Note,
    PartName,
    Position,
    Radius,
    Text,
    Thickness,
    choice,
    text_keys,
)
from flangewise.shop import unfit

MOST_LEGS = 101
MOST_HOLES = 1000
MOST_NOTES = 50


class HoleFile(Keys):
    """A hole: the leg it lies in, the place of its centre, and its diameter or its size along and across."""

    leg: LegNumber
    at: Annotated[list[Position], Field(min_length=2, max_length=2)]
    diameter: Length | None = None
    size: Annotated[list[Length], Field(min_length=2, max_length=2)] | None = None

    @model_validator(mode="after")
    def _check(self) -> HoleFile:
        if (self.diameter is None) == (self.size is None):
            told = "has neither diameter nor size" if self.size is None else "has both diameter and size"
            raise unfit(told, "give a round hole its diameter, a rectangular one its size: [along, across]")
        return self


class SectionFile(Keys):
    """A constant cross-section."""

    length: Length
    legs: Annotated[list[Length], Field(min_length=2, max_length=MOST_LEGS)]
    bends: Annotated[list[Bend], Field(min_length=1, max_length=MOST_LEGS - 1)]
    radius: Radius | None = None
    sizes: Annotated[str, *choice("outside", "inside")] = "outside"
    holes: Annotated[list[HoleFile], Field(max_length=MOST_HOLES, default_factory=list)]


def _for_each(value: Any) -> Any:
    return value if isinstance(value, list) else [value]


class TolerancesFile(Keys):
    """What the drawing allows, plus and minus: one figure for all legs, or one each."""

    angle: AngleTolerance | None = None
    legs: (
        Annotated[
            list[LengthTolerance],
            BeforeValidator(_for_each),
            Field(min_length=1, max_length=MOST_LEGS),
            WithJsonSchema({"anyOf": [LENGTH_SCHEMA, {"type": "array", "items": LENGTH_SCHEMA}]}),
        ]
        | None
    ) = None


class PartFile(Keys):
    """A part file."""

    part: PartName
    material: Text
    thickness: Thickness
    section: SectionFile
    title: Text = ""
    revision: Text = ""
    drawing: Text = ""
    job: Text = ""
    due: Day = ""
    quantity: Count | None = None
    spares: CountOrNone | None = None
    units: Annotated[str, *choice("mm", "inch")] = "mm"
    machine: Machines | None = None
    handler: Text | None = None
    grain: Annotated[str, *choice("along", "across", "any")] = "any"
    good_face: Annotated[str, *choice("marked", "other", "none")] = "none"
    burr: Annotated[str, *choice("marked", "other", "unknown")] = "unknown"
    film: Annotated[str, *choice("marked", "other", "both", "none")] = "none"
    tolerances: TolerancesFile | None = None
    order: Annotated[list[BendNumber], Field(min_length=1, max_length=MOST_LEGS - 1)] | None = None
    notes: Annotated[
        list[Note],
        BeforeValidator(_for_each),
        Field(max_length=MOST_NOTES, default_factory=list),
        WithJsonSchema({"anyOf": [TEXT_SCHEMA, {"type": "array", "items": TEXT_SCHEMA, "maxItems": MOST_NOTES}]}),
    ]


# The model of each mapping by the key that holds it, or the list of it; the file itself under none.
MODELS: Mapping[str, type[Keys]] = {
    "": PartFile,
    "section": SectionFile,
    "bends": BendFile,
    "holes": HoleFile,
    "tolerances": TolerancesFile,
}
# The texts among the values: they stay as they are written, so that 00123 keeps its zeros.
TEXT_KEYS = frozenset(key for model in MODELS.values() for key in text_keys(model))
# Keys that the part file will have one day.
LATER_KEYS = ("panel", "blank", "variants")


def keys_at(steps: Steps) -> Iterable[str]:
    """The keys known to the mapping at a path."""
    names = [step for step in steps if isinstance(step, str)]
    return MODELS.get(names[-1] if names else "", PartFile).model_fields


def part_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a part file, for editors."""
    schema = PartFile.model_json_schema()
    bends = schema["$defs"]["SectionFile"]["properties"]["bends"]
    bends["items"] = {"anyOf": [BARE_SCHEMA, bends["items"]]}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
