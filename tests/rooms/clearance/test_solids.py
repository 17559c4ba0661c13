"""Faces cut into convex parts, and the sides of solids."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from flangewise.clearance import Solid, Solids, convex_rings, shadows
from flangewise.geometry import Frame

ELL = [(0.0, 0.0), (200.0, 0.0), (200.0, 80.0), (80.0, 80.0), (80.0, 200.0), (0.0, 200.0)]
NOTCHED = [
    (0.0, 0.0),
    (300.0, 0.0),
    (300.0, 100.0),
    (180.0, 100.0),
    (180.0, 90.0),
    (120.0, 90.0),
    (120.0, 100.0),
    (0.0, 100.0),
]


def cube() -> Solid:
    ring = np.array([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)], dtype=float)
    return Solid(ring, ring + np.array([0.0, 0.0, 1.0]))


@pytest.mark.parametrize(("ring", "most"), [(ELL, 2), (NOTCHED, 4), (ELL[:4], 1)])
def test_a_face_is_covered_by_few_convex_parts_that_do_not_overlap(ring: list[tuple[float, float]], most: int) -> None:
    whole = shapely.Polygon(ring)
    parts = [shapely.Polygon(part) for part in convex_rings(ring)]
    assert 1 <= len(parts) <= most
    assert all(part.convex_hull.area == pytest.approx(part.area) for part in parts)
    assert sum(part.area for part in parts) == pytest.approx(whole.area)
    assert shapely.union_all(parts).symmetric_difference(whole).area < 1e-6


def test_sides_look_outward_wherever_a_solid_is_moved() -> None:
    turned = Frame(((0.0, -1.0, 0.0), (0.6, 0.0, -0.8), (0.8, 0.0, 0.6)), (5.0, 6.0, 7.0))
    (moved,) = Solids((cube(),)).placed(turned)
    normals, points = moved.facets
    assert len(normals) == 6
    beyond = np.einsum("ij,ikj->ik", normals, moved.corners_mm[None] - points[:, None])
    assert beyond.max() < 1e-12
    assert [len(axes) for axes in moved.axes] == [3, 3]


def test_a_shadow_is_what_is_seen_along_the_bed() -> None:
    """A unit cube turned 45 degrees about the bed: a square of diagonal sqrt 2."""
    half = np.sqrt(0.5)
    turned = Frame(((1.0, 0.0, 0.0), (0.0, half, -half), (0.0, half, half)))
    (seen,) = shadows(Solids((cube(),)).placed(turned))
    assert seen.bounds == pytest.approx((-half, 0.0, half, 2 * half))
    assert seen.area == pytest.approx(1.0)
