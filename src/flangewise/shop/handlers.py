"""Handlers: who or what tends the machine, how long each move takes, and how the part must lie in the hand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

from pydantic import model_validator

from flangewise.shop.row import NotNegative, Positive, Row, unfit

Move = Literal["turn", "turn-over-bed", "turn-over-front", "regrip", "shift"]


class Handler(Row):
    """An operator or a robot.

    `turn` is in the plane of the sheet; `turn_over_bed` is about the axis along the bed, so that front and back swap;
    `turn_over_front` is about the axis from front to back, so that left and right swap; `next_stop` is drawing the
    part to the next stop with nothing turned. `least_hold_mm` must reach out in front of the die's centre plane,
    `most_behind_nm` is the most by which the part's weight may turn it off the die's back edge. `_wish_s` are wishes
    priced in seconds. `gripper_reach_mm` is how far over the part a gripper's jaws reach from its edge: with less than
    that in front, its body goes in under the punch.
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
    pick_s: NotNegative
    square_s: NotNegative
    insert_s: NotNegative
    gauge_s: NotNegative
    withdraw_s: NotNegative
    turn_s: NotNegative
    turn_over_bed_s: NotNegative
    turn_over_front_s: NotNegative
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

    next_stop_s: NotNegative
    side_exit_s: NotNegative
    least_hold_mm: NotNegative
    most_behind_nm: NotNegative
    behind_wish_s: NotNegative
    formed_gauge_wish_s: NotNegative
    sloped_gauge_wish_s: NotNegative
    past_bend_wish_s: NotNegative
    loose_leg_wish_s: NotNegative
    mark_wish_s: NotNegative = 2.0
    small_hold_wish_s: NotNegative | None = None

    def seconds_of(self, move: Move) -> float:
        """Seconds of one move."""
        seconds = {
            "turn": self.turn_s,
            "turn-over-bed": self.turn_over_bed_s,
            "turn-over-front": self.turn_over_front_s,
            "regrip": self.regrip_s,
            "shift": self.shift_s,
        }
        return seconds[move]

    @model_validator(mode="after")
    def _robot_has_a_gripper(self) -> Handler:
        if self.kind == "robot" and self.gripper_height_mm is None:
            raise unfit("gripper_height_mm is missing", "a robot's gripper counts for the open height", key="kind")
        if self.kind == "operator" and self.gripper_height_mm is not None:
            raise unfit("an operator has no gripper", "leave it out or write kind: robot", key="gripper_height_mm")
        if self.kind == "operator" and self.small_hold_wish_s is None:
            raise unfit("small_hold_wish_s is missing", "what a part too small for a hand is to cost", key="kind")
        if self.kind == "robot" and self.small_hold_wish_s is not None:
            raise unfit("a gripper holds no tool", "leave it out", key="small_hold_wish_s")
        return self
