"""JSON Schemas of the tables: an editor that checks with them accepts what the reader accepts."""

from __future__ import annotations

import json
from typing import Any

import pytest

from flangewise.reading import read_file
from flangewise.shop import BUILT_IN, ROWS, table_schema


@pytest.mark.parametrize("table", ["shop", *sorted(ROWS)])
def test_a_schema_is_plain_json_of_the_current_dialect(table: str) -> None:
    schema = table_schema(table)
    assert json.loads(json.dumps(schema)) == schema
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["title"] == f"{table}.yaml"


def test_no_schema_of_what_is_no_table() -> None:
    with pytest.raises(KeyError):
        table_schema("hammers")


@pytest.mark.parametrize("table", sorted(ROWS))
def test_every_key_of_the_built_in_rows_is_in_the_schema_and_no_required_one_is_left_out(table: str) -> None:
    row = table_schema(table)["additionalProperties"]
    assert "name" not in row["properties"]
    for name, entry in read_file(BUILT_IN / f"{table}.yaml").plain().items():
        assert set(entry) <= set(row["properties"]), name
        assert set(row["required"]) <= set(entry), name
    assert row["additionalProperties"] is False


def test_every_reference_leads_somewhere() -> None:
    schemas = {table: table_schema(table) for table in ("shop", *ROWS)}
    led = [(schema, reference) for schema in schemas.values() for reference in references(schema)]
    assert led
    for schema, reference in led:
        assert reference.startswith("#/$defs/")
        assert reference.removeprefix("#/$defs/") in schema["$defs"]


def references(schema: Any) -> list[str]:
    """Every $ref below a schema."""
    if isinstance(schema, dict):
        own = [schema["$ref"]] if "$ref" in schema else []
        return own + [each for value in schema.values() for each in references(value)]
    return [each for value in schema for each in references(value)] if isinstance(schema, list) else []


def test_bounds_and_choices_are_in_the_schema() -> None:
    row = table_schema("materials")["additionalProperties"]["properties"]
    assert row["yield_mpa"]["exclusiveMinimum"] == 0
    assert set(row["family"]["enum"]) == {"steel", "galvanized", "stainless", "nonferrous"}
    outline = table_schema("dies")["additionalProperties"]["properties"]["outline_mm"]
    assert outline["minItems"] == 3 and outline["items"]["maxItems"] == 3
