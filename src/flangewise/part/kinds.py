"""The kinds of value that a part file's keys hold: each a checker, and what the JSON Schema says of it."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, PlainValidator, WithJsonSchema

from flangewise.part import fields

LENGTH_SCHEMA: dict[str, Any] = {
    "anyOf": [{"type": "number"}, {"type": "string"}],
    "description": "a number in the file's units, or one with its own unit such as 2mm or 0.125in",
}
_THICKNESS_SCHEMA = {
    "anyOf": [{"type": "number"}, {"type": "string"}],
    "description": "a number in the file's units, one with its own unit, or a gauge such as 16ga",
}
TEXT_SCHEMA: dict[str, Any] = {"type": ["string", "number", "boolean"], "description": "a text, kept as it is written"}
_GAUGE_SCHEMA: dict[str, Any] = {
    "anyOf": [
        {"enum": ["start", "end"]},
        {
            "type": "object",
            "properties": {"flange": {"type": "integer", "minimum": 1, "description": "the bend that made the flange"}},
            "required": ["flange"],
            "additionalProperties": False,
        },
    ],
    "description": "what the stops touch at this bend: the raw edge at the start or the end, or a formed flange",
}
_MACHINES_SCHEMA: dict[str, Any] = {
    "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1, "uniqueItems": True}],
    "description": "a machine of the shop, several to choose from, or any",
}
_NAME_SCHEMA = {
    "type": ["string", "number"],
    "pattern": r"^[\w.-]+$",
    "description": "names the sheet: letters, digits, . _ -",
}


def _number_schema(most: float, *, zero: bool = False) -> WithJsonSchema:
    return WithJsonSchema({"type": "number", "minimum" if zero else "exclusiveMinimum": 0, "maximum": most})


def _size(what: str, *, zero: bool = False) -> PlainValidator:
    return PlainValidator(fields.length(what, 0.0 if zero else fields.SHORTEST_MM, fields.LONGEST_MM))


PartName = Annotated[str, PlainValidator(fields.part_name), WithJsonSchema(_NAME_SCHEMA)]
Text = Annotated[str, PlainValidator(fields.text), WithJsonSchema(TEXT_SCHEMA)]
Note = Annotated[str, PlainValidator(fields.note), WithJsonSchema(TEXT_SCHEMA)]
Day = Annotated[str, PlainValidator(fields.day), WithJsonSchema({"type": "string", "format": "date"})]
Thickness = Annotated[
    float, PlainValidator(fields.thickness), AfterValidator(fields.of_gauge), WithJsonSchema(_THICKNESS_SCHEMA)
]
Length = Annotated[float, _size("a length"), WithJsonSchema(LENGTH_SCHEMA)]
Position = Annotated[float, _size("a position", zero=True), WithJsonSchema(LENGTH_SCHEMA)]
Radius = Annotated[
    float,
    PlainValidator(fields.length("an inside radius", 0.0, fields.LARGEST_RADIUS_MM)),
    WithJsonSchema(LENGTH_SCHEMA),
]
LengthTolerance = Annotated[
    float,
    PlainValidator(fields.length("a tolerance", fields.LEAST_TOLERANCE_MM, fields.LARGEST_TOLERANCE_MM)),
    WithJsonSchema(LENGTH_SCHEMA),
]
AngleTolerance = Annotated[
    float, PlainValidator(fields.number("an angle tolerance", 45.0, unit="°")), _number_schema(45.0)
]
KFactor = Annotated[float, PlainValidator(fields.number("a K factor", 1.0)), _number_schema(1.0)]
Angle = Annotated[
    float,
    PlainValidator(fields.angle),
    _number_schema(180.0),
]
Count = Annotated[
    int,
    PlainValidator(fields.count("a quantity")),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": fields.LARGEST_COUNT}),
]
CountOrNone = Annotated[
    int,
    PlainValidator(fields.count("a number of spares", zero=True)),
    WithJsonSchema({"type": "integer", "minimum": 0, "maximum": fields.LARGEST_COUNT}),
]
LegNumber = Annotated[
    int, PlainValidator(fields.count("a leg's number")), WithJsonSchema({"type": "integer", "minimum": 1})
]
BendNumber = Annotated[
    int, PlainValidator(fields.count("a bend's number")), WithJsonSchema({"type": "integer", "minimum": 1})
]
Datum = Annotated[fields.WantedGauge, PlainValidator(fields.gauged), WithJsonSchema(_GAUGE_SCHEMA)]
Machines = Annotated[tuple[str, ...], PlainValidator(fields.machines), WithJsonSchema(_MACHINES_SCHEMA)]
Flag = Annotated[bool, PlainValidator(fields.flag), WithJsonSchema({"type": "boolean"})]


def choice(*known: str) -> tuple[PlainValidator, WithJsonSchema]:
    """One of a few words: its checker and its schema."""
    return PlainValidator(fields.choice(*known)), WithJsonSchema({"enum": list(known)})


# A mapping of a part file refuses a key it does not know; its checker is built when the first file is read.
STRICT = ConfigDict(frozen=True, extra="forbid", defer_build=True, arbitrary_types_allowed=True)


class Keys(BaseModel):
    """A mapping of a part file whose keys become something else."""

    model_config = STRICT
