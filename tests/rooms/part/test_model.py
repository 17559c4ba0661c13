"""The keys of a part file, and its JSON Schema."""

from __future__ import annotations

import json
from typing import Any

from flangewise.part import part_schema
from flangewise.part.model import TEXT_KEYS
from flangewise.part.schema import keys_at

from .made import faults, read

# The keys of a part file as its manual lists them.
PART_KEYS = (
    *("part", "title", "revision", "drawing", "job", "due", "quantity", "spares", "material", "thickness", "units"),
    *(
        "section",
        "variants",
        "family",
        "panel",
        "blank",
        "machine",
        "handler",
        "grain",
        "good_face",
        "burr",
        "film",
        "tolerances",
        "order",
        "notes",
        "programs",
        "packing",
    ),
)
SECTION_KEYS = ("length", "legs", "bends", "radius", "sizes", "holes")
BEND_KEYS = (
    *("turn", "included", "away", "radius", "punch", "die", "k_factor", "tolerance"),
    *("hem", "gap", "offset", "gauge", "face"),
)


def test_the_keys_are_those_of_the_manual() -> None:
    assert sorted(keys_at(())) == sorted(PART_KEYS)
    assert sorted(keys_at(("section",))) == sorted(SECTION_KEYS)
    assert sorted(keys_at(("section", "bends", 0))) == sorted(BEND_KEYS)
    assert sorted(keys_at(("section", "holes", 3))) == ["at", "diameter", "leg", "size"]
    assert sorted(keys_at(("tolerances",))) == ["angle", "legs"]
    assert sorted(keys_at(("programs",))) == ["brake", "robot"]
    assert sorted(keys_at(("packing",))) == ["box", "count", "fill_share", "separator", "way"]


def test_the_text_keys_are_those_whose_values_are_texts() -> None:
    """By the schema: what takes any text, and neither a length nor a choice.

    `face` is a choice in a bend, so that a number for the face of a hole is no text.
    """
    mappings = (schema(), *(schema()["$defs"].values()))
    entries = {key: str(entry) for each in mappings for key, entry in each["properties"].items()}
    named = [key for key, entry in entries.items() if "'string'" in entry and "unit" not in entry]
    assert set(named) == TEXT_KEYS | {"face", "variants"}


def test_a_hole_is_round_or_rectangular() -> None:
    assert faults("  holes: [{leg: 1, at: [50, 20]}]\n")[0].startswith("8:11: hole 1: has neither diameter nor size")
    both = "  holes: [{leg: 1, at: [50, 20], diameter: 4, size: [3, 3]}]\n"
    assert faults(both)[0].startswith("8:11: hole 1: has both diameter and size")


def test_lists_have_their_lengths() -> None:
    assert faults("  holes: [{leg: 1, at: [50], diameter: 4}]\n") == [
        "8:24: hole 1: at: has 1 entry, it takes at least 2"
    ]
    assert faults("  holes: [{leg: 1, at: [50, 2, 1], diameter: 4}]\n")[0].startswith(
        "8:24: hole 1: at: has more than 2"
    )
    assert faults(legs="[" + "40, " * 102 + "]")[0].endswith("has more than 101 entries, it takes at most 101")


def schema() -> dict[str, Any]:
    told: dict[str, Any] = json.loads(json.dumps(part_schema()))
    return told


def test_the_schema_is_plain_json_of_a_known_draft() -> None:
    assert schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema()["additionalProperties"] is False


def test_the_schema_has_every_key_and_names_those_needed() -> None:
    assert sorted(schema()["properties"]) == sorted(PART_KEYS)
    assert sorted(schema()["required"]) == ["material", "part", "thickness"]
    assert schema()["oneOf"] == [{"required": ["section"]}, {"required": ["panel"]}, {"required": ["blank"]}]
    section = schema()["$defs"]["Section"]
    assert sorted(section["required"]) == ["bends", "legs", "length"]


def test_the_schema_allows_a_bare_90_and_no_other_bare_angle() -> None:
    bends = schema()["$defs"]["Section"]["properties"]["bends"]
    bare, entry = bends["items"]["anyOf"]
    assert bare["enum"] == [90, -90]
    assert entry == {"$ref": "#/$defs/BendFile"}


def test_the_schema_knows_the_choices() -> None:
    assert schema()["properties"]["units"]["enum"] == ["mm", "inch"]
    assert schema()["properties"]["grain"]["enum"] == ["along", "across", "any"]
    assert "inch" in str(schema()["properties"]["thickness"]) or "gauge" in str(schema()["properties"]["thickness"])


def test_the_schema_takes_one_or_a_list_where_the_file_does() -> None:
    for entry in (schema()["properties"]["notes"], schema()["$defs"]["DrawingTolerances"]["properties"]["legs"]):
        assert any(each.get("type") == "array" for each in entry["anyOf"])
        assert any("string" in str(each) and each.get("type") != "array" for each in entry["anyOf"])


def test_the_schema_tells_what_a_bend_may_be_gauged_on() -> None:
    entry = schema()["$defs"]["BendFile"]["properties"]
    edges, flange = next(each for each in entry["gauge"]["anyOf"] if "anyOf" in each)["anyOf"]
    assert edges["enum"] == ["start", "end"]
    assert (flange["required"], flange["properties"]["flange"]["minimum"]) == (["flange"], 1)
    assert entry["face"]["enum"] == ["up", "down"]


def test_the_schema_takes_one_machine_or_several() -> None:
    machine = schema()["properties"]["machine"]
    assert [each["type"] for each in machine["anyOf"]] == ["string", "array"]


def test_a_list_of_one_tolerance_is_not_one_for_all() -> None:
    assert faults("tolerances: {legs: [0.2]}\n") == [
        "8:20: tolerances: legs: has 1 entry, give one for all legs or a list of 2"
    ]
    assert read("tolerances: {legs: 0.2}\n").tolerances.legs_mm == (0.2, 0.2)
