"""The stops of a machine as panels need them, and what they touch before a hit."""

from __future__ import annotations

from functools import cached_property
from typing import Literal

from flangewise.panel_order.side import SidePlate, SideTouch
from flangewise.records import dataclass
from flangewise.sequence import Backgauge, stop_face_mm

On = Literal["edge", "flange"]


@dataclass(frozen=True)
class Fingers:
    """The stops of a machine: reach and shape, how wide a finger is, how near two may come, what is wished of them.

    The wishes are seconds: against stops on a formed face, on an edge with formed bends between it and the die, on an
    edge of a face that is not level, and against a single finger. `side`: a side stop (None: the machine has none).
    """

    gauge: Backgauge
    count: int
    width_mm: float
    least_spacing_mm: float
    formed_wish_s: float
    past_bend_wish_s: float
    one_finger_wish_s: float
    sloped_wish_s: float = 3.0
    side: SidePlate | None = None

    @cached_property
    def high_mm(self) -> float:
        """How high a finger is."""
        return max(up for _, up in self.gauge.finger_mm)

    @cached_property
    def face_mm(self) -> float:
        """How high its stop face is."""
        return stop_face_mm(self.gauge)


@dataclass(frozen=True)
class PanelGauging:
    """What the stops touch before a hit: the straight edge of a face, or a formed flange, behind.

    `x_mm`: stop face from the die's centre plane; `r_mm`: lower edge of the finger above the die's top; `height_mm`: of
    the middle of the stop face; `z_mm`: the middles of the fingers along the bed from the bend line's left end, one or
    two; `retract_mm`: how far they must go back after the pinch; `slope_deg`: of the face whose edge is touched.
    `side`: what lies at the side stop, where one finger alone finds a place.
    `wishes_s`: what it costs beside the best, each by its name.
    """

    on: On
    face: int
    face_name: str
    x_mm: float
    r_mm: float
    height_mm: float
    z_mm: tuple[float, ...]
    retract_mm: float
    past_bends: bool
    slope_deg: float = 0.0
    side: SideTouch | None = None
    wishes_s: tuple[tuple[str, float], ...] = ()

    @property
    def wish_s(self) -> float:
        """All of its wishes."""
        return sum(price for _, price in self.wishes_s)
