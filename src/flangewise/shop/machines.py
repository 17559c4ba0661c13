"""Machines: what a press brake can press, reach and how its ram and bed give under load."""

from __future__ import annotations

from pydantic import model_validator

from flangewise.shop.bodies import Body
from flangewise.shop.row import Count, Frozen, NotNegative, Number, Poisson, Positive, Row, unfit


class Beam(Frozen):
    """A ram or bed as a plate on two supports: what its deflection is computed from."""

    span_mm: Positive
    thickness_mm: Positive
    height_mm: Positive
    modulus_mpa: Positive
    poisson: Poisson


Travel = tuple[Number, Number]


class Machine(Row):
    """A press brake. Lengths along the bed count from its left end as the operator sees it.

    `daylight_mm` is from the die's seat to the punch's seat with the ram up. `change_over_mm` is the height above the
    sheet at which the ram leaves its fast approach. `concentrated_kn_per_m` is the maker's limit on a short bend; left
    out, the shop's share of the frames' distance gives it. `speed_step_mm_per_s` is of the ram while bending.
    """

    force_kn: Positive
    bed_length_mm: Positive
    frames_mm: Positive
    throat_mm: Positive
    daylight_mm: Positive
    stroke_mm: Positive
    drive_spacing_mm: Positive
    concentrated_kn_per_m: Positive | None = None
    holder_load_kn_per_m: Positive
    crowning_most_mm: NotNegative

    fast_mm_per_s: Positive
    slow_mm_per_s: Positive
    bend_mm_per_s: Positive
    return_mm_per_s: Positive
    acceleration_mm_per_s2: Positive
    dwell_s: NotNegative
    change_over_mm: Positive
    set_up_s: NotNegative
    mount_s: NotNegative

    stop_x_mm: Travel
    stop_r_mm: Travel
    stop_z_mm: Travel
    fingers: Count
    finger_width_mm: Positive
    least_finger_spacing_mm: Positive
    stop_speed_mm_per_s: Positive
    stop_step_mm: Positive
    stop_repeat_mm: Positive
    depth_step_mm: Positive
    depth_repeat_mm: Positive
    angle_step_deg: Positive
    opening_step_mm: Positive
    speed_step_mm_per_s: Positive = 0.1

    ram_outline_mm: Body
    bed_outline_mm: Body
    finger_outline_mm: Body
    ram_beam: Beam
    bed_beam: Beam

    def most_opening_mm(self, punch_height_mm: float, die_height_mm: float) -> float:
        """The most open height over a pair of tools: what the daylight leaves, zero where they do not fit."""
        return max(0.0, self.daylight_mm - punch_height_mm - die_height_mm)

    def closes_on(self, punch_height_mm: float, die_height_mm: float, depth_mm: float) -> bool:
        """Whether the stroke is long enough to bring the nose to a depth below the die's top."""
        return self.daylight_mm - self.stroke_mm <= punch_height_mm + die_height_mm - depth_mm

    @model_validator(mode="after")
    def _hangs_together(self) -> Machine:
        for name in ("stop_x_mm", "stop_r_mm", "stop_z_mm"):
            least, most = getattr(self, name)
            if not least < most:
                raise unfit(f"[{least:g}, {most:g}] does not rise", "write [least, most]", key=name)
        if self.stroke_mm > self.daylight_mm:
            raise unfit(
                f"{self.stroke_mm:g} is more than the daylight", f"it is at most {self.daylight_mm:g}", key="stroke_mm"
            )
        if self.slow_mm_per_s > self.fast_mm_per_s:
            wrong = f"{self.slow_mm_per_s:g} is more than the fast speed"
            raise unfit(wrong, f"it is at most {self.fast_mm_per_s:g}", key="slow_mm_per_s")
        return self
