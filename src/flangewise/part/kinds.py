"""The kinds of value that a part file's keys hold: each a checker, and what the JSON Schema says of it."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, PlainValidator, WithJsonSchema

from flangewise.part import fields
from flangewise.part.wanted import WantedGauge
from flangewise.units import Gauge

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
Thickness = Annotated[float | Gauge, PlainValidator(fields.thickness), WithJsonSchema(_THICKNESS_SCHEMA)]
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
Datum = Annotated[WantedGauge, PlainValidator(fields.gauged), WithJsonSchema(_GAUGE_SCHEMA)]
Machines = Annotated[tuple[str, ...], PlainValidator(fields.machines), WithJsonSchema(_MACHINES_SCHEMA)]
Flag = Annotated[bool, PlainValidator(fields.flag), WithJsonSchema({"type": "boolean"})]


def choice(*known: str) -> tuple[PlainValidator, WithJsonSchema]:
    """One of a few words: its checker and its schema."""
    return PlainValidator(fields.choice(*known)), WithJsonSchema({"enum": list(known)})


class Keys(BaseModel):
    """A mapping of a part file: refuses a key it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, arbitrary_types_allowed=True)


_Record = TypeVar("_Record")
# What a field of a record may add to the key it holds: a file gives lengths and angles under their bare name.
_UNITS = ("", "_mm", "_deg")


def carried(written: Keys, record: type[_Record], instead: Mapping[str, Mapping[str, Any]], **more: Any) -> _Record:
    """The record of a mapping: every key's value under its own name, with the unit that the record's field has.

    `instead` gives the fields that stand for a key which is not carried as it is, `more` those of no key. A key that
    the record has no field for raises TypeError: none is dropped.
    """
    names = {field.name for field in dataclasses.fields(record)}  # type: ignore[arg-type]
    given = dict(more)
    for key in type(written).model_fields:
        value = getattr(written, key)
        name = next((key + unit for unit in _UNITS if key + unit in names), key)
        given |= instead[key] if key in instead else {name: tuple(value) if isinstance(value, list) else value}
    return record(**given)


def text_keys(model: type[BaseModel]) -> frozenset[str]:
    """The keys of a mapping whose values are texts, or lists of texts, kept as they are written."""
    texts = (fields.text, fields.note, fields.day, fields.part_name, fields.machines)
    return frozenset(
        key
        for key, each in model.model_fields.items()
        if any(checker in texts for checker in (*_checkers(each.annotation), *_own_checkers(each.metadata)))
    )


def _checkers(annotation: Any) -> Iterator[Any]:
    for each in get_args(annotation):
        yield from _own_checkers([each])
        yield from _checkers(each)


def _own_checkers(metadata: list[Any]) -> Iterator[Any]:
    return (each.func for each in metadata if isinstance(each, PlainValidator))
