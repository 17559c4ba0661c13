"""Two wings folded together in space: flanges that come into each other's way, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.clearance import Solid, Stroke, solids_meet

ASIDE = np.array([0.5, 0.0, 0.0])


def upright(x: float, out: tuple[float, float], up: tuple[float, float]) -> Solid:
    """A plate square to the bed."""
    (near, far), (low, high) = out, up
    ring = np.array([(x, near, low), (x, far, low), (x, far, high), (x, near, high)], dtype=float)
    return Solid(ring - ASIDE, ring + ASIDE)


@pytest.fixture
def sharp() -> Stroke:
    """A bend with no radius of its middle and no zone: both wings turn about one line."""
    return Stroke(12.0, 0.0, 1.0, -0.5, 0.0, 45.0)


def test_plates_in_one_place_of_the_bed_meet_when_their_angles_add_up(sharp: Stroke) -> None:
    """Each fills its wing to 60 degrees above the sheet: 120 of 180 are taken, so they meet at a turn of 60."""
    slope = np.tan(np.radians(60))
    ring = np.array([(0, 0, 0), (0, 40, 0), (0, 40, 40 * slope)], dtype=float)
    own = Solid(ring - ASIDE, ring + ASIDE)
    ring = np.array([(0, 10, 0), (0, 40, 0), (0, 40, 40 * slope), (0, 10, 10 * slope)], dtype=float)
    its = Solid(ring - ASIDE, ring + ASIDE)
    met = solids_meet([own], [its], sharp)
    assert met is not None and met.overlap_mm > 0
    # Looked at first at nine moments of 90 degrees: found at one of them.
    assert 60 - 1e-6 <= met.turn_deg <= 60 + 90 / 8
    assert solids_meet([own], [its], Stroke(12.0, 0.0, 1.0, -0.5, 0.0, 29.9)) is None


def test_a_short_touch_between_the_moments_is_not_missed(sharp: Stroke) -> None:
    """The tip of a thin arm passes a thin arm: they share a place for a part of a degree only.

    Of 50 at 30 degrees on the one side; on the other one of 49.9 to 50.1 at 100 degrees: they pass at a turn of 50.
    """
    cos, sin = np.cos(np.radians(30)), np.sin(np.radians(30))
    ring = np.array([(0, 50 * cos, 50 * sin), (0, 50.1 * cos, 50.1 * sin), (0, 50.1 * cos, 50.1 * sin + 0.1)])
    own = Solid(ring - ASIDE, ring + ASIDE)
    cos, sin = np.cos(np.radians(100)), np.sin(np.radians(100))
    ring = np.array([(0, 49.9 * cos, 49.9 * sin), (0, 50.3 * cos, 50.3 * sin), (0, 50.3 * cos, 50.3 * sin + 0.1)])
    its = Solid(ring - ASIDE, ring + ASIDE)
    met = solids_meet([own], [its], sharp)
    assert met is not None
    assert met.turn_deg == pytest.approx(50.0, abs=0.5)


def test_plates_beside_each_other_on_the_bed_never_meet(sharp: Stroke) -> None:
    front, behind = upright(0.0, (0, 40), (0, 60)), upright(1.01, (0, 40), (0, 60))
    # The wing behind sees the bed the other way round.
    assert solids_meet([front], [behind], sharp) is None
    met = solids_meet([front], [upright(-0.99, (0, 40), (0, 60)), upright(0.99, (0, 40), (0, 60))], sharp)
    assert met is not None and met.overlap_mm == pytest.approx(0.01)
    assert solids_meet([], [behind], sharp) is None
