"""Machines: what a press brake can press, reach and how it gives under load; and handlers: who or what tends it."""

import math
from collections.abc import Mapping
from typing import ClassVar, Literal

from pydantic import model_validator

from flangewise.shop.bodies import Body
from flangewise.shop.cell import Cell, Lifting
from flangewise.shop.grippers import Gripper
from flangewise.shop.row import Count, Frozen, NotNegative, Number, Poisson, Positive, TableRow, unfit


class Beam(Frozen):
    """A ram or bed as a plate on two supports: what its deflection is computed from."""

    span_mm: Positive
    thickness_mm: Positive
    height_mm: Positive
    modulus_mpa: Positive
    poisson: Poisson


Travel = tuple[Number, Number]


def _rise(row: Frozen, *travels: str) -> None:
    """That each travel of a row goes from its least to its most."""
    for name in travels:
        least, most = getattr(row, name)
        if not least < most:
            raise unfit(f"[{least:g}, {most:g}] does not rise", "write [least, most]", key=name)


class SideStop(Frozen):
    """A stop beside the part in front of the die: a plate whose face stands square to the bed, [least, most] each.

    `front_mm`: from the die's centre plane toward the operator; `up_mm`: over the die's top; `z_mm`: its face's travel
    along the bed. `wide_mm`: how thick it is along the bed. `sides`: on which side of the part it can stand.
    `least_mm`: a part lies square on it where it touches over so much at least.
    """

    front_mm: Travel
    up_mm: Travel
    z_mm: Travel
    wide_mm: Positive
    sides: Literal["left", "right", "either"] = "either"
    least_mm: Positive = 40.0

    @model_validator(mode="after")
    def _hangs_together(self) -> "SideStop":
        _rise(self, "front_mm", "up_mm", "z_mm")
        if self.front_mm[0] < 0:
            raise unfit(f"{self.front_mm[0]:g} lies behind the die", "it begins in front of it", key="front_mm")
        if self.front_mm[1] - self.front_mm[0] < self.least_mm:
            wrong = f"{self.front_mm[1] - self.front_mm[0]:g} mm of face are less than least_mm"
            raise unfit(wrong, f"it is {self.least_mm:g} long at least", key="front_mm")
        return self


class Machine(TableRow):
    """A press brake. Lengths along the bed count from its left end as the operator sees it.

    `daylight_mm` is from the die's seat to the punch's seat with the ram up. `change_over_mm` is the height above the
    sheet at which the ram leaves its fast approach. `concentrated_kn_per_m` is the maker's limit on a short bend; left
    out, the shop's share of the frames' distance gives it. `speed_step_mm_per_s` is of the ram while bending. `keyed`
    is what the control takes for a bend: the depth of the nose, or the angle to bend to. `side_stop` left out: it has
    none.
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
    side_stop: SideStop | None = None
    stop_speed_mm_per_s: Positive
    stop_step_mm: Positive
    stop_repeat_mm: Positive
    depth_step_mm: Positive
    depth_repeat_mm: Positive
    angle_step_deg: Positive
    opening_step_mm: Positive
    speed_step_mm_per_s: Positive = 0.1
    keyed: Literal["depth", "angle"] = "depth"

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
    def _hangs_together(self) -> "Machine":
        _rise(self, "stop_x_mm", "stop_r_mm", "stop_z_mm")
        if self.stroke_mm > self.daylight_mm:
            wrong = f"{self.stroke_mm:g} is more than the daylight"
            raise unfit(wrong, f"it is at most {self.daylight_mm:g}", key="stroke_mm")
        if self.slow_mm_per_s > self.fast_mm_per_s:
            wrong = f"{self.slow_mm_per_s:g} is more than the fast speed"
            raise unfit(wrong, f"it is at most {self.fast_mm_per_s:g}", key="slow_mm_per_s")
        return self


Move = Literal["turn", "turn-over-bed", "turn-over-front", "tilt", "regrip", "shift"]


class Handler(TableRow):
    """An operator or a robot.

    `turn` is in the plane of the sheet; `turn_over_bed` is about the axis along the bed, so that front and back swap;
    `turn_over_front` is about the axis from front to back, so that left and right swap; `tilt` lays a panel on another
    of its faces, by a right angle at most; `next_stop` is drawing the part to the next stop with nothing turned.
    `least_hold_mm` must reach out in front of the die's centre plane, `most_behind_nm` is the most by which the part's
    weight may turn it off the die's back edge. `_wish_s` are wishes priced in seconds. `gripper_reach_mm` is how far
    over the part a gripper's jaws reach from its edge: with less than that in front, its body goes in under the punch.
    `tilt_out` is taking the part out of the tools tilted, or in: only a person does; how a gripper moves then is not
    known here. `people` are those who tend it together. `gripper`: what a robot holds with; left out, its grips are not
    known.
    """

    REPLACED: ClassVar[Mapping[str, str]] = {
        "hit_cost": "a stroke's seconds follow from the machine's speeds and gauge_s",
        "stop_change_cost": "write next_stop_s, the seconds to draw the part to the next stop",
        "turn_cost": "turn_s is the price of a turn now",
        "turn_over_bed_cost": "turn_over_bed_s is the price of it now",
        "turn_over_front_cost": "turn_over_front_s is the price of it now",
        "regrip_cost": "regrip_s is the price of a regrip now",
        "tool_change_cost": "write mount_s in machines.yaml, shared over the quantity, beside shift_s here",
        "side_exit_cost": "write side_exit_s, the seconds to slide a part off along the bed",
        "formed_gauge_cost": "write formed_gauge_wish_s, in seconds",
        "opening_cost": "the seconds of opening follow from the machine's speeds",
    }

    kind: Literal["operator", "robot"]
    people: Count = 1
    pick_s: NotNegative
    square_s: NotNegative
    insert_s: NotNegative
    gauge_s: NotNegative
    withdraw_s: NotNegative
    turn_s: NotNegative
    turn_over_bed_s: NotNegative
    turn_over_front_s: NotNegative
    tilt_s: NotNegative | None = None
    regrip_s: NotNegative
    shift_s: NotNegative
    inspect_s: NotNegative
    place_s: NotNegative
    allowance_share: NotNegative

    load_margin_mm: NotNegative
    unload_margin_mm: NotNegative
    tilt_margin_mm: NotNegative
    gripper_height_mm: Positive | None = None
    gripper_reach_mm: Positive = 40.0
    tip_speed_mm_per_s: Positive | None = None
    gripper: Gripper | None = None

    next_stop_s: NotNegative
    side_exit_s: NotNegative
    tilt_out_s: NotNegative | None = None
    least_hold_mm: NotNegative
    most_behind_nm: NotNegative
    behind_wish_s: NotNegative
    formed_gauge_wish_s: NotNegative
    sloped_gauge_wish_s: NotNegative
    past_bend_wish_s: NotNegative
    loose_leg_wish_s: NotNegative
    mark_wish_s: NotNegative = 2.0
    small_hold_wish_s: NotNegative | None = None
    one_finger_wish_s: NotNegative = 3
    side_stop_wish_s: NotNegative = 1
    cell: Cell | None = None
    lifting: Lifting | None = None

    def seconds_of(self, move: Move) -> float:
        """Seconds of one move; a tilt that is not timed takes as long as turning over, the way that takes longer."""
        if move == "tilt" and self.tilt_s is None:
            return max(self.turn_over_bed_s, self.turn_over_front_s)
        return float(vars(self)[f"{move.replace('-', '_')}_s"])

    @property
    def at_best(self) -> "Handler":
        """The same with each turn in the least that arm or gripper takes: no plan turns the part in less."""
        if self.gripper is None:
            return self
        about = [self.gripper.turns_by_hand_s(axis) for axis in ("normal", "approach")]
        own = [math.inf if each is None else each for each in about]
        turns = {"turn_s": min(self.turn_s, *own)}
        turns |= {key: min(getattr(self, key), own[1]) for key in ("turn_over_bed_s", "turn_over_front_s")}
        turns |= {"tilt_s": min(self.seconds_of("tilt"), own[1])}
        return self.model_copy(update=turns)

    @model_validator(mode="after")
    def _robot_has_a_gripper(self) -> "Handler":
        if self.kind == "robot" and self.gripper_height_mm is None:
            raise unfit("gripper_height_mm is missing", "a robot's gripper counts for the open height", key="kind")
        if self.kind == "operator" and self.gripper_height_mm is not None:
            raise unfit("an operator has no gripper", "leave it out or write kind: robot", key="gripper_height_mm")
        if self.kind == "operator" and self.gripper is not None:
            raise unfit("an operator has no gripper", "leave it out or write kind: robot", key="gripper")
        if self.kind == "operator" and self.small_hold_wish_s is None:
            raise unfit("small_hold_wish_s is missing", "what a part too small for a hand is to cost", key="kind")
        if self.kind == "operator" and self.cell is not None:
            raise unfit("a person has no cell", "write the cell in a robot's row", key="cell")
        if self.kind == "robot" and self.small_hold_wish_s is not None:
            raise unfit("a gripper holds no tool", "leave it out", key="small_hold_wish_s")
        if self.kind == "robot" and self.tilt_out_s is not None:
            raise unfit("how a gripper moves with a tilted part is not known", "leave it out", key="tilt_out_s")
        if self.tilt_out_s is not None and self.tilt_out_s < self.side_exit_s:
            raise unfit(
                f"{self.tilt_out_s:g} is less than side_exit_s",
                f"a part is tilted out where it cannot be slid off: at least {self.side_exit_s:g}",
                key="tilt_out_s",
            )
        return self
