"""A hem of a panel flattened, as the replay has it: the sheet lies still on the lower plate, the flange closes over it.

The arc between keeps the hem's inside radius; the upper plate rides on the highest point of the flange, whose middle
lies under the plates when it is closed.
"""

import math

import numpy as np

from flangewise.records import dataclass
from flangewise.replay.panel_fold import HEM_DEG, Array, Cloud
from flangewise.replay.panel_stroke import Side

CLOSED_DEG, MOMENTS = 180.0, 31


def turned_up(out: Array, up: Array, turn_deg: float, middle_mm: float) -> tuple[Array, Array]:
    """Where points of a flange come to lie, seen from the sheet that lies level: out from the bend into it, and up.

    Both are measured from where the bend's arc begins and ends, `middle_mm` its radius in the middle of the sheet.
    """
    turn = math.radians(turn_deg)
    sin, cos = math.sin(turn), math.cos(turn)
    return -middle_mm * sin - out * cos + up * sin, middle_mm * (1 - cos) + out * sin + up * cos


@dataclass(frozen=True)
class Pressing:
    """The stroke of a hem that was bent by `begun_deg`: the wing behind is the sheet, or the flange.

    `leg` is the flange in its wing's frame, `width_mm` the zone's; out runs from the bend line.
    """

    thickness_mm: float
    radius_mm: float
    width_mm: float
    begun_deg: float
    sheet_is_behind: bool
    leg: Cloud

    @property
    def turns_deg(self) -> Array:
        """The turns that are looked at."""
        return np.linspace(min(self.begun_deg, HEM_DEG), CLOSED_DEG, MOMENTS)

    @property
    def _middle_mm(self) -> float:
        """How far the flange reaches from where it begins, in the middle of which the plates stand."""
        return float(self.leg.points_mm[:, 1].max()) / 2 - self.width_mm / 4

    def nose_up_mm(self, turn_deg: float) -> float:
        """How high the upper plate stands over the lower one while it rides on the flange."""
        half_mm = self.thickness_mm / 2
        if turn_deg >= CLOSED_DEG:
            return 2 * (self.radius_mm + half_mm) + self.thickness_mm
        side: Side = "before" if self.sheet_is_behind else "behind"
        return float(self.placed(self.leg, turn_deg, side)[:, 2].max())

    def placed(self, cloud: Cloud, turn_deg: float, side: Side) -> Array:
        """A wing's points in the machine at a turn: x, y to the back, z up."""
        x, out, up = cloud.points_mm[:, 0], cloud.points_mm[:, 1] - self.width_mm / 2, cloud.points_mm[:, 2]
        if (side == "behind") != self.sheet_is_behind:
            out, up = turned_up(out, up, turn_deg, self.radius_mm + self.thickness_mm / 2)
        back = 1.0 if self.sheet_is_behind else -1.0
        return np.column_stack([x, back * (out - self._middle_mm), up + self.thickness_mm / 2])

    def back(self, points_mm: Array, turn_deg: float, side: Side) -> Array:
        """Points of the machine in the frame of a wing: along the bed, out along the sheet, up."""
        back = 1.0 if self.sheet_is_behind else -1.0
        out, up = back * points_mm[:, 1] + self._middle_mm, points_mm[:, 2] - self.thickness_mm / 2
        if (side == "behind") != self.sheet_is_behind:
            turn, middle_mm = math.radians(turn_deg), self.radius_mm + self.thickness_mm / 2
            sin, cos = math.sin(turn), math.cos(turn)
            out, up = out + middle_mm * sin, up - middle_mm * (1 - cos)
            out, up = -out * cos + up * sin, out * sin + up * cos
        return np.column_stack([points_mm[:, 0], out + self.width_mm / 2, up])
