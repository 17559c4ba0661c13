"""Readings from a file, as the page of a sheet gives them out: JSON in mm and degrees, each fault with its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from flangewise.faults import LONGEST_SHOWN, FaultCollector, Said, Steps, Unusable
from flangewise.part import MEASURED_MM
from flangewise.reading import read_file
from flangewise.tryout.piece import Readings

LONGEST_MM = 10_000.0
DEPTH_MM = (-50.0, 500.0)
STOP_MM = (-1000.0, LONGEST_MM)
MOST_PIECE = 9999

_Number = Annotated[int, Field(ge=1)]
_Length = Annotated[float, Field(strict=True, gt=0, le=LONGEST_MM, allow_inf_nan=False)]
_Thickness = Annotated[float, Field(strict=True, ge=MEASURED_MM[0], le=MEASURED_MM[1], allow_inf_nan=False)]
_Depth = Annotated[float, Field(strict=True, ge=DEPTH_MM[0], le=DEPTH_MM[1], allow_inf_nan=False)]
_Stop = Annotated[float, Field(strict=True, ge=STOP_MM[0], le=STOP_MM[1], allow_inf_nan=False)]
_Included = Annotated[float, Field(strict=True, ge=0, lt=180, allow_inf_nan=False)]
_Line = Annotated[str, Field(strict=True, max_length=200)]
_SAID: Said = {
    "": ("cannot be used", "{message}"),
    "extra_forbidden": ("is no key of a file of readings", ""),
    "missing": ("is missing", "a file of readings names its part"),
    "model_type": ("is no mapping", "give the file as the page wrote it"),
    "dict_type": ("{input} is no mapping", 'write numbers with their readings, like {{"1": 91.5}}'),
    "int_parsing": ("is no number of a bend or leg", "write its number, like 1"),
    "int_type": ("{input} is no whole number", "write a whole number"),
    "float_type": ("{input} is no number", "write a number, without its unit"),
    "finite_number": ("{input} is not finite", "write a finite number"),
    "greater_than": ("{input} is too small", "it must be more than {gt:g}"),
    "greater_than_equal": ("{input} is too small", "it must be {ge:g} or more"),
    "less_than": ("{input} is too large", "it must be less than {lt:g}"),
    "less_than_equal": ("{input} is too large", "it must be {le:g} or less"),
    "string_type": ("{input} is no text", "put it in quotes"),
    "string_too_long": ("is too long", "keep it under {max_length} characters"),
}


class ReadingsFile(BaseModel):
    """What the file holds. `plan` is the hash of the sheet that the readings were typed into: nothing rests on it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    part: _Line
    revision: _Line = ""
    plan: _Line = ""
    lot: _Line = ""
    piece: Annotated[int, Field(strict=True, ge=1, le=MOST_PIECE)] = 1
    measured_thickness_mm: _Thickness | None = None
    developed_mm: _Length | None = None
    included_deg: dict[_Number, _Included] = {}
    legs_mm: dict[_Number, _Length] = {}
    depths_mm: dict[_Number, _Depth] = {}
    stops_mm: dict[_Number, _Stop] = {}


# Which of the part's numbers each of the lists goes by.
OF_BENDS, OF_LEGS = ("included_deg", "depths_mm", "stops_mm"), ("legs_mm",)


def read_readings(file: Path, *, part: str, revision: str, bends: int, legs: int) -> Readings:
    """The readings in a file, for a part of so many bends and legs.

    Raises Unusable with every fault of the file: unknown keys, values out of range, another part or revision, numbers
    of bends and legs that the part has not.
    """
    root = read_file(file)
    collector = FaultCollector(root, str(file), _SAID, _where)
    found = _checked(root.plain(), collector)
    if found is not None:
        _compare(found, collector, {"part": part, "revision": revision}, {"bend": bends, "leg": legs})
    if found is None or collector.found():
        raise Unusable(collector.found())
    return Readings(
        turns_deg={bend: 180.0 - angle for bend, angle in found.included_deg.items()},
        legs_mm=found.legs_mm,
        depths_mm=found.depths_mm,
        stops_mm=found.stops_mm,
        developed_mm=found.developed_mm,
        thickness_mm=found.measured_thickness_mm,
        lot=found.lot.strip(),
        piece=found.piece,
    )


def part_read(file: Path) -> str:
    """Which part the readings in a file are of, "" where it does not say. Raises Unusable where it cannot be read."""
    return read_file(file).at(("part",)).text


def _checked(given: Any, collector: FaultCollector) -> ReadingsFile | None:
    try:
        return ReadingsFile.model_validate(given)
    except ValidationError as error:
        collector.checked(error.errors(include_url=False), _keys_at)
        return None


def _keys_at(steps: Steps) -> Sequence[str]:
    return () if steps else tuple(ReadingsFile.model_fields)


def _where(steps: Steps) -> str:
    """A path in the user's words, such as `legs_mm: 2`."""
    return ": ".join(str(step)[:LONGEST_SHOWN] for step in steps) or "readings"


def _compare(
    found: ReadingsFile, collector: FaultCollector, names: Mapping[str, str], counts: Mapping[str, int]
) -> None:
    """That the file is of this part, and names no bend or leg that it has not."""
    for key, name in names.items():
        told = getattr(found, key)
        if told != name and (key in found.model_fields_set):
            collector.value((key,), f"{told!r} is not that of this part file", f"it has {name!r}")
    for of, keys in (("bend", OF_BENDS), ("leg", OF_LEGS)):
        for key in keys:
            for number in getattr(found, key):
                if number > counts[of]:
                    fits = f"the part has {of}s 1 to {counts[of]}"
                    collector.key((key, str(number)), f"there is no {of} {number}", fits)
    if not found.lot.isprintable():
        collector.value(("lot",), "has signs that do not print", "a name in one line is wanted")
