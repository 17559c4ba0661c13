"""How a bent part leaves tools that stand along stretches of the bed, moved across the bed without turning.

Where the part may be is asked as `exits` asks it of a section, tool by tool: what of the part stands over a tool's
stretch of the bed, seen along the bed, is what that tool can meet while nothing moves along the bed. So the answer is
exact for such ways. To be slid off along the bed the part must be clear of every tool as if it stood everywhere.
Source: derived here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray

from flangewise.clearance.bodies import Body
from flangewise.clearance.exits import ENDLESS_MM, WayOut, convex_parts, convex_sums, least_lift_mm, movables
from flangewise.clearance.region import Geometries
from flangewise.geometry import Points, SpacePoints
from flangewise.records import dataclass

Run = tuple[float, float]
# The outlines of what stands over stretches of the bed, None for all of it.
_Seen = dict[tuple[Run, ...] | None, tuple[Points, ...]]
# Places are told apart to a millionth of a millimetre: less is rounding.
DIGITS = 6
# A gap less high than this is none.
GAP_MM = 1e-6
# So many outlines, the longest, are drawn by themselves first (judgement).
LONGEST = 12


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


class _Drawn(WayOut):
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


@dataclass(frozen=True, eq=False)
class _Pieces:
    """A way out as `WayOut`, of which convex pieces are known: what can be told of them is told without drawing it.

    What stays in place hangs on the pieces over the part's own place alone. A way straight up or down and then straight
    to the front is clear where no piece is at these heights; where none is, it is drawn where the part may be.
    """

    fixed: Geometries
    moving: Geometries
    front_mm: float

    @cached_property
    def drawn(self) -> _Drawn:
        """Where the part may be."""
        return _Drawn(shapely.union_all(self.fixed), shapely.union_all(self.moving), self.front_mm)

    @cached_property
    def here(self) -> tuple[Points, Points]:
        """From where to where up the part may not be in its place: for what stands, and for what goes up."""
        return _heights(self.fixed, 0.0), _heights(self.moving, 0.0)

    @cached_property
    def _ahead(self) -> tuple[Points, Points]:
        """The same for the whole way from its place to the front."""
        return _heights(self.fixed, self.front_mm), _heights(self.moving, self.front_mm)

    def open_at(self, lift_mm: float) -> bool:
        """Whether the part can leave to the front with the nose lifted so far."""
        fixed, moving = self._ahead
        plain = any(_has_gap(_lifted(fixed, moving, lift_mm), run) for run in self.runs(lift_mm))
        return plain or (bool(self.starts(lift_mm)) and self.drawn.open_at(lift_mm))

    def starts(self, lift_mm: float) -> list[float]:
        """How high the part may be once the ram is up: where it lay, or lifted with the punch."""
        held = _any_between(self.here[0], 0.0, lift_mm)
        return [*([0.0] if self.free_in_place(lift_mm) else []), *([] if held else [lift_mm])]

    def runs(self, lift_mm: float) -> Iterator[tuple[float, float]]:
        """From where to where up the part can be moved in its place from there."""
        blocked = _lifted(*self.here, lift_mm)
        for start in self.starts(lift_mm):
            if not _any_between(blocked, start, start):
                low_mm = float(blocked[blocked[:, 1] < start, 1].max(initial=-ENDLESS_MM / 10))
                yield low_mm, float(blocked[blocked[:, 0] > start, 0].min(initial=ENDLESS_MM / 10))

    def free_in_place(self, lift_mm: float) -> bool:
        """Whether the nose can be lifted while the part stays."""
        fixed, moving = self.here
        return not _any_between(moving, -lift_mm, 0.0) and not _any_between(fixed, 0.0, 0.0)

    def most_in_place_mm(self) -> float:
        """How far the nose can be lifted while the part stays, before something that goes with the ram strikes it."""
        moving = self.here[1]
        return -float(np.minimum(moving[moving[:, 0] <= 0, 1], 0.0).max(initial=-math.inf))


@dataclass(frozen=True, eq=False)
class _RowWay:
    """The way out between tools, asked first of the longest outlines alone: what these shut in all do."""

    tools: tuple[StandingTool, ...]
    pieces_mm: Sequence[SpacePoints]
    nose_mm: float
    seen: _Seen

    @cached_property
    def roughly(self) -> _Pieces:
        """Of the longest outlines."""
        return _way(self.tools, self.pieces_mm, self.nose_mm, self.seen, most=LONGEST)

    @cached_property
    def wholly(self) -> _Pieces:
        """Of all outlines."""
        return _way(self.tools, self.pieces_mm, self.nose_mm, self.seen)

    def open_at(self, lift_mm: float) -> bool:
        """Whether the part can leave to the front with the nose lifted so far."""
        return self.roughly.open_at(lift_mm) and self.wholly.open_at(lift_mm)


def _heights(pieces: Geometries, to_mm: float) -> Points:
    """How low and how high each piece reaches between the part's place and one further in front."""
    points, owners = shapely.get_coordinates(pieces, return_index=True)
    start, end = points[:-1], points[1:]
    low, high = np.full(len(pieces), np.inf), np.full(len(pieces), -np.inf)

    def take(ups: Points, whose: NDArray[np.intp]) -> None:
        np.minimum.at(low, whose, ups)
        np.maximum.at(high, whose, ups)

    within = (points[:, 0] >= 0.0) & (points[:, 0] <= to_mm)
    take(points[within, 1], owners[within])
    for across in {0.0, to_mm}:
        crosses = (owners[:-1] == owners[1:]) & ((start[:, 0] < across) != (end[:, 0] < across))
        one, other = start[crosses], end[crosses]
        share = (across - one[:, 0]) / (other[:, 0] - one[:, 0])
        take(one[:, 1] + share * (other[:, 1] - one[:, 1]), owners[:-1][crosses])
    there = low <= high
    return np.column_stack([low[there], high[there]])


def _lifted(fixed: Points, moving: Points, lift_mm: float) -> Points:
    return np.concatenate([fixed, moving + lift_mm])


def _any_between(heights: Points, low_mm: float, high_mm: float) -> bool:
    return bool(((heights[:, 0] <= high_mm) & (heights[:, 1] >= low_mm)).any())


def _has_gap(heights: Points, run: tuple[float, float]) -> bool:
    """Whether some height of a run is in none of some stretches, nor at the end of one."""
    reached, top_mm = run
    for low_mm, high_mm in heights[np.argsort(heights[:, 0])].tolist():
        if min(low_mm, top_mm) - reached > GAP_MM:
            return True
        reached = max(reached, high_mm)
    return top_mm - reached > GAP_MM


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
    way = _RowWay(tuple(tools), pieces_mm, nose_mm, seen)
    likely = 0 < likely_mm <= most_mm and way.open_at(likely_mm) and way.wholly.free_in_place(likely_mm)
    lift_mm = likely_mm if likely else least_lift_mm(way, most_mm=most_mm)
    if lift_mm is not None:
        stays = way.wholly.free_in_place(lift_mm)
        most_lift_mm = way.wholly.most_in_place_mm() if stays else math.inf
        return WayOutOfRow(lift_mm, stays, along_bed=False, most_lift_mm=most_lift_mm)
    everywhere = _RowWay(tuple(StandingTool(tool.body) for tool in tools), pieces_mm, nose_mm, seen)
    if _slides(way.roughly, everywhere.roughly, most_mm) and _slides(way.wholly, everywhere.wholly, most_mm):
        return WayOutOfRow(most_mm, way.wholly.free_in_place(most_mm), along_bed=True)
    return None


def _slides(way: _Pieces, everywhere: _Pieces, lift_mm: float) -> bool:
    """Whether the part can be brought to where it is clear of every tool as if it stood everywhere."""
    # Where it is clear in its own place that is seen without drawing.
    beside = _lifted(*everywhere.here, lift_mm)
    if any(_has_gap(beside, run) for run in way.runs(lift_mm)):
        return True
    starts = [shapely.Point(0.0, up) for up in way.starts(lift_mm)]
    if not starts:
        return False
    room = shapely.box(-ENDLESS_MM / 10, -ENDLESS_MM / 10, way.front_mm, ENDLESS_MM / 10)
    reached = [piece for piece in way.drawn.free(lift_mm, room) if any(shapely.intersects(piece, at) for at in starts)]
    clear = everywhere.drawn.free(lift_mm, room) if reached else ()
    return any(bool(shapely.intersects(piece, clear).any()) for piece in reached)


def _way(
    tools: Sequence[StandingTool],
    pieces_mm: Sequence[SpacePoints],
    nose_mm: float,
    seen: _Seen,
    *,
    most: int | None = None,
) -> _Pieces:
    """The pieces of where the part may not be; `most`: of so many outlines over each stretch."""
    sides: dict[bool, list[Geometries]] = {False: [], True: []}
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
        sides[tool.body.with_ram].append(_sums([part + rise_mm for part in parts], seen[tool.along_mm][:most]))
        reach_mm = max(reach_mm, *(abs(across) for across, _ in tool.body.points_mm))
    least_mm = min(float(piece[:, 1].min()) for piece in pieces_mm)
    fixed, moving = (np.concatenate([np.zeros(0, dtype=object), *sides[with_ram]]) for with_ram in (False, True))
    return _Pieces(fixed, moving, reach_mm - least_mm + 1.0)


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


def _sums(parts: Sequence[Points], outlines: Sequence[Points]) -> Geometries:
    """The Minkowski sums of convex parts with reflected outlines."""
    if not outlines:
        return np.zeros(0, dtype=object)
    most = max(len(outline) for outline in outlines)
    corners = np.stack([np.concatenate([each, np.repeat(each[:1], most - len(each), axis=0)]) for each in outlines])
    return convex_sums(parts, corners)


def _outermost(pieces_mm: Sequence[SpacePoints]) -> tuple[Points, ...]:
    """The outlines of convex solids seen along the bed, the longest first, without those that lie within another.

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
    outermost = once[~within]
    outermost = outermost[np.argsort(-shapely.length(outermost), kind="stable")]
    corners, whose = shapely.get_coordinates(outermost, return_index=True)
    return tuple(np.split(corners, np.flatnonzero(np.diff(whose)) + 1))
