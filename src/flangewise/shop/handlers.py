"""Handlers: who or what feeds the machine, how long each move takes and what the search reckons it to cost."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from flangewise.shop.row import NotNegative, Positive, Row, unfit

Move = Literal["turn", "turn-over-bed", "turn-over-front", "regrip", "shift"]


class Handler(Row):
    """An operator or a robot.

    `turn` is in the plane of the sheet; `turn_over_bed` is about the axis along the bed, so that front and back swap;
    `turn_over_front` is about the axis from front to back, so that left and right swap. `_cost` figures weigh moves
    against each other in the search; `opening_cost` is for each mm of open height. `gripper_reach_mm` is how far over
    the part a gripper's jaws reach from its edge: with less than that in front, its body goes in under the punch.
    """

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

    hit_cost: NotNegative
    stop_change_cost: NotNegative
    turn_cost: NotNegative
    turn_over_bed_cost: NotNegative
    turn_over_front_cost: NotNegative
    regrip_cost: NotNegative
    tool_change_cost: NotNegative
    side_exit_cost: NotNegative
    formed_gauge_cost: NotNegative
    opening_cost: NotNegative

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
        return self
