"""Every key of a part file reaches the part: found by walking the models, each key given values of its own kind."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest

from flangewise.faults import Unusable
from flangewise.part import Part, read_part
from flangewise.part.schema import MAPPINGS, PANEL_MAPPINGS, part_schema

from .made import shop

# Parts to change one key of: the keys of a mapping do not all go together.
PLAIN: dict[str, Any] = {
    "part": "p",
    "material": "DC01",
    "thickness": "2mm",
    "section": {
        "length": "200mm",
        "legs": ["40mm", "60mm", "50mm"],
        "bends": [{"turn": 90}, {"turn": 90}],
        "holes": [],
        "radius": "3mm",
    },
    "tolerances": {},
    "programs": {},
    "packing": {"box": "box-400"},
}
BENDS: list[dict[str, Any]] = [
    {"turn": 90},
    {"included": 80},
    {"turn": 90, "away": True},
    {"hem": "open", "gap": 2},
    {},
    {"offset": 6},
]
HOLES: list[dict[str, Any]] = [
    {"leg": 2, "at": [100, 30], "diameter": 6},
    {"leg": 2, "at": [100, 30], "size": [8, 9]},
    {"leg": 2, "at": [100, 30]},
]
# What a value of a key needs beside it: an open hem its gap.
WITH: dict[tuple[str, str, str], dict[str, Any]] = {("bends", "hem", "open"): {"gap": 2}}


def _bases(name: str) -> Iterator[dict[str, Any]]:
    """Part files that hold the mapping of that name; it stands last in its list."""
    lists = {"bends": BENDS, "holes": HOLES}
    for entry in lists.get(name, [{}]):
        base = copy.deepcopy(PLAIN)
        if name in lists:
            base["section"][name] = [*base["section"][name][:1], dict(entry)]
        yield base


def _mapping(base: dict[str, Any], name: str) -> dict[str, Any]:
    found = base if name == "" else base["section"] if name in ("section", "bends", "holes") else base[name]
    return found if name in ("", "section", "tolerances", "programs", "packing") else found[name][-1]


def _values(schema: dict[str, Any]) -> Iterator[Any]:
    """Values of a key by what the JSON Schema says of it; of texts the names that the shop knows too."""
    yield from schema.get("enum", ())
    for each in schema.get("anyOf", ()):
        yield from _values(each)
    kinds = schema.get("type", ())
    kinds = (kinds,) if isinstance(kinds, str) else kinds
    if "number" in kinds or "integer" in kinds:
        yield from (1, 2, 3, 0.4, 45, 135, 75)
    if "boolean" in kinds:
        yield from (True, False)
    if "string" in kinds:
        owned = shop()
        yield from ("one", "two", "2031-04-30", "2032-05-31")
        for table in (owned.materials, owned.machines, owned.handlers, owned.punches, owned.dies, owned.boxes):
            yield from table
    if "array" in kinds:
        items = list(_values(schema["items"])) if "$ref" not in schema["items"] else []
        yield from (
            [2, 1],
            [1, 2],
            [41, 61, 51],
            [42, 62, 52],
            [0.1, 0.2, 0.3],
            [100, 31],
            [101, 30],
            [7, 8],
            [{"turn": 80}] * 2,
            [{"turn": 70}] * 2,
            [{"part": "first"}],
            [{"part": "second"}],
        )
        yield from ([HOLES[0]], [HOLES[1]], *([each] for each in items))
    if schema.get("$ref", "").endswith("DrawingTolerances"):
        yield from ({"angle": 1}, {"angle": 2})
    if schema.get("$ref", "").endswith("Programs"):
        yield from ({"brake": "one"}, {"brake": "two"})
    if schema.get("$ref", "").endswith("Packing"):
        yield from ({"box": "cart"}, {"box": "box-400"})
    if schema.get("$ref", "").endswith("Section"):
        yield from ({**PLAIN["section"], "length": length_mm} for length_mm in (150, 160))


def _properties(name: str) -> dict[str, Any]:
    schema = part_schema()
    return dict((schema if name == "" else schema["$defs"][MAPPINGS[name]])["properties"])


# What has tests of its own: other kinds of parts, and how the sheets of a family are printed (test_variants.py).
ELSEWHERE = ("panel", "blank", "family")
KEYS = [(name, key) for name in ("", *MAPPINGS) for key in _properties(name) if key not in ELSEWHERE]


def _read(data: dict[str, Any]) -> Part | None:
    try:
        return read_part(json.dumps(data), "p.yaml", shop())
    except Unusable:
        return None


def _different(name: str, key: str) -> bool:
    """Whether two values of the key, all else alike, make two different parts."""
    values = list(_values(_properties(name)[key]))
    for base in _bases(name):
        first: Part | None = None
        for value in values:
            tried = copy.deepcopy(base)
            _mapping(tried, name).update({key: copy.deepcopy(value), **WITH.get((name, key, str(value)), {})})
            part = _read(tried)
            if part is not None and first is not None and part != first:
                return True
            first = first if first is not None else part
    return False


@pytest.mark.parametrize(("name", "key"), KEYS, ids=lambda each: each or "file")
def test_a_key_of_the_file_changes_the_part(name: str, key: str) -> None:
    assert _different(name, key), f"{key}: two values give the same part, or no value is accepted"


def test_the_models_are_all_walked() -> None:
    of_panels = {*PANEL_MAPPINGS.values(), "PanelFile", "FlangeFile", "SlotFile", "CornerReliefFile", "PanelTolerances"}
    of_drawn = {"BlankFile", "LineFile"}
    assert set(MAPPINGS.values()) | of_panels | of_drawn == set(part_schema()["$defs"])
    assert len(KEYS) > 40
