"""How a bent part leaves tools that stand along stretches of the bed, moved across the bed without turning.

Where the part may be is asked as `exits` asks it of a section, tool by tool: what of the part stands over a tool's
stretch of the bed, seen along the bed, is what that tool can meet while nothing moves along the bed. So the answer is
exact for such ways. To be slid off along the bed the part must be clear of every tool as if it stood everywhere.
Source: derived here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
import shapely.affinity

from flangewise.clearance.bodies import Body
from flangewise.clearance.exits import ENDLESS_MM, WayOut, convex_parts, least_lift_mm, movables, sums
from flangewise.clearance.region import Geometries
from flangewise.geometry import Points, SpacePoints

Run = tuple[float, float]
# The outlines of what stands over stretches of the bed, None for all of it.
_Seen = dict[tuple[Run, ...] | None, tuple[Points, ...]]
# Places are told apart to a millionth of a millimetre: less is rounding.
DIGITS = 6


@dataclass(frozen=True)
class StandingTool:
    """A body that stands along stretches of the bed; `along_mm` None: along all of it."""

    body: Body
    along_mm: tuple[Run, ...] | None = None


@dataclass(frozen=True)
class WayOutOfRow:
    """How far the nose is lifted for the part to leave; whether it can stay where it lies meanwhile, and how far it may
    be lifted then before it strikes the part; and whether it is slid off along the bed."""

    lift_mm: float
    straight_up: bool
    along_bed: bool
    most_lift_mm: float = math.inf


class _RowWay(WayOut):
    """What is left of a room beside what stands is kept: the tools that go up are taken from it at every lift."""

    def free(self, lift_mm: float, room: shapely.Geometry) -> Geometries:
        """The pieces of a room in which the part may be with the nose lifted so far."""
        beside = self._beside.setdefault(room.wkb, shapely.difference(room, self.fixed))
        lifted = shapely.affinity.translate(self.moving, yoff=lift_mm)
        pieces: Geometries = shapely.get_parts(shapely.difference(beside, lifted))
        return pieces

    @cached_property
    def _beside(self) -> dict[bytes, shapely.Geometry]:
        return {}


def way_out_of_row(
    tools: Sequence[StandingTool],
    pieces_mm: Sequence[SpacePoints],
    *,
    nose_mm: float,
    most_mm: float,
    likely_mm: float = 0.0,
) -> WayOutOfRow | None:
    """The least lift with which a part leaves to the front, or else is slid off along the bed; None: neither is found.

    `pieces_mm` are the corners of its convex solids (along the bed, across toward the operator, up), `nose_mm` the
    height of the nose above the die's top as it lies there, `most_mm` how far it can be lifted. `likely_mm`: a lift
    that is told where the part stays meanwhile and leaves with it, though less might do.
    """
    seen: _Seen = {None: _outermost(pieces_mm)}
    way = _way(tools, pieces_mm, nose_mm, seen)
    likely = 0 < likely_mm <= most_mm and way.free_in_place(likely_mm) and way.open_at(likely_mm)
    lift_mm = likely_mm if likely else least_lift_mm(way, most_mm=most_mm)
    if lift_mm is not None:
        stays = way.free_in_place(lift_mm)
        most_lift_mm = way.most_in_place_mm() if stays else math.inf
        return WayOutOfRow(lift_mm, stays, along_bed=False, most_lift_mm=most_lift_mm)
    starts = way.starts(most_mm)
    everywhere = _way([StandingTool(tool.body) for tool in tools], pieces_mm, nose_mm, seen)
    room = shapely.box(-ENDLESS_MM / 10, -ENDLESS_MM / 10, way.front_mm, ENDLESS_MM / 10)
    reached = [
        piece for piece in way.free(most_mm, room) if any(shapely.intersects(piece, shapely.Point(at)) for at in starts)
    ]
    clear = everywhere.free(most_mm, room)
    if any(shapely.intersects(piece, clear).any() for piece in reached):
        return WayOutOfRow(most_mm, way.free_in_place(most_mm), along_bed=True)
    return None


def _way(tools: Sequence[StandingTool], pieces_mm: Sequence[SpacePoints], nose_mm: float, seen: _Seen) -> WayOut:
    sides: dict[bool, list[shapely.Geometry]] = {False: [], True: []}
    reach_mm = 0.0
    for tool in tools:
        parts = convex_parts(tool.body.points_mm)
        if tool.along_mm is None and tool.body.name not in ("punch", "die"):
            # The ram goes on upward and the bed downward.
            whole = movables((tool.body,))
            parts = whole.moving or whole.fixed
        if tool.along_mm not in seen:
            assert tool.along_mm is not None
            over = (_between(piece, low, high) for piece in pieces_mm for low, high in tool.along_mm)
            seen[tool.along_mm] = _outermost([cut for cut in over if len(cut)])
        rise_mm = np.array([0.0, nose_mm if tool.body.with_ram else 0.0])
        sides[tool.body.with_ram].append(_sums([part + rise_mm for part in parts], seen[tool.along_mm]))
        reach_mm = max(reach_mm, *(abs(across) for across, _ in tool.body.points_mm))
    least_mm = min(float(piece[:, 1].min()) for piece in pieces_mm)
    return _RowWay(shapely.union_all(sides[False]), shapely.union_all(sides[True]), reach_mm - least_mm + 1.0)


def _between(piece_mm: SpacePoints, low_mm: float, high_mm: float) -> SpacePoints:
    """What of a convex solid stands over a stretch of the bed, as points whose hull it is."""
    along = piece_mm[:, 0]
    least_mm, most_mm = along.min(), along.max()
    if most_mm <= low_mm or least_mm >= high_mm:
        return piece_mm[:0]
    if low_mm <= least_mm and most_mm <= high_mm:
        return piece_mm
    found = [piece_mm[(along >= low_mm) & (along <= high_mm)]]
    for end in (low_mm, high_mm):
        under, over = np.flatnonzero(along < end), np.flatnonzero(along > end)
        one, other = np.repeat(under, len(over)), np.tile(over, len(under))
        share = ((end - along[one]) / (along[other] - along[one]))[:, None]
        found.append(piece_mm[one] + share * (piece_mm[other] - piece_mm[one]))
    return np.concatenate(found)


def _sums(parts: Sequence[Points], outlines: Sequence[Points]) -> shapely.Geometry:
    """Union of the Minkowski sums of convex parts with reflected outlines."""
    if not outlines:
        return shapely.Polygon()
    most = max(len(outline) for outline in outlines)
    corners = np.stack([np.concatenate([each, np.repeat(each[:1], most - len(each), axis=0)]) for each in outlines])
    return sums(parts, corners, 0.0)


def _outermost(pieces_mm: Sequence[SpacePoints]) -> tuple[Points, ...]:
    """The outlines of convex solids seen along the bed, without those that lie within another.

    What a tool meets of one that lies within another it meets of that one as well.
    """
    if not pieces_mm:
        return ()
    owners = np.repeat(np.arange(len(pieces_mm)), [len(piece) for piece in pieces_mm])
    seen = np.round(np.concatenate([piece[:, 1:] for piece in pieces_mm]), DIGITS)
    hulls = shapely.normalize(shapely.convex_hull(shapely.multipoints(seen, indices=owners)))
    once = np.array(list({hull.wkb: hull for hull in hulls}.values()), dtype=object)
    shapely.prepare(once)
    one, other = shapely.STRtree(once).query(once, predicate="covered_by")
    within = np.zeros(len(once), dtype=bool)
    within[one[one != other]] = True
    return tuple(np.unique(shapely.get_coordinates(hull), axis=0) for hull in once[~within])
