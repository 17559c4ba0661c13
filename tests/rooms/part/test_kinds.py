"""The kinds of value a part file's keys hold, through the model that carries them."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import pytest
from pydantic import TypeAdapter, ValidationError

from flangewise.part import kinds

MM = {"units": "mm"}


def value(kind: Any, given: Any, **context: Any) -> Any:
    return TypeAdapter(kind).validate_python(given, context=context or MM)


@pytest.mark.parametrize(
    ("kind", "given", "expected"),
    [
        (kinds.PartName, "00123", "00123"),
        (kinds.Text, " kept ", "kept"),
        (kinds.Note, "two\nlines", "two\nlines"),
        (kinds.Day, "2031-04-30", "2031-04-30"),
        (kinds.Thickness, "1.5mm", 1.5),
        (kinds.Thickness, 2, 2.0),
        (kinds.Length, "1in", 25.4),
        (kinds.Position, 0, 0.0),
        (kinds.Radius, 0, 0.0),
        (kinds.LengthTolerance, 0.05, 0.05),
        (kinds.AngleTolerance, 0.5, 0.5),
        (kinds.KFactor, 0.42, 0.42),
        (kinds.Angle, 180, 180.0),
        (kinds.Count, 1, 1),
        (kinds.CountOrNone, 0, 0),
        (kinds.LegNumber, 2, 2),
        (kinds.BendNumber, 2, 2),
        (kinds.Flag, True, True),
        (Annotated[str, *kinds.choice(Literal["a", "b"])], "b", "b"),
    ],
)
def test_what_a_kind_takes(kind: Any, given: Any, expected: Any) -> None:
    assert value(kind, given) == expected


@pytest.mark.parametrize(
    ("kind", "given"),
    [
        (kinds.PartName, "a/b"),
        (kinds.Text, ["a"]),
        (kinds.Note, {"a": 1}),
        (kinds.Day, "tomorrow"),
        (kinds.Thickness, 0.05),
        (kinds.Length, 0),
        (kinds.Position, -0.1),
        (kinds.Radius, -1),
        (kinds.Radius, 2001),
        (kinds.LengthTolerance, 0),
        (kinds.AngleTolerance, 46),
        (kinds.KFactor, 0),
        (kinds.Angle, -1),
        (kinds.Count, 0),
        (kinds.CountOrNone, -1),
        (kinds.LegNumber, 0),
        (kinds.BendNumber, "1"),
        (kinds.Flag, 1),
        (Annotated[str, *kinds.choice(Literal["a", "b"])], "c"),
    ],
)
def test_what_a_kind_does_not_take(kind: Any, given: Any) -> None:
    with pytest.raises(ValidationError) as error:
        value(kind, given)
    (fault,) = error.value.errors()
    assert fault["type"] == "wrong" and fault["ctx"]["wrong"] and fault["ctx"]["fits"]


@pytest.mark.parametrize(
    ("kind", "given", "wrong", "fits"),
    [
        (kinds.KFactor, 1.01, "1.01 is too large", "a K factor is above 0 and up to 1"),
        (kinds.KFactor, 0, "0 is too small", "a K factor is above 0 and up to 1"),
        (kinds.KFactor, -0.1, "-0.1 is negative", "a K factor is above 0 and up to 1"),
        (kinds.KFactor, "0.5", "'0.5' is no number", "a K factor is above 0 and up to 1"),
        (kinds.KFactor, True, "true is no number", "a K factor is above 0 and up to 1"),
        (kinds.KFactor, float("inf"), "inf is no finite number", "a K factor is above 0 and up to 1"),
        (kinds.AngleTolerance, 46, "46 is too large", "an angle tolerance is above 0 and up to 45°"),
        (kinds.Count, 0, "0 is zero", "a quantity is a whole number above 0"),
        (kinds.Count, 1.0, "1 is no whole number", "a quantity is a whole number above 0"),
        (kinds.Count, True, "true is no whole number", "a quantity is a whole number above 0"),
        (kinds.Count, 10_000_001, "10000001 is absurdly large", "a quantity is a whole number above 0"),
        (kinds.CountOrNone, -1, "-1 is negative", "a number of spares is a whole number from 0"),
        (kinds.Flag, "yes", "'yes' is neither true nor false", "write true or false"),
        (kinds.Flag, 1, "1 is neither true nor false", "write true or false"),
    ],
)
def test_what_is_told_of_a_number_or_a_flag(kind: Any, given: Any, wrong: str, fits: str) -> None:
    with pytest.raises(ValidationError) as error:
        value(kind, given)
    assert error.value.errors()[0]["ctx"] == {"wrong": wrong, "fits": fits, "key": None}


def test_a_bare_length_is_in_the_file_s_units() -> None:
    assert value(kinds.Length, 2, units="inch") == pytest.approx(50.8)
    assert value(kinds.Length, "2mm", units="inch") == 2.0


def test_every_kind_says_in_the_schema_what_it_is() -> None:
    for kind in (kinds.PartName, kinds.Text, kinds.Thickness, kinds.Length, kinds.KFactor, kinds.Count, kinds.Flag):
        schema = TypeAdapter(kind).json_schema()
        assert "type" in schema or "anyOf" in schema


def test_keys_that_are_not_known_are_refused() -> None:
    class One(kinds.Keys):
        a: int = 0

    with pytest.raises(ValidationError) as error:
        One.model_validate({"b": 1})
    assert error.value.errors()[0]["type"] == "extra_forbidden"
