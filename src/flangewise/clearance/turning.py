"""Can what stands inside a part be turned in the plane until it passes through the part's mouth.

Two convex outlines meet, one moved over the plane without turning, where their Minkowski sum is entered; so for each
angle what is left of the plane is where it may stand. It comes from one angle to the next where pieces of the two
planes overlap; angles are taken by steps of a degree, so what is found is a way, and where none is found nothing is
known. Source: Minkowski sums, textbook (from memory); the rest is derived here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely

from flangewise.clearance.region import Geometries
from flangewise.geometry import Point, Points
from flangewise.records import dataclass

STEP_DEG, MOST_DEG, HALVINGS = 1.0, 90.0, 10
# A place smaller than this is none.
LEAST_MM2, FAR_MM = 1e-6, 1e9
# Areas that differ by less differ by rounding.
NOTHING_MM2 = 1e-9


@dataclass(frozen=True, eq=False)
class Turned:
    """A convex outline that is turned about the origin and moved, and the convex ones that it must not meet."""

    ring_mm: Points
    others_mm: tuple[Points, ...]

    @cached_property
    def _corners_mm(self) -> tuple[Points, ...]:
        """The others by their outermost points alone, those together that make one convex outline."""
        hulls = [shapely.convex_hull(shapely.multipoints(other)) for other in self.others_mm]
        return tuple(shapely.get_coordinates(hull) for hull in _joined(hulls))

    def is_mirrored(self, at_mm: float) -> bool:
        """Whether the outline is its own mirror image along the bed, and so are the others about a place on it."""
        there, back = (
            sorted(_written(other * (sign, 1.0) + (at_mm * (1.0 - sign), 0.0)) for other in self._corners_mm)
            for sign in (1.0, -1.0)
        )
        return there == back and _written(self.ring_mm) == _written(self.ring_mm * (-1.0, 1.0))

    def forbidden(self, turn_deg: float) -> Geometries:
        """Where its origin may not lie at an angle, as convex pieces."""
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        turned = self.ring_mm @ np.array([[cos, sin], [-sin, cos]])
        sums = [(other[:, None] - turned[None]).reshape(-1, 2) for other in self._corners_mm]
        owners = np.repeat(np.arange(len(sums)), [len(each) for each in sums])
        if not sums:
            return np.zeros(0, dtype=object)
        found: Geometries = shapely.convex_hull(shapely.multipoints(np.concatenate(sums), indices=owners))
        return found


def _written(ring: Points) -> bytes:
    """A convex outline to a millionth of a millimetre, wherever it begins."""
    hull = shapely.normalize(shapely.convex_hull(shapely.multipoints(np.round(ring, 6) + 0.0)))
    return bytes(shapely.to_wkb(hull))


def _joined(hulls: Sequence[shapely.Geometry]) -> list[shapely.Geometry]:
    """The same area in fewer convex pieces: two become one where the hull of both holds no more than they do."""
    kept: list[shapely.Geometry] = []
    for hull in sorted(hulls, key=lambda each: -each.area):
        piece, at = hull, 0
        while at < len(kept):
            both = shapely.union(kept[at], piece)
            whole = shapely.convex_hull(both)
            if whole.area - both.area > NOTHING_MM2:
                at += 1
                continue
            # What grew may take in others that were passed over.
            piece, at = whole, 0 if whole.area - kept.pop(at).area > NOTHING_MM2 else at
        kept.append(piece)
    return kept


def turned_out(
    inside: Sequence[Turned], through: Sequence[Turned], start_mm: tuple[Point, Point]
) -> tuple[float, float] | None:
    """The least and the greatest angle at which `through` is free where `inside` can be brought, from its start.

    Both are what is turned, as it stands inside and as it goes through the mouth, about one origin. It lies at first in
    a box, given by its corners, as near the middle of its lower side as there is room. Positive angles are
    counterclockwise; of both ways round the one with less turn. None: none found.
    """
    (left, low), (right, high) = start_mm
    places = _free(inside, 0.0)
    in_box = shapely.intersection(places, shapely.box(left, low, right, high))
    near = shapely.distance(in_box, shapely.Point((left + right) / 2, low))
    near = np.where(shapely.is_empty(in_box), np.inf, near)
    start = places[near <= near.min(initial=FAR_MM)]
    found = _one_way(inside, through, start, 1.0)
    if all(each.is_mirrored((left + right) / 2) for each in (*inside, *through)):
        return found
    # The other way round is of use only with less turn.
    most_deg = MOST_DEG if found is None else min(map(abs, found))
    other = _one_way(inside, through, start, -1.0, most_deg=most_deg)
    return other if found is None or (other is not None and min(map(abs, other)) < most_deg) else found


def _one_way(
    inside: Sequence[Turned],
    through: Sequence[Turned],
    start: Geometries,
    sign: float,
    *,
    most_deg: float = MOST_DEG,
) -> tuple[float, float] | None:
    before = reached = start
    first: float | None = None
    last = 0.0
    for angle in np.arange(0.0, MOST_DEG + STEP_DEG / 2, STEP_DEG).tolist():
        reached = _next(inside, sign * angle, reached)
        passes = _passes(through, sign * angle, reached)
        if first is None and passes:
            first = _last_good(inside, through, sign, good=angle, bad=last, start=before) if angle else 0.0
        elif first is not None and not passes:
            last = _last_good(inside, through, sign, good=last, bad=angle, start=before)
            break
        if not len(reached) or (first is None and angle >= most_deg):
            return None
        before, last = reached, angle
    if first is None:
        return None
    return (first, last) if sign > 0 else (-last, -first)


def _last_good(
    inside: Sequence[Turned], through: Sequence[Turned], sign: float, *, good: float, bad: float, start: Geometries
) -> float:
    """Between an angle that passes and one that does not the last that does; asked from places beside them."""
    for _ in range(HALVINGS):
        middle = (good + bad) / 2
        if _passes(through, sign * middle, _next(inside, sign * middle, start)):
            good = middle
        else:
            bad = middle
    return good


def _room(moved: Sequence[Turned]) -> shapely.Geometry:
    """A box about all that may be met, and as much around as what is turned is long."""
    points = np.concatenate([other for each in moved for other in each.others_mm] or [np.zeros((1, 2))])
    long_mm = max(float(np.linalg.norm(each.ring_mm, axis=1).max()) for each in moved)
    return shapely.box(*(points.min(axis=0) - 2 * long_mm), *(points.max(axis=0) + 2 * long_mm))


def _free(moved: Sequence[Turned], turn_deg: float) -> Geometries:
    """The pieces of the plane in which something may lie at an angle."""
    forbidden = shapely.union_all(np.concatenate([each.forbidden(turn_deg) for each in moved]))
    pieces = shapely.get_parts(shapely.difference(_room(moved), forbidden))
    found: Geometries = pieces[shapely.area(pieces) > LEAST_MM2]
    return found


def _next(moved: Sequence[Turned], turn_deg: float, reached: Geometries) -> Geometries:
    """The pieces at an angle that can be come to from pieces of one beside it."""
    pieces = _free(moved, turn_deg)
    if not len(pieces) or not len(reached):
        return pieces[:0]
    common = shapely.area(shapely.intersection(pieces[:, None], reached[None]))
    found: Geometries = pieces[(common > LEAST_MM2).any(axis=1)]
    return found


def _passes(moved: Sequence[Turned], turn_deg: float, reached: Geometries) -> bool:
    if not len(reached):
        return False
    free = _free(moved, turn_deg)
    return bool((shapely.area(shapely.intersection(free[:, None], reached[None])) > LEAST_MM2).any())
