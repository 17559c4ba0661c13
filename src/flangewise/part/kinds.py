"""The kinds of value that a part file's keys hold: each a checker, and what the JSON Schema says of it."""

from typing import Annotated, Any, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, PlainValidator, WithJsonSchema, WrapValidator

from flangewise.part import fields

LENGTH_SCHEMA: dict[str, Any] = {
    "anyOf": [{"type": "number"}, {"type": "string"}],
    "description": "a number in the file's units, or one with its own unit such as 2mm or 0.125in",
}
_THICKNESS_SCHEMA = LENGTH_SCHEMA | {
    "description": "a number in the file's units, one with its own unit, or a gauge such as 16ga"
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


def _length(
    what: str, least_mm: float = fields.SHORTEST_MM, most_mm: float = fields.LONGEST_MM
) -> tuple[PlainValidator, WithJsonSchema]:
    return PlainValidator(fields.length(what, least_mm, most_mm)), WithJsonSchema(LENGTH_SCHEMA)


def _number(told: WrapValidator, **bounds: Any) -> tuple[Any, WrapValidator]:
    return Field(strict=True, **bounds), told


PartName = Annotated[str, PlainValidator(fields.part_name), WithJsonSchema(_NAME_SCHEMA)]
Text = Annotated[str, PlainValidator(fields.text), WithJsonSchema(TEXT_SCHEMA)]
Note = Annotated[str, PlainValidator(fields.note), WithJsonSchema(TEXT_SCHEMA)]
Day = Annotated[str, PlainValidator(fields.day), WithJsonSchema({"type": "string", "format": "date"})]
Thickness = Annotated[
    float, PlainValidator(fields.thickness), AfterValidator(fields.of_gauge), WithJsonSchema(_THICKNESS_SCHEMA)
]
Length = Annotated[float, *_length("a length")]
Position = Annotated[float, *_length("a position", 0.0)]
Radius = Annotated[float, *_length("an inside radius", 0.0, fields.LARGEST_RADIUS_MM)]
LengthTolerance = Annotated[float, *_length("a tolerance", fields.LEAST_TOLERANCE_MM, fields.LARGEST_TOLERANCE_MM)]
Angle = Annotated[
    float, PlainValidator(fields.angle), WithJsonSchema({"type": "number", "exclusiveMinimum": 0, "maximum": 180.0})
]
_TO_45 = fields.constrained("an angle tolerance is above 0 and up to 45°")
AngleTolerance = Annotated[float, *_number(_TO_45, gt=0, le=45.0, allow_inf_nan=False)]
_TO_1 = fields.constrained("a K factor is above 0 and up to 1")
KFactor = Annotated[float, *_number(_TO_1, gt=0, le=1.0, allow_inf_nan=False)]
_QUANTITY = fields.constrained("a quantity is a whole number above 0", small="is zero", large="is absurdly large")
Count = Annotated[int, *_number(_QUANTITY, ge=1, le=fields.LARGEST_COUNT)]
_SPARES = fields.constrained("a number of spares is a whole number from 0", large="is absurdly large")
CountOrNone = Annotated[int, *_number(_SPARES, ge=0, le=fields.LARGEST_COUNT)]
_LEG_NUMBER = fields.constrained("a leg's number is a whole number above 0", small="is zero")
LegNumber = Annotated[int, *_number(_LEG_NUMBER, ge=1)]
_BEND_NUMBER = fields.constrained("a bend's number is a whole number above 0", small="is zero")
BendNumber = Annotated[int, *_number(_BEND_NUMBER, ge=1)]
Datum = Annotated[fields.WantedGauge, PlainValidator(fields.gauged), WithJsonSchema(_GAUGE_SCHEMA)]
Machines = Annotated[tuple[str, ...], PlainValidator(fields.machines), WithJsonSchema(_MACHINES_SCHEMA)]
Flag = Annotated[bool, Field(strict=True), fields.constrained("write true or false")]


def choice(kind: Any) -> tuple[PlainValidator, WithJsonSchema]:
    """One of the few words of a Literal: its checker and its schema."""
    known = get_args(kind)
    return PlainValidator(fields.choice(*known)), WithJsonSchema({"enum": list(known)})


# A mapping of a part file refuses a key it does not know; its checker is built when the first file is read.
STRICT = ConfigDict(frozen=True, extra="forbid", defer_build=True, arbitrary_types_allowed=True)


class Keys(BaseModel):
    """A mapping of a part file whose keys become something else."""

    model_config = STRICT
