"""Struck or not by points: faces and bends as clouds of points, carried through a stroke in small steps.

Shares nothing with what it is held against but the fold of the part and the tools' outlines: the stroke is written out
here once more, from the three tangent circles.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance import Body
from flangewise.panel_order import SpaceHit
from flangewise.pattern import PanelBlank
from flangewise.pattern.folded import folded

Floats = NDArray[np.float64]

STEP_MM, MOMENTS, TOUCH_MM = 0.9, 61, 0.05
LAYERS = (-1.0, -0.66, -0.33, 0.0, 0.33, 0.66, 1.0)
# So deep in a body a point is struck for sure: tools are drawn as polygons.
DEEP_MM = 0.003


def face_cloud(
    blank: PanelBlank, face: int, done: frozenset[int], root: int, *, step_mm: float = STEP_MM, off_mm: float = TOUCH_MM
) -> Floats:
    """Points of a face, so far inside its skins, the root face lying as on the blank."""
    shape = shapely.Polygon(next(each.outline_mm for each in blank.faces if each.number == face))
    left, low, right, high = shape.bounds
    xs = np.linspace(left, right, max(2, int((right - left) / step_mm) + 2))
    ys = np.linspace(low, high, max(2, int((high - low) / step_mm) + 2))
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    grid = grid[shapely.intersects_xy(shapely.buffer(shape, 1e-7), *grid.T)]
    flat = np.vstack([grid, shapely.get_coordinates(shapely.segmentize(shape.exterior, step_mm))])
    half = blank.thickness_mm / 2 - off_mm
    fold = folded(blank, done=done, root=root)
    return np.vstack([fold.folded_mm(face, flat, up_mm=layer * half) for layer in LAYERS])


def bend_cloud(
    blank: PanelBlank, bend: int, done: frozenset[int], root: int, *, step_mm: float = STEP_MM, off_mm: float = TOUCH_MM
) -> Floats:
    """Points of a bend, on its true arcs, so far inside its skins."""
    at = next(index for index, zone in enumerate(blank.zones) if zone.bend == bend)
    length_mm = math.dist(*blank.zones[at].line_mm)
    fold = folded(blank, done=done, root=root)
    half = blank.thickness_mm / 2 - off_mm
    return np.vstack(
        [
            fold.arc_mm(at, float(axis_mm), up_mm=layer * half, chords=40)
            for axis_mm in np.linspace(0.0, length_mm, int(length_mm / step_mm) + 2)
            for layer in LAYERS
        ]
    )


def on_the_bed(hit: SpaceHit, points: Floats, *, behind: bool) -> Floats:
    """Points about a root face as it lies on the blank, as (bed, outward from the zone's edge, up) of the hit.

    Whatever is bent lies to the left of the line; the face that is up is the one bent toward. Behind, outward is to
    the back and the bed runs to its right seen from above, in front the other way.
    """
    zones = hit.operation.zones
    ends = [np.array(point) for zone in zones for point in zone.line_mm]
    along = np.array(zones[0].line_mm[1]) - np.array(zones[0].line_mm[0])
    along /= np.linalg.norm(along)
    left = np.array([-along[1], along[0]])
    child_here = behind != hit.parent_behind
    outward = left if child_here else -left
    up = 1.0 if hit.marked_up else -1.0
    # Looking to the back with the up face up, the bed's direction is a quarter turn to the right of "back".
    back = outward if behind else -outward
    bed = np.array([back[1], -back[0]]) * up
    start = min(float(end @ bed) for end in ends)
    across = points[:, :2] @ outward - float(ends[0] @ outward) - hit.operation.half_zone_mm
    return np.column_stack([points[:, :2] @ bed - start, across, points[:, 2] * up])


def moments(hit: SpaceHit, count: int) -> Floats:
    """Half turns of a stroke, in radians, from flat to the last."""
    return np.radians(np.linspace(0.0, hit.tools.loaded_turn_deg / 2, count))


def in_machine(hit: SpaceHit, points: Floats, half: float, *, behind: bool) -> tuple[Floats, float]:
    """Points of a wing as they lie at a half turn, (bed, across toward the operator, up), and the nose's height."""
    stack, sheet = hit.tools.stack, hit.shapes.blank.thickness_mm
    radius, opening, shoulder = hit.tools.formed_radius_mm, stack.opening_mm, stack.shoulder_radius_mm
    cos, sin = math.cos(half), math.sin(half)
    centre = ((radius + sheet + shoulder) - opening / 2 * sin) / cos - shoulder
    left = hit.operation.zones[0].allowance.allowance_mm / 2 * (1 - half / math.radians(hit.tools.loaded_turn_deg / 2))
    middle = radius + sheet / 2
    out = middle * sin + left * cos + points[:, 1] * cos - points[:, 2] * sin
    height = centre - middle * cos + left * sin + points[:, 1] * sin + points[:, 2] * cos
    return np.column_stack([points[:, 0], -out if behind else out, height]), centre - radius


def struck(hit: SpaceHit, points: Floats, *, behind: bool, foot_mm: float) -> dict[str, Floats]:
    """Where along the bed points of a wing are struck: by the punch, by what of it is below a height, the die, or by
    what stands everywhere ("rest")."""
    found: dict[str, list[Floats]] = {"punch": [], "foot": [], "die": [], "rest": []}
    for half in moments(hit, MOMENTS):
        laid, nose = in_machine(hit, points, float(half), behind=behind)
        for body in hit.tools.stack.bodies:
            over = laid[:, 2] - (nose if body.with_ram else 0.0)
            inside = _inside(body, laid[:, 1], over)
            found[body.name if body.name in found else "rest"].append(points[inside, 0])
            if body.name == "punch":
                found["foot"].append(points[inside & (over < foot_mm - DEEP_MM), 0])
    return {name: np.concatenate(each) for name, each in found.items()}


def share_a_place(
    hit: SpaceHit, front: tuple[int, int], behind: tuple[int, int], done: frozenset[int], *, step_mm: float = 1.5
) -> bool:
    """Whether a point of a face in front comes to lie in a face behind, each given with its root, at 31 moments."""
    blank, (face, root) = hit.shapes.blank, behind
    own = face_cloud(blank, front[0], done, front[1], step_mm=step_mm)
    own = on_the_bed(hit, own, behind=False)
    outline = next(each.outline_mm for each in blank.faces if each.number == face)
    shape = shapely.buffer(shapely.Polygon(outline), -0.02)
    shapely.prepare(shape)
    # A stroke moves nothing along the bed: only what stands where the face behind stands can come to lie in it.
    fold, half_mm = folded(blank, done=done, root=root), blank.thickness_mm / 2
    ends = np.vstack([fold.folded_mm(face, np.array(outline), up_mm=up) for up in (-half_mm, half_mm)])
    stands = on_the_bed(hit, ends, behind=True)[:, 0]
    own = own[(own[:, 0] > stands.min() - 1e-6) & (own[:, 0] < stands.max() + 1e-6)]
    # From the bed back to the blank of the root behind, then to the face's own: both are rigid.
    start = on_the_bed(hit, np.zeros((1, 3)), behind=True)[0]
    axes = (on_the_bed(hit, np.eye(3), behind=True) - start).T
    frame = fold.frames[face].inverse()
    for half in moments(hit, 31):
        laid, _ = in_machine(hit, own, float(half), behind=False)
        origin, _ = in_machine(hit, np.zeros((1, 3)), float(half), behind=True)
        cos, sin = math.cos(half), math.sin(half)
        out, up = -(laid[:, 1] - origin[0, 1]), laid[:, 2] - origin[0, 2]
        back = np.column_stack([laid[:, 0], out * cos + up * sin, up * cos - out * sin])
        flat = frame.place((back - start) @ axes)
        inside = np.abs(flat[:, 2]) < blank.thickness_mm / 2 - TOUCH_MM - 0.02
        if shapely.contains_xy(shape, flat[inside, 0], flat[inside, 1]).any():
            return True
    return False


def _inside(body: Body, across: Floats, height: Floats) -> NDArray[np.bool_]:
    inner = _inner(body.points_mm)
    left, low, right, high = inner.bounds
    near = (across >= left) & (across <= right) & (height >= low) & (height <= high)
    near[near] = shapely.contains_xy(inner, across[near], height[near])
    return near


@cache
def _inner(points_mm: tuple[tuple[float, float], ...]) -> shapely.Geometry:
    inner = shapely.buffer(shapely.Polygon(points_mm), -DEEP_MM)
    shapely.prepare(inner)
    return inner


def apart_from(places: Floats, runs: tuple[tuple[float, float], ...]) -> float:
    """How far the worst of some places lies outside stretches; 0 where all lie inside, or there are none."""
    if not len(places):
        return 0.0
    if not runs:
        return math.inf
    off = np.min([np.maximum(np.maximum(low - places, places - high), 0.0) for low, high in runs], axis=0)
    return float(off.max())


def unreached_mm(places: Floats, run: tuple[float, float]) -> tuple[float, float]:
    """How far the nearest struck places lie from the two ends of a stretch; infinite where none lies in it."""
    inside = places[(places > run[0] - 1e-3) & (places < run[1] + 1e-3)]
    if not len(inside):
        return math.inf, math.inf
    return float(inside.min()) - run[0], run[1] - float(inside.max())
