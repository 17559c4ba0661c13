"""What of a solid stands at a finger's height."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.panel_order.footprints import footprint

# A wedge: 10 along the bed, its back sloping from 20 out at the foot to 0 at 20 up.
WEDGE = np.array([(x, y, z) for x in (0.0, 10.0) for y, z in ((0.0, 0.0), (20.0, 0.0), (0.0, 20.0))])


@pytest.mark.parametrize(
    ("low", "high", "far"), [(0.0, 5.0, 20.0), (5.0, 10.0, 15.0), (-5.0, 30.0, 20.0), (15.0, 40.0, 5.0)]
)
def test_a_wedge_reaches_less_far_the_higher_it_is_cut(low: float, high: float, far: float) -> None:
    found = footprint(WEDGE, low, high)
    assert found is not None
    assert found.far_mm == pytest.approx(far)
    assert found.far_edge_mm == (pytest.approx(0.0), pytest.approx(10.0))


def test_what_lies_above_or_below_is_nothing() -> None:
    assert footprint(WEDGE, 20.0, 30.0) is None
    assert footprint(WEDGE, -10.0, 0.0) is None


def test_what_stands_out_further_is_a_stretch_of_the_bed() -> None:
    """A triangle from (0, 0) over (10, 10) to (20, 0): 4 out it is as wide as 12."""
    roof = np.array([(x, y, z) for z in (0.0, 1.0) for x, y in ((0.0, 0.0), (10.0, 10.0), (20.0, 0.0))])
    found = footprint(roof, 0.2, 0.8)
    assert found is not None
    assert found.beyond_mm(4.0) == (pytest.approx(4.0), pytest.approx(16.0))
    assert found.beyond_mm(10.5) is None
    low, high = found.far_edge_mm
    assert high - low < 0.1
