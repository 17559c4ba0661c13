"""What hides what, against rays: at any point of the picture the last piece drawn there is the nearest facet."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from flangewise.drawing import Eye, SpaceBody, seen, seen_box_mm
from flangewise.drawing.partition import back_to_front, piece_of
from flangewise.geometry import Facet, bar

from ...how_many import one_in


def _box(chance: random.Random) -> list[Facet]:
    """A box of any size, turned and moved anyhow: it may run through others."""
    wide, deep, high = (chance.uniform(5, 60) for _ in range(3))
    ring = np.array([[-wide, -deep, 0], [wide, -deep, 0], [wide, deep, 0], [-wide, deep, 0]])
    axis = np.array([chance.gauss(0, 1) for _ in range(3)])
    x, y, z = axis / np.linalg.norm(axis)
    angle = chance.uniform(0, 3)
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    turn = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross
    at = np.array([chance.uniform(-40, 40) for _ in range(3)])
    low, up = (ring + np.array([0, 0, level]) for level in (-high, high))
    return bar(low @ turn.T + at, up @ turn.T + at, [((0, 1, 2, 3), (True,) * 4)])


def _depths(corners: np.ndarray, spots: np.ndarray, eye: Eye) -> np.ndarray:
    """How near to the eye rays through points of the picture meet a facet; not a number where one misses it."""
    right, up, to_eye = eye.axes
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    feet = spots @ np.array([right, up])
    along = (corners[0] - feet) @ normal / (normal @ to_eye)
    points = feet + along[:, None] * to_eye
    inward = np.cross(normal, np.roll(corners, -1, axis=0) - corners)
    sides = ((points[:, None, :] - corners) * inward).sum(axis=2)
    return np.where(sides.min(axis=1) >= 0, along, np.nan)


@pytest.mark.parametrize("seed", range(0, 200, one_in(20)))
def test_the_last_piece_drawn_at_a_point_is_the_nearest_there(seed: int) -> None:
    chance = random.Random(seed)
    eye = Eye(chance.uniform(0, 360), chance.uniform(-80, 80))
    to_eye = eye.axes[2]
    facets = [facet for _ in range(5) for facet in _box(chance) if float(facet.normal @ to_eye) > 1e-3]
    drawn = list(back_to_front([piece_of(facet, at) for at, facet in enumerate(facets)], to_eye))
    # Cut or not, nothing is lost and nothing is drawn twice.
    area = sum(_area(piece.corners_mm) for piece in drawn)
    assert area == pytest.approx(sum(_area(facet.corners_mm) for facet in facets), rel=1e-6)
    spots = np.array([[chance.uniform(-50, 50), chance.uniform(-50, 50)] for _ in range(80)])
    depths = np.array([_depths(each.corners_mm, spots, eye) for each in facets])
    drawn_at = np.array([~np.isnan(_depths(piece.corners_mm, spots, eye)) for piece in drawn])
    looked_at = 0
    for met, last in zip(depths.T, drawn_at.T, strict=True):
        nearest = sorted(((depth, at) for at, depth in enumerate(met.tolist()) if depth == depth), reverse=True)
        # Too near to an edge or to where two run through each other rounding decides.
        if len(nearest) < 2 or nearest[0][0] - nearest[1][0] < 1e-3 or not last.any():
            continue
        looked_at += 1
        assert drawn[int(np.flatnonzero(last)[-1])].body == nearest[0][1]
    assert looked_at > 10


def _area(corners: np.ndarray) -> float:
    return float(np.linalg.norm(np.cross(corners, np.roll(corners, -1, axis=0)).sum(axis=0)) / 2)


def test_a_cube_seen_along_the_space_diagonal_is_a_regular_hexagon() -> None:
    """Edges of 10 look 10 sqrt(2/3) long; nine of twelve are seen."""
    ring = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 10.0, 0.0], [0.0, 10.0, 0.0]])
    cube = SpaceBody(bar(ring, ring + np.array([0.0, 0.0, 10.0]), [((0, 1, 2, 3), (True,) * 4)]), "grey")
    box = seen_box_mm([cube])
    side = 10 * math.sqrt(2 / 3)
    assert (box.width_mm, box.height_mm) == pytest.approx((side * math.sqrt(3), 2 * side))
    lines = seen([cube], scale=1.0, at_mm=(0.0, 0.0))
    assert [line.fill for line in lines if line.pen is None] == ["grey"] * 3
    edges = {frozenset((round(x, 6), round(y, 6)) for x, y in line.points_mm) for line in lines if line.pen is not None}
    assert len(edges) == 9
    assert all(math.dist(*edge) == pytest.approx(side, abs=1e-5) for edge in edges)


def test_many_facets_in_a_row_do_not_go_too_deep() -> None:
    """A plane behind the other, 3 000 times."""
    ring = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 10.0, 0.0], [0.0, 10.0, 0.0]])
    pieces = [piece_of(Facet(ring + np.array([0.0, 0.0, level]), ("none",) * 4), level) for level in range(3_000)]
    random.Random(4).shuffle(pieces)
    order = [piece.body for piece in back_to_front(pieces, np.array([0.0, 0.0, 1.0]))]
    assert order == list(range(3_000))
