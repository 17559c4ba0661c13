"""How near panels come to their tools where the rows stand."""

from __future__ import annotations

import pytest

from flangewise.panel_order import StandingRow

from ...published.panels import blank
from .made import bends, hit_of, hits

NONE: frozenset[int] = frozenset()


def test_a_row_between_sides_comes_as_near_as_its_ends_stand_from_their_radius() -> None:
    """294.16 are free, so 290 in the middle stand 2.08 from it at each end; moved by 1 they stand 1.08."""
    own = blank("pan")
    near, sides = hit_of(hits(own), "near"), bends(own, "left", "right")
    assert near.clearance_mm(sides, StandingRow(1.0, 290.0)) == pytest.approx(2.08, abs=0.03)
    assert near.clearance_mm(sides, StandingRow(0.0, 290.0)) == pytest.approx(1.08, abs=0.03)
    # A row of 250 stands 22 from them, and the walls rise beside it; what is nearest now is not the row's end.
    wide = near.clearance_mm(sides, StandingRow(21.0, 250.0))
    assert wide is not None and 10.0 < wide < 23.0


def test_a_flat_sheet_comes_near_to_the_ram_alone() -> None:
    """Behind it rises 45.5 degrees; the ram is 24 out and begins 142 over the nose."""
    own = blank("pan")
    found = hit_of(hits(own), "left").clearance_mm(NONE, StandingRow(1.0, 190.0))
    assert found is not None and 50 < found < 120


def test_the_clearance_is_less_the_more_is_bent() -> None:
    own = blank("box")
    near, row = hit_of(hits(own), "near"), StandingRow(-1.0, 290.0, 35.0, 35.0)
    walls = bends(own, "left", "right")
    least = [near.clearance_mm(done, row) for done in (NONE, walls, walls | bends(own, "left.tip", "right.tip"))]
    assert all(each is not None for each in least)
    assert sorted(least, reverse=True) == least and least[-1] < 5 < least[0]
