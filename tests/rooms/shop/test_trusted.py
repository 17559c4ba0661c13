"""Built-in rows made without checking are the very rows that checking gives."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import BaseModel

from flangewise.shop import BUILT_IN, ROWS, Defaults, Shop
from flangewise.shop.row import Frozen
from flangewise.shop.table import read_one, read_rows
from flangewise.shop.trusted import leaves, model_in, put_together


@pytest.mark.parametrize("table", sorted(ROWS))
def test_every_built_in_row_is_as_if_it_were_checked(shop: Shop, table: str) -> None:
    checked = read_rows(BUILT_IN / f"{table}.yaml", ROWS[table], context={"least_radii": shop.least_radii})
    trusted = getattr(shop, table)
    assert list(trusted) == list(checked)
    for name, row in checked.items():
        assert trusted[name] == row, name
        assert repr(trusted[name]) == repr(row), "equal, but 1 for 1.0 or a list for a tuple"
        assert hash_of(trusted[name]) == hash_of(row)


def hash_of(row: BaseModel) -> int | None:
    """A gauge table holds a mapping and has no hash; every other row has."""
    return None if hasattr(row, "thickness_inch") else hash(row)


def test_the_built_in_defaults_too(shop: Shop) -> None:
    checked, _ = read_one(BUILT_IN / "shop.yaml", Defaults)
    assert checked == shop.defaults
    assert repr(checked) == repr(shop.defaults)


class Inner(Frozen):
    """A part of a row."""

    size_mm: float


class Outer(Frozen):
    """A row with every way a value nests."""

    one: Inner
    many: tuple[Inner, ...]
    pair: tuple[float | None, float | None]
    table: dict[int, float]
    maybe_mm: float | None = None
    count: int = 1


def test_nested_values_take_their_types() -> None:
    given: dict[str, Any] = {
        "one": {"size_mm": 1},
        "many": [{"size_mm": 2}, {"size_mm": 3}],
        "pair": [None, 4],
        "table": {3: 5},
        "count": 7,
    }
    row = put_together(Outer, given, {})
    assert row == Outer.model_validate(given)
    assert repr(row) == repr(Outer.model_validate(given))
    assert type(row.many[1].size_mm) is float
    assert type(row.count) is int


def test_the_plain_types_of_an_annotation() -> None:
    assert leaves(float) == (float,)
    assert leaves(tuple[Inner, ...])[:2] == (tuple, Inner)
    assert set(leaves(float | None)) == {float, type(None)}
    assert model_in(leaves(tuple[Inner, ...])) is Inner
    assert model_in(leaves(dict[int, float])) is None
