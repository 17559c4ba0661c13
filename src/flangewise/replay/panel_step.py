"""An offset of a panel pressed in one hit, as the replay has it: one wing lies still on its land, the other goes down.

Both stay level, and the middle of the web in the middle of the tools. The web turns evenly about two arcs of the inside
radius; of its strip so much lies in these as it is turned. The nose, the punch's lower land, rides on the wing that
goes down. Source: derived here.
"""

import math

import numpy as np

from flangewise.records import dataclass
from flangewise.replay.panel_fold import Array, Cloud
from flangewise.replay.panel_stroke import Side

MOMENTS = 31


@dataclass(frozen=True)
class Stepping:
    """The stroke of an offset: `width_mm` of a zone, `web_mm` between the two; which wing goes down."""

    thickness_mm: float
    radius_mm: float
    width_mm: float
    web_mm: float
    turn_deg: float
    falls: Side

    @property
    def turns_deg(self) -> Array:
        """The turns of the web that are looked at."""
        return np.linspace(0.0, self.turn_deg, MOMENTS)

    def _span_mm(self, turn_deg: float) -> tuple[float, float]:
        """From where one wing begins to where the other does: across the bed, and up."""
        turn, middle_mm = math.radians(turn_deg), self.radius_mm + self.thickness_mm / 2
        flat_mm = self.width_mm * (1 - turn_deg / self.turn_deg)
        sloped_mm = self.web_mm + flat_mm
        across = 2 * middle_mm * math.sin(turn) + sloped_mm * math.cos(turn) + flat_mm
        return across, 2 * middle_mm * (1 - math.cos(turn)) + sloped_mm * math.sin(turn)

    def nose_up_mm(self, turn_deg: float) -> float:
        """How high the punch's lower land stands above the die's higher one."""
        return self.thickness_mm - self._span_mm(turn_deg)[1]

    def _moved_mm(self, turn_deg: float, side: Side) -> tuple[float, float]:
        """Where a wing's bend line comes to lie: out from the middle, and up from the die's higher land."""
        across, step = self._span_mm(turn_deg)
        out = (across - 2 * self.width_mm - self.web_mm) / 2
        return out, self.thickness_mm / 2 - (step if side == self.falls else 0.0)

    def placed(self, cloud: Cloud, turn_deg: float, side: Side) -> Array:
        """A wing's points in the machine at a turn: x, y to the back, z up."""
        out, up = self._moved_mm(turn_deg, side)
        away = cloud.points_mm[:, 1] + out
        return np.column_stack([cloud.points_mm[:, 0], away if side == "behind" else -away, cloud.points_mm[:, 2] + up])

    def back(self, points_mm: Array, turn_deg: float, side: Side) -> Array:
        """Points of the machine in the frame of a wing: along the bed, out along the sheet, up."""
        out, up = self._moved_mm(turn_deg, side)
        away = points_mm[:, 1] if side == "behind" else -points_mm[:, 1]
        return np.column_stack([points_mm[:, 0], away - out, points_mm[:, 2] - up])
