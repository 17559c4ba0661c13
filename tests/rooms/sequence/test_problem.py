"""Questions that are none."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.sequence import Operation


def test_operations_cover_every_zone_once(toy):
    good = toy([30, 40, 30], [90, 90])
    with pytest.raises(ValueError, match="cover"):
        replace(good, operations=good.operations[::-1])
    with pytest.raises(ValueError, match="cover"):
        replace(good, operations=good.operations[:1])


def test_an_order_names_each_operation(toy):
    with pytest.raises(ValueError, match="order"):
        toy([30, 40, 30], [90, 90], order=(0, 0))


def test_preferred_datums_for_all_or_none(toy):
    with pytest.raises(ValueError, match="preferred"):
        toy([30, 40, 30], [90, 90], preferred=(("start",),))


def test_an_operation_needs_tools():
    with pytest.raises(ValueError, match="no tools"):
        Operation("1", (0,), ())
