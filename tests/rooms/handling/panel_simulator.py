"""A second simulator of a panel in a gripper: the body as a cloud of points, carried through a hit moment by moment.

It knows the blank, the record of a grip, the tools' outlines and where their rows stand. Of the planner it shares the
fold of the part alone; the stroke is that of the clouds that judge the order.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.pattern import PanelBlank
from flangewise.pattern.folded import folded

from ..panel_order.clouds import face_cloud, in_machine, on_the_bed

Floats = NDArray[np.float64]
STEP_MM = 5.0
# Of the sheet's skins so much is left out: bodies lie on them.
SKIN_MM = 0.1


def body_cloud(row: Any) -> Floats:
    """Points on the surface of a gripper's body: toward the arm, beside it, away from the sheet."""
    outline = np.array(row.outline_mm.drawn_mm())
    half = (row.pad_along_mm + (row.spacing_mm or 0.0) * (row.rows_along - 1)) / 2
    shape = shapely.Polygon(outline)
    rim = shapely.get_coordinates(shapely.segmentize(shape.exterior, STEP_MM))
    left, low, right, high = shape.bounds
    grid = np.stack(np.meshgrid(np.arange(left, right, STEP_MM), np.arange(low, high, STEP_MM)), -1).reshape(-1, 2)
    ends = np.vstack([grid[shapely.contains_xy(shape, *grid.T)], rim])
    levels = np.linspace(-half, half, int(2 * half / STEP_MM) + 2)
    found = [
        np.column_stack([each[:, 0], np.full(len(each), level), each[:, 1]]) for level in levels for each in (rim,)
    ]
    found += [np.column_stack([ends[:, 0], np.full(len(ends), level), ends[:, 1]]) for level in (-half, half)]
    return np.vstack(found)


def on_blank(grip: Any, points: Floats, thickness_mm: float) -> Floats:
    """Points of a body as they lie about the flat blank, the gripper where the record of a grip says."""
    ax, ay = grip.arm
    up = 1.0 if grip.marked else -1.0
    along, beside, away = points.T
    skin = thickness_mm / 2 if grip.kind == "face" else 0.0
    # Beside the arm, to the left of it as seen from the body's own side.
    return np.column_stack(
        [
            grip.at_mm[0] + along * ax - up * beside * ay,
            grip.at_mm[1] + along * ay + up * beside * ax,
            up * (skin + away),
        ]
    )


@dataclass(frozen=True)
class Sides:
    """Which faces lie in front of a bend line and behind, each with the face beside the line that it hangs with."""

    front: dict[int, int]
    behind: dict[int, int]


def sides_of(blank: PanelBlank, bends: tuple[int, ...], *, parent_behind: bool) -> Sides:
    """The two sides of an operation's line."""
    near: dict[int, list[int]] = {face.number: [] for face in blank.faces}
    for zone in blank.zones:
        if zone.bend not in bends:
            near[zone.face_from].append(zone.face_to)
            near[zone.face_to].append(zone.face_from)

    def hung(roots: list[int]) -> dict[int, int]:
        found = {root: root for root in roots}
        waiting = list(roots)
        while waiting:
            face = waiting.pop()
            for other in near[face]:
                if other not in found:
                    found[other] = found[face]
                    waiting.append(other)
        return found

    made = [zone for zone in blank.zones if zone.bend in bends]
    parents, children = hung([zone.face_from for zone in made]), hung([zone.face_to for zone in made])
    return Sides(children, parents) if parent_behind else Sides(parents, children)


@dataclass(frozen=True)
class Scene:
    """A hit with its rows, fingers and what is bent before; `hit` is asked for its tools and its line alone."""

    blank: PanelBlank
    hit: Any
    done: frozenset[int]
    rows: tuple[tuple[float, float], tuple[float, float]]
    gauged: Any

    @property
    def sides(self) -> Sides:
        """Front and behind."""
        return sides_of(self.blank, self.hit.operation.bends, parent_behind=self.hit.parent_behind)

    def laid(self, face: int, points: Floats, half: float) -> tuple[Floats, float]:
        """Points about a face as it lies on the blank, in the machine at a half turn, and the nose's height."""
        front = face in self.sides.front
        root = self.sides.front[face] if front else self.sides.behind[face]
        placed = folded(self.blank, done=self.done, root=root).frames[face].place(points)
        laid, nose = in_machine(self.hit, on_the_bed(self.hit, placed, behind=not front), half, behind=not front)
        return laid, nose

    def halves(self, count: int) -> Floats:
        """Half turns of the stroke, in radians."""
        return np.linspace(0.0, math.radians(self.hit.tools.loaded_turn_deg / 2), count)

    def tool_gaps_mm(self, body: Floats, nose: float) -> Iterator[float]:
        """How far a body's points are from each tool where it stands along the bed."""
        for tool in self.hit.tools.stack.bodies:
            low, high = {"punch": self.rows[0], "die": self.rows[1]}.get(tool.name, (-math.inf, math.inf))
            beside = np.maximum(np.maximum(low - body[:, 0], body[:, 0] - high), 0.0)
            over = body[:, 2] - (nose if tool.with_ram else 0.0)
            off = shapely.distance(shapely.Polygon(tool.points_mm), shapely.points(body[:, 1], over))
            yield float(np.hypot(beside, off).min())

    def finger_gaps_mm(self, body: Floats) -> Iterator[float]:
        """How far they are from the fingers before the hit."""
        fingers = self.hit.fingers
        if self.gauged is None:
            return
        for at in self.gauged.z_mm:
            beside = np.maximum(np.abs(body[:, 0] - at) - fingers.width_mm / 2, 0.0)
            outline = [(x - self.gauged.x_mm, z + self.gauged.r_mm) for x, z in fingers.gauge.finger_mm]
            off = shapely.distance(shapely.Polygon(outline), shapely.points(body[:, 1], body[:, 2]))
            yield float(np.hypot(beside, off).min())

    def lies_in_part(self, grip: Any, body: Floats, half: float) -> int | None:
        """A face that points of the body lie in at a half turn: of the held one beyond the pads alone."""
        for face in self.blank.faces:
            flat = self._back(face.number, body, half)
            inside = np.abs(flat[:, 2]) < self.blank.thickness_mm / 2 - SKIN_MM
            shape = shapely.buffer(shapely.Polygon(face.outline_mm), -SKIN_MM)
            inside[inside] = shapely.contains_xy(shape, flat[inside, 0], flat[inside, 1])
            if face.number == grip.face and grip.kind == "edge":
                # Between its pads a jaw holds the sheet.
                inside &= (flat[:, :2] - grip.at_mm) @ np.array(grip.arm) > self.pad_mm / 2 + SKIN_MM
            if inside.any():
                return int(face.number)
        return None

    pad_mm: float = 0.0

    def _back(self, face: int, points: Floats, half: float) -> Floats:
        """Points of the machine as they lie about a face on the blank: a face is rigid, so three of its own tell."""
        own = np.vstack([np.zeros(3), np.eye(3)])
        laid, _ = self.laid(face, own, half)
        axes = (laid[1:] - laid[0]).T
        return (points - laid[0]) @ axes


@dataclass(frozen=True)
class SteppedScene(Scene):
    """An offset pressed: both wings go level and straight from the higher land to their own. `way`: where a wing's zone
    ends, how high its middle lies, and the nose, at a share of it."""

    way: Any = None

    def laid(self, face: int, points: Floats, half: float) -> tuple[Floats, float]:
        """The same at a share of the way."""
        front = face in self.sides.front
        root = self.sides.front[face] if front else self.sides.behind[face]
        placed = on_the_bed(
            self.hit, folded(self.blank, done=self.done, root=root).frames[face].place(points), behind=not front
        )
        out, up, nose = self.way(self.hit, half, behind=not front)
        across = (placed[:, 1] + out) * (1.0 if front else -1.0)
        return np.column_stack([placed[:, 0], across, placed[:, 2] + up]), nose

    def halves(self, count: int) -> Floats:
        """Shares of the way."""
        return np.linspace(0.0, 1.0, count)


@dataclass(frozen=True)
class PressedScene(Scene):
    """A hem flattened: all of the part as it is in the end, the flange folded back over the face on the lower plate,
    its middle under the middle of the plates. `done`: the hem among them."""

    leg_mm: float = 0.0

    def laid(self, face: int, points: Floats, half: float) -> tuple[Floats, float]:
        """The same at the end."""
        behind, zone = self.hit.parent_behind, self.hit.operation.zones[0]
        placed = folded(self.blank, done=self.done, root=zone.face_from).frames[face].place(points)
        own = on_the_bed(self.hit, placed, behind=behind)
        across = (own[:, 1] - self.leg_mm / 2) * (-1.0 if behind else 1.0)
        sheet_mm = self.blank.thickness_mm
        return np.column_stack([own[:, 0], across, own[:, 2] + sheet_mm / 2]), 2 * sheet_mm


def part_clouds(blank: PanelBlank, done: frozenset[int]) -> Floats:
    """The part as points, the base lying as on the blank."""
    return np.vstack([face_cloud(blank, face.number, done, 1, step_mm=3.0) for face in blank.faces])


def turned_clear(blank: PanelBlank, row: Any, grip: Any, done: frozenset[int]) -> bool:
    """Half a turn of the part in the gripper, point by point, the body standing still: does none come into it."""
    fold = folded(blank, done=done, root=1)
    # The gripper's axes in space, read off what its own points become.
    own = fold.frames[grip.face].place(on_blank(grip, np.vstack([np.zeros(3), np.eye(3)]), blank.thickness_mm))
    cloud = (part_clouds(blank, done) - own[0]) @ (own[1:] - own[0]).T
    half = (row.pad_along_mm + (row.spacing_mm or 0.0) * (row.rows_along - 1)) / 2
    body = shapely.buffer(shapely.Polygon(np.array(row.outline_mm.drawn_mm())), -SKIN_MM)
    if grip.kind == "edge":
        # Beyond the edge alone: between the pads lies what is held.
        cloud = cloud[cloud[:, 0] > row.pad_across_mm / 2]
    for turn in np.linspace(0.0, math.pi, 37):
        cos, sin = math.cos(turn), math.sin(turn)
        x, y, z = cloud.T
        turned = (
            (x * cos - y * sin, x * sin + y * cos, z)
            if grip.kind == "face"
            else (x, y * cos - z * sin, y * sin + z * cos)
        )
        near = np.abs(turned[1]) <= half
        if shapely.contains_xy(body, turned[0][near], turned[2][near]).any():
            return False
    return True


def turned_about(axis: tuple[float, float, float], angle_deg: float) -> Floats:
    """The right-handed turn about a level or upright axis, column by column what becomes of right, back and up."""
    unit, angle = np.array(axis), math.radians(angle_deg)
    columns = []
    for own in np.eye(3):
        along = unit * (own @ unit)
        columns.append(along + (own - along) * math.cos(angle) + np.cross(unit, own) * math.sin(angle))
    found: Floats = np.column_stack(columns)
    return found
