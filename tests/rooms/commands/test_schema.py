"""`flangewise schema`: one JSON Schema on standard output, or one line saying which there are."""

from __future__ import annotations

import json

import pytest

from flangewise.commands import run
from flangewise.shop import ROWS

Capture = pytest.CaptureFixture[str]


@pytest.mark.parametrize("what", ["part", "shop", *(table.replace("_", "-") for table in sorted(ROWS))])
def test_a_schema_is_json(capsys: Capture, what: str) -> None:
    assert run(["schema", what]) == 0
    out, err = capsys.readouterr()
    schema = json.loads(out)
    assert schema["schema_version"] == 1
    assert schema["type"] == "object" or "$ref" in schema or "oneOf" in schema
    assert err == ""


def test_the_parts_schema_knows_the_keys_of_a_part(capsys: Capture) -> None:
    assert run(["schema", "part"]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert {"part", "material", "thickness", "section"} <= set(schema["properties"])


def test_a_table_may_be_named_with_either_dash(capsys: Capture) -> None:
    assert run(["schema", "least-radii"]) == 0
    first = capsys.readouterr().out
    assert run(["schema", "least_radii"]) == 0
    assert capsys.readouterr().out == first


def test_what_has_no_schema_is_answered_with_the_nearest(capsys: Capture) -> None:
    assert run(["schema", "material"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "material: schema: has no schema, did you mean 'materials'?\n"


def test_without_a_name_it_is_wrong_usage(capsys: Capture) -> None:
    assert run(["schema"]) == 2
    assert capsys.readouterr().out == ""
