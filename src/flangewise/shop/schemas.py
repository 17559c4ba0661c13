"""The JSON Schema of each table, for editors that check and complete while one types."""

from __future__ import annotations

from typing import Any

from flangewise.shop.defaults import Defaults
from flangewise.shop.load import ROWS

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def table_schema(table: str) -> dict[str, Any]:
    """The JSON Schema of one table's file; `shop` is that of shop.yaml. Raises KeyError for a table there is not."""
    if table == "shop":
        return {"$schema": DIALECT, **Defaults.model_json_schema(), "title": "shop.yaml"}
    row = ROWS[table].model_json_schema()
    parts = row.pop("$defs", {})
    row["properties"].pop("name")
    row["required"].remove("name")
    schema = {
        "$schema": DIALECT,
        "title": f"{table}.yaml",
        "description": "Rows by name.",
        "type": "object",
        "additionalProperties": row,
    }
    return {**schema, "$defs": parts} if parts else schema
