"""`schema`: the JSON Schema of a part file or of a shop table, for editors."""

import json
from typing import Any

import click

from flangewise.commands.output import SCHEMA_VERSION, put
from flangewise.faults import Fault, Unusable, name_fits
from flangewise.part import part_schema
from flangewise.shop import ROWS, table_schema


@click.command("schema")
@click.argument("what", metavar="NAME")
def command(what: str) -> None:
    """The JSON Schema of NAME: part, shop, or a table of the shop such as materials or dies.

    Editors that know JSON Schema complete and check YAML files with it while one types.
    """
    put(json.dumps({**_schema(what), "schema_version": SCHEMA_VERSION}, indent=2, ensure_ascii=False))


def _schema(what: str) -> dict[str, Any]:
    name = what.lower().replace("-", "_")
    if name == "part":
        return part_schema()
    if name == "shop" or name in ROWS:
        return table_schema(name)
    known = ["part", "shop", *(table.replace("_", "-") for table in ROWS)]
    raise Unusable([Fault(what, None, None, "schema", "has no schema", name_fits(what, known))])
