"""Questions that are none."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.sequence import Asked, Operation


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


def test_what_is_asked_for_all_or_none(toy):
    with pytest.raises(ValueError, match="asked"):
        toy([30, 40, 30], [90, 90], asked=(Asked(),))


@pytest.mark.parametrize(
    ("asked", "ways"),
    [
        (Asked(), ["up start", "up end", "down start", "down end"]),
        (Asked(marked_up=False), ["down start", "down end"]),
        (Asked(datum="start"), ["up start", "down start"]),
        (Asked(datum="end"), ["up end", "down end"]),
        (Asked(datum="flange", flange_zone=1), ["up start", "down start"]),
        (Asked(datum="flange", flange_zone=4), ["up end", "down end"]),
        (Asked(True, "end"), ["up end"]),
    ],
)
def test_what_is_touched_lies_behind(asked, ways):
    """Of an operation that begins at zone 3: zone 1 is on the start side, zone 4 beyond it."""
    every = [(up, start) for up in (True, False) for start in (True, False)]
    told = [
        f"{'up' if up else 'down'} {'start' if start else 'end'}"
        for up, start in every
        if asked.allows(3, marked_up=up, start_behind=start)
    ]
    assert told == ways
