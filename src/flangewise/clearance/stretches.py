"""Where along the bed no tool may stand: what plates of a wing forbid to bodies that reach through a stretch of it.

A convex plate meets what a body sweeps, endless along the bed, in one piece for each part of the swept region inside
the plate's shadow, its outline seen along the bed. Each piece forbids one stretch. Over the shadow the plate reaches
from the greatest of the planes of its sides that look to the left to the least of those that look to the right; its
least place over a part of the shadow is the plate's own end, or lies over the part's rim.
So the ends of a stretch are exact for every attitude of a plate. Source: derived here, convex functions on polygons.

Plates are t/2 thick to each side less the contact tolerance, as in `region`, so regions are grown by the bulge bound
alone. Holes in a face are left out of account: it forbids no less for them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, lru_cache

import numpy as np
import shapely

from flangewise.clearance.bodies import Body, ToolStack, outline_of
from flangewise.clearance.region import BULGE_MM, Geometries, Region
from flangewise.clearance.solids import Solid, shadows
from flangewise.clearance.stroke import Stroke
from flangewise.clearance.swept import CONTACT_MM, swept_region
from flangewise.geometry import Points
from flangewise.records import dataclass

Runs = tuple[tuple[float, float], ...]

# Stretches that come so near are one, and a part of a shadow smaller than this is none.
JOINED_MM, LEAST_MM2 = 1e-6, 1e-10
# A side whose normal leans less than this toward the bed bounds the shadow, not the place along the bed.
ALONG = 1e-9
# The middle surface of a plate has some thickness, whatever the sheet.
LEAST_HALF_MM = 0.05
FAR_MM = 1e5


@dataclass(frozen=True)
class Stretches:
    """Stretches (from, to) along the bed, in rising order, in which no punch, no foot of an ear, no die may stand.

    `fatal`: what stands along the whole bed is met, so that no tools help; the stretches then say nothing.
    """

    punch: Runs = ()
    foot: Runs = ()
    die: Runs = ()
    fatal: bool = False

    def seen_from_ahead(self, shift_mm: float) -> Stretches:
        """The same along an axis that runs the other way, its origin so far on."""
        punch, foot, die = (
            tuple((shift_mm - high, shift_mm - low) for low, high in reversed(runs))
            for runs in (self.punch, self.foot, self.die)
        )
        return Stretches(punch, foot, die, self.fatal)

    def shifted(self, shift_mm: float) -> Stretches:
        """The same along an axis whose origin lies so far on."""
        punch, foot, die = (
            tuple((low + shift_mm, high + shift_mm) for low, high in runs) for runs in (self.punch, self.foot, self.die)
        )
        return Stretches(punch, foot, die, self.fatal)


# The bodies of a tool that stand where a row stands.
ALONG_BED = ("punch", "foot", "die")
NOTHING = Stretches()
FATAL = Stretches(fatal=True)


def together(found: Iterable[Stretches]) -> Stretches:
    """What several forbid together."""
    all_of = list(found)
    if any(each.fatal for each in all_of):
        return FATAL
    return Stretches(
        joined(run for each in all_of for run in each.punch),
        joined(run for each in all_of for run in each.foot),
        joined(run for each in all_of for run in each.die),
    )


def joined(runs_mm: Iterable[tuple[float, float]]) -> Runs:
    """Stretches in rising order, those that overlap or touch as one."""
    found: list[tuple[float, float]] = []
    for low, high in sorted(runs_mm):
        if found and low <= found[-1][1] + JOINED_MM:
            found[-1] = found[-1][0], max(found[-1][1], high)
        else:
            found.append((low, high))
    return tuple(found)


def half_mm(thickness_mm: float) -> float:
    """Half the thickness of plates that are held against tools and each other, contact taken off."""
    return max(LEAST_HALF_MM, thickness_mm / 2 - CONTACT_MM)


@dataclass(frozen=True, eq=False)
class ToolRegions:
    """What tools sweep in a wing's frame through a stroke: the punch, the foot of its ear, the die, all the rest."""

    punch: Region
    foot: Region | None
    die: Region
    rest: Region

    @cached_property
    def _along(self) -> tuple[tuple[str, shapely.Geometry], ...]:
        regions = zip(ALONG_BED, (self.punch, self.foot, self.die), strict=True)
        return tuple((name, region.shape) for name, region in regions if region is not None)

    def forbidden(
        self, pieces: Sequence[Sequence[Solid]], outlines: Sequence[Geometries] | None = None
    ) -> list[Stretches]:
        """For each list of solids of a wing what it forbids, along the wing's own first axis.

        `outlines`: of each list those of its solids seen along the bed, where they are known (`shadows`).
        """
        solids = [solid for each in pieces for solid in each]
        if not solids:
            return [NOTHING] * len(pieces)
        seen = shadows(solids) if outlines is None else np.concatenate(outlines)
        owners = np.repeat(np.arange(len(pieces)), [len(each) for each in pieces])
        fatal = np.zeros(len(pieces), dtype=bool)
        fatal[owners[self.rest.strikes(seen)]] = True
        found: list[dict[str, list[tuple[float, float]]]] = [{} for _ in pieces]
        for name, shape in self._along:
            met = shapely.intersects(shape, seen) & ~fatal[owners]
            # What the foot meets the punch meets as well.
            if name == "foot":
                met &= np.array(["punch" in found[owner] for owner in owners])
            at = np.flatnonzero(met)
            for number, common in zip(at.tolist(), shapely.intersection(shape, seen[at]), strict=True):
                runs = runs_over(solids[number], common)
                if runs:
                    found[owners[number]].setdefault(name, []).extend(runs)
        return [
            FATAL if dead else _stretches(each) if each else NOTHING
            for dead, each in zip(fatal.tolist(), found, strict=True)
        ]

    def apart_mm(self, solids: Sequence[Solid], *, punch_mm: tuple[float, ...], die_mm: tuple[float, ...]) -> float:
        """How far solids of a wing stay from what is swept, where punch and die stand over stretches of its first axis.

        Seen along the bed, so never more than it is.
        """
        seen, least = shadows(solids), math.inf
        ends = np.array([(each.corners_mm[:, 0].min(), each.corners_mm[:, 0].max()) for each in solids])
        everywhere = (-math.inf, math.inf)
        for region, (low, high) in ((self.punch, punch_mm), (self.die, die_mm), (self.rest, everywhere)):
            over = seen[(ends[:, 0] < high) & (ends[:, 1] > low)]
            least = min([least, *shapely.distance(region.shape, over).tolist()])
        return least


def _stretches(runs: Mapping[str, list[tuple[float, float]]]) -> Stretches:
    punch, foot, die = (joined(runs.get(name, ())) for name in ALONG_BED)
    return Stretches(punch, foot, die)


@lru_cache(maxsize=256)
def tool_regions(
    stack: ToolStack, stroke: Stroke, *, foot_mm: float | None, reach_mm: float, behind: bool
) -> ToolRegions:
    """What the tools of a stack sweep, seen from the wing in front or the one behind.

    `foot_mm`: what of an ear stands at its outer end reaches so high above the nose (None: there are no ears).
    """
    bodies = stack.seen_from_behind() if behind and not stack.symmetric else stack.bodies
    own = {name: tuple(body for body in bodies if body.name == name) for name in ("punch", "die")}
    rest = tuple(body for body in bodies if body.name not in own)
    feet = () if foot_mm is None else tuple(foot for body in own["punch"] for foot in foot_of(body, foot_mm))
    return ToolRegions(
        _swept(own["punch"], stroke, reach_mm),
        _swept(feet, stroke, reach_mm) if feet else None,
        _swept(own["die"], stroke, reach_mm),
        _swept(rest, stroke, reach_mm),
    )


def _swept(bodies: tuple[Body, ...], stroke: Stroke, reach_mm: float) -> Region:
    return Region(swept_region(bodies, stroke, reach_mm=reach_mm).sweeps, BULGE_MM)


def foot_of(punch: Body, foot_mm: float) -> tuple[Body, ...]:
    """What of a punch lies below a height above its nose."""
    below = shapely.box(-FAR_MM, -FAR_MM, FAR_MM, foot_mm)
    cut = shapely.intersection(shapely.make_valid(shapely.Polygon(punch.points_mm)), below)
    parts = [part for part in shapely.get_parts(cut) if part.geom_type == "Polygon" and not part.is_empty]
    return tuple(
        Body(punch.name, outline_of(shapely.get_coordinates(part.exterior)[:-1]), punch.with_ram) for part in parts
    )


def runs_over(solid: Solid, common: shapely.Geometry) -> list[tuple[float, float]]:
    """The stretches of the bed that a solid takes up over parts of its shadow."""
    normals, points = solid.facets
    to_left, to_right = normals[:, 0] < -ALONG, normals[:, 0] > ALONG
    corners = solid.corners_mm
    low, high = float(corners[:, 0].min()), float(corners[:, 0].max())
    leftmost, rightmost = (corners[np.abs(corners[:, 0] - end) < JOINED_MM, 1:] for end in (low, high))
    runs = []
    for part in shapely.get_parts(common):
        if part.geom_type != "Polygon" or part.area <= LEAST_MM2:
            continue
        rings = [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
        starts = np.concatenate([ring[:-1] for ring in rings])
        ends = np.concatenate([ring[1:] for ring in rings])
        left, right = low, high
        if not shapely.intersects_xy(part, *leftmost.T).any():
            left = _least_mm(starts, ends, *_planes(normals[to_left], points[to_left]))
        if not shapely.intersects_xy(part, *rightmost.T).any():
            offsets, slopes = _planes(normals[to_right], points[to_right])
            right = -_least_mm(starts, ends, -offsets, -slopes)
        if right > left:
            runs.append((max(left, low), min(right, high)))
    return runs


def _planes(normals: Points, points: Points) -> tuple[Points, Points]:
    """Of planes not along the bed x = offset + slopes . (across, up)."""
    offsets: Points = np.einsum("ij,ij->i", normals, points) / normals[:, 0]
    slopes: Points = -normals[:, 1:] / normals[:, :1]
    return offsets, slopes


def _least_mm(starts: Points, ends: Points, offsets: Points, slopes: Points) -> float:
    """The least value over lines of the greatest of some planes: at an end, or where two planes meet over a line."""
    first, last = (offsets + at @ slopes.T for at in (starts, ends))
    values = [first.max(axis=1)]
    one, other = np.triu_indices(len(offsets), k=1)
    rise = (last - first)[:, one] - (last - first)[:, other]
    shares = (first[:, other] - first[:, one]) / np.where(np.abs(rise) > 1e-12, rise, np.inf)
    lines, pairs = np.nonzero((shares > 0) & (shares < 1))
    share = shares[lines, pairs][:, None]
    values.append((first[lines] + share * (last - first)[lines]).max(axis=1))
    return float(np.concatenate(values).min())
