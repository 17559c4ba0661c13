"""What checks a part file, the keys known at each place of it, and its JSON Schema for editors."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter

from flangewise.faults import Steps
from flangewise.part import kinds
from flangewise.part.bends import BARE_SCHEMA
from flangewise.part.model import PartFile
from flangewise.part.variants import FAMILIES, FAMILY, KEY as VARIANTS, MOST_VARIANTS

if TYPE_CHECKING:
    from flangewise.part.panel_part import BlankPartFile, PanelPartFile

# What a part is: exactly one of these stands in its file.
SHAPES = ("section", "panel", "blank")
# The mappings below the file, by the key that holds each, or the list of it, and their names in the JSON Schema.
MAPPINGS = {
    "section": "Section",
    "bends": "BendFile",
    "holes": "HoleFile",
    "tolerances": "DrawingTolerances",
    "programs": "Programs",
    "packing": "Packing",
}
PANEL_MAPPINGS = {"base": "BaseFile", "bend": "BendFile", "holes": "PanelHoleFile", "corners": "CornerFile"}
_EDGES_OF_A_FLANGE = ("tip", "left", "right")


@cache
def checker() -> TypeAdapter[PartFile]:
    """Checks the data of a part file with a section; the context gives its `units` and the `shop`."""
    return TypeAdapter(PartFile)


@cache
def panel_checker() -> TypeAdapter[PanelPartFile]:
    """The same of a part file with a panel."""
    from flangewise.part.panel_part import PanelPartFile

    return TypeAdapter(PanelPartFile)


@cache
def blank_checker() -> TypeAdapter[BlankPartFile]:
    """The same of a part that comes as a drawn blank."""
    from flangewise.part.panel_part import BlankPartFile

    return TypeAdapter(BlankPartFile)


def keys_at(steps: Steps) -> tuple[str, ...]:
    """The keys known to the mapping at a path."""
    names = [step for step in steps if isinstance(step, str)]
    if names[:1] == ["panel"]:
        return _keys_in_panel(names[1:])
    if names[:1] == ["blank"]:
        return _keys_of({"bends": "LineFile", "bend": "BendFile"}.get(names[-1], "BlankFile"))
    return _keys_of(MAPPINGS[names[-1]] if names else None)


def _keys_in_panel(names: list[str]) -> tuple[str, ...]:
    if not names:
        return _keys_of("PanelFile")
    if names[-1] == "relief":
        return _keys_of("CornerReliefFile" if names[0] == "corners" else "SlotFile")
    if names[0] == "flanges" and names[-1] != "bend":
        known = tuple(key for key in _keys_of("FlangeFile") if key != "hung")
        return (*known, *_EDGES_OF_A_FLANGE)
    return _keys_of(PANEL_MAPPINGS["bend" if names[-1] == "bend" else names[0]])


@cache
def _keys_of(mapping: str | None) -> tuple[str, ...]:
    schema = part_schema()
    return tuple((schema if mapping is None else schema["$defs"][mapping])["properties"])


def part_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a part file, for editors."""
    schema, panel = checker().json_schema(), panel_checker().json_schema()
    blank = blank_checker().json_schema()
    bends = schema["$defs"]["Section"]["properties"]["bends"]
    bends["items"] = {"anyOf": [BARE_SCHEMA, bends["items"]]}
    schema["properties"]["panel"] = panel["properties"]["panel"]
    schema["properties"]["blank"] = blank["properties"]["blank"]
    schema["properties"]["tolerances"] = {
        "anyOf": [each["properties"]["tolerances"] for each in (schema, panel)],
    }
    schema["$defs"] = schema["$defs"] | panel["$defs"] | blank["$defs"]
    schema["properties"][VARIANTS] = {
        "anyOf": [
            {
                "type": "array",
                "items": {"type": "object", "minProperties": 1},
                "minItems": 1,
                "maxItems": MOST_VARIANTS,
            },
            {"type": "string"},
        ]
    }
    schema["properties"][FAMILY] = {"enum": list(FAMILIES)}
    schema["required"] = [key for key in schema["required"] if key != "section"]
    schema["oneOf"] = [{"required": [key]} for key in SHAPES]
    _as_written(schema["$defs"])
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _as_written(defs: dict[str, Any]) -> None:
    """The mappings of a panel as a person writes them: short forms, and what hangs on a flange among its keys."""
    one = {"$ref": "#/$defs/FlangeFile"}
    flanges: dict[str, Any] = {"anyOf": [one, {"type": "array", "items": one, "minItems": 1}]}
    flange = defs["FlangeFile"]
    flange["properties"].pop("hung")
    flange["properties"]["bend"] = {"anyOf": [BARE_SCHEMA, flange["properties"]["bend"]]}
    drawn = defs["BlankFile"]["properties"]
    drawn["bend"] = {"anyOf": [BARE_SCHEMA, {"$ref": "#/$defs/BendFile"}]}
    flange["properties"] |= dict.fromkeys(_EDGES_OF_A_FLANGE, flanges)
    flange["patternProperties"] = {"^(tip|left|right|edge [0-9]+)(, *(tip|left|right|edge [0-9]+))*$": flanges}
    panel = defs["PanelFile"]["properties"]
    panel["flanges"] = {"type": "object", "additionalProperties": flanges, "minProperties": 1}
    sides: dict[str, Any] = {"type": "array", "items": kinds.LENGTH_SCHEMA, "minItems": 2, "maxItems": 2}
    panel["base"] = {"anyOf": [sides, panel["base"]]}
    defs["BaseFile"]["properties"].pop("size")
    kind = defs["CornerFile"]["properties"]["kind"]
    corner = {"anyOf": [{"enum": kind["enum"]}, {"$ref": "#/$defs/CornerFile"}]}
    panel["corners"] = {"anyOf": [*corner["anyOf"], {"type": "object", "additionalProperties": corner}]}
