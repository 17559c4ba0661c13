"""How a held point goes while the flange rises, how fast, and what the gripper does about it.

The wings turn about the sheet under the nose: the point is carried by the arc of the bend, the depth for each turn is
the bend model's, where it answers, else that of straight flanges about one radius. The sharp formula gives 2L/V - 1 at
the start, and less than the model over the stroke.
"""

from collections.abc import Sequence

import numpy as np

from flangewise.bend import AirBend, BendSetup, Swift, stroke
from flangewise.clearance import Stroke
from flangewise.geometry import Points
from flangewise.handling.gripper import GripperShape
from flangewise.records import dataclass
from flangewise.sequence import Hit

POINTS = 46
# Rows of the table that is told: enough to draw the way by (judgement).
TOLD_POINTS = 9


@dataclass(frozen=True)
class PathPoint:
    """Where a held point is: depth of the nose, turn under load, the held leg's rise, and the place over the die."""

    depth_mm: float
    turn_deg: float
    rise_deg: float
    across_mm: float
    up_mm: float


@dataclass(frozen=True)
class Rise:
    """A stroke as the wing's half turns (from 0) and the nose's depths for them; `by_model`: depths of the model."""

    stroke: Stroke
    halves_deg: Points
    depths_mm: Points
    by_model: bool

    def places_mm(self, point_mm: Sequence[float]) -> Points:
        """Where a point of the front wing, in its own frame, comes to: (moments, 2), over the die's top."""
        laid = self.stroke.laid_mm(np.array([point_mm], dtype=float), self.halves_deg, from_nose=True)[:, 0]
        places: Points = laid - np.stack([np.zeros_like(self.depths_mm), self.depths_mm], axis=-1)
        return places

    def speed_factor(self, point_mm: Sequence[float]) -> float:
        """The highest speed of a point, as a multiple of the ram's; 0 where nothing moves."""
        way, depth = np.diff(self.places_mm(point_mm), axis=0), np.diff(self.depths_mm)
        moving = depth > 1e-9
        return float((np.hypot(*way[moving].T) / depth[moving]).max(initial=0.0))

    def travels_mm(self, point_mm: Sequence[float]) -> float:
        """How far a point comes at most from where it was at first touch."""
        places = self.places_mm(point_mm)
        return float(np.hypot(*(places - places[0]).T).max())

    def path(self, point_mm: Sequence[float]) -> tuple[PathPoint, ...]:
        """The way of a point as a table, from first touch to the end of the stroke."""
        places = self.places_mm(point_mm)
        rows = np.unique(np.linspace(0, len(places) - 1, TOLD_POINTS).round().astype(int)).tolist()
        return tuple(
            PathPoint(
                depth_mm=float(self.depths_mm[row]),
                turn_deg=2 * float(self.halves_deg[row]),
                rise_deg=float(self.halves_deg[row]),
                across_mm=float(places[row][0]),
                up_mm=float(places[row][1]),
            )
            for row in rows
        )


def rise_of(swung: Stroke, air: AirBend | None, model: tuple[BendSetup, Swift] | None) -> Rise:
    """A stroke with the depths of the bend model; of straight flanges where it has no answer."""
    plain_deg = np.linspace(0.0, swung.half_turn_deg, POINTS + 1)
    plain = Rise(swung, plain_deg, np.asarray(swung.depth_mm(plain_deg)), by_model=False)
    if air is None or model is None:
        return plain
    along = stroke(*model, to_loaded_turn_deg=air.loaded_turn_deg, points=POINTS)
    if len(along.depth_mm) < 2:
        return plain
    halves = np.concatenate([[0.0], np.array(along.loaded_turn_deg) / 2])
    depths = np.concatenate([[-swung.thickness_mm], np.array(along.depth_mm)])
    return Rise(swung, halves, depths, by_model=True)


def followed_s(factor: float, hit: Hit, *, ram_mm_per_s: float, follow_mm_per_s: float | None) -> tuple[float, float]:
    """Seconds that following a point takes more than the stroke at its own speed, and the ram speed for it.

    Infinite where the arm follows nothing. The ram's speed is what the point's highest speed leaves: v_arm / factor.
    """
    if follow_mm_per_s is None:
        return np.inf, ram_mm_per_s
    if factor * ram_mm_per_s <= follow_mm_per_s:
        return 0.0, ram_mm_per_s
    slow = follow_mm_per_s / factor
    travel_mm = float(hit.time.travel_mm) if hit.time is not None else 0.0
    return max(travel_mm, 0.0) * (1 / slow - 1 / ram_mm_per_s), slow


def floats(shape: GripperShape, travels_mm: float) -> bool:
    """Whether a gripper that gives way by itself goes with the sheet: `float_mm` is no less than the point's way."""
    return shape.row.float_mm is not None and travels_mm <= shape.row.float_mm
